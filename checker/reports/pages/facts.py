"""The catalogue of facts as text."""

from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from checker.facts.catalogue import Fact


def print_facts(facts: Sequence[Fact], console: Console) -> None:
    """Each fact with its kind, meaning, needs and source."""
    for fact in facts:
        each = f", for each {fact.each}" if fact.each else ""
        console.print(Text.assemble((fact.name, "bold"), f" ({fact.kind}{each})"))
        lines = [fact.meaning]
        if fact.fields or fact.instead:
            instead = f"; else {', '.join(fact.instead)}" if fact.instead else ""
            lines.append(f"Fields: {', '.join(fact.fields) or 'none'}{instead}")
        if fact.uses:
            lines.append(f"Uses: {', '.join(fact.uses)}")
        lines.append(f"Source: {fact.source}")
        console.print(Padding(Text("\n".join(lines)), (0, 0, 0, 2), expand=False))
    console.print(Text(f"{len(facts)} facts"))
