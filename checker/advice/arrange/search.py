"""The search for the best arrangement: places first, then sets of tiedowns, statics last.

Each stage evaluates only the rules that read what it adds, and its figures bound those of every
plan that goes on from there: rules only add to what is broken, and take from the margin. Plans that
cannot be better than the best one found are left out, so what is left out is never better.
"""

from collections.abc import Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from checker.advice.arrange.blocking import is_on_offer
from checker.advice.arrange.choices import Choices
from checker.advice.arrange.hookups import Taken
from checker.advice.arrange.influence import Reads, influence
from checker.advice.arrange.one_article import Found, OneArticle
from checker.advice.arrange.places import Indices, Places, places_of
from checker.advice.arrange.plan_rows import PlanRows, Plans
from checker.advice.arrange.scores import OBJECTIVES, Figures, Judge, figures_of
from checker.advice.arrange.several_articles import SeveralArticles
from checker.evaluation.evaluator import evaluators
from checker.rulebooks.model import Rulebooks

EFFORT = 220_000
"""Steps of a search at most, unless a call says otherwise; some 3 s of one processor."""

_PLACES_FIRST, _PLACES_AT_ONCE = 4, 32
"""Places looked at together, at first few, as most searches end with them."""


def _with_blocks(figures: Figures, blocks: int) -> Figures:
    """The figures of a plan with its blocks: each is a piece of gear, and a change."""
    return figures._replace(pieces=figures.pieces + blocks, changes=figures.changes + blocks)


class Arranger:
    """The search for one load."""

    def __init__(
        self,
        choices: Choices,
        rulebooks: Rulebooks,
        on: date,
        order: Sequence[str] = OBJECTIVES,
        effort: int = EFFORT,
    ) -> None:
        """Find out what each rule in force reads.

        `effort` bounds the steps of the search for one article: a set of tiedowns is one, a plan
        judged by the linear programmes as many as its time is worth.
        """
        # Every plan has a row for each corner of the tolerances.
        effort //= len(PlanRows.signs(choices.profile))
        self.choices, self.order = choices, order
        self.effort = effort
        self.exhausted = False
        """True if the last search, for one article, left out no plan that could be better."""
        self.steps = 0
        """What the last search took."""
        self.bound = Figures(0, 0, 0, 0, 0, np.inf)
        """Figures that no plan at the places of the last search is better than."""
        self._rows = PlanRows(choices)
        sample = self._rows.profile_of(self._sample(), 0).stated
        self.influence = influence(evaluators(sample, rulebooks, on), blocks=is_on_offer(choices))
        self.judge = Judge(self._rows, rulebooks, on, self.influence)

    def _sample(self) -> Plans:
        """One plan with two tiedowns to every article, to see what rules read."""
        chosen: list[int] = []
        for article in range(len(self.choices.load.articles)):
            numbered = enumerate(self.choices.courses)
            own = [number for number, each in numbered if each.article == article]
            chosen += (own * 2)[:2]
        places = self.choices.stands or places_of(self.choices.load, self.choices.step)
        courses = np.array([chosen], dtype=np.intp)
        return Plans(places.take([0]), courses, np.zeros_like(courses))

    def best(self, than: Figures | None = None) -> Found | None:
        """The best plan that breaks no must-rule; None where there is none better `than` that."""
        blocks = self.choices.blocks_used
        key = None
        if than is not None:
            rest = than._replace(pieces=than.pieces - blocks, changes=than.changes - blocks)
            key = rest.key(self.order)
        places = self.places()
        figures = self.figures_of_places(places)
        order = sorted(range(places.size), key=lambda row: figures[row].key(self.order))
        searches = [self.search_of(number) for number in range(len(self.choices.load.articles))]
        found = (
            self._of_one(searches[0], places, figures, order, key)
            if len(searches) == 1
            else SeveralArticles(self, searches).best(places, figures, order, key)
        )
        self.steps = sum(each.steps_before + each.steps for each in searches)
        bound = Figures(
            broken=0,
            undecided=0,
            short=min(each.short for each in figures),
            pieces=sum(each.fewest for each in searches),
            changes=min(each.changes for each in figures),
            margin=max(each.margin for each in figures),
        )
        self.bound = _with_blocks(bound, blocks)
        return found and found._replace(
            figures=_with_blocks(found.figures, blocks), bound=self.bound
        )

    def places(self) -> Places:
        """Ways to stand, first as it stands today, for which the blocking is."""
        places = places_of(self.choices.load, self.choices.step, self.choices.clearance)
        return places.take(self.may_face(places))

    def may_face(self, places: Places) -> NDArray[np.bool_]:
        """True in rows in which every article faces as its blocks want it."""
        found = np.ones(places.size, dtype=bool)
        for each in self.choices.blocking:
            if each.facing is not None:
                found &= places.facings[:, each.article] == each.facing
        return found

    def _of_one(
        self,
        search: OneArticle,
        places: Places,
        figures: Sequence[Figures],
        order: Sequence[int],
        than: tuple[float, ...] | None,
    ) -> Found | None:
        search.begin(Taken(), than)
        start, end = 0, _PLACES_FIRST
        while rows := order[start:end]:
            if not search.go_on(places.take(rows), [figures[row] for row in rows]):
                break
            start, end = end, end + _PLACES_AT_ONCE
        self.exhausted = search.exhausted
        return search.found()

    def search_of(self, article: int) -> OneArticle:
        """The search over the tiedowns of one article, not begun."""
        return OneArticle(self.choices, self.judge, self.order, self.effort, article)

    def figures_of_places(self, places: Places) -> list[Figures]:
        """The figures of every way to stand, before anything is tied down."""
        none = np.zeros((places.size, 0), dtype=np.intp)
        table = self.judge.table(Plans(places, none, none), Reads.PLACES)
        moves = self.moves(places)
        return [
            each._replace(pieces=1, changes=int(moves[row]))
            for row, each in enumerate(figures_of(table))
        ]

    def moves(self, places: Places) -> Indices:
        """How much differs from how everything stands today: x, y and facing count once each."""
        today = self.choices.stands
        if today is None:
            return np.zeros(places.size, dtype=np.intp)
        near = self.choices.step / 1000
        moved = (np.abs(places.x - today.x) > near).astype(np.intp)
        moved += np.abs(places.y - today.y) > near
        moved += places.facings != today.facings
        found: Indices = moved.sum(axis=1)
        return found
