"""Two audits held against each other: what is new, mended, worse and better since the earlier one.

What was not met and is no longer decided is not mended, so shares are of hauls in which it was
decided. Comparing the other way round gives the mirror image.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from checker.evaluation.outcome import Outcome
from checker.season.record import Count, Record, RuleCount
from checker.season.totals import WorstHaul

NOT_ON_HOLD = "not on hold"
"""What is known of a haul where the audit remembers all that are on hold, and not this one."""
REFUSED = "refused"


class Turn(StrEnum):
    """How one thing stands now against then, the ones to look at first before the others."""

    NEW = "new"
    WORSE = "worse"
    NOT_DECIDED_THEN = "not decided then"
    BETTER = "better"
    MENDED = "mended"
    NOT_DECIDED_NOW = "not decided now"
    SAME = "same"


_TURNS = tuple(Turn)


@dataclass(frozen=True, slots=True)
class Compared:
    """A rule, or a trailer, machine, tow vehicle or crew, in both audits; broken in one at least.

    `name` is the rule's id, or a title; empty where the log names no crew.
    """

    name: str
    then: Count
    now: Count

    @property
    def turn(self) -> Turn:
        """How it stands now; by whole numbers, because equal shares may differ as floats."""
        if self.then.broken and self.now.broken:
            rise = self.now.broken * self.then.decided - self.then.broken * self.now.decided
            return Turn.WORSE if rise > 0 else Turn.BETTER if rise < 0 else Turn.SAME
        if self.now.broken:
            return Turn.NEW if self.then.decided else Turn.NOT_DECIDED_THEN
        return Turn.MENDED if self.now.decided else Turn.NOT_DECIDED_NOW


@dataclass(frozen=True, slots=True)
class Differing:
    """Rulebooks, tables or amendments by id: only now, only then, and in both with another text."""

    added: tuple[str, ...]
    gone: tuple[str, ...]
    changed: tuple[str, ...]

    def __bool__(self) -> bool:
        return bool(self.added or self.gone or self.changed)


@dataclass(frozen=True, slots=True)
class ComparedHaul:
    """One haul of the log that both audits are of.

    `then` and `now` are outcomes, or NOT_ON_HOLD or REFUSED. `broken` are must-rules not met now
    and not among those then, `no_longer_broken` the other way round.
    """

    row: int
    load: str
    day: str
    crew: str
    then: str
    now: str
    broken: tuple[str, ...]
    no_longer_broken: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ComparedHauls:
    """Hauls on hold in one of two audits of one log, as far as both tell of them."""

    put_on_hold: tuple[ComparedHaul, ...]
    off_hold: tuple[ComparedHaul, ...]
    held_otherwise: tuple[ComparedHaul, ...]
    """On hold in both, by other rules."""
    not_compared: int
    """Hauls on hold of which one audit or the other does not tell; a haul may count for each."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs between an earlier audit and a later one."""

    then: Record
    now: Record
    rulebooks: Differing
    tables: Differing
    amendments: Differing
    rules: tuple[Compared, ...]
    by: Mapping[str, tuple[Compared, ...]]
    hauls: ComparedHauls | None
    """None where the logs differ: their rows are not the same hauls."""

    @property
    def same_log(self) -> bool:
        """Whether both audits are of the same hauls."""
        return self.then.digest == self.now.digest

    @property
    def nothing_turned(self) -> bool:
        """Whether nothing is new, worse, better, mended or decided for the first or last time."""
        hauls = self.hauls
        compared = (*self.rules, *(each for kind in self.by.values() for each in kind))
        return all(each.turn is Turn.SAME for each in compared) and not (
            hauls and (hauls.put_on_hold or hauls.off_hold or hauls.held_otherwise)
        )

    @property
    def same_means(self) -> bool:
        """Whether nothing they tell of what hauls were judged by differs."""
        return (
            not self.rulebooks
            and not self.tables
            and not self.amendments
            and (self.then.near, self.then.version) == (self.now.near, self.now.version)
        )

    def rule(self, name: str) -> RuleCount:
        """A rule with its title and level: as it is now, else as it was."""
        return self.now.rules.get(name) or self.then.rules[name]


def compare(then: Record, now: Record) -> Comparison:
    """Hold a later audit against an earlier one."""
    counts = [{name: rule.count for name, rule in record.rules.items()} for record in (then, now)]
    musts = {name for name, rule in {**then.rules, **now.rules}.items() if rule.level == "must"}
    rules = _compared(*counts)
    return Comparison(
        then=then,
        now=now,
        rulebooks=_differing(then.rulebooks, now.rulebooks),
        tables=_differing(then.tables, now.tables),
        amendments=_differing(then.amendments, now.amendments),
        rules=tuple(sorted(rules, key=lambda each: (each.name not in musts, *_order(each)))),
        by={
            kind: tuple(sorted(_compared(then.by[kind], now.by[kind]), key=_order))
            for kind in now.by
        },
        hauls=_hauls(then, now) if then.digest == now.digest else None,
    )


def _compared(then: Mapping[str, Count], now: Mapping[str, Count]) -> Iterator[Compared]:
    for name in dict.fromkeys((*then, *now)):
        each = Compared(name, then.get(name, Count()), now.get(name, Count()))
        if each.then.broken or each.now.broken:
            yield each


def _order(each: Compared) -> tuple[int, float, int, str]:
    """By how it turned; then those whose share changed most, and those broken most often."""
    change = abs(each.now.share - each.then.share)
    return _TURNS.index(each.turn), -change, -max(each.now.broken, each.then.broken), each.name


def _differing(then: Mapping[str, str], now: Mapping[str, str]) -> Differing:
    return Differing(
        added=tuple(name for name in now if name not in then),
        gone=tuple(name for name in then if name not in now),
        changed=tuple(name for name in now if name in then and then[name] != now[name]),
    )


@dataclass(frozen=True, slots=True)
class _Known:
    """What one audit tells of single hauls."""

    by_row: Mapping[int, WorstHaul]
    refused: frozenset[int]
    every_hold: bool
    """All hauls on hold are remembered and all refused rows told, so that others are neither."""
    untold: int
    """Hauls on hold that are not remembered."""

    def of(self, row: int) -> str | None:
        """What a haul came to; None where the audit does not tell."""
        if row in self.by_row:
            return self.by_row[row].outcome
        if row in self.refused:
            return REFUSED
        return NOT_ON_HOLD if self.every_hold else None

    def held(self, row: int) -> bool:
        """Whether a haul is known to be on hold."""
        return self.of(row) == Outcome.HOLD

    def broken(self, row: int) -> tuple[str, ...]:
        """The must-rules that a haul on hold did not meet; none for others."""
        return self.by_row[row].broken if self.held(row) else ()


def _known(record: Record) -> _Known:
    untold = record.totals.held - sum(each.outcome == Outcome.HOLD for each in record.worst)
    return _Known(
        by_row={each.row: each for each in record.worst},
        refused=record.refused_rows,
        every_hold=untold <= 0 and len(record.refused_rows) == record.refused,
        untold=untold,
    )


def _hauls(then: Record, now: Record) -> ComparedHauls:
    before, after = _known(then), _known(now)
    held = [each for each in (*now.worst, *then.worst) if each.outcome == Outcome.HOLD]
    put_on, off, otherwise = [], [], []
    not_compared = max(before.untold, 0) + max(after.untold, 0)
    for each in {haul.row: haul for haul in reversed(held)}.values():
        was, is_now = before.of(each.row), after.of(each.row)
        if was is None or is_now is None:
            not_compared += 1
            continue
        found = _compared_haul(each, was, is_now, before, after)
        if was != Outcome.HOLD:
            put_on.append(found)
        elif is_now != Outcome.HOLD:
            off.append(found)
        elif found.broken or found.no_longer_broken:
            otherwise.append(found)
    return ComparedHauls(_by_row(put_on), _by_row(off), _by_row(otherwise), not_compared)


def _compared_haul(
    haul: WorstHaul, was: str, is_now: str, before: _Known, after: _Known
) -> ComparedHaul:
    old, new = before.broken(haul.row), after.broken(haul.row)
    return ComparedHaul(
        row=haul.row,
        load=haul.load,
        day=haul.day,
        crew=haul.crew,
        then=was,
        now=is_now,
        broken=tuple(rule for rule in new if rule not in old),
        no_longer_broken=tuple(rule for rule in old if rule not in new),
    )


def _by_row(hauls: Iterable[ComparedHaul]) -> tuple[ComparedHaul, ...]:
    return tuple(sorted(hauls, key=lambda each: each.row))
