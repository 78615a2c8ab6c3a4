"""Documents that rules cite, as text and as JSON: all of them, or one with what rests on it."""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from rich.console import Console

from checker.reports.shared.json_document import json_document
from checker.reports.shared.page import Page
from checker.reports.shared.portable_paths import located
from checker.reports.shared.words import number_of
from checker.rulebooks.citations import Reading
from checker.upkeep.sources import KINDS, CitedDocument, Dependant

_LEAD = " " * 2
_PLURALS = {"list of paragraphs": "lists of paragraphs"}


def print_documents(found: Sequence[CitedDocument], on: date, console: Console) -> None:
    """Every document in two lines, those past their day to look again first."""
    page = Page(console)
    overdue = [each for each in found if each.is_overdue]
    with page.at_once():
        page.heading(f"LOOK AGAIN NOW - past their day on {on}")
        for each in overdue:
            _print_one(each, page)
        if not overdue:
            page.line("None.")
        page.heading("OTHER DOCUMENTS")
        for each in found:
            if not each.is_overdue:
                _print_one(each, page)
        page.line()
        page.line(
            f"{number_of(len(found), 'document')}, {len(overdue)} to look at again now. "
            "cinchbook sources ID prints what rests on one, and how to note that it was read."
        )


def _print_one(each: CitedDocument, page: Page) -> None:
    page.line(f"{each.source.id}: {each.source.title}, {each.source.edition}", lead="- ")
    page.line(f"{_reading(each)}; {_due(each)}; {_counted(each.dependants)}", lead=_LEAD)


def print_document(each: CitedDocument, on: date, console: Console) -> None:
    """One document, its readings, and everything that rests on it."""
    page = Page(console)
    source = each.source
    with page.at_once():
        page.line(source.title, style="bold")
        page.line(f"{source.id}, {source.issuer}, jurisdiction {source.jurisdiction}")
        since = f", in force from {source.starts}" if source.starts else ""
        page.line(f"Edition on {on}: {source.edition}{since}")
        page.line(f"Read: {_reading(each)}; {_due(each)}")
        if source.note:
            page.line(f"Note: {source.note}")
        if source.location:
            page.line(f"At {source.location}")
        if each.readings:
            page.heading("READ AGAIN")
        for reading in each.readings:
            page.line(_reading_words(reading), lead="- ")
        page.heading(f"WHAT RESTS ON IT - {_counted(each.dependants)}")
        for kind in KINDS:
            for dependant in each.dependants:
                if dependant.kind == kind:
                    page.line(_dependant_words(dependant), lead="- ")
        page.heading("TO NOTE THAT YOU READ IT AGAIN")
        page.line(f'Unchanged: cinchbook sources {source.id} --read-on {on} --by "NAME"')
        page.line(
            'A new edition with the same figures: add --edition "EDITION" --from DAY. A figure '
            "that the new edition changes is an amendment: cinchbook amend."
        )


def _reading(each: CitedDocument) -> str:
    source = each.source
    when = f" on {source.read_on}" if source.read_on else ", the day not noted"
    return f"{source.read_as}{when}{f', by {source.read_by}' if source.read_by else ''}"


def _due(each: CitedDocument) -> str:
    return f"look again {each.look_again}{', which is past' if each.is_overdue else ''}"


def _counted(dependants: Sequence[Dependant]) -> str:
    found = Counter(each.kind for each in dependants)
    words = [
        f"{found[kind]} {_PLURALS[kind]}"
        if kind in _PLURALS and found[kind] > 1
        else number_of(found[kind], kind)
        for kind in KINDS
        if found[kind]
    ]
    return ", ".join(words) or "nothing"


def _reading_words(reading: Reading) -> str:
    what = f"{reading.was}: unchanged"
    if reading.edition:
        what = f"{reading.edition}, in force from {reading.starts}, replaces {reading.was}"
    words = f"{reading.read_on} by {reading.by}, {reading.read_as}: {what}"
    words += f"; look again {reading.look_again}; {reading.locations['']}"
    return f"{words}; {reading.note}" if reading.note else words


def _dependant_words(each: Dependant) -> str:
    at = f"; {each.at}" if each.at else ""
    location = f" ({each.location})" if each.location else ""
    return f"{each.kind} {each.name}: {each.words}{at}{location}"


def documents_json(found: Sequence[CitedDocument], on: date) -> str:
    """The documents as one JSON document."""
    return json_document(
        "documents",
        {
            "on": on.isoformat(),
            "overdue": sum(each.is_overdue for each in found),
            "documents": list(map(_as_data, found)),
        },
    )


def _as_data(each: CitedDocument) -> dict[str, Any]:
    source = each.source
    return {
        "id": source.id,
        "title": source.title,
        "issuer": source.issuer,
        "edition": source.edition,
        "from": _day(source.starts),
        "jurisdiction": source.jurisdiction,
        "read_as": source.read_as,
        "read_on": _day(source.read_on),
        "read_by": source.read_by,
        "look_again": each.look_again.isoformat(),
        "overdue": each.is_overdue,
        "note": source.note,
        "at": each.due_at and located(each.due_at),
        "readings": list(_readings(each.readings)),
        "rests_on_it": [
            {
                "kind": dependant.kind,
                "name": dependant.name,
                "words": dependant.words,
                "clause": dependant.at,
                "at": dependant.location and located(dependant.location),
            }
            for dependant in each.dependants
        ],
    }


def _readings(readings: Sequence[Reading]) -> Iterator[dict[str, Any]]:
    for each in readings:
        yield {
            "was": each.was,
            "edition": each.edition,
            "from": _day(each.starts),
            "read_on": each.read_on.isoformat(),
            "read_as": each.read_as,
            "look_again": each.look_again.isoformat(),
            "by": each.by,
            "note": each.note,
            "at": located(each.locations[""]),
        }


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None
