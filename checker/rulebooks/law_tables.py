"""Law tables: what each place asks on one subject, a row for each place; its cells become rules.

The rules of a place from all tables of a set of files, and those of a rulebook of that id, make one
rulebook. A row whose text nobody read holds no subject, and its cells only advise.
"""

import hashlib
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from itertools import pairwise
from typing import Any, Final

from msgspec.structs import replace

from checker.documents.document import Document
from checker.documents.jurisdiction_codes import place_name
from checker.documents.problems import listed, suggestion_for
from checker.rulebooks.jurisdictions import is_inside
from checker.rulebooks.law_cells import (
    CITED,
    Cell,
    may_follow,
    read_cell,
    read_rule_of,
)
from checker.rulebooks.model import TEXT_SEEN, LawRow, LawTable, Rule, Rulebook, Shape
from checker.rulebooks.needed_rulebooks import Trips
from checker.rulebooks.rule_file_set import RuleFileSet, data_of, location

TABLE: Final = "law-table"
"""The kind of file that holds rows of law."""


class _Place:
    """The rulebook of one place, while the tables are read."""

    def __init__(self, place: str, name: str, book: Rulebook | None, file: str, *, is_read: bool):
        self.book = book or Rulebook(
            id=place.lower(),
            title=name,
            jurisdiction=place,
            scope=None,
            rules=(),
            digest="",
            file=file,
        )
        self.name = name
        self.is_read = is_read
        self.rules = list(self.book.rules)
        self.is_named = book is not None
        """True if it has a rulebook: one of its own, or some row that says something."""
        self.hash = hashlib.sha256(self.book.digest.encode())

    def finished(self, subjects: frozenset[str]) -> Rulebook:
        """The rulebook with the rules of all tables."""
        return replace(
            self.book,
            rules=tuple(self.rules),
            digest=self.hash.hexdigest()[:16],
            subjects=self.book.subjects | subjects,
            rules_not_read=not self.is_read,
        )


def read_law_tables(
    files: RuleFileSet,
    shapes: Mapping[str, Shape],
    books: Sequence[Rulebook],
    *,
    trips: Trips | None,
    with_proofs: bool,
) -> tuple[list[Rulebook], list[LawTable]]:
    """All rulebooks with the rules of the tables added, and the tables themselves."""
    tables: list[LawTable] = []
    by_id = {book.id: book for book in books}
    places: dict[str, _Place] = {}
    naming: list[tuple[Document, Sequence[int], _Place]] = []
    shapes_text = "".join(dict.fromkeys(shape.document.text for shape in shapes.values()))
    shapes_digest = hashlib.sha256(shapes_text.encode()).digest()
    for document in files.of_kind(TABLE):
        data = data_of(document)
        files.note_id("law table", data["id"], document, ("id",))
        texts = _row_texts(document)
        rows: list[LawRow] = []
        for place, indices in _rows_by_place(document, files).items():
            stated = [data["places"][index] for index in indices]
            if place not in places:
                own = by_id.get(place.lower())
                if own is not None and own.jurisdiction != place:
                    wanted = f"{place}: its id is that of the place's rulebook"
                    found_book = f"the rulebook '{own.id}' of {own.jurisdiction}"
                    at = ("places", indices[0], "place")
                    files.problems.append(document.problem(at, found_book, wanted))
                is_read = trips is None or trips.may_touch(place)
                places[place] = _Place(
                    place, _name_of(stated[0]), own, document.file, is_read=is_read
                )
            gathered = places[place]
            if any("cells" in row or _nothing_is_asked(row) for row in stated):
                gathered.is_named = True
                gathered.hash.update(shapes_digest)
                gathered.hash.update("".join([texts[-1], *(texts[i] for i in indices)]).encode())
            if gathered.is_read:
                naming.append((document, indices, gathered))
                found, rules = _read_place(
                    document, indices, gathered.name, shapes, files, with_proofs=with_proofs
                )
                rows += found
                gathered.rules += rules
        tables.append(
            LawTable(data["id"], data["title"], data["subject"], document.file, tuple(rows))
        )
    for document, indices, gathered in naming:
        of_place = [book for book in books if book.jurisdiction == gathered.book.jurisdiction]
        by_hand = [rule for book in of_place for rule in book.rules]
        _check_named_rules(document, indices, [*by_hand, *gathered.rules], files)
    held = _held_subjects(tables)
    by_id |= {
        each.book.id: each.finished(held.get(place, frozenset()))
        for place, each in places.items()
        if each.is_named
    }
    return list(by_id.values()), tables


def _held_subjects(tables: Sequence[LawTable]) -> Mapping[str, frozenset[str]]:
    """By place, the subjects that were read in every table on them.

    A table counts for a place if it has a row of the place or of one beside it: a table of counties
    says nothing of the states.
    """
    tables_on: Counter[tuple[str, str]] = Counter()
    read_in: Counter[tuple[str, str]] = Counter()
    for table in tables:
        here: dict[str, bool] = {}
        for row in table.rows:
            here[row.place] = here.get(row.place, True) and row.holds_subject
        tables_on.update({(_around(place), table.subject) for place in here})
        read_in.update((place, table.subject) for place, holds in here.items() if holds)
    found: dict[str, set[str]] = {}
    for (place, subject), count in read_in.items():
        if count == tables_on[_around(place), subject]:
            found.setdefault(place, set()).add(subject)
    return {place: frozenset(subjects) for place, subjects in found.items()}


def _around(place: str) -> str:
    """The country of a state, the state of a county."""
    return place.rpartition("-")[0]


def _nothing_is_asked(row: Mapping[str, Any]) -> bool:
    """True if the text of a row was read, and all that it asks stands in its cells or nowhere."""
    return row["read"] == TEXT_SEEN and "not_checked" not in row


def _row_texts(document: Document) -> list[str]:
    """The lines of each row, and behind them the lines before the first."""
    count = len(data_of(document)["places"])
    lines = document.text.split("\n")
    starts = [document.value_mark(("places", index)).line - 1 for index in range(count)]
    ends = [*starts[1:], len(lines)]
    texts = ["\n".join(lines[start:end]) for start, end in zip(starts, ends, strict=True)]
    return [*texts, "\n".join(lines[: starts[0]])]


def _rows_by_place(document: Document, files: RuleFileSet) -> Mapping[str, Sequence[int]]:
    """The indices of the rows of each place, ordered by day; every fault is added to `files`."""
    data = data_of(document)
    found: dict[str, list[int]] = {}
    for index, row in enumerate(data["places"]):
        path = ("places", index)
        found.setdefault(row["place"], []).append(index)
        if not is_inside(row["place"], data["jurisdiction"]):
            wanted = f"a part of {data['jurisdiction']}, the table's `jurisdiction`"
            files.problems.append(document.problem((*path, "place"), f"'{row['place']}'", wanted))
        if "until" in row:
            starts, ends = _days(row, data)
            if ends is not None and ends <= starts:
                words, wanted = f"`until: {ends}`", f"after {starts}"
                files.problems.append(document.problem((*path, "until"), words, wanted))
    several = ((place, indices) for place, indices in found.items() if len(indices) > 1)
    for place, indices in several:
        indices.sort(key=lambda index: _days(data["places"][index], data)[0])
        for earlier, later in pairwise(indices):
            ends = _days(data["places"][earlier], data)[1]
            starts = _days(data["places"][later], data)[0]
            if ends is None or ends > starts:
                line = document.value_mark(("places", earlier, "place")).line
                words = f"a second row of {place} for days of the row in line {line}"
                wanted = f"one row for each place and day: `until: {starts}` or earlier on that row"
                at = ("places", later, "place")
                files.problems.append(document.problem(at, words, wanted))
    return found


def _days(row: Mapping[str, Any], table: Mapping[str, Any]) -> tuple[date, date | None]:
    """The first day of a row, and the day after its last one."""
    starts = date.fromisoformat(row.get("from", table["from"]))
    return starts, date.fromisoformat(row["until"]) if "until" in row else None


def _check_named_rules(
    document: Document, indices: Sequence[int], rules: Sequence[Rule], files: RuleFileSet
) -> None:
    """Add a problem for each rule that a row names and no rulebook of the place has."""
    known = list(dict.fromkeys(rule.id for rule in rules))
    for row in indices:
        for index, name in enumerate(data_of(document)["places"][row].get("rules", ())):
            if name not in known:
                guess = suggestion_for(name, known, files.problems)
                wanted = f"a rule of a rulebook of the place: {listed(known) or 'it has none'}"
                at = ("places", row, "rules", index)
                files.problems.append(document.problem(at, f"'{name}'", wanted, guess))


def _read_place(
    document: Document,
    indices: Sequence[int],
    name: str,
    shapes: Mapping[str, Shape],
    files: RuleFileSet,
    *,
    with_proofs: bool,
) -> tuple[list[LawRow], list[Rule]]:
    """The rows of one place, and their rules; a rule of two rows has a value of each."""
    table = data_of(document)
    rows: list[LawRow] = []
    by_id: dict[str, list[Cell]] = {}
    for index in indices:
        row = table["places"][index]
        cells = [
            cell
            for number in range(len(row.get("cells", ())))
            if (
                cell := read_cell(
                    document,
                    ("places", index, "cells", number),
                    _days(row, table),
                    name,
                    shapes,
                    files,
                )
            )
        ]
        for cell in cells:
            by_id.setdefault(cell.rule_id, []).append(cell)
        own = [_citation_words(row)] if {*CITED} <= row.keys() else []
        rows.append(
            LawRow(
                place=row["place"],
                name=name,
                table=table["title"],
                subject=table["subject"],
                read=row["read"],
                citations=tuple(own or dict.fromkeys(_citation_words(c.citation) for c in cells)),
                rules=(*row.get("rules", ()), *(cell.rule_id for cell in cells)),
                note=row.get("note"),
                not_checked=row.get("not_checked"),
                location=location(document, ("places", index)),
            )
        )
    rules = [
        read_rule_of(document, cells, files, with_proofs=with_proofs)
        for cells in by_id.values()
        if may_follow(document, cells, files)
    ]
    return rows, rules


def _citation_words(cited: Mapping[str, str]) -> str:
    return f"{cited['law']} {cited['section']} ({cited['edition']})"


def _name_of(row: Mapping[str, Any]) -> str:
    """The name of the place of a row, for titles of rules."""
    name: str = row.get("name") or place_name(row["place"])
    return name
