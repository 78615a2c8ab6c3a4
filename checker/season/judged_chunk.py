"""What each rule says of the hauls of a chunk, and what each haul comes to."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.engine import Outcome
from checker.season.chunk import Chunk
from checker.season.judging import NOT_MET, TOO_CLOSE, UNKNOWN, Flags, Numbers, Said

OUTCOMES = tuple(Outcome)
HOLD, OPEN, CLEAR = (
    OUTCOMES.index(outcome) for outcome in (Outcome.HOLD, Outcome.OPEN, Outcome.NO_RULE_BROKEN)
)

_NOWHERE = np.zeros(1, dtype=bool)
_Kind = TypeVar("_Kind", np.bool_, np.int8, np.float64)


class RuleSaid(NamedTuple):
    """What one rule says of each haul of a chunk, and whether a variance excuses it if not met.

    One row stands for all hauls. With `by_load` there is a row for each load of the chunk instead.
    """

    said: Said
    excused: bool
    by_load: bool
    quiet: bool

    @property
    def breaks(self) -> Flags:
        """Where it is not met and nothing excuses that."""
        return _NOWHERE if self.excused else self.said.codes == NOT_MET

    @property
    def opens(self) -> Flags:
        """Where it is undecided and nothing excuses that; what is not stated is never excused."""
        unknown: Flags = self.said.codes == UNKNOWN
        return unknown if self.excused else unknown | (self.said.codes == TOO_CLOSE)

    @property
    def freed(self) -> Flags:
        """Where a variance excuses what is not met, or may not be."""
        if not self.excused:
            return _NOWHERE
        found: Flags = (self.said.codes == NOT_MET) | (self.said.codes == TOO_CLOSE)
        return found


@dataclass(frozen=True, slots=True)
class JudgedChunk:
    """Hauls with what every rule says of them, and what each comes to."""

    chunk: Chunk
    rules: Sequence[RuleSaid]
    """In the order of the rulebooks."""
    outcomes: NDArray[np.int8]
    """Places in OUTCOMES."""
    near: Flags
    """In order, and some rule is met by little."""
    margins: Numbers
    """Of the must-rule missed by most; where none is broken, of the rule met by least; NaN none."""
    freed: Flags
    """Under a variance."""
    advised: Flags
    """Some should-rule is not met."""

    def of(self, each: RuleSaid, column: NDArray[_Kind], rows: NDArray[np.intp]) -> NDArray[_Kind]:
        """What a column of a rule says of some hauls."""
        if column.size == 1:
            return np.broadcast_to(column, rows.shape)
        return column[self.chunk.load_of[rows] if each.by_load else rows]
