"""Dimensions of formulas, their names for messages, and the faults that a formula can have.

A dimension is three exponents: of load (weights, ratings and forces are one kind), of length and of
time. A speed is (0, 1, -1). An answer of yes or no has no dimension: it is `YES_NO`.
"""

from collections.abc import Callable, Mapping, Sequence
from enum import Enum
from typing import Final, TypeAlias

from checker.units.kinds import OF_A_DAY

Dimension: TypeAlias = tuple[int, int, int]


class YesNo(Enum):
    """The kind of a name that is true or false, such as a walk-around answer."""

    ANSWER = "yes/no"


YES_NO: Final = YesNo.ANSWER

# The dimension of each name in a formula, or yes/no.
Names: TypeAlias = Mapping[str, Dimension | YesNo]

PLAIN: Final[Dimension] = (0, 0, 0)

_WORDS: Final[Mapping[Dimension, str]] = {
    PLAIN: "a plain number",
    (1, 0, 0): "a weight or rating (lb, kg)",
    (0, 1, 0): "a length (ft, m)",
    (0, 0, 1): "a time (s, h)",
    OF_A_DAY: "a day (1988-07-01)",
    (0, 2, 0): "an area (sq ft, m2)",
    (0, 1, -1): "a speed (mph, km/h)",
    (0, 1, -2): "an acceleration (m/s2)",
    (1, -2, 0): "a pressure (psi, kPa)",
    (1, -1, 0): "a load per length (lb/ft, kg/m)",
    (1, 1, 0): "a moment (lb ft, N m)",
}


def in_words(kind: Dimension | YesNo) -> str:
    """The name of the kind as a crew knows it; a kind without an everyday name is spelled out."""
    if isinstance(kind, YesNo):
        return "a yes or no"
    if kind in _WORDS:
        return _WORDS[kind]
    named = zip(("load", "length", "time"), kind, strict=True)
    powers = [base if power == 1 else f"{base}^{power}" for base, power in named if power]
    return "a quantity in " + " x ".join(powers)


def times(left: Dimension, right: Dimension) -> Dimension:
    """The dimension of a product."""
    return (left[0] + right[0], left[1] + right[1], left[2] + right[2])


def over(left: Dimension, right: Dimension) -> Dimension:
    """The dimension of a quotient."""
    return (left[0] - right[0], left[1] - right[1], left[2] - right[2])


class FormulaError(ValueError):
    """One fault of a formula, for the author of a rule.

    `found` is a clause that says what is wrong, `wanted` what belongs there, `suggestion` a
    replacement text or a function that finds one, `offset` the index of the character in the
    formula.
    """

    def __init__(
        self,
        found: str,
        wanted: str,
        suggestion: str | Callable[[], str | None] | None,
        offset: int,
    ) -> None:
        """Keep the parts."""
        super().__init__(found)
        self.found = found
        self.wanted = wanted
        self._suggestion = suggestion
        self.offset = offset

    @property
    def suggestion(self) -> str | None:
        """A replacement text, found on the first call because that is slow."""
        return self._suggestion() if callable(self._suggestion) else self._suggestion

    def __str__(self) -> str:
        """The fault on one line."""
        guess = self.suggestion
        return f"{self.found}; wanted: {self.wanted}" + (
            f"; did you mean `{guess}`?" if guess else ""
        )


class FormulaFaults(ValueError):  # noqa: N818  # it carries errors, it is not one
    """All faults of one formula, ordered by their offset."""

    def __init__(self, faults: Sequence[FormulaError]) -> None:
        """Keep the first fault at each offset: later ones only repeat it."""
        first_at: dict[int, FormulaError] = {}
        for fault in faults:
            first_at.setdefault(fault.offset, fault)
        self.faults = [first_at[offset] for offset in sorted(first_at)]
        super().__init__("\n".join(str(fault) for fault in self.faults))
