"""The result of one rule in every row of a load: verdict, margin, deciding subject.

A verdict in a column is an index into VERDICTS, so that the worse of two is the smaller one. A
column with one entry counts for all rows.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple, Protocol, TypeVar, cast

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from checker.evaluation.variances import Permit
from checker.rulebooks.formula_arithmetic import wanted_operator
from checker.rulebooks.model import Rule, Rulebook
from checker.rulebooks.rule_text import BROKEN_ON, Side
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from checker.units.arithmetic import Number, at_least

VERDICTS = WORST_FIRST
NOT_MET, NOT_STATED, TOO_CLOSE, MET, DOES_NOT_APPLY = range(len(VERDICTS))

Codes = NDArray[np.int8]
Flags = NDArray[np.bool_]
Numbers = NDArray[np.float64]
Indices = NDArray[np.intp]
Column = TypeVar("Column", bound=NDArray[Any])

NOWHERE: Flags = np.zeros(1, dtype=bool)
EVERYWHERE: Flags = np.ones(1, dtype=bool)
NO_MARGIN: Numbers = np.full(1, np.nan)
_A_LITTLE_MORE = 1.001  # than the tolerance of comparisons


def collapse(column: Column) -> Column:
    """The column, or its first row where all its rows are equal."""
    if column.size <= 1 or not (column == column[0]).all():
        return column
    return cast("Column", column[:1])


def take(column: Column, rows: Any) -> Column:
    """Some rows of a column; a column with one entry stays as it is."""
    return column if column.size == 1 else cast("Column", column[rows])


def expand(column: Column, rows: int) -> Column:
    """The column with that many rows, where it has one for all."""
    return cast("Column", column.repeat(rows)) if column.size == 1 else column


def is_near(spare: Number, share: float) -> Flags:
    """True in rows where a rule is met by no more than a share of its limit.

    `spare` is as in `RuleRows.spare`. The only definition of "near the limit".
    """
    if spare is NO_MARGIN:  # as of every yes or no: most rules are told here
        return NOWHERE
    column = np.atleast_1d(spare)
    if not (column <= share * _A_LITTLE_MORE).any():
        return NOWHERE
    return np.atleast_1d(np.equal(at_least(share, column), 1))


class SubjectRows(NamedTuple):
    """The result of a rule for one subject: one entry a row, or one for all rows."""

    verdicts: Codes
    distances: Numbers
    """Distance of the deciding comparison from a change of verdict, as in `Formula.margins`."""
    margins: Numbers
    """The same where it is a share of a limit; NaN elsewhere."""
    spare: Numbers
    leaf: Indices
    """Index of the deciding comparison among the leaves of the formula."""
    corner: Indices
    """Index of the corner of the tolerances that decides."""
    metric: Flags
    """True where the printed metric figures decide."""

    def replaced(self, other: "SubjectRows", where: Flags) -> "SubjectRows":
        """These rows, with the other's in the given rows."""
        if where.size == 1:
            return other if where[0] else self
        pairs: Iterable[tuple[Any, Any]] = zip(self, other, strict=True)
        return SubjectRows(*(np.where(where, theirs, own) for own, theirs in pairs))

    @property
    def rank(self) -> Numbers:
        """The order of subjects with equal verdicts: the smallest distance decides."""
        unknown = np.isnan(self.distances)
        return np.where(unknown, np.inf, self.distances) if unknown.any() else self.distances


class MissingFields(Protocol):
    """Finds the profile fields that an undecided rule needs."""

    def missing(self, rows: "RuleRows") -> Mapping[str, Flags]:
        """Each missing field with the rows of the rule that need it."""


class RuleRows(Struct, frozen=True):
    """The result of one rule over all rows of a load; the worst of its subjects decides each row.

    `distances` are the distances from the point where the verdict changes, infinite for yes and no;
    `margins` are those that are a share of a limit, NaN elsewhere. `spare` is the margin of a met
    rule where a share of the limit is meaningful: not for counts, equality, or a rule that is
    usually at its limit. `subject` is the index of the deciding subject, -1 where there is none.
    """

    book: Rulebook
    rule: Rule
    verdicts: Codes
    distances: Numbers
    margins: Numbers
    spare: Numbers
    subject: Indices
    leaf: Indices
    """Index of the deciding comparison among the leaves of what the rule requires."""
    corner: Indices
    """Index of the corner of the tolerances that decides."""
    metric: Flags
    permits: Sequence[Permit]
    """The variances of the rule that count in some rows."""
    excusable: Flags
    """True in rows that a variance may excuse: those that meet what law alone asks."""
    evaluator: MissingFields

    def expanded(self, rows: int) -> "RuleRows":
        """The same rows with that many entries in every column."""
        columns = {
            name: expand(column, rows)
            for name in self.__struct_fields__
            if isinstance(column := getattr(self, name), np.ndarray)
        }
        return replace(self, **columns)

    def near(self, share: float) -> Flags:
        """True in rows where the rule is met by no more than a share of its limit."""
        return is_near(self.spare, share)

    def are(self, *verdicts: Verdict) -> Flags:
        """True in rows where the rule has one of these verdicts."""
        found: Flags = np.isin(self.verdicts, [VERDICTS.index(each) for each in verdicts])
        return found

    @property
    def satisfied(self) -> Flags:
        """True in rows where the rule is met or does not apply."""
        found: Flags = self.verdicts >= MET
        return found

    @property
    def is_satisfied_everywhere(self) -> bool:
        """True if the rule is met or does not apply in every row."""
        return bool(self.verdicts.min() >= MET)

    @property
    def counted(self) -> Codes:
        """The verdicts; of a rule that a variance excuses, that it does not apply."""
        if not self.permits:
            return self.verdicts
        return np.where(self.excused, np.int8(DOES_NOT_APPLY), self.verdicts)

    @property
    def broken(self) -> Flags:
        """True in rows where the rule is not met and no variance excuses it."""
        found: Flags = self.counted == NOT_MET
        return found

    def broken_on(self, side: Side) -> Flags:
        """True in rows where the rule is broken with a value on this side of its limit.

        A limit that the value has to equal is on neither side.
        """
        signs = [wanted_operator(leaf) for leaf in self.rule.requires.leaves]
        here = [BROKEN_ON.get(sign or "") is side for sign in signs]
        found: Flags = self.broken & np.array(here)[self.leaf]
        return found

    @property
    def undecided(self) -> Flags:
        """True in rows where the rule is not stated, or too close to call without a variance."""
        verdicts = self.counted
        found: Flags = (verdicts == NOT_STATED) | (verdicts == TOO_CLOSE)
        return found

    @property
    def excused(self) -> Flags:
        """True in rows where a variance excuses a rule that is not met, or may not be."""
        if not self.permits:
            return NOWHERE
        permitted: Flags = NOWHERE
        for each in self.permits:
            permitted = permitted | each.rows
        in_question = (self.verdicts == NOT_MET) | (self.verdicts == TOO_CLOSE)
        found: Flags = in_question & permitted & self.excusable
        return found

    def missing(self) -> Mapping[str, Flags]:
        """Each profile field that the rule needs, with the rows that need it."""
        return self.evaluator.missing(self)
