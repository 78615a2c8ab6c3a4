"""Corrects comparisons for how many of them are made, and says what each shows then."""

from collections.abc import Sequence
from typing import Final, Protocol, Self, TypeVar

from checker.season.rates.statistics import holm

LEVEL: Final = 0.025
"""Largest share of seasons without any effect in which an audit names something; a comparison
with an earlier audit has as much again."""

FEWEST: Final = 10
"""Fewest hauls of a group, and of the others, that are compared or ranked."""
FEWEST_LOADS: Final = 10
"""Fewest loads over which faults that go on from haul to haul can be told from a difference."""


MOST_OPEN: Final = 0.25
"""Largest share of hauls that may be open for a comparison.

A haul on hold is decided however little is stated, one with no rule broken only where all is. Of
many open hauls the decided ones are therefore mostly those on hold, and their share says nothing.
"""


class Tested(Protocol):
    """A comparison; `p` is its probability by chance alone, None where too few are compared."""

    @property
    def p(self) -> float | None:
        """Not corrected."""

    def with_result(self, corrected: float | None, made: int) -> Self:
        """The same with its corrected probability, one of `made`, and what it shows."""


AnyTested = TypeVar("AnyTested", bound=Tested)


def corrected(found: Sequence[AnyTested]) -> list[AnyTested]:
    """The same with the result of each, corrected for how many have hauls enough to be compared.

    Which have depends on the numbers of hauls alone, not on how many are on hold.
    """
    given = [each.p for each in found if each.p is not None]
    by_test = iter(holm(given))
    return [
        each.with_result(None if each.p is None else rounded(next(by_test)), len(given))
        for each in found
    ]


def can_be_named(least: float, made: int) -> bool:
    """True if the least possible probability, corrected for all comparisons, would be named."""
    return least * made <= LEVEL


def rounded(number: float) -> float:
    """Six digits, which all processors agree on."""
    return float(f"{number:.6g}")
