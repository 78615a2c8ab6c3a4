"""Choose among rulebooks and put sets of them together."""

from collections.abc import Sequence

from checker.documents.problems import listed, nearest
from checker.rulebooks.model import Rulebooks


class RulebookChoiceError(Exception):
    """A choice of rulebooks that cannot be made; the message says why."""


def only(rulebooks: Rulebooks, ids: Sequence[str]) -> Rulebooks:
    """The rulebooks of these ids, with all tables and sources. Raises RulebookChoiceError."""
    known = [book.id for book in rulebooks.books]
    for wanted in ids:
        if wanted not in known:
            guess = nearest(wanted, known)
            hint = f"; did you mean '{guess}'?" if guess else ""
            message = f"found '{wanted}'; wanted a folder, or one of: {listed(known)}{hint}"
            raise RulebookChoiceError(message)
    books = tuple(book for book in rulebooks.books if book.id in ids)
    return Rulebooks(books, rulebooks.tables, rulebooks.sources, rulebooks.coverages)


def together(sets: Sequence[Rulebooks]) -> Rulebooks:
    """Several sets as one, in the order given.

    Raises RulebookChoiceError where there is no rulebook, or where a rule's id stands twice.
    """
    books = tuple(book for each in sets for book in each.books)
    if not books:
        message = "found no rulebook in the folder given; wanted files with `kind: rulebook`"
        raise RulebookChoiceError(message)
    seen = [rule.id for book in books for rule in book.rules]
    twice = sorted({rule_id for rule_id in seen if seen.count(rule_id) > 1})
    if twice:
        message = f"found the same rule in two of the sets of rules given: {listed(twice)}"
        raise RulebookChoiceError(message)
    return Rulebooks(
        books,
        tuple(table for each in sets for table in each.tables),
        {key: source for each in sets for key, source in each.sources.items()},
        tuple(coverage for each in sets for coverage in each.coverages),
    )
