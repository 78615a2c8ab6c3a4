"""Selects rulebooks by id and combines sets of them."""

from collections.abc import Sequence

from msgspec.structs import replace

from checker.documents.problems import ProblemsFoundError, listed, nearest
from checker.rulebooks.amendments import amendment_problems
from checker.rulebooks.citations import Source
from checker.rulebooks.duplicate_ids import duplicate_ids
from checker.rulebooks.editions import reading_problems
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.rating_tables import table_problems
from checker.rulebooks.variances import variance_problems


class RulebookChoiceError(Exception):
    """A choice of rulebooks that is not possible; the message gives the reason."""


def select_rulebooks(rulebooks: Rulebooks, ids: Sequence[str]) -> Rulebooks:
    """The rulebooks of these ids, with all tables and sources. Raises RulebookChoiceError."""
    known = [book.id for book in rulebooks.books]
    for wanted in ids:
        if wanted not in known:
            guess = nearest(wanted, known)
            hint = f"; did you mean '{guess}'?" if guess else ""
            message = f"found '{wanted}'; wanted a folder, or one of: {listed(known)}{hint}"
            raise RulebookChoiceError(message)
    books = tuple(book for book in rulebooks.books if book.id in ids)
    return replace(rulebooks, books=books)


def combine_rulebooks(
    sets: Sequence[Rulebooks],
    *,
    elsewhere: frozenset[str] = frozenset(),
    longest_variance: int | None = None,
    partly_read: bool = False,
    tables_alone: bool = False,
    may_be_empty: bool = False,
) -> Rulebooks:
    """Several sets as one, in the order given, with amendments, readings and tables checked.

    Rules named in `elsewhere` are known but not among the sets; changes to them are not checked.
    With `partly_read` some rows of law tables may not have been read, nor their documents.
    Raises RulebookChoiceError where there is no rulebook (with `tables_alone`, and no table; not
    with `may_be_empty`), and ProblemsFoundError where an id occurs twice, or an amendment, a
    reading, a table or a variance of a register has a problem.
    """
    books = tuple(book for each in sets for book in each.books)
    is_enough = may_be_empty or (tables_alone and any(each.tables for each in sets))
    if not books and not is_enough:
        message = "found no rulebook in the folder given; wanted files with `kind: rulebook`"
        raise RulebookChoiceError(message)
    twice = duplicate_ids(sets)
    if twice:
        raise ProblemsFoundError(twice)
    whole = Rulebooks(
        books=books,
        tables=tuple(table for each in sets for table in each.tables),
        sources=_sources(sets),
        coverages=tuple(coverage for each in sets for coverage in each.coverages),
        amendments=tuple(amendment for each in sets for amendment in each.amendments),
        changes=tuple(change for each in sets for change in each.changes),
        shapes={key: shape for each in sets for key, shape in each.shapes.items()},
        law_tables=tuple(table for each in sets for table in each.law_tables),
        own_sources=frozenset(name for each in sets for name in each.own_sources),
        readings=tuple(reading for each in sets for reading in each.readings),
        elsewhere=elsewhere,
        registers=tuple(register for each in sets for register in each.registers),
        longest_variance=longest_variance,
    )
    found = amendment_problems(whole, elsewhere=elsewhere)
    found += variance_problems(whole.variances, whole)
    found += reading_problems(whole, partly_read=partly_read)
    found += table_problems(whole.tables)
    if found:
        raise ProblemsFoundError(found)
    return whole


def _sources(sets: Sequence[Rulebooks]) -> dict[str, Source]:
    """The documents of all sets; one of a set's own counts before one that another may cite."""
    found = {key: source for each in sets for key, source in each.sources.items()}
    return found | {key: each.sources[key] for each in sets for key in each.own_sources}
