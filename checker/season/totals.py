"""What many hauls come to: counts that add up in any order, and the hauls that came off worst."""

from collections.abc import Iterable, Mapping
from heapq import nsmallest
from itertools import chain, islice
from typing import NamedTuple

from msgspec import Struct, field

from checker.evaluation.outcome import Outcome
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from checker.season.logs.model import Refused

BY = ("load", "trailer", "machine", "tow vehicle", "crew", "month")
"""What hauls are counted by; a haul of two machines counts for both."""

MOST_REMEMBERED = 300
"""How many hauls that are not in order are remembered one by one; all are counted."""

MOST_CLOSE = 20
"""So many of the hauls that came nearest to a limit are remembered beside them."""

MOST_TOLD = 100
"""Refused rows that are told one by one; all are counted."""


class Tally(Struct):
    """Hauls, and how many of them were on hold, open, near a limit, or under a variance.

    Near are those with no rule broken or undecided among the must-rules, and one met by little.
    """

    hauls: int = 0
    held: int = 0
    open: int = 0
    near: int = 0
    excused: int = 0

    def add(self, other: "Tally") -> None:
        """Count the other's hauls too."""
        self.hauls += other.hauls
        self.held += other.held
        self.open += other.open
        self.near += other.near
        self.excused += other.excused


class RuleTally(Struct):
    """In how many hauls a rule came to each verdict; `near` and `excused` are among those.

    `broken_by` counts the hauls in which it was not met, and no variance excused that, by trailer,
    machine and so on; `gap` holds the fields that were wanting where it was not stated.
    """

    verdicts: list[int] = field(default_factory=lambda: [0] * len(WORST_FIRST))
    near: int = 0
    excused: int = 0
    broken_by: dict[str, dict[str, int]] = field(default_factory=dict)
    gap: dict[str, int] = field(default_factory=dict)

    def of(self, verdict: Verdict) -> int:
        """Hauls in which it came to that verdict."""
        return self.verdicts[WORST_FIRST.index(verdict)]

    @property
    def broken(self) -> int:
        """Hauls in which it was not met and no variance excused it."""
        return self.of(Verdict.NOT_MET) - self.excused

    def add(self, other: "RuleTally") -> None:
        """Count the other's hauls too."""
        for place, number in enumerate(other.verdicts):
            if number:
                self.verdicts[place] += number
        self.near += other.near
        self.excused += other.excused
        _add_counts(self.gap, other.gap)
        for kind, counts in other.broken_by.items():
            _add_counts(self.broken_by.setdefault(kind, {}), counts)


Order = tuple[int, int, float, int, int]
"""What hauls are ordered by, see `WorstHaul.order`."""


class Cutoffs(NamedTuple):
    """Hauls that come before neither are not worth remembering; None where all are."""

    worst: Order | None = None
    close: Order | None = None


class WorstHaul(Struct, frozen=True):
    """One haul that is not in order, as the list of the worst tells of it.

    `margin` is that of the must-rule missed by most, a share of its limit; where none is broken, of
    the rule met by least. `broken`, `undecided` and `near` are ids of rules.
    """

    row: int
    load: str
    day: str
    crew: str
    outcome: str
    margin: float | None
    broken: tuple[str, ...]
    should_broken: tuple[str, ...]
    undecided: tuple[str, ...]
    near: tuple[str, ...]
    excused: tuple[str, ...]

    @property
    def order(self) -> Order:
        """The worst first: on hold, then by must-rules broken, then by how far they are missed."""
        return (
            ("hold", "open", "no rule broken").index(self.outcome),
            -len(self.broken),
            0.0 if self.margin is None else self.margin,
            -len(self.undecided),
            self.row,
        )


class Totals(Struct):
    """Everything counted over some hauls; `add` counts more of them."""

    all: Tally = field(default_factory=Tally)
    by: dict[str, dict[str, Tally]] = field(default_factory=lambda: {kind: {} for kind in BY})
    rules: dict[str, RuleTally] = field(default_factory=dict)
    wanting: dict[str, int] = field(default_factory=dict)
    """Fields that were not stated, by the hauls in which some rule was undecided for want of it."""
    doubtful: dict[str, int] = field(default_factory=dict)
    """Doubtful figures by name, by the hauls that have one."""
    unread: dict[str, int] = field(default_factory=dict)
    """Places for which no rulebook was read, by the hauls that go there."""
    unread_subjects: dict[str, dict[str, int]] = field(default_factory=dict)
    """By place and subject of its law that no rulebook holds, the hauls that go there."""
    remembered: list[WorstHaul] = field(default_factory=list)
    refused: int = 0
    refusals: list[Refused] = field(default_factory=list)
    """The first of the rows that could not be judged."""
    loads: dict[str, str] = field(default_factory=dict)
    """The file of each load profile, by its name in the log."""
    files: dict[str, str] = field(default_factory=dict)
    """Every file that the load profiles rest on, with a digest of its text."""

    def add(self, other: "Totals") -> None:
        """Count the other's hauls too; it is used up by that."""
        self.all.add(other.all)
        for kind, tallies in other.by.items():
            for name, tally in tallies.items():
                self.by[kind].setdefault(name, Tally()).add(tally)
        for rule, counted in other.rules.items():
            if rule in self.rules:
                self.rules[rule].add(counted)
            else:
                self.rules[rule] = counted
        _add_counts(self.wanting, other.wanting)
        _add_counts(self.doubtful, other.doubtful)
        _add_counts(self.unread, other.unread)
        for place, subjects in other.unread_subjects.items():
            _add_counts(self.unread_subjects.setdefault(place, {}), subjects)
        self.remember(other.remembered)
        self.refused += other.refused
        self._tell(other.refusals)
        self.loads |= other.loads
        self.files |= other.files

    def refuse(self, refused: Iterable[Refused]) -> None:
        """Count rows that cannot be judged."""
        found = list(refused)
        self.refused += len(found)
        self._tell(found)

    def remember(self, hauls: Iterable[WorstHaul]) -> None:
        """Keep the worst of those remembered and these, and the closest near misses."""
        more = list(hauls)
        if not more:
            return
        everyone = sorted([*self.remembered, *more], key=lambda haul: haul.order)
        close = islice(filter(_is_close, everyone), MOST_CLOSE)
        self.remembered = list(dict.fromkeys(chain(everyone[:MOST_REMEMBERED], close)))

    @property
    def cutoffs(self) -> Cutoffs:
        """What a haul has to come before to be remembered too."""
        close = list(filter(_is_close, self.remembered))
        return Cutoffs(
            self.remembered[MOST_REMEMBERED - 1].order
            if len(self.remembered) >= MOST_REMEMBERED
            else None,
            close[MOST_CLOSE - 1].order if len(close) >= MOST_CLOSE else None,
        )

    def _tell(self, refused: Iterable[Refused]) -> None:
        self.refusals = nsmallest(MOST_TOLD, [*self.refusals, *refused], key=lambda each: each.row)


def _is_close(haul: WorstHaul) -> bool:
    return haul.outcome == Outcome.NO_RULE_BROKEN and bool(haul.near)


def _add_counts(counts: dict[str, int], more: Mapping[str, int]) -> None:
    for name, number in more.items():
        counts[name] = counts.get(name, 0) + number
