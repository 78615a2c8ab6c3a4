"""What a fact is, and the list of all facts.

A fact names the profile fields it reads (`fields`, with `*` for a list entry or a name) and the
other facts it uses. Findings use that to show where every number came from and what is missing; a
test changes every field and proves that no fact reads one it does not name.
"""

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any, Literal, TypeAlias

from msgspec import Struct

from checker.units.arithmetic import Number

ANSWER = "answer"
"""The kind of yes/no facts; every other kind is one of the units module's."""

Each: TypeAlias = Literal["article", "tiedown", "axle"]

Compute: TypeAlias = Callable[[Any], Number]
"""Calculates a fact from a `View`, which this module cannot import because it is above it."""

COMMON_PRACTICE = "common practice, no source"
STATICS = "statics"
STATED = "as stated in the profile"


class Fact(Struct, frozen=True):
    """One named quantity or answer calculated from a load.

    `instead` are fields read where `fields` are not stated; only `fields` are asked for when the
    fact is missing. `each` is what the fact belongs to (article, tiedown, axle); None is the load.
    `sums` are the calculation as text, for people; a test holds them against `compute`.
    """

    name: str
    kind: str
    label: str
    meaning: str
    compute: Compute
    each: Each | None
    fields: tuple[str, ...]
    instead: tuple[str, ...]
    uses: tuple[str, ...]
    source: str
    sums: tuple[str, ...] = ()


_FACTS: dict[str, Fact] = {}


def add(new: Fact) -> None:
    """Put a fact into the catalogue; a name may be used once."""
    if new.name in _FACTS:
        message = f"the fact {new.name} is defined twice"
        raise ValueError(message)
    _FACTS[new.name] = new


def fact(
    name: str,
    kind: str,
    label: str,
    *,
    each: Each | None = None,
    fields: tuple[str, ...] = (),
    instead: tuple[str, ...] = (),
    uses: tuple[str, ...] = (),
    source: str = STATICS,
    sums: tuple[str, ...] = (),
) -> Callable[[Compute], Compute]:
    """Put the decorated function into the catalogue; its docstring is the fact's meaning."""

    def keep(compute: Compute) -> Compute:
        meaning = " ".join((compute.__doc__ or "").split())
        add(Fact(name, kind, label, meaning, compute, each, fields, instead, uses, source, sums))
        return compute

    return keep


def catalogue() -> Mapping[str, Fact]:
    """Every fact by name, in the order in which the modules add them."""
    return _FACTS


@cache
def facts_from(field: str) -> frozenset[str]:
    """The facts that read a profile field, themselves or through other facts."""
    known = catalogue().items()
    found = {name for name, each in known if field in (*each.fields, *each.instead)}
    while more := {name for name, each in known if name not in found and found & {*each.uses}}:
        found |= more
    return frozenset(found)
