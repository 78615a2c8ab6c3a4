"""The search over the tiedowns of one article: sets of them at one place after the other."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from typing import NamedTuple

import numpy as np

from checker.advice.arrange.choices import Choices, Hook
from checker.advice.arrange.hookups import Hookups, Taken, changes, fewest_changes
from checker.advice.arrange.influence import Reads
from checker.advice.arrange.options import Option, Options
from checker.advice.arrange.places import Places
from checker.advice.arrange.plan_rows import Plans
from checker.advice.arrange.scores import Figures, Judge, both, figures_of

MOST_PIECES = 8
"""Tiedowns to one article at most."""

_MOST_AT_A_PLACE = 300
_FIRST_OF_A_GROUP = 21
"""Plans judged by statics at one place, and of those alike before statics, at most."""

_STATICS_AT_ONCE = 256
_STEPS_OF_STATICS, _STEPS_OF_A_NEW_SET, _STEPS_OF_AN_OPTION = 400, 20, 2
"""What judging a plan by statics takes, a set of leaves for the first time, or a single tiedown at
one place, in other steps."""

_MOST_SETS = 120_000
_MOST_HOOKUPS = 20_000


class Found(NamedTuple):
    """The best plan with its figures; `proved` where every other was looked at or left out.

    No plan at the places looked at has better figures than `bound`; None where nobody asked.
    """

    plan: Plans
    figures: Figures
    proved: bool
    looked_at: int
    bound: Figures | None = None

    def hooks(self) -> list[Hook]:
        """Its tiedowns."""
        pairs = zip(self.plan.courses[0].tolist(), self.plan.kinds[0].tolist(), strict=True)
        return [Hook(*each) for each in pairs]


class _Candidate(NamedTuple):
    """A hook-up before statics: what is compared, then what else a crew would choose by.

    `looks` are how many tiedowns have none like them on the other side, how many kinds of gear it
    needs, and how many of these are not in use today; `weakest` is the force of its weakest way,
    negative.
    """

    key: tuple[float, ...]
    looks: tuple[int, int, int]
    weakest: float
    hooks: tuple[Hook, ...]
    figures: Figures


class OneArticle:
    """The search over the tiedowns of one article, place after place, with the best plan so far.

    Plans that break a must-rule are no arrangement and are not followed further.
    """

    def __init__(
        self,
        choices: Choices,
        judge: Judge,
        order: Sequence[str],
        effort: int,
        article: int,
    ) -> None:
        """With all anchors and all the gear to choose from."""
        self._choices, self._judge, self._order = choices, judge, order
        self._effort, self.article = effort, article
        self._options = Options(choices, judge, article)
        self._own = tuple(
            hook
            for hook in choices.hooked
            if hook is None or choices.courses[hook.course].article == article
        )
        self._too_few: dict[tuple[int, frozenset[str]], bool] = {}
        anchors = {each.name: each for each in choices.load.trailer.anchors}
        self._sides = [
            (float(np.sign(anchors[each.anchor].y)), round(float(anchors[each.anchor].x), 2))
            for each in choices.courses
        ]
        self._kinds_today = {hook.kind for hook in self._own if hook}
        self._joint: dict[tuple[int, ...], Figures | None] = {}
        self.steps_before = self.steps = 0
        self.begin(Taken())

        self.fewest = MOST_PIECES
        """No fewer tiedowns than these meet every must-rule, at the places looked at."""

    def begin(self, taken: Taken, than: tuple[float, ...] | None = None) -> None:
        """Forget the best plan; `taken` are the anchors and pieces that others use.

        Only plans whose figures have a smaller key `than` this one are looked for.
        """
        own = {each.points for each in self._choices.courses if each.article == self.article}
        self._hookups = Hookups(self._choices, len(own), taken)
        self._best: tuple[Places, tuple[Hook, ...], Figures] | None = None
        self._key = than
        self._proved = True
        self._looked_at = 0
        self.steps_before += self.steps
        self.steps = 0
        """What the search has taken so far; `steps_before` is what those before it have."""

    @property
    def exhausted(self) -> bool:
        """True if no plan that could be better was left out."""
        return self._proved

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
            if self.steps >= self._effort:
                self._proved = False
                return False
            self.steps += _STEPS_OF_AN_OPTION * len(options)
            place = places.take([row])
            self.fewest = min([self.fewest, *islice(self._numbers(place, options), 1)])
            start = starts[row]
            if self._best is None and row == 0:
                for pieces in self._numbers(place, options, start):
                    self._guess(place, start._replace(pieces=pieces), options)
            for pieces in self._numbers(place, options, start):
                self._at(place, start._replace(pieces=pieces), options)
        return True

    def _guess(self, place: Places, start: Figures, options: Sequence[Option]) -> None:
        """A good plan for each kind of gear, so that the search has one to leave others out by.

        Point by point the tiedown of that kind which the rules about single ones like best; then
        one tiedown after the other runs otherwise, as long as that makes the best plan better.
        """
        unbroken = [each for each in options if not each.broken]
        unbroken.sort(key=lambda each: (len(each.undecided), len(each.short), -each.margin))
        plans = []
        for kind in {each.hook.kind for each in unbroken}:
            own = [each for each in unbroken if each.hook.kind == kind]
            if chosen := self._hookups.greedy(start.pieces, own):
                plans.append(self._climbed(place, start, chosen, own))
        while plans and self._evaluate(place, start, plans) and self._best is not None:
            by_hook = {each.hook: each for each in unbroken}
            plans = self._close_to([by_hook[hook] for hook in self._best[1]], unbroken)

    def _climbed(
        self, place: Places, start: Figures, chosen: list[Option], options: Sequence[Option]
    ) -> list[Option]:
        """The plan, changed one tiedown at a time while rules other than statics like it better."""
        key: tuple[float, ...] | None = None
        while True:
            plans = [chosen, *self._close_to(chosen, options)]
            found = self._without_statics(place, start, plans)
            least = min(range(len(plans)), key=lambda each: found[each].key(self._order))
            if key is not None and found[least].key(self._order) >= key:
                return chosen
            chosen, key = plans[least], found[least].key(self._order)

    def _close_to(self, chosen: Sequence[Option], options: Sequence[Option]) -> list[list[Option]]:
        """The plans in which one tiedown is another."""
        return [
            changed
            for slot in range(len(chosen))
            for each in options
            if self._hookups.fits(changed := [*chosen[:slot], each, *chosen[slot + 1 :]])
        ]

    def _without_statics(
        self, place: Places, start: Figures, plans: Sequence[Sequence[Option]]
    ) -> list[Figures]:
        """The figures of plans by all rules but those of statics."""
        self.steps += _STEPS_OF_A_NEW_SET * len(plans)
        hooks = [[each.hook for each in chosen] for chosen in plans]
        table = self._judge.table(_plans(place, hooks), Reads.TIEDOWNS, self.article)
        return [
            both(_with(start, chosen), joint)._replace(
                changes=start.changes + changes([each.hook for each in chosen], self._own)
            )
            for chosen, joint in zip(plans, figures_of(table), strict=True)
        ]

    def _evaluate(self, place: Places, start: Figures, plans: Sequence[Sequence[Option]]) -> bool:
        """Evaluate plans by all rules; True if one of them is the best so far."""
        before = self._key
        self._by_statics(
            place,
            [
                _Candidate(
                    found.key(self._order), (0, 0, 0), 0.0, tuple(e.hook for e in chosen), found
                )
                for chosen, found in zip(
                    plans, self._without_statics(place, start, plans), strict=True
                )
                if self._may_be_better(found)
            ],
            _MOST_AT_A_PLACE,
        )
        return self._key != before

    def _may_be_better(self, figures: Figures) -> bool:
        if figures.broken:
            return False
        return self._key is None or figures.key(self._order) < self._key

    def _numbers(
        self, place: Places, options: Sequence[Option], start: Figures | None = None
    ) -> Iterator[int]:
        """The numbers of tiedowns to try: without those that are too few, however they run.

        With the figures of a `start`, also without those that can no longer be better than the best
        plan.
        """
        for pieces in range(1, min(MOST_PIECES, self._hookups.most_pieces) + 1):
            if start is not None and not self._may_be_better(start._replace(pieces=pieces)):
                continue
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
        """Look at the hook-ups of one place with one number of tiedowns."""
        by_leaves: dict[int, list[Option]] = {}
        for each in options:
            if self._may_be_better(_with(start, (each,))):
                by_leaves.setdefault(each.leaves, []).append(each)
        left: list[_Candidate] = []
        for fewest, sets in self._by_changes(start.pieces, by_leaves):
            bound = start._replace(changes=start.changes + fewest)
            if self._may_be_better(bound):
                joint = self._judged_jointly(place, sets, by_leaves)
                left += self._go_through(place, start, bound, joint, by_leaves)
        # Only now are many looked at that differ in statics alone: one with more changes may have
        # made that needless.
        self._by_statics(place, left, _MOST_AT_A_PLACE)

    def _by_changes(
        self, pieces: int, by_leaves: Mapping[int, Sequence[Option]]
    ) -> list[tuple[int, list[tuple[int, ...]]]]:
        """The sets of leaves, by the fewest tiedowns that differ from today's, in order."""
        own = {*self._own}
        today = {
            leaves: number
            for leaves, options in by_leaves.items()
            if (number := len({each.hook for each in options} & own))
        }
        found: dict[int, list[tuple[int, ...]]] = {}
        number = 0
        for number, each in enumerate(self._hookups.sets(pieces, by_leaves)):
            if number == _MOST_SETS or self.steps + number > self._effort:
                self._proved = False
                break
            found.setdefault(fewest_changes(each, today, len(self._own)), []).append(each)
        self.steps += number
        return sorted(found.items())

    def _go_through(
        self,
        place: Places,
        start: Figures,
        bound: Figures,
        joint: Mapping[tuple[int, ...], Figures],
        by_leaves: Mapping[int, Sequence[Option]],
    ) -> "list[_Candidate]":
        """Look at the hook-ups of sets of leaves, the best sets first, and return those left."""
        sets = [(both(bound, figures), leaves) for leaves, figures in joint.items()]
        sets.sort(key=lambda each: each[0].key(self._order))
        candidates: list[_Candidate] = []
        for figures, leaves in sets:
            if self._may_be_better(figures):
                before = figures._replace(changes=start.changes)
                candidates += self._candidates(before, leaves, by_leaves)
            if len(candidates) > _MOST_HOOKUPS:
                self._proved = False
                break
        return self._by_statics(place, candidates, _FIRST_OF_A_GROUP)

    def _judged_jointly(
        self,
        place: Places,
        sets: Sequence[tuple[int, ...]],
        by_leaves: Mapping[int, Sequence[Option]],
    ) -> dict[tuple[int, ...], Figures]:
        """What the rules that see tiedowns through their leaves add, for each set of leaves.

        Evaluated once for equal leaves, wherever everything stands. A set that breaks a must-rule,
        or cannot be hooked up here, is left out.
        """
        new: dict[tuple[int, ...], tuple[Option, ...]] = {}
        for each in sets:
            if each not in self._joint:
                example = next(self._hookups.of(each, by_leaves), None)
                if example is not None:
                    new[each] = example
        self.steps += _STEPS_OF_A_NEW_SET * len(new)
        if new:
            hooks = [[option.hook for option in each] for each in new.values()]
            table = self._judge.table(_plans(place, hooks), Reads.TIEDOWNS, self.article)
            for each, figures in zip(new, figures_of(table), strict=True):
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
            self.steps += 1
            hooks = tuple(each.hook for each in chosen)
            figures = _with(base, chosen)._replace(changes=base.changes + changes(hooks, self._own))
            if self._may_be_better(figures):
                weakest = min(map(sum, zip(*(each.pulls for each in chosen), strict=True)))
                kinds = {each.kind for each in hooks}
                looks = self._lopsided(hooks), len(kinds), len(kinds - self._kinds_today)
                yield _Candidate(figures.key(self._order), looks, -weakest, hooks, figures)

    def _lopsided(self, hooks: Sequence[Hook]) -> int:
        """How many tiedowns have none like them on the other side of the trailer."""
        ends = Counter(self._sides[hook.course] for hook in hooks)
        return sum((ends - Counter((-side, along) for side, along in ends.elements())).values())

    def _by_statics(
        self, place: Places, candidates: list[_Candidate], most: int
    ) -> list[_Candidate]:
        """Evaluate the rules left, in the order of the figures so far, then of the weakest way.

        At most so many of them; the others that may still be better are returned.
        """
        candidates.sort(key=lambda each: each[:3])
        done, at_once = 0, 1
        while done < len(candidates) and self._may_be_better(candidates[done].figures):
            if done >= most or self.steps >= self._effort:
                self._proved = self._proved and most == _FIRST_OF_A_GROUP
                return candidates[done:]
            batch = candidates[done : done + min(at_once, most - done)]
            table = self._judge.table(
                _plans(place, [each.hooks for each in batch]), Reads.STATICS, self.article
            )
            for each, statics in zip(batch, figures_of(table), strict=True):
                self._keep(place, each.hooks, both(each.figures, statics))
            done += len(batch)
            self._looked_at += len(batch)
            self.steps += _STEPS_OF_STATICS * len(batch)
            at_once = min(4 * at_once, _STATICS_AT_ONCE)
        return []

    def _keep(self, place: Places, hooks: tuple[Hook, ...], figures: Figures) -> None:
        if self._may_be_better(figures):
            self._best, self._key = (place, hooks, figures), figures.key(self._order)


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
