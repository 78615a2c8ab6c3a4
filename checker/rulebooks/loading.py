"""Reads rule files into `Rulebooks`: validates them, compiles formulas, checks ids and dates.

All problems of all files are raised together, each at its line.
"""

import hashlib
from collections.abc import Mapping, Sequence
from datetime import date
from functools import partial
from pathlib import Path

from checker.documents.document import Document
from checker.documents.document_cache import DocumentCache
from checker.documents.folders import IgnorePatterns
from checker.documents.problems import (
    Problem,
    ProblemsFoundError,
    listed,
    quoted,
    suggestion_for,
)
from checker.facts.unmarked import UnmarkedRatings
from checker.rulebooks.amendments import jurisdiction_is_missing
from checker.rulebooks.change_reading import read_changes
from checker.rulebooks.citations import Source
from checker.rulebooks.editions import read_readings
from checker.rulebooks.law_shapes import read_shapes
from checker.rulebooks.law_tables import read_law_tables
from checker.rulebooks.model import (
    Amendment,
    Change,
    Coverage,
    Paragraph,
    Rulebook,
    Rulebooks,
    VarianceRegister,
)
from checker.rulebooks.needed_rulebooks import Trips, rulebook_without_rules
from checker.rulebooks.proof_reading import read_table_proofs, table_row
from checker.rulebooks.rating_tables import RatingsTable
from checker.rulebooks.rule_file_set import RuleFileSet, data_of, location
from checker.rulebooks.rule_files import read_rule_files
from checker.rulebooks.rule_reading import read_rule
from checker.rulebooks.variances import read_variances
from checker.units.parsing import parse
from checker.units.words import with_own_units


def load_rulebooks(
    folder: Path,
    *,
    with_proofs: bool = False,
    known: Rulebooks | None = None,
    edited: Mapping[Path, str] | None = None,
    trips: Trips | None = None,
    cache: DocumentCache | None = None,
    ignored: IgnorePatterns | None = None,
) -> Rulebooks:
    """Everything in the YAML files of a folder and its subfolders, or in one file.

    `edited` maps absolute paths to texts that are read in place of those files, to try an edit
    before it is written. Proofs are not read by default: a check does not need them, and they are
    most of the text. Rules may also cite the sources
    of `known` rulebooks, and cells fill in their shapes. With `trips`, the rules of rulebooks
    whose jurisdiction none of these trips touches are skipped, as are lists of the paragraphs of a
    law. Files in the cache `cache` are not parsed again. Raises ProblemsFoundError with every
    problem of every file.
    """
    # Rule files are shared: under another organisation's settings they must mean the same.
    with with_own_units(()):
        documents = read_rule_files(
            folder,
            first_only=frozenset() if with_proofs else _PROOFS,
            edited=edited or {},
            trips=trips,
            cache=cache or DocumentCache(None),
            ignored=ignored,
        )
        return _read_all(documents, with_proofs=with_proofs, known=known, trips=trips)


_PROOFS = frozenset({"proofs"})


def _read_all(
    documents: Sequence[Document],
    *,
    with_proofs: bool,
    known: Rulebooks | None,
    trips: Trips | None,
) -> Rulebooks:
    """The rulebooks, amendments, tables and coverage lists of one set of files."""
    files = RuleFileSet(documents, known.sources if known else {})
    for document in files.of_kind("sources"):
        _read_sources(document, files)
    books = [_read_book(each, files, with_proofs=with_proofs) for each in files.of_kind("rulebook")]
    amendments: list[Amendment] = []
    changes: list[Change] = []
    for document in files.of_kind("amendment"):
        amendment = _read_amendment(document, files)
        amendments.append(amendment)
        changes += read_changes(document, amendment, files)
        if "rules" in data_of(document):
            books.append(_read_book(document, files, with_proofs=with_proofs))
    tables = [
        _read_table(each, files, with_proofs=with_proofs) for each in files.of_kind("ratings")
    ]
    registers = [_read_register(each, files) for each in files.of_kind("variances")]
    _check_tables_named(tables, known.tables if known else (), files)
    shapes = read_shapes(files, known.shapes if known else {}, all_are_needed=trips is None)
    books, law_tables = read_law_tables(files, shapes, books, trips=trips, with_proofs=with_proofs)
    coverages = [_read_coverage(each, files) for each in files.of_kind("coverage") if each.whole]
    if files.problems:
        raise ProblemsFoundError(files.problems)
    return Rulebooks(
        books=tuple(books),
        tables=tuple(tables),
        sources=files.sources,
        coverages=tuple(coverages),
        amendments=tuple(amendments),
        changes=tuple(changes),
        shapes=shapes,
        law_tables=tuple(law_tables),
        registers=tuple(registers),
        own_sources=frozenset(
            name
            for name, source in files.sources.items()
            if known is None or known.sources.get(name) is not source
        ),
        readings=tuple(
            reading for each in files.of_kind("sources") for reading in read_readings(each)
        ),
    )


def _read_sources(document: Document, files: RuleFileSet) -> None:
    stated = data_of(document)
    if not {"sources", "read_again"} & stated.keys():
        files.problems.append(document.problem((), "no document", "`sources` or `read_again`"))
    for index, data in enumerate(stated.get("sources", ())):
        files.note_id("source", data["id"], document, ("sources", index, "id"))
        days = {
            key: date.fromisoformat(data[key]) for key in ("look_again", "read_on") if key in data
        }
        files.sources[data["id"]] = Source(
            **{**data, **days},
            location=location(document, ("sources", index, "id")),
            due_at=location(document, ("sources", index, "look_again")),
        )


def _read_amendment(document: Document, files: RuleFileSet) -> Amendment:
    data = data_of(document)
    files.note_id("amendment", data["id"], document, ("id",))
    amendment = Amendment(
        id=data["id"],
        title=data["title"],
        layer=data["layer"],
        jurisdiction=data["jurisdiction"],
        digest=_digest(document),
        file=document.file,
    )
    if jurisdiction_is_missing(amendment):
        wanted = "the country or state whose law it is, such as US-UT"
        files.problems.append(
            document.problem(("jurisdiction",), quoted(amendment.jurisdiction), wanted)
        )
    if not {"changes", "repeals", "rules"} & data.keys():
        found = "an amendment that changes nothing"
        files.problems.append(document.problem((), found, "`changes`, `repeals` or `rules`"))
    return amendment


def _read_book(document: Document, files: RuleFileSet, *, with_proofs: bool) -> Rulebook:
    data = data_of(document)
    files.note_id("rulebook", data["id"], document, ("id",))
    if not document.whole:
        return rulebook_without_rules(document, _digest(document))
    days = files.read_stretch(data, document, ())
    read = partial(
        read_rule,
        of_book=days,
        document=document,
        proved_on=date.fromisoformat(data["proved_on"]),
        files=files,
        with_proofs=with_proofs,
    )
    scope = None
    if "applies" in data:
        as_rule = {
            "id": f"{data['id']}-applies",
            "title": f"{data['title']}: in force for this load",
            "question": "limits",
            # Always met where it applies: `when` is the condition of the scope.
            "requires": "0 == 0",
            "basis": "common practice",
            "level": "must",
            "fix": "",
            **data["applies"],
        }
        scope = read(as_rule, path=("applies",))
    return Rulebook(
        id=data["id"],
        title=data["title"],
        jurisdiction=data["jurisdiction"],
        scope=scope,
        rules=tuple(read(rule, path=("rules", index)) for index, rule in enumerate(data["rules"])),
        digest=_digest(document),
        file=document.file,
        days=days,
        subjects=frozenset(data.get("subjects", ())),
        location=location(document, ("id",)),
    )


def _read_register(document: Document, files: RuleFileSet) -> VarianceRegister:
    data = data_of(document)
    files.note_id("register of variances", data["id"], document, ("id",))
    return VarianceRegister(
        id=data["id"],
        title=data["title"],
        variances=tuple(read_variances(document, files)),
        digest=_digest(document),
        file=document.file,
    )


def _read_coverage(document: Document, files: RuleFileSet) -> Coverage:
    data = data_of(document)
    return Coverage(
        title=data["title"],
        jurisdiction=data["jurisdiction"],
        source=files.source(data["source"], document, ("source",)),
        paragraphs=tuple(
            Paragraph(
                id=stated["id"],
                home=stated["home"],
                rules=tuple(stated.get("rules", ())),
                reason=stated.get("reason"),
                location=location(document, ("paragraphs", index)),
            )
            for index, stated in enumerate(data["paragraphs"])
        ),
    )


def _read_table(document: Document, files: RuleFileSet, *, with_proofs: bool) -> RatingsTable:
    data = data_of(document)
    files.note_id("table", data["id"], document, ("id",))
    ratings = UnmarkedRatings(
        rows=tuple(
            table_row(row, parse(row["working_load_limit"], "load").value) for row in data["rows"]
        ),
        counts_as={
            (entry["device"], entry.get("grade")): (
                entry["reads_device"],
                entry.get("reads_grade"),
            )
            for entry in data.get("counts_as", [])
        },
        table=f"{data['title']} ({data['id']})",
    )
    proved_on = date.fromisoformat(data["proved_on"])
    over = next((key for key in ("goes_before", "replaces") if key in data), None)
    if {"goes_before", "replaces"} <= data.keys():
        found = "`replaces` beside `goes_before`"
        files.problems.append(document.problem(("replaces",), found, "one of the two"))
    return RatingsTable(
        id=data["id"],
        title=data["title"],
        jurisdiction=data["jurisdiction"],
        citation=files.cite(data, document, ()),
        starts=date.fromisoformat(data["from"]),
        ends=date.fromisoformat(data["until"]) if "until" in data else None,
        ratings=ratings,
        digest=_digest(document),
        file=document.file,
        location=location(document, ("id",)),
        goes_before=data.get("goes_before"),
        replaces=data.get("replaces"),
        over_at=location(document, (over,)) if over else None,
        rows_at=tuple(location(document, ("rows", n)) for n in range(len(data["rows"])) if over),
        proofs=tuple(read_table_proofs(document, proved_on, files)) if with_proofs else (),
    )


def _check_tables_named(
    tables: Sequence[RatingsTable], others: Sequence[RatingsTable], files: RuleFileSet
) -> None:
    """Add a problem for each table that goes before, or replaces, one that is not known."""
    known = {each.id for each in (*tables, *others)}
    for table in tables:
        if table.over is not None and table.over not in known and table.over_at:
            guess = suggestion_for(table.over, known, files.problems)
            at, wanted = table.over_at, f"a shipped table or one of this folder: {listed(known)}"
            found = f"the table {quoted(table.over)}"
            files.problems.append(Problem(at.file, at.mark, found, wanted, guess))


def _digest(document: Document) -> str:
    return hashlib.sha256(document.text.encode()).hexdigest()[:16]
