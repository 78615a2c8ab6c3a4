"""`cinchbook history`: every value each number of a rule had, and what is in force."""

from datetime import date
from typing import Annotated

import typer

from checker.cli.options import RulesOption, end_with, parse_day, read_rules


def run(
    rule_id: Annotated[str, typer.Argument(metavar="RULE", help="Id of the rule.")],
    rules: RulesOption = None,
    places: Annotated[
        str | None,
        typer.Option(
            "--places",
            metavar="PLACES",
            help="Places of a trip, such as US-UT,US-ID, for what is in force.",
        ),
    ] = None,
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="Day for what is in force. Left out: today."),
    ] = None,
) -> None:
    """Show what a rule's numbers were and will be, by date and by who set them, and what holds.

    Example: cinchbook history us-aggregate-working-load-limit --places US-UT --on 2026-05-14
    """
    import re

    from rich.console import Console

    from checker.documents.problems import nearest
    from checker.reports.history_page import print_history

    day = parse_day(on) if on else date.today()
    named = None if places is None else [place.strip() for place in places.split(",")]
    for place in named or ():
        if not re.fullmatch(r"[A-Z]{2}(-[A-Z0-9]{1,3})?", place):
            upper = place.upper()
            hint = f"; did you mean '{upper}'?" if re.fullmatch(r"[A-Z0-9-]{2,6}", upper) else ""
            end_with(f"found the place '{place}'; wanted a country or state such as US-UT{hint}")
    rulebooks = read_rules(rules)
    found = rulebooks.rule(rule_id)
    if found is None:
        known = [rule.id for book in rulebooks.books for rule in book.rules]
        guess = nearest(rule_id, known)
        hint = f"; did you mean '{guess}'?" if guess else ""
        end_with(f"found no rule '{rule_id}'; wanted an id that `cinchbook rules` lists{hint}")
    print_history(*found, rulebooks, named, day, Console(highlight=False))
