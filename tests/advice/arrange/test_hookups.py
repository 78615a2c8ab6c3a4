"""Sets of leaves and the bound that puts them in order, against every hook-up they stand for."""

from collections import Counter
from collections.abc import Sequence
from itertools import combinations, combinations_with_replacement, product
from types import SimpleNamespace
from typing import Any

import pytest

from checker.advice.arrange.choices import Course, Hook
from checker.advice.arrange.hookups import Hookups, Taken, changes, fewest_changes
from checker.advice.arrange.options import Option

OPTIONS = {0: [Hook(0, 0), Hook(1, 0), Hook(2, 0)], 1: [Hook(3, 0), Hook(3, 1)], 2: [Hook(4, 0)]}
ELSEWHERE = Hook(5, 0)


@pytest.mark.parametrize(
    "own",
    [
        (),
        (Hook(0, 0),),
        (Hook(0, 0), Hook(1, 0), Hook(3, 1)),
        (Hook(0, 0), Hook(3, 0), Hook(4, 0), ELSEWHERE),
        (None, ELSEWHERE, Hook(3, 0), Hook(3, 1), Hook(2, 0), Hook(1, 0)),
    ],
)
def test_so_many_tiedowns_differ_at_least_and_in_one_hook_up_no_more(
    own: tuple[Hook | None, ...],
) -> None:
    today = {leaves: len({*hooks} & {*own}) for leaves, hooks in OPTIONS.items()}
    for pieces in range(1, 6):
        for leaves in combinations_with_replacement(OPTIONS, pieces):
            if any(leaves.count(each) > len(hooks) for each, hooks in OPTIONS.items()):
                continue
            every = product(
                *(combinations(hooks, leaves.count(each)) for each, hooks in OPTIONS.items())
            )
            least = min(changes([hook for some in each for hook in some], own) for each in every)
            assert fewest_changes(leaves, today, len(own)) == least, leaves


COURSES = [
    Course(0, "direct", anchor, (point,))
    for anchor, point in ("ap", "bp", "cp", "cq", "dq", "eq", "fr")
]
KINDS = [SimpleNamespace(count=3), SimpleNamespace(count=2)]


def option(course: int, kind: int, leaves: int) -> Option:
    nothing: frozenset[int] = frozenset()
    return Option(Hook(course, kind), leaves, nothing, nothing, nothing, 1.0, ())


def goes_together(chosen: Sequence[Option], points: int) -> bool:
    """An anchor takes one tiedown, a point its even share, rounded up, and gear what there is."""
    anchors = [COURSES[each.hook.course].anchor for each in chosen]
    on_points = Counter(COURSES[each.hook.course].points for each in chosen)
    kinds = Counter(each.hook.kind for each in chosen)
    return (
        len({*anchors}) == len(anchors)
        and max(on_points.values()) * points < len(chosen) + points
        and all(kinds[kind] <= each.count for kind, each in enumerate(KINDS))
    )


LEAVES = {
    "of one kind each": lambda _course, kind: kind,
    "of every second course": lambda course, _kind: course % 2,
    "of two neighbours and one kind": lambda course, kind: course // 2 * 2 + kind,
    "of one course each": lambda course, _kind: course,
}


@pytest.mark.parametrize("leaves_of", LEAVES.values(), ids=LEAVES)
def test_the_sets_of_leaves_stand_for_every_hookup_that_goes_together(leaves_of: Any) -> None:
    choices: Any = SimpleNamespace(courses=COURSES, kinds=KINDS)
    options = [option(c, k, leaves_of(c, k)) for c in range(len(COURSES)) for k in range(2)]
    by_leaves: dict[int, list[Option]] = {}
    for each in options:
        by_leaves.setdefault(each.leaves, []).append(each)
    points = len({each.points for each in COURSES})
    hookups = Hookups(choices, points, Taken())
    for pieces in range(1, 7):
        sets = list(hookups.sets(pieces, by_leaves))
        found = [
            frozenset(each.hook for each in chosen)
            for leaves in sets
            for chosen in hookups.of(leaves, by_leaves)
        ]
        every = (each for each in combinations(options, pieces) if goes_together(each, points))
        assert Counter(found) == Counter(frozenset(one.hook for one in each) for each in every)
        assert len({*sets}) == len(sets)
        assert all(each.count(one) <= len(by_leaves[one]) for each in sets for one in each)
