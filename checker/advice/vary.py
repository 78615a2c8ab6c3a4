"""One number of a load varied from one value to another: which verdicts change, and where."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from checker.advice.fields import numeric_field
from checker.advice.sweep import RuleRows, is_slow, sweep
from checker.documents.problems import DataPath
from checker.load.build import Profile
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.verdicts import ROW_VERDICTS, Verdict
from checker.units import KINDS

STEPS = 400
"""Coarse steps between the two ends; what changes and changes back within one may be missed."""

_FINE_STEPS = 64
_SLOW_STRIDE = 10
_SLOW_FINE_STEPS = 12
"""Rules that ask for a linear programme are tried at fewer values."""
_FINER = 3


@dataclass(frozen=True)
class Change:
    """A rule whose verdict changes as the number passes a value, in the field's SI unit.

    `before` holds up to and with `value`, `after` from just above it.
    """

    value: float
    rule: Rule
    before: Verdict
    after: Verdict


@dataclass(frozen=True)
class Varied:
    """A field, its kind, the values tried, every change in order, and what is never met."""

    field: str
    kind: str
    values: NDArray[np.float64]
    changes: tuple[Change, ...]
    never_met: tuple[Rule, ...]
    """Must-rules that are not met at any of the values."""


def vary(
    profile: Profile, field: str, ends: tuple[float, float], rulebooks: Rulebooks, on: date
) -> Varied:
    """Vary one numeric field between two values, in the field's SI unit.

    Raises NoSuchFieldError where the field is no number of the profile.
    """
    path, kind = numeric_field(profile, field)
    stated = with_field(profile, path, kind)
    low, high = min(ends), max(ends)
    values = np.linspace(low, high, STEPS + 1)
    if kind == "count":
        values = np.arange(np.ceil(low), np.floor(high) + 1)
    sparse = values if kind == "count" else values[::_SLOW_STRIDE]
    quick = sweep(stated, {path: values}, rulebooks, on, lambda rule: not is_slow(rule))
    slow = sweep(stated, {path: sparse}, rulebooks, on, is_slow)
    changes = []
    for each in (*quick, *slow):
        tried = values if each.by_row.size == values.size else sparse
        for row in np.flatnonzero(np.diff(each.by_row)):
            place = (float(tried[row]), float(tried[row + 1]))
            before, after = (ROW_VERDICTS[each.by_row[row + side]] for side in (0, 1))
            value = place[0] if kind == "count" else _edge(stated, path, place, each, rulebooks, on)
            changes.append(Change(value, each.rule, before, after))
    return Varied(
        field=field,
        kind=kind,
        values=values,
        changes=tuple(sorted(changes, key=lambda change: change.value)),
        never_met=tuple(
            each.rule
            for each in (*quick, *slow)
            if each.rule.level == "must" and each.is_(Verdict.NOT_MET).all()
        ),
    )


def with_field(profile: Profile, path: DataPath, kind: str) -> Profile:
    """The profile with the field in it, so that values can stand there."""
    found: object = profile.merged.data
    for part in path:
        if isinstance(found, Mapping):
            found = found.get(str(part))
        elif isinstance(found, list):
            found = found[int(part)]
    if found is not None:
        return profile
    return profile.replaced({path: KINDS[kind].example})


def _edge(
    profile: Profile,
    path: DataPath,
    between: tuple[float, float],
    coarse: RuleRows,
    rulebooks: Rulebooks,
    on: date,
) -> float:
    """The last value with the verdict of the lower end, found in ever finer steps."""
    low, high = between
    steps = _SLOW_FINE_STEPS if is_slow(coarse.rule) else _FINE_STEPS
    for _ in range(_FINER):
        fine = np.linspace(low, high, steps + 1)
        (rows,) = sweep(profile, {path: fine}, rulebooks, on, lambda rule: rule is coarse.rule)
        changed = np.flatnonzero(rows.by_row != rows.by_row[0])
        if not changed.size:
            return high
        low, high = float(fine[changed[0] - 1]), float(fine[changed[0]])
    return low
