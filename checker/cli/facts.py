"""`cinchbook facts`: the facts that rules may use."""

from typing import Annotated

import typer

from checker.cli.options import (
    Format,
    FormatOption,
    end_with,
    print_json,
)
from checker.cli.output import console


def run(
    part: Annotated[
        str, typer.Argument(metavar="[PART]", help="Only facts with this in their name.")
    ] = "",
    form: FormatOption = Format.TEXT,
) -> None:
    """List the facts that formulas may name: kind, meaning, what they need, source.

    Example: cinchbook facts tongue
    """
    from checker.facts.catalogue import catalogue
    from checker.reports.data import facts as data
    from checker.reports.pages.facts import print_facts

    chosen = [fact for name, fact in catalogue().items() if part in name]
    if not chosen:
        end_with(f"found no fact with '{part}' in its name; `cinchbook facts` lists them all")
    chosen.sort(key=lambda fact: fact.name)
    if form is Format.JSON:
        print_json(data.document(chosen))
    else:
        print_facts(chosen, console())
