"""The search for the best arrangement: places first, then sets of tiedowns, statics last.

Each stage evaluates only the rules that read what it adds, and its figures bound those of every
plan that goes on from there: rules only add to what is broken, and take from the margin. Plans that
cannot be better than the best one found are left out, so what is left out is never better.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from itertools import groupby
from typing import NamedTuple

import numpy as np

from checker.advice.arrange.choices import Choices, Hook
from checker.advice.arrange.hookups import Hookups, Taken, changes
from checker.advice.arrange.influence import Reads, influence
from checker.advice.arrange.options import Option, Options
from checker.advice.arrange.places import Indices, Places, places_around, places_of
from checker.advice.arrange.plan_rows import PlanRows, Plans
from checker.advice.arrange.scores import OBJECTIVES, Figures, Judge, RuleTable
from checker.evaluation.evaluator import evaluators
from checker.rulebooks.model import Rulebooks

MOST_PIECES = 8
"""Tiedowns to one article at most."""

MOST_BY_STATICS = 1_500
_MOST_AT_A_PLACE = 300

_STATICS_AT_ONCE = 256
_MOST_HOOKUPS = 20_000
_PLACES_AT_ONCE = 32
_PLACES_OF_SEVERAL = 4
"""Ways for several articles to stand that are tied down, the best ones first."""


class Found(NamedTuple):
    """The best plan with its figures; `proved` where every other was looked at or left out."""

    plan: Plans
    figures: Figures
    proved: bool
    looked_at: int

    def hooks(self) -> list[Hook]:
        """Its tiedowns."""
        pairs = zip(self.plan.courses[0].tolist(), self.plan.kinds[0].tolist(), strict=True)
        return [Hook(*each) for each in pairs]


def _is_better(one: Found, other: Found, order: Sequence[str]) -> bool:
    return one.figures.key(order) < other.figures.key(order)


class Arranger:
    """The search for one load."""

    def __init__(
        self,
        choices: Choices,
        rulebooks: Rulebooks,
        on: date,
        order: Sequence[str] = OBJECTIVES,
        most_by_statics: int = MOST_BY_STATICS,
    ) -> None:
        """Find out what each rule in force reads.

        `most_by_statics` plans at most are judged by the linear programmes, which take nearly all
        of the time where many plans are alike by all other rules.
        """
        self.choices, self.order = choices, order
        self.most_by_statics = most_by_statics
        self._rows = PlanRows(choices)
        sample = self._rows.profile_of(self._sample(), 0).stated
        self.influence = influence(evaluators(sample, rulebooks, on))
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

    def best(self) -> Found | None:
        """The best plan that breaks no must-rule; None where there is none."""
        places = places_of(self.choices.load, self.choices.step, self.choices.clearance)
        figures = self.figures_of_places(places)
        order = sorted(range(places.size), key=lambda row: figures[row].key(self.order))
        if len(self.choices.load.articles) > 1:
            return self._of_several(places, figures, order)
        search = OneArticle(self, 0)
        for start in range(0, len(order), _PLACES_AT_ONCE):
            rows = order[start : start + _PLACES_AT_ONCE]
            if not search.go_on(places.take(rows), [figures[row] for row in rows]):
                break
        return search.found()

    def _of_several(
        self, places: Places, figures: Sequence[Figures], order: Sequence[int]
    ) -> Found | None:
        """The best plan for several articles: at the best places, one article after the other.

        Each is hooked up as well as the anchors and the gear left by those before it allow, the
        heaviest first, so what is found need not be the best of all.
        """
        searches = [OneArticle(self, number) for number in range(len(self.choices.load.articles))]
        searches.sort(key=lambda each: -float(self.choices.load.articles[each.article].weight))
        best: Found | None = None
        for place, start in self._best_places(places, figures, order):
            if start.broken or (best and start.key(self.order) >= best.figures.key(self.order)):
                break
            found = self._one_after_the_other(searches, place, start)
            if found and (best is None or _is_better(found, best, self.order)):
                best = found
        return best

    def _best_places(
        self, places: Places, figures: Sequence[Figures], order: Sequence[int]
    ) -> Iterator[tuple[Places, Figures]]:
        """The best ways of the grid, each moved to the best one close to it."""
        for row in order[:_PLACES_OF_SEVERAL]:
            place, start = places.take([row]), figures[row]
            while True:
                load, step, clearance = self.choices.load, self.choices.step, self.choices.clearance
                around = places_around(load, step, place, clearance)
                near = self.figures_of_places(around)
                index = min(range(len(near)), key=lambda each: near[each].key(self.order))
                if near[index].key(self.order) >= start.key(self.order):
                    break
                place, start = around.take([index]), near[index]
            yield place, start

    def _one_after_the_other(
        self, searches: Sequence["OneArticle"], place: Places, start: Figures
    ) -> Found | None:
        taken, figures, plans, looked_at = Taken(), start._replace(pieces=0), [], 0
        for search in searches:
            search.begin(taken)
            search.go_on(place, [Figures(0, 0, 0, 1, 0, start.margin)])
            found = search.found()
            if found is None:
                return None
            taken = taken.with_hooks(self.choices, found.hooks())
            figures = _both(figures, found.figures)._replace(
                pieces=figures.pieces + found.figures.pieces,
                changes=figures.changes + found.figures.changes,
            )
            plans.append(found.plan)
            looked_at += found.looked_at
        courses = np.concatenate([each.courses for each in plans], axis=1)
        kinds = np.concatenate([each.kinds for each in plans], axis=1)
        return Found(Plans(place, courses, kinds), figures, proved=False, looked_at=looked_at)

    def figures_of_places(self, places: Places) -> list[Figures]:
        """The figures of every way to stand, before anything is tied down."""
        none = np.zeros((places.size, 0), dtype=np.intp)
        table = self.judge.table(Plans(places, none, none), Reads.PLACES)
        moves = self._moves(places)
        return [
            each._replace(pieces=1, changes=int(moves[row]))
            for row, each in enumerate(_figures(table))
        ]

    def _moves(self, places: Places) -> Indices:
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


class _Candidate(NamedTuple):
    """A hook-up before statics: what is compared, then what else a crew would choose by.

    `kinds` are how many kinds of gear it needs, and how many of them are not in use today;
    `weakest` is the force of its weakest way, negative.
    """

    key: tuple[float, ...]
    kinds: tuple[int, int]
    weakest: float
    hooks: tuple[Hook, ...]
    figures: Figures


class OneArticle:
    """The search over the tiedowns of one article, place after place, with the best plan so far.

    Plans that break a must-rule are no arrangement and are not followed further.
    """

    def __init__(self, arranger: Arranger, article: int) -> None:
        """With all anchors and all the gear to choose from."""
        self._judge, self._order, self.article = arranger.judge, arranger.order, article
        self._most_by_statics = arranger.most_by_statics
        self._choices = choices = arranger.choices
        self._options = Options(choices, arranger.judge, article)
        self._own = tuple(
            hook
            for hook in choices.hooked
            if hook is None or choices.courses[hook.course].article == article
        )
        self._too_few: dict[tuple[int, frozenset[str]], bool] = {}
        self._kinds_today = {hook.kind for hook in self._own if hook}
        self._joint: dict[tuple[int, ...], Figures | None] = {}
        self.begin(Taken())

    def begin(self, taken: Taken) -> None:
        """Forget the best plan; `taken` are the anchors and pieces that others use."""
        own = {each.points for each in self._choices.courses if each.article == self.article}
        self._hookups = Hookups(self._choices, len(own), taken)
        self._best: tuple[Places, tuple[Hook, ...], Figures] | None = None
        self._key: tuple[float, ...] | None = None
        self._proved = True
        self._looked_at = 0

    def found(self) -> Found | None:
        """The best plan so far."""
        if self._best is None:
            return None
        place, hooks, figures = self._best
        return Found(_plans(place, [hooks]), figures, self._proved, self._looked_at)

    def go_on(self, places: Places, starts: Sequence[Figures]) -> bool:
        """Look at more places, best first; False once no further one can be better."""
        for row, options in enumerate(self._options.at(places)):
            if not self._may_be_better(starts[row]):
                return False
            for pieces in self._numbers(places.take([row]), options):
                start = starts[row]._replace(pieces=pieces)
                self._at(places.take([row]), start, options)
        return True

    def _may_be_better(self, figures: Figures) -> bool:
        if figures.broken:
            return False
        return self._key is None or figures.key(self._order) < self._key

    def _numbers(self, place: Places, options: Sequence[Option]) -> Iterator[int]:
        """The numbers of tiedowns to try: without those that are too few, however they run."""
        for pieces in range(1, min(MOST_PIECES, self._hookups.most_pieces) + 1):
            key = pieces, self._options.alike
            if key not in self._too_few:
                example = self._hookups.some(pieces, options)
                if example is None:
                    return
                plans = _plans(place, [example])
                self._too_few[key] = self._judge.needs_more(plans, self.article, key[1])
            if not self._too_few[key]:
                yield pieces

    def _at(self, place: Places, start: Figures, options: Sequence[Option]) -> None:
        """Look at the hook-ups of one place with one number of tiedowns.

        Sets of leaves come first, those best by the rules that see no more than leaves first.
        """
        by_leaves: dict[int, list[Option]] = {}
        for each in options:
            if self._may_be_better(_with(start, (each,))):
                by_leaves.setdefault(each.leaves, []).append(each)
        bound = start._replace(changes=start.changes + self._fewest_changes(start, by_leaves))
        if not self._may_be_better(bound):
            return
        joint = self._judged_jointly(place, start.pieces, by_leaves)
        sets = [(_both(bound, figures), leaves) for leaves, figures in joint.items()]
        sets = [each for each in sets if self._may_be_better(each[0])]
        sets.sort(key=lambda each: each[0].key(self._order))
        for _, group in groupby(sets, key=lambda each: each[0].key(self._order)):
            candidates: list[_Candidate] = []
            for figures, leaves in group:
                if self._may_be_better(figures):
                    before = figures._replace(changes=start.changes)
                    candidates += self._candidates(before, leaves, by_leaves)
                if len(candidates) > _MOST_HOOKUPS:
                    self._proved = False
                    break
            self._by_statics(place, candidates)

    def _fewest_changes(self, start: Figures, by_leaves: Mapping[int, Sequence[Option]]) -> int:
        """Tiedowns that differ from today's at least: what is not usable here cannot stay."""
        usable = {option.hook for options in by_leaves.values() for option in options}
        kept = min(sum(hook in usable for hook in self._own), start.pieces)
        return max(start.pieces, len(self._own)) - kept

    def _judged_jointly(
        self, place: Places, pieces: int, by_leaves: Mapping[int, Sequence[Option]]
    ) -> dict[tuple[int, ...], Figures]:
        """What the rules that see tiedowns through their leaves add, for every set of leaves.

        Evaluated once for equal leaves, wherever everything stands. A set that breaks a must-rule,
        or cannot be hooked up here, is left out.
        """
        sets = [*self._hookups.sets(pieces, by_leaves)]
        new: dict[tuple[int, ...], tuple[Option, ...]] = {}
        for each in sets:
            if each not in self._joint:
                example = next(self._hookups.of(each, by_leaves), None)
                if example is not None:
                    new[each] = example
        if new:
            hooks = [[option.hook for option in each] for each in new.values()]
            table = self._judge.table(_plans(place, hooks), Reads.TIEDOWNS, self.article)
            for each, figures in zip(new, _figures(table), strict=True):
                self._joint[each] = None if figures.broken else figures
        found = ((each, self._joint.get(each)) for each in sets)
        return {each: figures for each, figures in found if figures is not None}

    def _candidates(
        self,
        base: Figures,
        leaves: tuple[int, ...],
        by_leaves: Mapping[int, Sequence[Option]],
    ) -> Iterator[_Candidate]:
        """The hook-ups of a set of leaves that may be better than the best plan."""
        for chosen in self._hookups.of(leaves, by_leaves):
            hooks = tuple(each.hook for each in chosen)
            figures = _with(base, chosen)._replace(changes=base.changes + changes(hooks, self._own))
            if self._may_be_better(figures):
                weakest = min(map(sum, zip(*(each.pulls for each in chosen), strict=True)))
                kinds = {each.kind for each in hooks}
                kinds_of_it = len(kinds), len(kinds - self._kinds_today)
                yield _Candidate(figures.key(self._order), kinds_of_it, -weakest, hooks, figures)

    def _by_statics(self, place: Places, candidates: list[_Candidate]) -> None:
        """Evaluate the rules left, in the order of the figures so far, then of the weakest way."""
        candidates.sort(key=lambda each: each[:3])
        done, at_once = 0, 1
        while done < len(candidates) and self._may_be_better(candidates[done].figures):
            if done >= _MOST_AT_A_PLACE or self._looked_at >= self._most_by_statics:
                self._proved = False
                return
            batch = candidates[done : done + at_once]
            table = self._judge.table(
                _plans(place, [each.hooks for each in batch]), Reads.STATICS, self.article
            )
            for each, statics in zip(batch, _figures(table), strict=True):
                self._keep(place, each.hooks, _both(each.figures, statics))
            done += len(batch)
            self._looked_at += len(batch)
            at_once = min(4 * at_once, _STATICS_AT_ONCE)

    def _keep(self, place: Places, hooks: tuple[Hook, ...], figures: Figures) -> None:
        if self._may_be_better(figures):
            self._best, self._key = (place, hooks, figures), figures.key(self._order)


def _figures(table: RuleTable) -> Iterator[Figures]:
    """What rules add to the figures of each plan."""
    counts = [each.sum(axis=0).tolist() for each in (table.broken, table.undecided, table.short)]
    for broken, undecided, short, margin in zip(*counts, table.margin.tolist(), strict=True):
        yield Figures(broken, undecided, short, 0, 0, margin)


def _both(one: Figures, other: Figures) -> Figures:
    """The figures with what more rules add."""
    return one._replace(
        broken=one.broken + other.broken,
        undecided=one.undecided + other.undecided,
        short=one.short + other.short,
        margin=min(one.margin, other.margin),
    )


def _with(base: Figures, options: Sequence[Option]) -> Figures:
    """The figures with what the rules about single tiedowns add; a rule counts once."""
    return base._replace(
        broken=base.broken + len(frozenset().union(*(each.broken for each in options))),
        undecided=base.undecided + len(frozenset().union(*(each.undecided for each in options))),
        short=base.short + len(frozenset().union(*(each.short for each in options))),
        margin=min(base.margin, *(each.margin for each in options)),
    )


def _plans(place: Places, hooks: Sequence[Sequence[Hook]]) -> Plans:
    """Plans at one place with different tiedowns, equally many in each."""
    return Plans(
        place.take([0] * len(hooks)),
        np.array([[each.course for each in one] for one in hooks], dtype=np.intp),
        np.array([[each.kind for each in one] for one in hooks], dtype=np.intp),
    )
