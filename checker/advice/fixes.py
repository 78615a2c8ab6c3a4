"""For each rule that is not met: the smallest change of one thing that would meet it.

Changes that a crew can make: the position of an article, how much of it there is, the strength of
its tiedowns, and single ratings of a part that can be exchanged.
"""

from collections.abc import Callable, Container, Iterator, Mapping, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from checker.advice.brackets import first_brackets, narrowed
from checker.advice.sweep import sweep
from checker.documents.problems import DataPath
from checker.evaluation.check import Check, Finding
from checker.evaluation.rule_rows import Flags, RuleRows
from checker.load.build import Profile, field_path
from checker.load.model import Load
from checker.mechanics.quantities import POUND_FORCE
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import NOT_STATED

Values = Mapping[DataPath, NDArray[np.float64]]

_STEPS = 100
_LIGHTEST_SHARE = 0.2
_STRONGEST_FACTOR = 12.0
_GOODS = ("palletised goods", "other")
"""Articles of which a crew can carry less."""
_LIGHTEST_MACHINE = 0.9
"""Share of a machine that stays when its tank is emptied and what is hung on it is taken off."""
_STRONGEST = 15800 * POUND_FORCE
"""Working load limit of a 5/8 in grade 70 chain (49 CFR 393.108), the strongest in use."""


class Fix(Struct, frozen=True):
    """A change of one thing that meets a rule.

    `kind`: "move" (metres from where it stands, rearward positive), "lighten" (greatest weight in
    N) or "strengthen" (least working load limit in N of each tiedown). `breaks` names must-rules
    that would then no longer be met.
    """

    kind: str
    article: str
    value: float
    breaks: tuple[Rule, ...]
    meets: frozenset[str] = frozenset()
    """Ids of the must-rules broken today that this one change would meet."""
    to: float = NOT_STATED
    """The value the field would have; of a move where the front of the article would stand."""


class Adjustment(Struct, frozen=True):
    """One thing to change: candidate values, nearest to today's first, and the fields they set.

    Nobody can go further from today's value than to `furthest`; the candidates do, to show room.
    """

    kind: str
    article: str
    fields: frozenset[str]
    candidates: tuple[NDArray[np.float64], ...]
    values: Callable[[NDArray[np.float64]], Values]
    furthest: float | None = None


def fixes(profile: Profile, done: Check, rulebooks: Rulebooks) -> dict[str, tuple[Fix, ...]]:
    """Fixes by rule id, for every rule that is not met."""
    broken = [each for each in done.findings if each.verdict is Verdict.NOT_MET]
    return fixes_of(broken, profile, done, rulebooks)


def fixes_of(
    broken: Sequence[Finding], profile: Profile, done: Check, rulebooks: Rulebooks
) -> dict[str, tuple[Fix, ...]]:
    """Fixes by rule id, for some of the rules that are not met; those that break nothing first."""
    behind = {each.rule.id: fields_behind(each, done) for each in broken}
    found: dict[str, list[Fix]] = {each.rule.id: [] for each in broken}
    for adjustment in adjustments(profile):
        moved = [each.rule for each in broken if adjustment.fields & behind[each.rule.id]]
        for name, fix in (
            AdjustmentSearch(adjustment, profile, done, rulebooks).fixes(moved).items()
        ):
            found[name].append(fix)
    return {
        name: tuple(sorted(offered, key=lambda fix: bool(fix.breaks)))
        for name, offered in found.items()
        if offered
    }


def fields_behind(finding: Finding, done: Check) -> set[str]:
    """Fields of a load profile that the facts of a rule use, for the deciding subject."""
    subject = finding.subject
    return {path for name in finding.rule.facts for path in done.facts.fields(name, subject)}


def adjustments(profile: Profile) -> Iterator[Adjustment]:
    """Every adjustment that can be made to this load, article by article."""
    load = profile.stated
    for index in range(len(load.articles)):
        yield from _move(load, index)
        yield from _lighten(load, index)
        yield from _strengthen(load, index)


def _move(load: Load, index: int) -> Iterator[Adjustment]:
    """Along the deck, both ways from its present position."""
    machine, deck = load.articles[index], load.trailer.deck
    path: DataPath = ("articles", index, "placed", "x")
    today = float(machine.placed.x)
    front, last = float(deck.front), float(deck.rear) - float(machine.length)
    if np.isnan([today, front, last]).any():
        return
    yield Adjustment(
        kind="move",
        article=machine.name,
        fields=frozenset({field_path(path)}),
        candidates=(
            np.linspace(today, max(last, today), _STEPS),
            np.linspace(today, min(front, today), _STEPS),
        ),
        values=lambda positions: {path: positions},
    )


def _lighten(load: Load, index: int) -> Iterator[Adjustment]:
    """Less of the same article, with its balance kept."""
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
    yield Adjustment(
        kind="lighten",
        article=machine.name,
        fields=frozenset({field_path((*at, "weight"))}),
        candidates=(np.linspace(today, _LIGHTEST_SHARE * today, _STEPS),),
        values=lambda heavy: {path: weight * heavy / today for path, weight in stated.items()},
        furthest=(_LIGHTEST_SHARE if machine.type in _GOODS else _LIGHTEST_MACHINE) * today,
    )


def _strengthen(load: Load, index: int) -> Iterator[Adjustment]:
    """All its tiedowns exchanged for stronger ones, hooks and tensioners included."""
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
    yield Adjustment(
        kind="strengthen",
        article=machine.name,
        fields=frozenset(field_path(path) for path in ratings),
        candidates=(np.linspace(weakest, _STRONGEST_FACTOR * weakest, _STEPS),),
        values=lambda least: {path: np.maximum(rating, least) for path, rating in ratings.items()},
        furthest=max(_STRONGEST, weakest),
    )


class AdjustmentSearch:
    """The search over one adjustment, for all the rules that it may change."""

    def __init__(
        self, adjustment: Adjustment, profile: Profile, done: Check, rulebooks: Rulebooks
    ) -> None:
        self.adjustment, self.profile = adjustment, profile
        self.done, self.rulebooks = done, rulebooks

    def fixes(self, rules: Sequence[Rule]) -> dict[str, Fix]:
        """By rule id, the smallest change that meets the rule, where there is one."""
        today = float(self.adjustment.candidates[0][0])
        nearest: dict[str, float] = {}
        for candidates in map(self._within_reach, self.adjustment.candidates):
            for name, value in self.first(candidates, rules, _met).items():
                if name not in nearest or abs(value - today) < abs(nearest[name] - today):
                    nearest[name] = value
        if not nearest:
            return {}
        values = np.array(list(nearest.values()))
        since = today if self.adjustment.kind == "move" else 0.0
        after = self._after(values)
        kind, article = self.adjustment.kind, self.adjustment.article
        return {
            name: Fix(kind, article, value - since, broken, met | {name}, value)
            for (name, value), (broken, met) in zip(nearest.items(), after, strict=True)
        }

    def _within_reach(self, candidates: NDArray[np.float64]) -> NDArray[np.float64]:
        """The candidates that somebody can go to, and the furthest of all values."""
        furthest = self.adjustment.furthest
        if furthest is None:
            return candidates
        today = candidates[0]
        near = candidates[abs(candidates - today) < abs(furthest - today)]
        last = candidates[-1] if len(near) == len(candidates) else furthest
        return np.append(near, last)

    def first(
        self,
        candidates: NDArray[np.float64],
        rules: Sequence[Rule],
        sought: Callable[[RuleRows], Flags],
    ) -> dict[str, float]:
        """By rule id, the value nearest to today's at which the rule gives the rows sought.

        `sought` gives the rows in which it does.
        """
        rows = self._at(candidates, {rule.id for rule in rules})
        found = narrowed(first_brackets(candidates, rows, sought), self._at)
        return {each.rule: each.inside for each in found}

    def _at(self, tried: NDArray[np.float64], ids: Container[str]) -> list[RuleRows]:
        return self._swept(tried, lambda rule: rule.id in ids)

    def _swept(self, tried: NDArray[np.float64], wanted: Callable[[Rule], bool]) -> list[RuleRows]:
        values = self.adjustment.values(tried)
        return sweep(self.profile, values, self.rulebooks, self.done.on, wanted)

    def _after(self, tried: NDArray[np.float64]) -> list[tuple[tuple[Rule, ...], frozenset[str]]]:
        """For each value, the must-rules that it breaks, and those broken today that it meets."""
        today = {each.rule.id for each in self.done.findings if each.verdict is Verdict.NOT_MET}
        rows = self._swept(tried, lambda rule: rule.level == "must")
        kept = [each for each in rows if each.rule.id not in today]
        mended = [each for each in rows if each.rule.id in today]
        broken = [(each.rule, each.are(Verdict.NOT_MET)) for each in kept]
        return [
            (
                tuple(rule for rule, at in broken if at[row]),
                frozenset(each.rule.id for each in mended if each.satisfied[row]),
            )
            for row in range(len(tried))
        ]


def _met(rows: RuleRows) -> Flags:
    return rows.satisfied
