"""`cinchbook places`: what the rulebooks hold for each place."""

from datetime import date
from typing import Annotated

import typer

from checker.cli.chosen_rules import read_rules
from checker.cli.options import (
    Format,
    FormatOption,
    RulesOption,
    place_named,
    print_json,
)
from checker.cli.output import console


def run(
    place: Annotated[
        str | None,
        typer.Argument(
            metavar="PLACE",
            help="A country, state or province by its ISO 3166 code, such as US-KS or DE. Default: "
            "every place with rules of its own.",
        ),
    ] = None,
    rules: RulesOption = None,
    form: FormatOption = Format.TEXT,
) -> None:
    """Print what is held for each place: rules by basis and level, what of its law was read, days.

    A rule counts by the least certain of its documents: text seen, secondary copy, from memory.

    Example: cinchbook places US-KS

    Exit codes: 0 printed; 2 no such place.
    """
    from checker.documents.jurisdiction_codes import ANYWHERE
    from checker.reports.data import places as data
    from checker.reports.pages.places import print_place, print_places
    from checker.rulebooks.editions import in_editions_of
    from checker.rulebooks.places import held_for, places_held

    code = None if place is None else place_named(place)
    today = date.today()
    read = in_editions_of(read_rules(rules), today)
    held = places_held(read) if code is None else [held_for(code, read)]
    if form is Format.JSON:
        print_json(data.document(held, today))
    elif code is None:
        print_places(held, console())
    else:
        print_place(held[0], held_for(ANYWHERE, read), console())
