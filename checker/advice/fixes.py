"""For each rule that is not met: the smallest change of one thing that would meet it.

Things a crew can change: where an article stands, how much of it there is, how strong its
tiedowns are, and single ratings that belong to a part that can be exchanged.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from checker.advice.sweep import all_satisfied, is_slow, runs, sweep
from checker.documents.problems import DataPath
from checker.engine import Check, Finding
from checker.load.build import Profile, field_path
from checker.load.model import Load
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.verdicts import Verdict

Values = Mapping[DataPath, NDArray[np.float64]]

_STEPS = 240
_FINE_STEPS = 64
_FINER = 4
_SLOW_STRIDE = 8
_SLOW_FINE_STEPS = 16
_SLOW_FINER = 2
"""Rules that ask for a linear programme are tried at fewer values."""
_LIGHTEST_SHARE = 0.2
_STRONGEST_FACTOR = 12.0


@dataclass(frozen=True)
class Fix:
    """A change of one thing that meets a rule.

    `kind`: "move" (metres from where it stands, rearward positive), "lighten" (weight in N to
    stay within) or "strengthen" (working load limit in N each tiedown must have at least).
    `breaks` names must-rules that would then no longer be met.
    """

    kind: str
    article: str
    value: float
    breaks: tuple[Rule, ...]


@dataclass(frozen=True)
class _Lever:
    """One thing to change: candidate values from today's outward, and what they do to fields."""

    kind: str
    article: str
    fields: frozenset[str]
    candidates: tuple[NDArray[np.float64], ...]
    values: Callable[[NDArray[np.float64]], Values]


def fixes(profile: Profile, done: Check, rulebooks: Rulebooks) -> dict[str, tuple[Fix, ...]]:
    """Fixes by rule id, for every rule that is not met."""
    broken = [each for each in done.findings if each.verdict is Verdict.NOT_MET]
    levers = list(_levers(profile))
    found = {}
    for finding in broken:
        behind = _fields_behind(finding, done)
        options = [
            fix
            for lever in levers
            if lever.fields & behind and (fix := _pulled(lever, finding, profile, done, rulebooks))
        ]
        if options:
            found[finding.rule.id] = tuple(options)
    return found


def _fields_behind(finding: Finding, done: Check) -> set[str]:
    subject = finding.subject
    return {path for name in finding.rule.facts for path in done.facts.fields(name, subject)}


def _levers(profile: Profile) -> Iterator[_Lever]:
    """Everything that can be changed in this load, article by article."""
    load = profile.load({})
    for index in range(len(load.articles)):
        yield from _move(load, index)
        yield from _lighten(load, index)
        yield from _strengthen(load, index)


def _move(load: Load, index: int) -> Iterator[_Lever]:
    """Along the deck, both ways from where it stands."""
    machine, deck = load.articles[index], load.trailer.deck
    path: DataPath = ("articles", index, "placed", "x")
    today = float(machine.placed.x)
    front, last = float(deck.front), float(deck.rear) - float(machine.length)
    if np.isnan([today, front, last]).any():
        return
    yield _Lever(
        kind="move",
        article=machine.name,
        fields=frozenset({field_path(path)}),
        candidates=(
            np.linspace(today, max(last, today), _STEPS),
            np.linspace(today, min(front, today), _STEPS),
        ),
        values=lambda places: {path: places},
    )


def _lighten(load: Load, index: int) -> Iterator[_Lever]:
    """Less of the same, its balance kept."""
    machine = load.articles[index]
    at: DataPath = ("articles", index)
    weights = {
        (*at, "weight"): float(machine.weight),
        (*at, "axles", "front", "weight"): float(machine.axles.front.weight),
        (*at, "axles", "rear", "weight"): float(machine.axles.rear.weight),
    }
    stated = {path: weight for path, weight in weights.items() if not np.isnan(weight)}
    today = weights[(*at, "weight")]
    if np.isnan(today):
        return
    yield _Lever(
        kind="lighten",
        article=machine.name,
        fields=frozenset({field_path((*at, "weight"))}),
        candidates=(np.linspace(today, _LIGHTEST_SHARE * today, _STEPS),),
        values=lambda heavy: {path: weight * heavy / today for path, weight in stated.items()},
    )


def _strengthen(load: Load, index: int) -> Iterator[_Lever]:
    """All its tiedowns exchanged for ones of at least so much, hooks and tensioners included."""
    machine = load.articles[index]
    ratings: dict[DataPath, float] = {}
    for number, tiedown in enumerate(load.tiedowns or ()):
        if tiedown.article is machine:
            parts = {
                "marked_working_load_limit": tiedown.marked_working_load_limit,
                "hooks_working_load_limit": tiedown.hooks_working_load_limit,
                "tensioner_working_load_limit": tiedown.tensioner_working_load_limit,
            }
            ratings |= {
                ("tiedowns", number, part): float(rating)
                for part, rating in parts.items()
                if not np.isnan(rating)
            }
    if not ratings:
        return
    weakest = min(ratings.values())
    yield _Lever(
        kind="strengthen",
        article=machine.name,
        fields=frozenset(field_path(path) for path in ratings),
        candidates=(np.linspace(weakest, _STRONGEST_FACTOR * weakest, _STEPS * 2),),
        values=lambda least: {path: np.maximum(rating, least) for path, rating in ratings.items()},
    )


def _pulled(
    lever: _Lever, finding: Finding, profile: Profile, done: Check, rulebooks: Rulebooks
) -> Fix | None:
    """The change of this lever nearest to today that meets the rule; None where none does."""
    nearest: float | None = None
    today = float(lever.candidates[0][0])
    for candidates in lever.candidates:
        value = _first_met(lever, candidates, finding.rule, profile, done, rulebooks)
        if value is not None and (nearest is None or abs(value - today) < abs(nearest - today)):
            nearest = value
    if nearest is None:
        return None
    change = nearest - today if lever.kind == "move" else nearest
    return Fix(lever.kind, lever.article, change, _broken(lever, nearest, profile, done, rulebooks))


def _first_met(
    lever: _Lever,
    candidates: NDArray[np.float64],
    rule: Rule,
    profile: Profile,
    done: Check,
    rulebooks: Rulebooks,
) -> float | None:
    """The first candidate, from today's value outward, at which the rule is met."""
    slow = is_slow(rule)
    tried = candidates[::_SLOW_STRIDE] if slow else candidates
    steps, times = (_SLOW_FINE_STEPS, _SLOW_FINER) if slow else (_FINE_STEPS, _FINER)
    for finer in range(times + 1):
        rows = sweep(profile, lever.values(tried), rulebooks, done.on, lambda each: each is rule)
        met = runs(all_satisfied(rows, len(tried)))
        if not met:
            return None
        first = met[0][0]
        if first == 0 or finer == times:
            return float(tried[first])
        tried = np.linspace(tried[first - 1], tried[first], steps + 1)
    return None


def _broken(
    lever: _Lever, value: float, profile: Profile, done: Check, rulebooks: Rulebooks
) -> tuple[Rule, ...]:
    """Must-rules that are not broken today and would be after the change."""
    today = {each.rule.id for each in done.findings if each.verdict is Verdict.NOT_MET}
    rows = sweep(
        profile,
        lever.values(np.array([value])),
        rulebooks,
        done.on,
        lambda rule: rule.level == "must" and rule.id not in today,
    )
    return tuple(each.rule for each in rows if each.is_(Verdict.NOT_MET)[0])
