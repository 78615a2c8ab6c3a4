"""What rulebooks hold for a place: rules, subjects of the law, days, and how it was read."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from msgspec import Struct

from checker.documents.jurisdiction_codes import ANYWHERE
from checker.rulebooks.citations import Citation, Source
from checker.rulebooks.jurisdictions import has_law, touches
from checker.rulebooks.model import Coverage, LawRow, Rule, Rulebook, Rulebooks
from checker.rulebooks.timeline import PLACE
from checker.rulebooks.unread_subjects import SUBJECTS

NO_DOCUMENT = "no document"
"""How a rule was read that cites none, as rules of common practice do."""
_LEAST_CERTAIN_FIRST = (
    "from memory",
    "secondary copy",
    NO_DOCUMENT,
    "derived",
    "on the equipment itself",
    "text seen",
)


class Days(Struct, frozen=True):
    """How many dated figures there are, from when they hold, and when some end."""

    figures: int
    first: date
    last: date
    ends: tuple[date, ...]


class HeldForPlace(Struct, frozen=True):
    """What the rulebooks hold for one place.

    `own` are its own rulebooks, `around` those of the country or union around it, by jurisdiction;
    both are in force there. `read` has the jurisdictions that hold a subject of its law. Tables,
    amendments by law, lists of paragraphs and rows of law tables are its own.
    """

    place: str
    own: tuple[Rulebook, ...]
    around: Mapping[str, tuple[Rulebook, ...]]
    read: Mapping[str, tuple[str, ...]]
    tables: tuple[str, ...]
    amendments: tuple[str, ...]
    coverages: tuple[Coverage, ...]
    rows: tuple[LawRow, ...] = ()

    @property
    def rules(self) -> list[Rule]:
        """The rules of its own rulebooks."""
        return rules_of(self.own)

    @property
    def not_read(self) -> list[str]:
        """The subjects of its law that no rulebook holds."""
        if not has_law(self.place):
            return []
        return [subject for subject in SUBJECTS if subject not in self.read]

    @property
    def all_books(self) -> list[Rulebook]:
        """Its own rulebooks, then those around it."""
        return [*self.own, *(book for books in self.around.values() for book in books)]


def places_held(rulebooks: Rulebooks) -> list[HeldForPlace]:
    """Every place of which anything is held; the rules for anywhere first."""
    named = {each.jurisdiction for each in rulebooks.books}
    named |= {each.jurisdiction for each in rulebooks.tables}
    named |= {each.jurisdiction for each in rulebooks.coverages}
    named |= {each.jurisdiction for each in rulebooks.amendments if each.layer == PLACE}
    named |= {row.place for row in law_rows(rulebooks)}
    ordered = sorted(named, key=lambda place: (place != ANYWHERE, place))
    return [held_for(place, rulebooks) for place in ordered]


def held_for(place: str, rulebooks: Rulebooks) -> HeldForPlace:
    """What the rulebooks hold for a place; it may be nothing."""
    own = tuple(book for book in rulebooks.books if book.jurisdiction == place)
    around: dict[str, list[Rulebook]] = {}
    read: dict[str, dict[str, None]] = {}
    for book in rulebooks.books:
        where = book.jurisdiction
        if ANYWHERE in (where, place) or touches(where, [place]) != 1:
            continue
        if where != place:
            around.setdefault(where, []).append(book)
        for subject in book.subjects:
            read.setdefault(subject, {})[where] = None
    return HeldForPlace(
        place=place,
        own=own,
        around={where: tuple(books) for where, books in around.items()},
        read={each: tuple(read[each]) for each in SUBJECTS if each in read},
        tables=tuple(each.title for each in rulebooks.tables if each.jurisdiction == place),
        amendments=tuple(
            each.title
            for each in rulebooks.amendments
            if each.layer == PLACE and each.jurisdiction == place
        ),
        coverages=tuple(each for each in rulebooks.coverages if each.jurisdiction == place),
        rows=tuple(row for row in law_rows(rulebooks) if row.place == place),
    )


def law_rows(rulebooks: Rulebooks) -> list[LawRow]:
    """The rows of all law tables, table by table."""
    return [row for table in rulebooks.law_tables for row in table.rows]


def rules_of(books: Iterable[Rulebook]) -> list[Rule]:
    """The rules of some rulebooks."""
    return [rule for book in books for rule in book.rules]


def by_basis(rules: Iterable[Rule]) -> Mapping[str, Counter[str]]:
    """For each basis the number of rules of each level; the basis with most rules first."""
    found: dict[str, Counter[str]] = {}
    for rule in rules:
        found.setdefault(rule.basis, Counter())[rule.level] += 1
    return dict(sorted(found.items(), key=lambda each: (-each[1].total(), each[0])))


def by_reading(rules: Iterable[Rule]) -> Mapping[str, int]:
    """How many rules were read how; a rule counts by the least certain of its documents."""
    found = Counter(_reading(rule) for rule in rules)
    return {each: found[each] for each in reversed(_LEAST_CERTAIN_FIRST) if found[each]}


def _reading(rule: Rule) -> str:
    ways = {each.source.read_as if each.source else NO_DOCUMENT for each in citations(rule)}
    return min(ways, key=_LEAST_CERTAIN_FIRST.index)


def citations(rule: Rule) -> list[Citation]:
    """The citation of a rule, then those of its figures."""
    figures = (value for each in rule.thresholds.values() for value in each.values)
    return [rule.citation, *(value.citation for value in figures)]


def days_of(rules: Iterable[Rule]) -> Days | None:
    """The days of the figures of some rules; None where they have none."""
    values = [value for rule in rules for each in rule.thresholds.values() for value in each.values]
    if not values:
        return None
    starts = [value.starts for value in values]
    ends = sorted({value.ends for value in values if value.ends})
    return Days(len(values), min(starts), max(starts), tuple(ends))


def clauses(books: Sequence[Rulebook]) -> Mapping[Source | None, Mapping[str, list[str]]]:
    """By document and clause the ids of the rules that cite it; None for no document."""
    found: dict[Source | None, dict[str, list[str]]] = {}
    for rule in rules_of(books):
        for source, at in dict.fromkeys((each.source, each.at or "") for each in citations(rule)):
            found.setdefault(source, {}).setdefault(at, []).append(rule.id)
    return found
