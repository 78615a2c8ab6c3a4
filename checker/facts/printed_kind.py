"""The kind in which a fact is printed: strengths and pulls of tiedowns have a unit of their own."""

from functools import cache

from checker.facts.catalogue import Fact, catalogue
from checker.units.formatting import FORCE


def printed_kind(fact: Fact) -> str:
    """The kind in which to print a fact: FORCE for strengths and pulls of tiedowns."""
    return FORCE if _is_force(fact.name) else fact.kind


@cache
def _is_force(name: str) -> bool:
    """True for a load of a tiedown, and for one that is made of such loads."""
    fact = catalogue()[name]
    if fact.kind != "load":
        return False
    return fact.each == "tiedown" or any(map(_is_force, fact.uses))
