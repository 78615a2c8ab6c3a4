"""What is held for each place, as text: one paragraph a place, or one place in full."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from rich.console import Console

from checker.documents.jurisdiction_codes import ANYWHERE, place_name
from checker.reports.shared.page import Page
from checker.reports.shared.words import join_words, number_of
from checker.rulebooks.jurisdictions import has_law
from checker.rulebooks.model import READINGS, LawRow, Rule, Rulebook
from checker.rulebooks.places import (
    NO_DOCUMENT,
    HeldForPlace,
    by_basis,
    by_reading,
    clauses,
    days_of,
    rules_of,
)

_LEAD = " " * 2


def print_places(held: Sequence[HeldForPlace], console: Console) -> None:
    """Every place with its own rules or rows of law tables, then how many rows were read how."""
    page = Page(console)
    with page.at_once():
        for each in held:
            page.heading(_named(each.place))
            for line in _about(each):
                page.line(line, lead=_LEAD)
        page.line()
        for line in _row_totals([row for each in held for row in each.rows]):
            page.line(line)
        page.line(
            "The law of a country or union is in force in its parts too: cinchbook places US-KS "
            "prints all that is in force in one of them, and how each document was read."
        )


def print_place(held: HeldForPlace, anywhere: HeldForPlace, console: Console) -> None:
    """All that is in force in a place, its own rules first, and the documents behind it."""
    page = Page(console)
    with page.at_once():
        page.heading(_named(held.place))
        for line in _about(held):
            page.line(line, lead=_LEAD)
        for where, books in held.around.items():
            page.line(f"In force there too, {_named(where)}: {_counted(books)}", lead=_LEAD)
        if held.place != ANYWHERE and anywhere.own:
            words = f"In force there too, rules for anywhere: {_counted(anywhere.own)}"
            page.line(words, lead=_LEAD)
        if held.rows:
            page.heading("ITS LAW BY SUBJECT - how it was read, and where")
            for row in held.rows:
                page.line(_row(row), lead="- ")
        if not held.all_books:
            return
        page.heading("RULEBOOKS")
        for book in held.all_books:
            page.line(_book(book), lead="- ")
        page.heading("DOCUMENTS - how each was read")
        for line in _documents(held.all_books):
            page.line(line, lead="- ")


def _named(place: str) -> str:
    name = place_name(place)
    return name if name == place else f"{name[0].upper()}{name[1:]} ({place})"


def _about(held: HeldForPlace) -> Iterator[str]:
    """What is held in the place's own rulebooks, and the subjects read and not read."""
    rules = held.rules
    if not rules:
        yield "No rule of its own."
    else:
        yield f"{_counted(held.own)}: {_bases(rules)}"
        yield f"Read: {_readings(by_reading(rules))}"
        yield from _days(rules)
    for kind, titles in (("Table", held.tables), ("Amendment", held.amendments)):
        yield from (f"{kind}: {title}" for title in titles)
    for each in held.coverages:
        number = number_of(len(each.paragraphs), "paragraph")
        yield f"List of what becomes of each paragraph: {each.title}, {number}"
    if not has_law(held.place):
        return
    subjects = [
        subject + ("" if where == (held.place,) else f" ({', '.join(where)})")
        for subject, where in held.read.items()
    ]
    yield f"Subjects of its law read: {', '.join(subjects) or 'none'}"
    if held.not_read:
        yield f"Not read, look them up: {', '.join(held.not_read)}"


def _counted(books: Sequence[Rulebook]) -> str:
    rules = number_of(len(rules_of(books)), "rule")
    return f"{rules} in {number_of(len(books), 'rulebook')}"


def _bases(rules: Sequence[Rule]) -> str:
    return "; ".join(
        f"{basis} {join_words([f'{levels[each]} {each}' for each in sorted(levels)])}"
        for basis, levels in by_basis(rules).items()
    )


def _readings(readings: Mapping[str, int]) -> str:
    return ", ".join(
        f"{number} {'cite no document' if way == NO_DOCUMENT else way}"
        for way, number in readings.items()
    )


def _days(rules: Sequence[Rule]) -> Iterator[str]:
    days = days_of(rules)
    if days is None:
        return
    words = f"{number_of(days.figures, 'figure')} in force from {days.first}"
    words += f", the latest from {days.last}" if days.last != days.first else ""
    words += f"; some end on {', '.join(map(str, days.ends))}" if days.ends else ""
    yield words


def _row_totals(rows: Sequence[LawRow]) -> Iterator[str]:
    """How many rows of law tables were read how, and in how many the subject is held."""
    if not rows:
        return
    found = Counter(row.read for row in rows)
    ways = ", ".join(f"{found[way]} {way}" for way in READINGS if found[way])
    places = number_of(len({row.place for row in rows}), "place")
    yield (
        f"Law tables: {number_of(len(rows), 'row')} for {places}: {ways}. "
        f"{sum(row.holds_subject for row in rows)} hold all that their text asks."
    )


def _row(row: LawRow) -> str:
    """One row of a law table: its reading, law, rules, what is not checked, and its note."""
    words = f"{row.table}: {row.read}"
    if row.citations:
        words += f", {'; '.join(row.citations)}"
    if row.rules:
        words += f". {number_of(len(row.rules), 'rule')}: {', '.join(row.rules)}"
    elif row.holds_subject:
        words += ". It asks nothing"
    sentences = [f"{words}."]
    if row.not_checked:
        sentences.append(f"Not checked: {row.not_checked}")
    if row.note:
        sentences.append(row.note)
    return " ".join(sentences)


def _book(book: Rulebook) -> str:
    words = f"{book.title} ({book.id}, {book.jurisdiction}): {number_of(len(book.rules), 'rule')}"
    return f"{words}. Not for every load: {book.scope.because}" if book.scope else f"{words}."


def _documents(books: Sequence[Rulebook]) -> Iterator[str]:
    """Each document that rules cite, how it was read, and how many rules cite it."""
    for source, cited in clauses(books).items():
        number = number_of(len({rule for rules in cited.values() for rule in rules}), "rule")
        if source is None:
            yield f"No document, common practice: {number}"
        else:
            yield (
                f"{source.title}, {source.edition}: {source.read_as}, {number}; look again "
                f"{source.look_again}"
            )
