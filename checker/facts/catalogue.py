"""What a fact is, and the list of all of them.

A fact says which profile fields it reads (`fields`, with `*` for a list entry or a name) and
which other facts it uses. Findings use that to show where every number came from and what is
missing; a test perturbs every field and proves that no fact reads one it does not name.
"""

from collections.abc import Callable, Mapping
from typing import Any, Literal, TypeAlias

from msgspec import Struct

from checker.units.arithmetic import Number

ANSWER = "answer"
"""The kind of yes/no facts; every other kind is one of the units module's."""

Each: TypeAlias = Literal["article", "tiedown", "axle"]

Compute: TypeAlias = Callable[[Any], Number]
"""Works a fact out from a `View`, which is not named here because it stands above the catalogue."""

COMMON_PRACTICE = "common practice, no source"
STATICS = "statics"
STATED = "as stated in the profile"


class Fact(Struct, frozen=True):
    """One named quantity or answer worked out from a load.

    `instead` are fields read in place of `fields` where those are not stated; only `fields` are
    asked for when the fact is missing. `each` says for what it is worked out; None is the load.
    `sums` tell people how it is worked out, as text that a test holds against `compute`.
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
    """Put a fact into the catalogue; a name is used once."""
    if new.name in _FACTS:
        message = f"the fact {new.name} stands twice"
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
    """Every fact by name; importing any part of the package has added them all."""
    return _FACTS
