"""The rulebooks that hold some rules, so that nothing is computed for the others."""

from collections.abc import Set

from msgspec.structs import replace

from checker.rulebooks.model import Rulebooks


def rulebooks_with(rulebooks: Rulebooks, rules: Set[str]) -> Rulebooks:
    """The same rulebooks but for those without any of the rules; those left are complete."""
    books = tuple(book for book in rulebooks.books if any(rule.id in rules for rule in book.rules))
    return replace(rulebooks, books=books)
