"""One number of a load varied from one value to another: which verdicts change, and where."""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial

import numpy as np
from numpy.typing import NDArray

from checker.advice.fields import numeric_field, value_for
from checker.advice.sweep import first_rows, is_slow, sweep
from checker.documents.problems import DataPath
from checker.evaluation.rule_rows import VERDICTS, Flags, RuleRows
from checker.load.build import Profile
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import show
from checker.units.parsing import KINDS, UnitError

STEPS = 400
"""Coarse steps between the two ends; a verdict that changes back within one may be missed."""

_FINE_STEPS = 64
_SLOW_STRIDE = 10
_SLOW_FINE_STEPS = 12
_SLOW_AT_ONCE = 4
"""Rules with a linear programme are tried at fewer values, and no further than needed."""
_FINER = 3


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
    path, kind = numeric_field(profile, field)
    stated = with_field(profile, path, kind)
    low, high = min(ends), max(ends)
    if kind == "count":
        low, high = float(np.ceil(low)), float(np.floor(high))
        if low > high:
            raise UnitError(f"{min(ends)}..{max(ends)}", KINDS[kind].wanted)
    for end in (low, high):
        value_for(profile, field, show(end, kind, "us"))
    values = np.linspace(low, high, STEPS + 1)
    if kind == "count":
        values = np.arange(low, high + 1)
    sparse = values if kind == "count" else values[::_SLOW_STRIDE]
    quick = sweep(stated, {path: values}, rulebooks, on, lambda rule: not is_slow(rule))
    slow = sweep(stated, {path: sparse}, rulebooks, on, is_slow)
    finely = _Refinement(stated, path, rulebooks, on)
    changes = [
        *_changes(quick, values, kind, finely, _FINE_STEPS, at_once=_FINE_STEPS),
        *_changes(slow, sparse, kind, finely, _SLOW_FINE_STEPS, at_once=_SLOW_AT_ONCE),
    ]
    return Varied(
        field=field,
        kind=kind,
        values=values,
        changes=tuple(sorted(changes, key=lambda change: change.value)),
        never_met=tuple(
            each.rule
            for each in (*quick, *slow)
            if each.rule.level == "must" and each.are(Verdict.NOT_MET).all()
        ),
    )


def with_field(profile: Profile, path: DataPath, kind: str) -> Profile:
    """The profile with the field stated, so that it can be given values."""
    found: object = profile.merged.data
    for part in path:
        if isinstance(found, Mapping):
            found = found.get(str(part))
        elif isinstance(found, list):
            found = found[int(part)]
    if found is not None:
        return profile
    return profile.replaced({path: KINDS[kind].example})


def _changes(
    rules: Sequence[RuleRows],
    tried: NDArray[np.float64],
    kind: str,
    finely: "_Refinement",
    steps: int,
    *,
    at_once: int,
) -> Iterator[Change]:
    """Every change between two values tried, with the last value before it."""
    changed: dict[int, list[RuleRows]] = {}
    for each in rules:
        for index in np.flatnonzero(np.diff(each.verdicts)):
            changed.setdefault(int(index), []).append(each)
    for row, some in changed.items():
        low, high = float(tried[row]), float(tried[row + 1])
        before = {each.rule.id: int(each.verdicts[row]) for each in some}
        last = dict.fromkeys(before, low)
        if kind != "count":
            last = finely.last_before(low, high, before, steps, _FINER, at_once)
        for each in some:
            was, becomes = (VERDICTS[each.verdicts[row + side]] for side in (0, 1))
            yield Change(last[each.rule.id], each.rule, was, becomes)


class _Refinement:
    """One field of a profile, tried in ever finer steps."""

    def __init__(self, profile: Profile, path: DataPath, rulebooks: Rulebooks, on: date) -> None:
        self.profile, self.path = profile, path
        self.rulebooks, self.on = rulebooks, on

    def last_before(
        self,
        low: float,
        high: float,
        before: Mapping[str, int],
        steps: int,
        times: int,
        at_once: int,
    ) -> dict[str, float]:
        """By rule id, the last value from `low` on at which a rule keeps its verdict.

        `before` holds these verdicts as indices into VERDICTS. At `high` all of the rules have
        another verdict. Rules that change within the same step go on together.
        """
        if not times:
            return dict.fromkeys(before, low)
        fine = np.linspace(low, high, steps + 1)
        sought = {
            name: partial(_says_other, before_verdict) for name, before_verdict in before.items()
        }
        first = first_rows(fine[1:-1], at_once, sought, self._at)
        within: dict[int, dict[str, int]] = {}
        for name, before_verdict in before.items():
            within.setdefault(first.get(name, steps - 1), {})[name] = before_verdict
        found: dict[str, float] = {}
        for row, some in within.items():
            ends = float(fine[row]), float(fine[row + 1])
            found |= self.last_before(*ends, some, steps, times - 1, at_once)
        return found

    def _at(self, tried: NDArray[np.float64], ids: Container[str]) -> list[RuleRows]:
        values = {self.path: tried}
        return sweep(self.profile, values, self.rulebooks, self.on, lambda rule: rule.id in ids)


def _says_other(before_verdict: int, rows: RuleRows) -> Flags:
    other: Flags = rows.verdicts != before_verdict
    return other
