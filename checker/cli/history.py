"""`cinchbook history`: every value that each number of a rule had, and the values in force."""

from datetime import date
from typing import Annotated

import typer

from checker.cli.chosen_rules import find_rule, read_rules
from checker.cli.options import (
    Format,
    FormatOption,
    RulesOption,
    check_place_code,
    parse_day,
    print_json,
)
from checker.cli.output import console


def run(
    rule_id: Annotated[str, typer.Argument(metavar="RULE", help="Id of the rule.")],
    rules: RulesOption = None,
    places: Annotated[
        str | None,
        typer.Option(
            "--places",
            metavar="JURISDICTIONS",
            help="Jurisdictions of a trip, such as US-UT,US-ID, to show the values in force there.",
        ),
    ] = None,
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="Day to show the rules for. Default: today."),
    ] = None,
    form: FormatOption = Format.TEXT,
) -> None:
    """Show a rule's numbers by date and by who set them, past and future, and those in force.

    Example: cinchbook history us-aggregate-working-load-limit --places US-UT --on 2026-05-14
    """
    from checker.reports.data import history as data
    from checker.reports.pages.history import print_history

    day = parse_day(on) if on else date.today()
    named = None if places is None else [code.strip() for code in places.split(",")]
    for code in named or ():
        check_place_code(code)
    rulebooks = read_rules(rules)
    found = find_rule(rulebooks, rule_id)
    if form is Format.JSON:
        print_json(data.document(*found, rulebooks, named, day))
    else:
        print_history(*found, rulebooks, named, day, console())
