"""Documents read again: which edition of a document is in force on a day, and how it was read.

A company notes in its own files that it read a document again. Its figures are then those of the
edition read last; a figure that the new edition changes is an amendment.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from itertools import groupby

from msgspec.structs import replace

from checker.documents.document import Document
from checker.documents.problems import Problem, quoted, suggestion_for
from checker.rulebooks.citations import LAW_OF_A_CELL, Citation, Reading, Source
from checker.rulebooks.model import Change, DatedValue, Rule, Rulebook, Rulebooks
from checker.rulebooks.rule_file_set import data_of, location


def read_readings(document: Document) -> Iterator[Reading]:
    """The readings of one sources file."""
    for index, data in enumerate(data_of(document).get("read_again", ())):
        path = ("read_again", index)
        locations = {key: location(document, (*path, key)) for key in data}
        locations[""] = location(document, path)
        yield Reading(
            source_id=data["source"],
            was=data["was"],
            edition=data.get("edition"),
            starts=date.fromisoformat(data["from"]) if "from" in data else None,
            read_on=date.fromisoformat(data["read_on"]),
            read_as=data["read_as"],
            look_again=date.fromisoformat(data["look_again"]),
            by=data["by"],
            note=data.get("note"),
            locations=locations,
        )


def readings_of(source_id: str, readings: Iterable[Reading]) -> list[Reading]:
    """The readings of one document in the order in which it was read."""
    mine = (each for each in readings if each.source_id == source_id)
    return sorted(mine, key=lambda each: each.read_on)


def reading_problems(rulebooks: Rulebooks, *, partly_read: bool = False) -> Iterator[Problem]:
    """Every problem of the readings: unknown document, another edition before, days.

    With `partly_read` a document of a law table may be unknown, as its rows were not read.
    """
    found: list[Problem] = []
    known = rulebooks.sources
    in_order = sorted(rulebooks.readings, key=lambda each: (each.source_id, each.read_on))
    for source_id, readings in groupby(in_order, key=lambda each: each.source_id):
        mine = list(readings)
        if source_id in known:
            found += _problems_of(known[source_id], mine)
        elif not (partly_read and source_id.endswith(LAW_OF_A_CELL)):
            guess = suggestion_for(source_id, known, found)
            wanted = "the id of a document, as `cinchbook sources` lists them"
            words = f"the source {quoted(source_id)}"
            found += [_problem_at(each, "source", words, wanted, guess) for each in mine]
    yield from found


def _problems_of(source: Source, readings: Iterable[Reading]) -> Iterator[Problem]:
    edition, starts = source.edition, date.min
    before = source.location
    for each in readings:
        if each.was != edition:
            wanted = f"{quoted(edition)}, the edition read before" + (
                f" ({before})" if before else ""
            )
            yield _problem_at(each, "was", f"the edition {quoted(each.was)}", wanted)
            return
        if each.look_again <= each.read_on:
            wanted = f"a day after {each.read_on}, when it was read"
            yield _problem_at(each, "look_again", f"`look_again: {each.look_again}`", wanted)
        if each.edition is not None and each.starts is not None:
            if each.starts <= starts:
                wanted = f"a day after {starts}, when the edition before it began"
                yield _problem_at(each, "from", f"`from: {each.starts}`", wanted)
            if each.edition == edition:
                wanted = "the name of a new edition; left out where the document is unchanged"
                yield _problem_at(each, "edition", f"the edition {quoted(edition)} again", wanted)
            edition, starts = each.edition, each.starts
        before = each.locations[""]


def _problem_at(
    reading: Reading, line: str, found: str, wanted: str, suggestion: str | None = None
) -> Problem:
    at = reading.locations[line]
    return Problem(at.file, at.mark, found, wanted, suggestion)


def source_on(source: Source, readings: Iterable[Reading], day: date) -> Source:
    """A document in the edition in force on a day, as that edition was read last."""
    current = source
    for each in readings_of(source.id, readings):
        if each.last_edition != current.edition:
            if each.starts is None or each.starts > day:
                continue
            current = replace(
                current, edition=each.last_edition, starts=each.starts, replaces=current
            )
        current = replace(
            current,
            read_as=each.read_as,
            look_again=each.look_again,
            read_on=each.read_on,
            read_by=each.by,
            note=each.note or current.note,
        )
    return current


def in_editions_of(rulebooks: Rulebooks, day: date) -> Rulebooks:
    """The rulebooks with every citation in the edition in force on a day."""
    read = {each.source_id for each in rulebooks.readings} & rulebooks.sources.keys()
    if not read:
        return rulebooks
    known = rulebooks.sources
    editions = _Editions({name: source_on(known[name], rulebooks.readings, day) for name in read})
    return replace(
        rulebooks,
        books=tuple(map(editions.book, rulebooks.books)),
        tables=tuple(
            replace(each, citation=editions.citation(each.citation)) for each in rulebooks.tables
        ),
        sources={**known, **editions.sources},
        coverages=tuple(
            replace(each, source=each.source and editions.sources.get(each.source.id, each.source))
            for each in rulebooks.coverages
        ),
        changes=tuple(map(editions.change, rulebooks.changes)),
    )


class _Editions:
    """Puts the editions of one day into citations; what cites no such document is left alone."""

    def __init__(self, sources: Mapping[str, Source]) -> None:
        self.sources = sources

    def citation(self, citation: Citation) -> Citation:
        source = citation.source
        if source is None or source.id not in self.sources:
            return citation
        return replace(citation, source=self.sources[source.id])

    def _value(self, value: DatedValue) -> DatedValue:
        citation = self.citation(value.citation)
        return value if citation is value.citation else replace(value, citation=citation)

    def change(self, change: Change) -> Change:
        citation = self.citation(change.citation)
        if citation is change.citation:
            return change
        return replace(change, citation=citation, value=change.value and self._value(change.value))

    def book(self, book: Rulebook) -> Rulebook:
        return replace(
            book,
            scope=book.scope and self._rule(book.scope),
            rules=tuple(map(self._rule, book.rules)),
        )

    def _rule(self, rule: Rule) -> Rule:
        thresholds = dict(rule.thresholds)
        for name, threshold in rule.thresholds.items():
            values = tuple(map(self._value, threshold.values))
            if any(new is not old for new, old in zip(values, threshold.values, strict=True)):
                thresholds[name] = replace(threshold, values=values)
        citation = self.citation(rule.citation)
        if citation is rule.citation and all(
            each is rule.thresholds[name] for name, each in thresholds.items()
        ):
            return rule
        return replace(rule, citation=citation, thresholds=thresholds)


def is_as_before(value: DatedValue) -> bool:
    """True if a new edition of the value's document has the same figure as the one before."""
    source = value.citation.source
    return source is not None and source.starts is not None and value.starts < source.starts
