"""Jurisdictions of a trip whose law was not read, and counties that no rulebook names."""

from collections.abc import Iterator, Sequence
from typing import Any

from checker.documents.problems import DataPath, Problem, listed, nearest, quoted
from checker.load.references import Merged, location_of
from checker.rulebooks.jurisdictions import has_law, is_inside, touches
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.timeline import PLACE


def unread_jurisdictions(places: Sequence[str] | None, rulebooks: Rulebooks) -> tuple[str, ...]:
    """The jurisdictions of a trip without any rule from a rulebook or an amendment by law.

    Rules that apply anywhere or in a region, and a company's own, are no law of a jurisdiction.
    """
    read = [book.jurisdiction for book in rulebooks.books if has_law(book.jurisdiction)]
    read += [each.jurisdiction for each in rulebooks.amendments if each.layer == PLACE]
    return tuple(
        dict.fromkeys(
            jurisdiction
            for jurisdiction in places or ()
            if all(touches(each, [jurisdiction]) == 0 for each in read)
        )
    )


def law_was_not_read(unread: Sequence[str], rulebooks: Rulebooks) -> bool:
    """True if the rulebooks hold the law of some jurisdiction, but of none on the trip.

    Somebody who chose only rules that apply anywhere, such as a crew's own practice, asked for no
    law.
    """
    return bool(unread) and any(has_law(book.jurisdiction) for book in rulebooks.books)


def county_problems(merged: Merged, rulebooks: Rulebooks) -> Iterator[Problem]:
    """A problem for each county of a trip that no rulebook or amendment names.

    County codes are defined by the project. An unnamed one adds no rule to its state's, and a
    misspelt one would leave out the rules of the right one.
    """
    counties = list(_counties(merged.data))
    if not counties:
        return
    named = [book.jurisdiction for book in rulebooks.books]
    named += [amendment.jurisdiction for amendment in rulebooks.amendments]
    known = dict.fromkeys(each for each in named if each.count("-") > 1)
    for path, jurisdiction in counties:
        state, _, county = jurisdiction.rpartition("-")
        if jurisdiction in known:
            continue
        here = [each for each in known if is_inside(each, state)]
        guess = nearest(county, [each.rpartition("-")[2] for each in here])
        wanted = f"{state} alone, or a county behind it that a rulebook or amendment names"
        if here:
            wanted += f": {listed(here)}"
        file, mark = location_of(path, merged.locations)
        suggestion = guess and quoted(f"{state}-{guess}")
        yield Problem(file, mark, f"the county {quoted(jurisdiction)}", wanted, suggestion)


def _counties(data: Any) -> Iterator[tuple[DataPath, str]]:
    for number, jurisdiction in enumerate(data.get("trip", {}).get("places", ())):
        if jurisdiction.count("-") > 1:
            yield ("trip", "places", number), jurisdiction
