"""The search for several articles: one after the other, in both orders, then moved as tied down.

It is never a proof: the places are few, and what is left for the next article is what those before
it do not use.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from checker.advice.arrange.choices import Hook
from checker.advice.arrange.hookups import Taken, changes
from checker.advice.arrange.influence import Reads
from checker.advice.arrange.one_article import Found, OneArticle
from checker.advice.arrange.places import Places, places_around
from checker.advice.arrange.plan_rows import Plans
from checker.advice.arrange.scores import Figures, both, figures_of

if TYPE_CHECKING:
    from checker.advice.arrange.search import Arranger

_PLACES = 4
"""Ways to stand that are tied down, the best ones first."""

_ROUNDS = 3
"""How often a plan is moved and hooked up anew, at most."""


class SeveralArticles:
    """The search over the tiedowns of all articles of a load."""

    def __init__(self, arranger: "Arranger", searches: Sequence[OneArticle]) -> None:
        """With a search for each article."""
        self._arranger, self._order = arranger, arranger.order
        self._choices, self._judge = arranger.choices, arranger.judge
        weights = [float(article.weight) for article in arranger.choices.load.articles]
        self._searches = sorted(searches, key=lambda each: -weights[each.article])

    def best(
        self,
        places: Places,
        figures: Sequence[Figures],
        order: Sequence[int],
        than: tuple[float, ...] | None,
    ) -> Found | None:
        """The best plan found, if its key is smaller `than` this one."""
        best: Found | None = None
        for place, start in self._best_places(places, figures, order):
            if start.broken or (than is not None and start.key(self._order) >= than):
                break
            for found in self._in_both_orders(place, start):
                if than is None or found.figures.key(self._order) < than:
                    best, than = found, found.figures.key(self._order)
        return self._settled(best) if best and self._order else best

    def _best_places(
        self, places: Places, figures: Sequence[Figures], order: Sequence[int]
    ) -> Iterator[tuple[Places, Figures]]:
        """The best ways of the grid, each moved to the best one close to it."""
        for row in order[:_PLACES]:
            place, start = places.take([row]), figures[row]
            while True:
                around = self._around(place)
                near = self._arranger.figures_of_places(around)
                index = min(range(len(near)), key=lambda each: near[each].key(self._order))
                if near[index].key(self._order) >= start.key(self._order):
                    break
                place, start = around.take([index]), near[index]
            yield place, start

    def _around(self, place: Places) -> Places:
        choices = self._choices
        around = places_around(choices.load, choices.step, place, choices.clearance)
        return around.take(self._arranger.may_face(around))

    def _in_both_orders(self, place: Places, start: Figures) -> Iterator[Found]:
        """The heaviest article hooked up first; then the lightest, where that may be better."""
        found = self._one_after_the_other(self._searches, place, start)
        if found is not None:
            yield found
            least = start._replace(pieces=sum(each.fewest for each in self._searches))
            if self._but_for_margin(found.figures) <= self._but_for_margin(least):
                return
        other = self._one_after_the_other(self._searches[::-1], place, start)
        if other is not None:
            yield other

    def _but_for_margin(self, figures: Figures) -> tuple[float, ...]:
        return figures._replace(margin=0.0).key(self._order)

    def _one_after_the_other(
        self, searches: Sequence[OneArticle], place: Places, start: Figures
    ) -> Found | None:
        """Each article hooked up as well as what those before it leave allows."""
        taken, figures, plans, looked_at = Taken(), start._replace(pieces=0), [], 0
        for search in searches:
            search.begin(taken)
            search.go_on(place, [Figures(0, 0, 0, 1, 0, start.margin)])
            found = search.found()
            if found is None:
                return None
            taken = taken.with_hooks(self._choices, found.hooks())
            figures = both(figures, found.figures)._replace(
                pieces=figures.pieces + found.figures.pieces,
                changes=figures.changes + found.figures.changes,
            )
            plans.append(found.plan)
            looked_at += found.looked_at
        courses = np.concatenate([each.courses for each in plans], axis=1)
        kinds = np.concatenate([each.kinds for each in plans], axis=1)
        return Found(Plans(place, courses, kinds), figures, proved=False, looked_at=looked_at)

    def _settled(self, found: Found) -> Found:
        """The plan with its articles moved as they are tied down, and hooked up anew there.

        As long as one of the two makes it better.
        """
        for _ in range(_ROUNDS):
            moved = self._moved(found)
            if moved is None:
                break
            found, place = moved, moved.plan.places
            start = self._arranger.figures_of_places(place)[0]
            for other in self._in_both_orders(place, start):
                if other.figures.key(self._order) < found.figures.key(self._order):
                    found = other
        return found

    def _moved(self, found: Found) -> Found | None:
        """The plan a few steps from where everything stands, the best way; None if none is."""
        plan, best, figures = found.plan, None, found.figures
        while True:
            around = self._around(plan.places)
            near = Plans(
                around,
                np.repeat(plan.courses, around.size, axis=0),
                np.repeat(plan.kinds, around.size, axis=0),
            )
            near = near.take(self._reached(near))
            every = self._figures(near)
            row = min(range(near.size), key=lambda each: every[each].key(self._order), default=0)
            if not near.size or every[row].key(self._order) >= figures.key(self._order):
                return best
            plan, figures = near.take([row]), every[row]
            best = found._replace(plan=plan, figures=figures)

    def _figures(self, plans: Plans) -> list[Figures]:
        """The figures of plans with the same tiedowns, by all rules."""
        pairs = zip(plans.courses[0].tolist(), plans.kinds[0].tolist(), strict=True)
        hooks = [Hook(*each) for each in pairs]
        rehung, moves = changes(hooks, self._choices.hooked), self._arranger.moves(plans.places)
        total = [
            Figures(0, 0, 0, plans.pieces, rehung + int(moves[row]), np.inf)
            for row in range(plans.size)
        ]
        for reads in (Reads.PLACES, Reads.ONE_TIEDOWN, Reads.TIEDOWNS, Reads.STATICS):
            of_rules = figures_of(self._judge.table(plans, reads))
            total = [both(*pair) for pair in zip(total, of_rules, strict=True)]
        return total

    def _reached(self, plans: Plans) -> NDArray[np.bool_]:
        """True in rows in which every tiedown reaches from end to end."""
        found = np.ones(plans.size, dtype=bool)
        for slot in range(plans.pieces):
            alone = plans._replace(
                courses=plans.courses[:, slot : slot + 1], kinds=plans.kinds[:, slot : slot + 1]
            )
            _, lengths, _ = self._judge.leaves([*self._judge.facts(alone)])
            found &= ~(lengths > self._choices.kinds[int(plans.kinds[0, slot])].length)
        return found
