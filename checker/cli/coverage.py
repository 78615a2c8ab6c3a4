"""`cinchbook coverage`: what becomes of each paragraph of the law of a place."""

from datetime import date
from typing import Annotated

import typer

from checker.cli.chosen_rules import read_rules
from checker.cli.options import (
    BROKEN,
    UNDECIDED,
    Format,
    FormatOption,
    RulesOption,
    end_with,
    place_named,
    print_json,
)
from checker.cli.output import console


def run(
    place: Annotated[
        str,
        typer.Argument(metavar="PLACE", help="A place whose law is held, such as us or de."),
    ],
    rules: RulesOption = None,
    form: FormatOption = Format.TEXT,
) -> None:
    """Print every paragraph of the law of a place with its home here: a rule, or why it has none.

    Where no list of its paragraphs is held: every clause that rules cite, with these rules, and the
    subjects of the law that nobody read. `cinchbook places` lists the places.

    Example: cinchbook coverage us

    Exit codes: 0 every paragraph has a home and every citation a paragraph; 1 not; 2 no such place;
    3 not known, as no list of paragraphs is held.
    """
    from checker.reports.data import coverage as data
    from checker.reports.pages.coverage import print_clauses, print_coverage
    from checker.rulebooks.coverage import coverage_gaps
    from checker.rulebooks.editions import in_editions_of
    from checker.rulebooks.jurisdictions import has_law
    from checker.rulebooks.places import held_for, places_held

    code = place_named(place)
    rulebooks = in_editions_of(read_rules(rules), date.today())
    chosen = [each for each in rulebooks.coverages if each.jurisdiction == code]
    if not chosen:
        held = held_for(code, rulebooks)
        if not held.own or not has_law(code):
            known = [each.place for each in places_held(rulebooks) if has_law(each.place)]
            wanted = f"wanted one of: {', '.join(known).lower()}"
            law = (where for where in held.around if has_law(where))
            around = "".join(f"; law of {where} is in force there" for where in law)
            end_with(f"found no law of '{place}' alone{around}; {wanted}")
        if form is Format.JSON:
            print_json(data.document(held, ()))
        else:
            print_clauses(held, console())
        raise typer.Exit(UNDECIDED)
    missing = [gap for each in chosen for gap in coverage_gaps(each, rulebooks)]
    if form is Format.JSON:
        print_json(data.document(held_for(code, rulebooks), missing))
    else:
        print_coverage(chosen, missing, console())
    raise typer.Exit(BROKEN if missing else 0)
