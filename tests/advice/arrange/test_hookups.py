"""The bound by which sets of leaves are put in order, against every hook-up they stand for."""

from itertools import combinations, combinations_with_replacement, product

import pytest

from checker.advice.arrange.choices import Hook
from checker.advice.arrange.hookups import changes, fewest_changes

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
