"""The shipped rules, read once in a process for all tests that take them as they are."""

from functools import cache

from msgspec.structs import replace

from checker.documents.resources import shipped_folder
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks


@cache
def shipped_rules() -> Rulebooks:
    """All of them, without their proofs."""
    return load_rulebooks(shipped_folder("rules"))


def only_rule(books: Rulebooks, name: str) -> Rulebooks:
    """One rule of them; a plain check of it alone works out no more than it asks."""
    chosen = [
        replace(book, rules=tuple(rule for rule in book.rules if rule.id == name))
        for book in books.books
    ]
    return replace(books, books=tuple(chosen))
