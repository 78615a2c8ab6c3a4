"""The shipped rules that need no linear programme, for tests and timings of many hauls."""

from functools import cache

from msgspec.structs import replace

from checker.rulebooks.model import Rule, Rulebook, Rulebooks
from tests.shipped import shipped_rules


@cache
def quick_rules() -> Rulebooks:
    """Those rules, in all their rulebooks."""
    read = shipped_rules()
    return replace(read, books=tuple(map(_quick, read.books)))


def _quick(book: Rulebook) -> Rulebook:
    return replace(book, rules=tuple(rule for rule in book.rules if needs_no_programme(rule)))


def needs_no_programme(rule: Rule) -> bool:
    """False for rules about restraint."""
    return not any(name.startswith("article.holds_") for name in rule.facts)
