"""The facts that rules may use, as a document."""

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from checker.facts.catalogue import Fact
from checker.reports.shared.json_document import record_document
from checker.units.kinds import BASE_UNITS

KIND: Final = "facts"


class FactRecord(Struct, frozen=True):
    """A named quantity or answer that is worked out from a load."""

    name: str
    """Name, as formulas use it."""
    kind: str
    """Kind of quantity, or answer."""
    unit: str | None
    """SI unit; null for shares, answers, days and counts."""
    label: str
    """Name for people."""
    meaning: str
    """What it is."""
    each: str | None
    """What it belongs to: article, tiedown or axle; null for the load as a whole."""
    fields: tuple[str, ...]
    """Fields of a profile that it needs; * stands for a name or an index."""
    instead: tuple[str, ...]
    """Fields that it reads where those are not stated."""
    uses: tuple[str, ...]
    """Other facts that it uses."""
    source: str
    """Where its formula comes from."""


class Document(Struct, frozen=True):
    """The facts that formulas of rules may name."""

    facts: tuple[FactRecord, ...]
    """The facts, by name."""


def document(facts: Sequence[Fact]) -> str:
    """The facts as a document."""
    return record_document(KIND, Document(tuple(map(_fact, facts))))


def _fact(fact: Fact) -> FactRecord:
    return FactRecord(
        name=fact.name,
        kind=fact.kind,
        unit=BASE_UNITS.get(fact.kind),
        label=fact.label,
        meaning=fact.meaning,
        each=fact.each,
        fields=fact.fields,
        instead=fact.instead,
        uses=fact.uses,
        source=fact.source,
    )
