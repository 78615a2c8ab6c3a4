"""One number of a load varied from one value to another: which verdicts change, and where."""

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.advice.brackets import Bracket, narrowed
from checker.advice.fields import find_numeric_field, parse_value
from checker.advice.sweep import sweep
from checker.documents.document import value_at
from checker.documents.problems import DataPath
from checker.evaluation.rule_rows import VERDICTS, Flags, RuleRows
from checker.load.build import Profile
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import US, show
from checker.units.parsing import KINDS, UnitError

STEPS = 400
"""Coarse steps between the two ends; a verdict that changes back within one may be missed."""


@dataclass(frozen=True)
class Change:
    """A rule whose verdict changes as the number passes a value, in the field's SI unit.

    `before` holds up to and including `value`, `after` from just above it.
    """

    value: float
    rule: Rule
    before: Verdict
    after: Verdict


@dataclass(frozen=True)
class Varied:
    """A field, its kind, the values tried, every change in order, and the rules never met."""

    field: str
    kind: str
    values: NDArray[np.float64]
    changes: tuple[Change, ...]
    never_met: tuple[Rule, ...]
    """Must-rules that are not met at any of the values."""


def vary(
    profile: Profile, field: str, ends: tuple[float, float], rulebooks: Rulebooks, on: date
) -> Varied:
    """The changes of verdict as one numeric field runs between two values, in its SI unit.

    Raises NoSuchFieldError where the path is no number of the profile, UnitError where there is no
    value between the two, or one that the profile itself could not state.
    """
    path, kind = find_numeric_field(profile, field)
    stated = with_field(profile, path, kind)
    low, high = min(ends), max(ends)
    if kind == "count":
        low, high = float(np.ceil(low)), float(np.floor(high))
        if low > high:
            raise UnitError(f"{min(ends)}..{max(ends)}", KINDS[kind].wanted)
    for end in (low, high):
        parse_value(profile, field, show(end, kind, US))
    values = np.linspace(low, high, STEPS + 1)
    if kind == "count":
        values = np.arange(low, high + 1)

    def evaluate(tried: NDArray[np.float64], ids: Container[str]) -> list[RuleRows]:
        return sweep(stated, {path: tried}, rulebooks, on, lambda rule: rule.id in ids)

    rules = sweep(stated, {path: values}, rulebooks, on)
    changes = list(_changes(rules, values))
    if kind != "count":
        narrow = narrowed([each.bracket for each in changes], evaluate)
        changes = [
            each._replace(bracket=bracket) for each, bracket in zip(changes, narrow, strict=True)
        ]
    return Varied(
        field=field,
        kind=kind,
        values=values,
        changes=tuple(sorted((each.change for each in changes), key=lambda change: change.value)),
        never_met=tuple(
            each.rule
            for each in rules
            if each.rule.level == "must" and each.are(Verdict.NOT_MET).all()
        ),
    )


def with_field(profile: Profile, path: DataPath, kind: str) -> Profile:
    """The profile with the field stated, so that it can be given values."""
    if value_at(profile.merged.data, path) is not None:
        return profile
    return profile.replaced({path: KINDS[kind].example})


class _Found(NamedTuple):
    """A change of verdict between two values."""

    rule: Rule
    before: int
    after: int
    bracket: Bracket

    @property
    def change(self) -> Change:
        """With the last value before it."""
        return Change(self.bracket.outside, self.rule, VERDICTS[self.before], VERDICTS[self.after])


def _changes(rules: Sequence[RuleRows], tried: NDArray[np.float64]) -> Iterator[_Found]:
    """Every change between two values tried."""
    for each in rules:
        for index in np.flatnonzero(np.diff(each.verdicts)).tolist():
            before, after = (int(each.verdicts[index + side]) for side in (0, 1))
            ends = float(tried[index]), float(tried[index + 1])
            bracket = Bracket(each.rule.id, *ends, partial(_differs, before))
            yield _Found(each.rule, before, after, bracket)


def _differs(before: int, rows: RuleRows) -> Flags:
    other: Flags = rows.verdicts != before
    return other
