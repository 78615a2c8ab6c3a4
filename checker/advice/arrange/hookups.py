"""Sets of tiedowns to one article at one place that anchors, points and gear allow together."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from checker.advice.arrange.choices import Choices, Hook
from checker.advice.arrange.options import Option


class Taken(NamedTuple):
    """What the tiedowns of other articles already use: anchors, and pieces by kind of gear."""

    anchors: frozenset[str] = frozenset()
    kinds: tuple[int, ...] = ()

    def with_hooks(self, choices: Choices, hooks: Sequence[Hook]) -> "Taken":
        """The same with more tiedowns."""
        anchors = {name for hook in hooks for name in choices.courses[hook.course].anchors}
        return Taken(self.anchors | anchors, (*self.kinds, *(hook.kind for hook in hooks)))


class Hookups:
    """The hook-ups of one article that anchors, points and gear allow.

    An anchor takes one tiedown, as its rating is for one. The points of the article share the
    tiedowns as evenly as their number allows.
    """

    def __init__(self, choices: Choices, points: int, taken: Taken) -> None:
        """For an article with that many points, and what others already use."""
        self._points = points
        self._ends = [(each.anchors, each.points) for each in choices.courses]
        self._taken = taken
        used = Counter(taken.kinds)
        self._left = [kind.count - used[number] for number, kind in enumerate(choices.kinds)]
        self.most_pieces = sum(self._left)

    def greedy(self, pieces: int, options: Sequence[Option]) -> list[Option] | None:
        """The first of the options that go together; None where these are fewer than wanted."""
        return self._first(pieces, options, -(-pieces // self._points))

    def some(self, pieces: int, options: Sequence[Option]) -> list[Hook] | None:
        """Any tiedowns of that number on anchors of their own; None where there are too few."""
        found = self._first(pieces, options, pieces)
        return None if found is None else [each.hook for each in found]

    def fits(self, options: Sequence[Option]) -> bool:
        """True if all of them go together."""
        return self.greedy(len(options), options) is not None

    def _first(
        self, pieces: int, options: Sequence[Option], most_on_a_point: int
    ) -> list[Option] | None:
        anchors, left = set(self._taken.anchors), list(self._left)
        on_points: Counter[tuple[str, ...]] = Counter()
        chosen: list[Option] = []
        for each in options:
            ends, points = self._ends[each.hook.course]
            if len(chosen) == pieces:
                break
            if (
                left[each.hook.kind]
                and on_points[points] < most_on_a_point
                and anchors.isdisjoint(ends)
            ):
                anchors.update(ends)
                on_points[points] += 1
                left[each.hook.kind] -= 1
                chosen.append(each)
        return chosen if len(chosen) == pieces else None

    def sets(
        self, pieces: int, options: Mapping[int, Sequence[Option]]
    ) -> Iterator[tuple[int, ...]]:
        """Every set of that many leaves, sorted, that its points may allow.

        Most leaves belong to one point of the article each, which leaves few sets.
        """
        most = -(-pieces // self._points)
        on_points = {
            leaves: {self._ends[each.hook.course][1] for each in own}
            for leaves, own in options.items()
        }
        every = sorted(options)
        numbers = [len(options[leaves]) for leaves in every]
        only = [
            next(iter(points)) if len(points) == 1 else None
            for points in (on_points[leaves] for leaves in every)
        ]
        used: Counter[tuple[str, ...]] = Counter()
        chosen: list[int] = []

        def choose(first: int, again: int) -> Iterator[tuple[int, ...]]:
            """Go on from the leaves at `first`, which were chosen so often by now."""
            if len(chosen) == pieces:
                yield tuple(chosen)
                return
            for index in range(first, len(every)):
                before = again if index == first else 0
                point = only[index]
                if before == numbers[index] or (point is not None and used[point] == most):
                    continue
                if point is not None:
                    used[point] += 1
                chosen.append(every[index])
                yield from choose(index, before + 1)
                chosen.pop()
                if point is not None:
                    used[point] -= 1

        return choose(0, 0)

    def of(
        self, leaves: Sequence[int], options: Mapping[int, Sequence[Option]]
    ) -> Iterator[tuple[Option, ...]]:
        """Every way to choose one tiedown for each of the leaves: sorted, with repetitions."""
        most = -(-len(leaves) // self._points)
        anchors, left = set(self._taken.anchors), list(self._left)
        on_points: Counter[tuple[str, ...]] = Counter()
        chosen: list[Option] = []

        def choose(number: int, first: int) -> Iterator[tuple[Option, ...]]:
            if number == len(leaves):
                yield tuple(chosen)
                return
            own = options[leaves[number]]
            again = number + 1 < len(leaves) and leaves[number + 1] == leaves[number]
            for index in range(first, len(own)):
                option = own[index]
                hook = option.hook
                ends, points = self._ends[hook.course]
                if not left[hook.kind] or on_points[points] == most or not anchors.isdisjoint(ends):
                    continue
                anchors.update(ends)
                on_points[points] += 1
                left[hook.kind] -= 1
                chosen.append(option)
                yield from choose(number + 1, index + 1 if again else 0)
                chosen.pop()
                left[hook.kind] += 1
                on_points[points] -= 1
                anchors.difference_update(ends)

        return choose(0, 0)


def changes(hooks: Sequence[Hook], own: Sequence[Hook | None]) -> int:
    """How many tiedowns differ from those of today: those put elsewhere, added or left out."""
    kept = 0
    today = list(own)
    for hook in hooks:
        if hook in today:
            today.remove(hook)
            kept += 1
    return max(len(hooks), len(own)) - kept


def fewest_changes(leaves: Sequence[int], today: Mapping[int, int], own: int) -> int:
    """How many tiedowns differ at least, whichever hook-up of a set of leaves is chosen.

    Of today's `own` tiedowns so many as in `today` have these leaves, the others none of them.
    """
    kept = sum(min(leaves.count(each), number) for each, number in today.items())
    return max(len(leaves), own) - kept
