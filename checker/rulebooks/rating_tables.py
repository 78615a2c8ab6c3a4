"""Tables of unmarked devices: which of them count on a day and a trip, and in which order.

A table may go before another one (its rows count first) or replace it. Two tables for one place and
day that do not say so are refused: nobody could tell which limit counts.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import combinations

from msgspec import Struct
from msgspec.structs import replace

from checker.documents.jurisdiction_codes import ANYWHERE
from checker.documents.problems import Problem
from checker.facts.unmarked import UnmarkedRating, UnmarkedRatings
from checker.rulebooks.citations import Citation, Location
from checker.rulebooks.jurisdictions import has_law, is_inside, touches
from checker.units.arithmetic import NOT_STATED, more_than


class TableProof(Struct, frozen=True):
    """An unmarked device, and the limit the table must give for it."""

    name: str
    on: date
    asked: UnmarkedRating
    expect: float | None
    origin: str
    location: Location


class RatingsTable(Struct, frozen=True):
    """A printed table of unmarked devices with its dates."""

    id: str
    title: str
    jurisdiction: str
    citation: Citation
    starts: date
    ends: date | None
    ratings: UnmarkedRatings
    digest: str
    file: str
    location: Location
    """Where its id stands."""
    goes_before: str | None = None
    """The table in which a device is looked up that this one does not have."""
    replaces: str | None = None
    """The table in place of which this one is used."""
    over_at: Location | None = None
    """Where the name of that table stands."""
    rows_at: tuple[Location, ...] = ()
    """Where each row stands, of a table over another one."""
    proofs: tuple[TableProof, ...] = ()

    @property
    def over(self) -> str | None:
        """The table that this one goes before, or replaces."""
        return self.goes_before or self.replaces

    def holds_on(self, day: date) -> bool:
        """True if it is in force on a day."""
        return self.starts <= day and (self.ends is None or day < self.ends)

    def on(self, day: date) -> UnmarkedRatings:
        """The table's rows on a day; none outside its dates."""
        return self.ratings if self.holds_on(day) else UnmarkedRatings()


def ratings_on(
    tables: Sequence[RatingsTable], day: date, places: Sequence[str] | None
) -> UnmarkedRatings:
    """The limits of unmarked devices on a day, for a trip through some jurisdictions.

    Where no table is of a place of the trip, or the trip states none, those of all places count.
    """
    in_force = {each.id: each for each in tables if each.holds_on(day)}
    here = [each for each in in_force.values() if touches(each.jurisdiction, places) == 1]
    here = here or list(in_force.values())
    under = {each.over for each in here}
    first, *others = [_with_later(each, in_force) for each in here if each.id not in under] or [
        UnmarkedRatings()
    ]
    return replace(first, beside=tuple(others)) if others else first


def _with_later(table: RatingsTable, in_force: dict[str, RatingsTable]) -> UnmarkedRatings:
    """The rows of a table, and of those that it goes before."""
    later = in_force.get(table.goes_before or "")
    return replace(table.ratings, then=_with_later(later, in_force)) if later else table.ratings


def table_problems(tables: Sequence[RatingsTable]) -> Iterator[Problem]:
    """Every problem of the order of tables: none declared, a circle, a limit above that of law."""
    by_id = {each.id: each for each in tables}
    circles = [each for each in tables if each.id in _under(each, by_id)]
    for each in circles:
        yield _problem_at(each.over_at, f"'{each.over}', which stands over this table", "an order")
    if circles:
        return
    for one, other in combinations(tables, 2):
        together = one.id in _under(other, by_id) or other.id in _under(one, by_id)
        if not together and _same_place(one, other) and _same_days(one, other):
            wanted = "`goes_before:` or `replaces:` with the id of the other, or other days"
            words = f"a table for a place and days of another one ({other.location})"
            yield _problem_at(one.location, words, wanted)
    for each in tables:
        if each.over in by_id:
            yield from _above(each, by_id[each.over])


def _under(table: RatingsTable, by_id: dict[str, RatingsTable]) -> list[str]:
    """The ids of all tables under one; the search ends at one that was met before."""
    found: list[str] = []
    over = table.over
    while over is not None and over not in found:
        found.append(over)
        over = by_id[over].over if over in by_id else None
    return found


def _same_place(one: RatingsTable, other: RatingsTable) -> bool:
    places = {one.jurisdiction, other.jurisdiction}
    return ANYWHERE in places or len(places) == 1


def _same_days(one: RatingsTable, other: RatingsTable) -> bool:
    return (one.ends is None or other.starts < one.ends) and (
        other.ends is None or one.starts < other.ends
    )


def _above(table: RatingsTable, under: RatingsTable) -> Iterator[Problem]:
    """Rows that give a device more than the table under them, where no law says so."""
    source = table.citation.source
    place = table.jurisdiction
    if source is not None and has_law(place) and is_inside(source.jurisdiction, place):
        return
    counts_as = table.ratings.counts_as
    for row, at in zip(table.ratings.rows, table.rows_at, strict=True):
        printed = (row.device, row.grade)
        thickness = NOT_STATED if row.thickness is None else row.thickness
        for device, grade in (printed, *(key for key in counts_as if counts_as[key] == printed)):
            limit = under.ratings.rating(device, grade, row.size, thickness)
            if more_than(row.working_load_limit, limit) == 1:
                words = f"a limit of {device} above that of {under.id} ({under.location})"
                wanted = "at most that limit; only a document of the law of a place may raise it"
                yield _problem_at(at, words, wanted)
                break


def _problem_at(at: Location | None, found: str, wanted: str) -> Problem:
    assert at is not None, "a table over another one has its location"
    return Problem(at.file, at.mark, found, wanted)
