"""Gaps: the fields that a haul leaves out and that an undecided rule asks for, all of a rule's."""

from collections.abc import Iterator, Mapping

import numpy as np
from msgspec import Struct, field

from checker.evaluation.rule_rows import NOT_STATED, Flags, Indices, RuleRows, expand
from checker.season.hauls.chunk_result import ChunkResult


class Undecided(Struct):
    """The hauls in which a rule is undecided: their number, and the first of their rows."""

    hauls: int
    row: int


class Gap(Struct):
    """The hauls in which just these fields are missing for some rules, by rule.

    The key of a gap are its fields, with spaces between.
    """

    rules: dict[str, Undecided] = field(default_factory=dict)

    def add(self, other: "Gap") -> None:
        """Add the other's counts; `other` must not be used afterwards."""
        for rule, more in other.rules.items():
            own = self.rules.setdefault(rule, Undecided(0, more.row))
            own.hauls += more.hauls
            own.row = min(own.row, more.row)


def add_gaps(gaps: dict[str, Gap], more: Mapping[str, Gap]) -> None:
    """Add gaps by their keys; `more` must not be used afterwards."""
    for key, gap in more.items():
        if key in gaps:
            gaps[key].add(gap)
        else:
            gaps[key] = gap


def gaps_of(result: ChunkResult, rows: RuleRows, missing: Mapping[str, Flags]) -> dict[str, Gap]:
    """The gaps of one rule in the hauls of a chunk; `missing` are its missing fields by haul."""
    chunk = result.chunk
    undecided = np.flatnonzero(expand(rows.verdicts == NOT_STATED, chunk.hauls))
    return {
        " ".join(sorted(fields)): Gap(
            {rows.rule.id: Undecided(len(here), int(chunk.rows[here].min()))}
        )
        for fields, here in _together(missing, undecided, chunk.hauls)
        if fields
    }


def _together(
    missing: Mapping[str, Flags], undecided: Indices, hauls: int
) -> Iterator[tuple[list[str], Indices]]:
    """The fields that are missing together, with the hauls in which they are."""
    marks = np.array([expand(rows, hauls)[undecided] for rows in missing.values()])
    if not marks.size:
        return
    if (marks == marks[:, :1]).all():  # in most chunks, in a tenth of the time
        yield [name for name, mark in zip(missing, marks[:, 0], strict=True) if mark], undecided
        return
    together, of_haul = np.unique(np.packbits(marks, axis=0), axis=1, return_inverse=True)
    of_haul = of_haul.ravel()
    for index in range(together.shape[1]):
        here = of_haul == index
        fields = [name for name, mark in zip(missing, marks, strict=True) if mark[here][0]]
        yield fields, undecided[here]
