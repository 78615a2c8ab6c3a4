"""Compares two audits: what is new, fixed, worse and better since the earlier one.

A rule that was not met and is now undecided is not fixed, so all shares are of the hauls in which
the rule was decided. Comparing the audits in the opposite order gives the opposite results.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType

from checker.evaluation.outcome import Outcome
from checker.season.rates.correcting import corrected
from checker.season.rates.then_and_now import Change, ChangeResult, change
from checker.season.record import COMPARED_BY, Count, Record, RuleCount, count_of_hauls
from checker.season.totals import WorstHaul

NOT_ON_HOLD = "not on hold"
"""State of a haul that is not listed in an audit that lists every haul on hold."""
REFUSED = "refused"


_ByLoad = Mapping[str, tuple[int, int]]


class Turn(StrEnum):
    """How a count changed between two audits, most important change first.

    Values are those of the JSON document.
    """

    NEW = "new"
    WORSE = "worse"
    NOT_DECIDED_THEN = "not decided then"
    BETTER = "better"
    FIXED = "mended"
    NOT_DECIDED_NOW = "not decided now"
    SAME = "same"


_TURNS = tuple(Turn)
_NEVER_DECIDED = (Turn.NOT_DECIDED_THEN, Turn.NOT_DECIDED_NOW)


@dataclass(frozen=True, slots=True)
class Compared:
    """The counts of a rule, trailer, machine, tow vehicle or crew in both audits.

    At least one of the counts has a broken haul. `name` is the id of the rule or a key; empty if
    the log states no crew. `change` tells a change from chance; None where both logs are the same,
    so that chance plays no part, and where a document does not have the counts.
    """

    name: str
    then: Count
    now: Count
    change: Change | None = None

    @property
    def turn(self) -> Turn:
        """The change from then to now, from whole numbers, as equal shares may differ as floats."""
        if self.then.broken and self.now.broken:
            rise = self.now.broken * self.then.decided - self.then.broken * self.now.decided
            return Turn.WORSE if rise > 0 else Turn.BETTER if rise < 0 else Turn.SAME
        if self.now.broken:
            return Turn.NEW if self.then.decided else Turn.NOT_DECIDED_THEN
        return Turn.FIXED if self.now.decided else Turn.NOT_DECIDED_NOW

    @property
    def too_open(self) -> bool:
        """True if it was decided both times, in too few of the hauls at one of them."""
        return self.turn not in _NEVER_DECIDED and (self.then.too_open or self.now.too_open)

    @property
    def shown_turn(self) -> Turn | None:
        """The change to report; None if chance explains it, or if too few are decided to say.

        Of a change that chance does not explain, the way it goes over the same loads counts.
        """
        if self.too_open:
            return None
        if self.change is None or self.turn in _NEVER_DECIDED:
            return self.turn
        if self.change.result is ChangeResult.MORE:
            return self.turn if self.turn is Turn.NEW else Turn.WORSE
        if self.change.result is ChangeResult.LESS:
            return self.turn if self.turn is Turn.FIXED else Turn.BETTER
        return Turn.SAME if self.turn is Turn.SAME else None


@dataclass(frozen=True, slots=True)
class Differing:
    """Ids of rulebooks, tables or amendments: only now, only then, in both with another text."""

    added: tuple[str, ...]
    gone: tuple[str, ...]
    changed: tuple[str, ...]

    def __bool__(self) -> bool:
        return bool(self.added or self.gone or self.changed)


@dataclass(frozen=True, slots=True)
class ComparedHaul:
    """One haul in two audits of the same log.

    `then` and `now` are outcomes, NOT_ON_HOLD or REFUSED. `broken` holds must-rules not met now
    but not listed then; `no_longer_broken` those listed then but not now.
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
    """Hauls on hold in at least one of two audits of the same log, if both audits list them."""

    put_on_hold: tuple[ComparedHaul, ...]
    off_hold: tuple[ComparedHaul, ...]
    held_otherwise: tuple[ComparedHaul, ...]
    """On hold in both audits, but because of different rules."""
    not_compared: int
    """Number of hauls on hold that one of the audits does not list; may count a haul twice."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """The differences between an earlier audit (`then`) and a later one (`now`)."""

    then: Record
    now: Record
    rulebooks: Differing
    tables: Differing
    amendments: Differing
    rules: tuple[Compared, ...]
    by: Mapping[str, tuple[Compared, ...]]
    hauls: ComparedHauls | None
    """None if the logs differ, as their rows are then different hauls."""
    on_hold: Change | None = None
    """Of all hauls on hold; None if the logs are the same."""

    @property
    def same_log(self) -> bool:
        """True if both audits are of the same log."""
        return self.then.digest == self.now.digest

    @property
    def too_open(self) -> bool:
        """True if too many hauls are open, of all or of the loads of both, then or now."""
        loads = self.then.loads.keys() & self.now.loads.keys()
        return any(
            count.too_open
            for each in (self.then, self.now)
            for count in (count_of_hauls(each.totals), each.count_of_loads(loads))
        )

    @property
    def not_compared(self) -> tuple[str, ...]:
        """The kinds of counts that one of the audits has by title only."""
        return tuple(kind for kind in COMPARED_BY if kind not in self.by)

    @property
    def titles(self) -> Mapping[str, Mapping[str, str]]:
        """The titles of both audits, by kind and key; those of the later one count."""
        then, now = self.then.titles, self.now.titles
        return {kind: {**then.get(kind, {}), **now.get(kind, {})} for kind in {**then, **now}}

    @property
    def nothing_changed(self) -> bool:
        """True if every rule and count is the same and no haul was put on or taken off hold."""
        hauls = self.hauls
        compared = (*self.rules, *(each for kind in self.by.values() for each in kind))
        return all(each.turn is Turn.SAME for each in compared) and not (
            self.not_compared
            or (hauls and (hauls.put_on_hold or hauls.off_hold or hauls.held_otherwise))
        )

    @property
    def same_inputs(self) -> bool:
        """True if both audits used the same rulebooks, tables, amendments, options and version."""
        return (
            not self.rulebooks
            and not self.tables
            and not self.amendments
            and (self.then.near, self.then.version) == (self.now.near, self.now.version)
        )

    def rule(self, name: str) -> RuleCount:
        """A rule with its title and level, from the later audit if it is in it."""
        return self.now.rules.get(name) or self.then.rules[name]


def compare(then: Record, now: Record) -> Comparison:
    """The differences between an earlier and a later audit."""
    counts = [{name: rule.count for name, rule in record.rules.items()} for record in (then, now)]
    musts = {name for name, rule in {**then.rules, **now.rules}.items() if rule.level == "must"}
    rules = _compare_counts(*counts)
    found = Comparison(
        then=then,
        now=now,
        rulebooks=_compare_digests(then.rulebooks, now.rulebooks),
        tables=_compare_digests(then.tables, now.tables),
        amendments=_compare_digests(then.amendments, now.amendments),
        rules=tuple(sorted(rules, key=lambda each: (each.name not in musts, *_order(each)))),
        by={
            kind: tuple(sorted(_compare_counts(then.by[kind], now.by[kind]), key=_order))
            for kind in now.by
            if kind in then.by
        },
        hauls=_compare_hauls(then, now) if then.digest == now.digest else None,
    )
    return found if found.same_log else _with_changes(found)


def _with_changes(found: Comparison) -> Comparison:
    """The same with what chance explains, over the loads hauled in both seasons."""
    both = (found.then, found.now)
    loads = {**found.then.load_profiles, **found.now.load_profiles}
    on_hold = _change(*(each.all_by_load for each in both), too_open=found.too_open)
    of_rules = [
        _change(*(each.rule_by_load(rule.name) for each in both), too_open=rule.too_open)
        for rule in found.rules
    ]
    of_kinds = [
        _change(
            *(each.hauls_by_load(kind, group.name) for each in both),
            loads=loads,
            too_open=group.too_open,
        )
        for kind, compared in found.by.items()
        for group in compared
    ]
    found_changes = [on_hold, *of_rules, *of_kinds]
    by_test = iter(corrected([each for each in found_changes if each is not None]))
    changes = iter([None if each is None else next(by_test) for each in found_changes])
    return replace(
        found,
        on_hold=next(changes),
        rules=tuple(replace(each, change=next(changes)) for each in found.rules),
        by={
            kind: tuple(replace(each, change=next(changes)) for each in compared)
            for kind, compared in found.by.items()
        },
    )


def _change(
    then: _ByLoad | None,
    now: _ByLoad | None,
    *,
    loads: Mapping[str, str] = MappingProxyType({}),
    too_open: bool,
) -> Change | None:
    if then is None or now is None:
        return None
    return change(then, now, loads=loads, too_open=too_open)


def _compare_counts(then: Mapping[str, Count], now: Mapping[str, Count]) -> Iterator[Compared]:
    for name in dict.fromkeys((*then, *now)):
        each = Compared(name, then.get(name, Count()), now.get(name, Count()))
        if each.then.broken or each.now.broken:
            yield each


def _order(each: Compared) -> tuple[int, float, int, str]:
    """Sort key: the change, then the largest change of share, then the most broken."""
    change = abs(each.now.share - each.then.share)
    return _TURNS.index(each.turn), -change, -max(each.now.broken, each.then.broken), each.name


def _compare_digests(then: Mapping[str, str], now: Mapping[str, str]) -> Differing:
    return Differing(
        added=tuple(name for name in now if name not in then),
        gone=tuple(name for name in then if name not in now),
        changed=tuple(name for name in now if name in then and then[name] != now[name]),
    )


def _compare_hauls(then: Record, now: Record) -> ComparedHauls:
    before, after = ({each.row: each for each in record.worst} for record in (then, now))
    put_on, off, otherwise = [], [], []
    not_compared = _unlisted(then) + _unlisted(now)
    for row in sorted(before.keys() | after.keys()):
        old, new = before.get(row), after.get(row)
        was, is_now = _outcome(then, old, row), _outcome(now, new, row)
        if Outcome.HOLD not in (was, is_now):
            continue
        if was is None or is_now is None:
            not_compared += 1
            continue
        found = _compare_haul(old, new, was, is_now)
        if was != Outcome.HOLD:
            put_on.append(found)
        elif is_now != Outcome.HOLD:
            off.append(found)
        elif found.broken or found.no_longer_broken:
            otherwise.append(found)
    return ComparedHauls(tuple(put_on), tuple(off), tuple(otherwise), not_compared)


def _unlisted(record: Record) -> int:
    """Number of hauls on hold that an audit does not list."""
    return max(record.totals.held - sum(each.outcome == Outcome.HOLD for each in record.worst), 0)


def _outcome(record: Record, listed: WorstHaul | None, row: int) -> str | None:
    """Outcome of a haul, REFUSED or NOT_ON_HOLD; None if the audit does not show it."""
    if listed is not None:
        return listed.outcome
    if row in record.refused_rows:
        return REFUSED
    lists_all = not _unlisted(record) and len(record.refused_rows) == record.refused
    return NOT_ON_HOLD if lists_all else None


def _compare_haul(
    old: WorstHaul | None, new: WorstHaul | None, was: str, is_now: str
) -> ComparedHaul:
    # Only what a haul on hold breaks is compared.
    broken = new.broken if new and is_now == Outcome.HOLD else ()
    before = old.broken if old and was == Outcome.HOLD else ()
    haul = new if new and is_now == Outcome.HOLD else old
    assert haul is not None  # on hold in one of the two
    return ComparedHaul(
        row=haul.row,
        load=haul.load,
        day=haul.day,
        crew=haul.crew,
        then=was,
        now=is_now,
        broken=tuple(rule for rule in broken if rule not in before),
        no_longer_broken=tuple(rule for rule in before if rule not in broken),
    )
