"""The calendar of a set of rules: every day on which something begins, ends or falls due."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise
from typing import Final

from msgspec import Struct

from checker.documents.jurisdiction_codes import ANYWHERE
from checker.load.model import Variance
from checker.rulebooks.days import Stretch, within
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.model import Change, Rule, Rulebook, Rulebooks
from checker.rulebooks.timeline import PLACE, Value, applied, stretches
from checker.upkeep.sources import documents

_DAY: Final = timedelta(days=1)


class Kind(StrEnum):
    """What happens on a day."""

    FIGURE = "figure"
    RULE = "rule"
    REPEAL = "repeal"
    TABLE = "table"
    VARIANCE = "variance"
    EDITION = "edition"
    READING = "reading due"


class Entry(Struct, frozen=True):
    """One thing on one day: in which place, of which rule, table or document.

    A figure has the values before and from that day on. Of the others `begins` says whether they
    begin or end on that day.
    """

    day: date
    kind: Kind
    place: str
    name: str
    """Id of the rule, rulebook, table or document."""
    title: str
    location: str
    begins: bool = True
    threshold: str = ""
    before: Value | None = None
    after: Value | None = None
    variance: Variance | None = None
    whose: str = ""
    """Title of the load that states a variance; empty for one of a register."""

    @property
    def order(self) -> tuple[date, int, str, str, str]:
        """Sort key: the day, then what happens, then where."""
        return self.day, list(Kind).index(self.kind), self.place, self.name, self.threshold


def calendar(
    rulebooks: Rulebooks,
    first: date,
    last: date,
    of_loads: Iterable[tuple[Variance, str]] = (),
) -> list[Entry]:
    """Everything from a first to a last day, in order of day; readings overdue before it, too.

    `of_loads` are variances that loads state, each with the title of its load.
    """
    span = Stretch(first, last + _DAY)
    found = [
        *_of_rules(rulebooks, span),
        *_of_tables(rulebooks, span),
        *_of_variances([*((each, "") for each in rulebooks.variances), *of_loads], span),
        *_of_documents(rulebooks, span),
    ]
    return sorted(found, key=lambda entry: entry.order)


def in_place(entries: Iterable[Entry], place: str) -> list[Entry]:
    """Those that a trip to a place touches, or that hold anywhere."""
    return [
        each for each in entries if each.place == ANYWHERE or touches(each.place, (place,)) != 0
    ]


def _of_rules(rulebooks: Rulebooks, span: Stretch) -> Iterator[Entry]:
    by_rule: dict[str, list[Change]] = {}
    for change in rulebooks.changes:
        by_rule.setdefault(change.rule_id, []).append(change)
    for book in rulebooks.books:
        yield from _begins_and_ends(
            book.days, span, Kind.RULE, book.jurisdiction, book.id, book.title, str(book.location)
        )
        for rule in book.rules:
            changes = by_rule.get(rule.id, [])
            yield from _figures(book, rule, changes, span)
            yield from _repeals(rule, changes, span)
            if rule.days != book.days:
                # The end that the rule has from its rulebook stands there.
                own = rule.days and Stretch(
                    rule.days.starts,
                    None if book.days and rule.days.ends == book.days.ends else rule.days.ends,
                )
                yield from _begins_and_ends(
                    own, span, Kind.RULE, book.jurisdiction, rule.id, rule.title, str(rule.location)
                )


def _begins_and_ends(
    days: Stretch | None, span: Stretch, kind: Kind, place: str, name: str, title: str, at: str
) -> Iterator[Entry]:
    for day, begins in ((days.starts, True), (days.ends, False)) if days else ():
        if day is not None and span.holds_on(day):
            yield Entry(day, kind, place, name, title, at, begins=begins)


def _figures(
    book: Rulebook, rule: Rule, changes: Sequence[Change], span: Stretch
) -> Iterator[Entry]:
    """Each day on which a threshold has another value, and in each place that amends it."""
    places = {each.amendment.jurisdiction for each in changes if each.amendment.layer == PLACE}
    told: set[tuple[object, ...]] = set()
    for trip in ((), *((place,) for place in sorted(places))):
        for threshold in rule.thresholds.values():
            mine = [each for each in changes if each.threshold == threshold.name]
            here = applied(mine, book.jurisdiction, trip)
            assert span.ends is not None
            values = stretches(threshold, here, span.starts - _DAY, span.ends - _DAY)
            for before, after in pairwise(values):
                day = after.days.starts
                what = (day, threshold.name, _setter(before), _setter(after))
                if not span.holds_on(day) or what in told:
                    continue
                told.add(what)
                yield Entry(
                    day,
                    Kind.FIGURE,
                    trip[0] if trip else book.jurisdiction,
                    rule.id,
                    rule.title,
                    str(_location(after) or rule.location),
                    threshold=threshold.name,
                    before=before,
                    after=after,
                )


def _setter(value: Value) -> object:
    return id(value.undecided) if value.undecided else _location(value)


def _location(value: Value) -> object:
    if value.undecided:
        return value.undecided.locations[""]
    return value.value and value.value.location


def _repeals(rule: Rule, changes: Sequence[Change], span: Stretch) -> Iterator[Entry]:
    assert span.ends is not None
    for change in changes:
        if change.threshold is not None:
            continue
        for day in sorted(change.days.turns(span.starts, span.ends)):
            holds = change.days.holds_on(day)
            if span.holds_on(day) and holds != change.days.holds_on(day - _DAY):
                yield Entry(
                    day,
                    Kind.REPEAL,
                    change.amendment.jurisdiction,
                    rule.id,
                    rule.title,
                    str(change.locations[""]),
                    begins=holds,
                )


def _of_tables(rulebooks: Rulebooks, span: Stretch) -> Iterator[Entry]:
    for table in rulebooks.tables:
        yield from _begins_and_ends(
            Stretch(table.starts, table.ends),
            span,
            Kind.TABLE,
            table.jurisdiction,
            table.id,
            table.title,
            str(table.location),
        )


def _of_variances(variances: Iterable[tuple[Variance, str]], span: Stretch) -> Iterator[Entry]:
    for variance, load in variances:
        for day, begins in ((variance.starts, True), (variance.ends, False)):
            if span.holds_on(day):
                yield Entry(
                    day,
                    Kind.VARIANCE,
                    ANYWHERE,
                    variance.rule,
                    variance.because,
                    str(variance.location),
                    begins=begins,
                    variance=variance,
                    whose=load,
                )


def _of_documents(rulebooks: Rulebooks, span: Stretch) -> Iterator[Entry]:
    """New editions, and the days on which documents are due to be read again, overdue ones too."""
    for reading in rulebooks.readings:
        source = rulebooks.sources.get(reading.source_id)
        if source and reading.edition and reading.starts and span.holds_on(reading.starts):
            title = f"{source.title}, {reading.edition}"
            at = str(reading.locations[""])
            yield Entry(reading.starts, Kind.EDITION, source.jurisdiction, source.id, title, at)
    for each in documents(rulebooks, span.starts):
        if each.dependants and within(each.look_again, date.min, span.ends):
            source = each.source
            yield Entry(
                each.look_again,
                Kind.READING,
                source.jurisdiction,
                source.id,
                f"{source.title}, {source.edition}",
                str(each.due_at or source.location),
            )
