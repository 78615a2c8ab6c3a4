"""The totals of an audit: counts that add up in any order, and the worst hauls."""

from collections.abc import Iterable, Mapping
from heapq import nsmallest
from itertools import chain, islice

from msgspec import Struct, field

from checker.evaluation.outcome import Outcome
from checker.logs.model import Refused
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from checker.season.causes.gaps import Gap, add_gaps
from checker.season.hauls.faults import FaultTally
from checker.season.hauls.first_rows import add_first_rows, first_rows
from checker.season.rates.exposure import Exposures
from checker.season.slips.alike_names import Seen, add_seen

BY = ("load", "trailer", "machine", "tow vehicle", "crew", "month")
"""The kinds of counts; a haul of two machines counts for both.

The names counted by are keys: see `identity.py` for trailers, machines and tow vehicles, the name
of the profile for loads, whatever the log calls it, and the words of the log for crews.
"""

MOST_REMEMBERED = 300
"""Most hauls that are listed individually as the worst; all are counted."""

MOST_CLOSE = 20
"""Most hauls near a limit that are listed in addition."""

MOST_OPEN = 20
"""Most open hauls that are listed in addition."""

MOST_REFUSALS_LISTED = 100
"""Most refused rows that are listed individually; all are counted."""


class Tally(Struct):
    """Number of hauls, and of those on hold, open, near a limit and excused by a variance.

    A haul is near a limit if no must-rule is broken or undecided and some rule is near its limit.
    """

    hauls: int = 0
    held: int = 0
    open: int = 0
    near: int = 0
    excused: int = 0

    def add(self, other: "Tally") -> None:
        """Add the other's counts."""
        self.hauls += other.hauls
        self.held += other.held
        self.open += other.open
        self.near += other.near
        self.excused += other.excused


class RuleTally(Struct):
    """Number of hauls with each verdict of a rule, in the order of WORST_FIRST.

    `near` and `excused` are included in the verdicts. `below` and `above` count the hauls in which
    the rule was broken with a value on that side of its limit. `broken_by` counts the hauls in
    which it was broken without a variance, by trailer, machine and so on. `gap` counts the missing
    fields of hauls in which the rule was not stated, `undecided_by_load` the hauls in which it was
    undecided. `figures` counts, for each threshold that the
    texts print, the hauls that the rule applied to with each of its figures.
    """

    verdicts: list[int] = field(default_factory=lambda: [0] * len(WORST_FIRST))
    near: int = 0
    excused: int = 0
    below: int = 0
    above: int = 0
    broken_by: dict[str, dict[str, int]] = field(default_factory=dict)
    gap: dict[str, int] = field(default_factory=dict)
    undecided_by_load: dict[str, int] = field(default_factory=dict)
    figures: dict[str, dict[str, int]] = field(default_factory=dict)

    def of(self, verdict: Verdict) -> int:
        """Number of hauls with this verdict."""
        return self.verdicts[WORST_FIRST.index(verdict)]

    @property
    def broken(self) -> int:
        """Number of hauls in which the rule was not met and no variance excused it."""
        return self.of(Verdict.NOT_MET) - self.excused

    def add(self, other: "RuleTally") -> None:
        """Add the other's counts."""
        for index, number in enumerate(other.verdicts):
            if number:
                self.verdicts[index] += number
        self.near += other.near
        self.excused += other.excused
        self.below += other.below
        self.above += other.above
        _add_counts(self.gap, other.gap)
        _add_counts(self.undecided_by_load, other.undecided_by_load)
        for kind, counts in other.broken_by.items():
            _add_counts(self.broken_by.setdefault(kind, {}), counts)
        for name, texts in other.figures.items():
            _add_counts(self.figures.setdefault(name, {}), texts)


class WorstHaul(Struct, frozen=True):
    """A haul in the list of the worst.

    `margin` is the smallest of the broken must-rules, a share of the limit; if none is broken, that
    of the near rules. `broken`, `undecided` and `near` hold ids of rules.
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
    missing: tuple[str, ...] = ()

    @property
    def order(self) -> tuple[int, int, float, int, int]:
        """Sort key, worst first: the outcome, then broken must-rules, then the margin."""
        return (
            ("hold", "open", "no rule broken").index(self.outcome),
            -len(self.broken),
            0.0 if self.margin is None else self.margin,
            -len(self.undecided),
            self.row,
        )


class Totals(Struct):
    """All counts over some hauls; `add` includes those of other hauls."""

    all: Tally = field(default_factory=Tally)
    by: dict[str, dict[str, Tally]] = field(default_factory=lambda: {kind: {} for kind in BY})
    titles: dict[str, dict[str, str]] = field(default_factory=dict)
    """By kind and key, what people call a trailer, machine or tow vehicle, where it is stated.

    Of several titles the first in the alphabet, so that the order of the hauls does not matter.
    """
    files_of_ids: dict[str, dict[str, list[str]]] = field(default_factory=dict)
    """By kind and id, the files, in order, that trailers and so on of that id are taken from."""
    names: dict[str, dict[str, Seen]] = field(default_factory=dict)
    """By kind, but for months, where each name was seen; loads by their names in the log."""
    exposures: Exposures = field(default_factory=Exposures)
    rules: dict[str, RuleTally] = field(default_factory=dict)
    missing_fields: dict[str, int] = field(default_factory=dict)
    """For each missing field, the number of hauls in which it leaves some rule undecided."""
    gaps: dict[str, Gap] = field(default_factory=dict)
    """The missing fields of each undecided rule, those of a haul together."""
    doubtful: dict[str, int] = field(default_factory=dict)
    """For each doubtful figure, the number of hauls that have it."""
    doubt_words: dict[str, dict[int, str]] = field(default_factory=dict)
    """For each doubtful figure, what its first rows state."""
    doubted: Tally = field(default_factory=Tally)
    """The hauls with any doubtful figure."""
    month_rows: dict[str, list[int]] = field(default_factory=dict)
    """The first rows of each month."""
    unread_hauls: int = 0
    """Number of hauls that go to some jurisdiction without a rulebook."""
    unread: dict[str, int] = field(default_factory=dict)
    """For each jurisdiction without a rulebook, the number of hauls that go there."""
    unread_subjects: dict[str, dict[str, int]] = field(default_factory=dict)
    """By jurisdiction and subject without a rulebook, the number of hauls that go there."""
    faults: dict[str, FaultTally] = field(default_factory=dict)
    """By the keys of all faults of a haul (`faults_of`), the hauls that have just these."""
    departs: dict[str, int] = field(default_factory=dict)
    """By field, the hauls whose row states something else than the load profile."""
    worst_hauls: list[WorstHaul] = field(default_factory=list)
    refused: int = 0
    refusals: list[Refused] = field(default_factory=list)
    """The first rows that could not be checked."""
    loads: dict[str, str] = field(default_factory=dict)
    """The file of each load profile, by its name in the log."""
    keys_of_loads: dict[str, str] = field(default_factory=dict)
    """What each load is counted by, by its name in the log."""
    files: dict[str, str] = field(default_factory=dict)
    """Every file that the load profiles were read from, with a digest of its text."""

    def add(self, other: "Totals") -> None:
        """Add the other's counts; `other` must not be used afterwards."""
        self.all.add(other.all)
        for kind, tallies in other.by.items():
            for name, tally in tallies.items():
                self.by[kind].setdefault(name, Tally()).add(tally)
        self.add_titles(other.titles)
        for kind, by_id in other.files_of_ids.items():
            for key, files in by_id.items():
                self.add_files(kind, key, files)
        for kind, names in other.names.items():
            add_seen(self.names.setdefault(kind, {}), names)
        self.exposures.add(other.exposures)
        for rule, counted in other.rules.items():
            if rule in self.rules:
                self.rules[rule].add(counted)
            else:
                self.rules[rule] = counted
        _add_counts(self.missing_fields, other.missing_fields)
        add_gaps(self.gaps, other.gaps)
        _add_counts(self.doubtful, other.doubtful)
        for name, rows in other.doubt_words.items():
            add_first_rows(self.doubt_words.setdefault(name, {}), rows)
        self.doubted.add(other.doubted)
        for month, first in other.month_rows.items():
            self.month_rows[month] = first_rows([*self.month_rows.get(month, ()), *first])
        _add_counts(self.unread, other.unread)
        self.unread_hauls += other.unread_hauls
        for place, subjects in other.unread_subjects.items():
            _add_counts(self.unread_subjects.setdefault(place, {}), subjects)
        _add_counts(self.departs, other.departs)
        for key, hauls in other.faults.items():
            self.faults.setdefault(key, FaultTally()).add(hauls)
        self.remember(other.worst_hauls)
        self.refused += other.refused
        self._list_refusals(other.refusals)
        self.loads |= other.loads
        self.keys_of_loads |= other.keys_of_loads
        self.files |= other.files

    def add_titles(self, titles: Mapping[str, Mapping[str, str]]) -> None:
        """Add titles by kind and key."""
        for kind, by_key in titles.items():
            mine = self.titles.setdefault(kind, {})
            for key, title in by_key.items():
                mine[key] = min(title, mine.get(key, title))

    def add_files(self, kind: str, key: str, files: Iterable[str]) -> None:
        """Add files that the figures of an id are taken from."""
        mine = self.files_of_ids.setdefault(kind, {})
        mine[key] = sorted({*mine.get(key, ()), *files})

    def refuse(self, refused: Iterable[Refused]) -> None:
        """Add rows that cannot be checked."""
        found = list(refused)
        self.refused += len(found)
        self._list_refusals(found)

    def remember(self, hauls: Iterable[WorstHaul]) -> None:
        """Add hauls to the list, then drop all but the worst, open ones, and some near a limit."""
        more = list(hauls)
        if not more:
            return
        candidates = sorted([*self.worst_hauls, *more], key=lambda haul: haul.order)
        opened = islice((each for each in candidates if each.outcome == Outcome.OPEN), MOST_OPEN)
        close = islice(filter(_is_close, candidates), MOST_CLOSE)
        self.worst_hauls = list(dict.fromkeys(chain(candidates[:MOST_REMEMBERED], opened, close)))

    def _list_refusals(self, refused: Iterable[Refused]) -> None:
        self.refusals = nsmallest(
            MOST_REFUSALS_LISTED, [*self.refusals, *refused], key=lambda each: each.row
        )


def _is_close(haul: WorstHaul) -> bool:
    return haul.outcome == Outcome.NO_RULE_BROKEN and bool(haul.near)


def _add_counts(counts: dict[str, int], more: Mapping[str, int]) -> None:
    for name, number in more.items():
        counts[name] = counts.get(name, 0) + number
