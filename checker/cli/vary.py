"""`cinchbook vary`: how one number of a load changes the verdicts."""

from pathlib import Path
from typing import Annotated

import typer

from checker.cli.chosen_rules import read_rules
from checker.cli.options import (
    DayOption,
    Format,
    FormatOption,
    RootOption,
    RulesOption,
    UnitsOption,
    day_of,
    end_with,
    print_json,
    read_single_profile,
    units_of,
)
from checker.cli.output import console


def run(
    profile: Annotated[Path, typer.Argument(metavar="PROFILE", help="Load profile file.")],
    field: Annotated[
        str, typer.Argument(metavar="FIELD", help="A number of the profile: articles.1.weight")
    ],
    span: Annotated[
        str, typer.Argument(metavar="FROM..TO", help="Two quantities: '1000 lb..3000 lb'")
    ],
    rules: RulesOption = None,
    on: DayOption = None,
    units: UnitsOption = None,
    root: RootOption = None,
    form: FormatOption = Format.TEXT,
) -> None:
    """Vary one number and list every rule whose verdict changes, with the value where it does.

    Example: cinchbook vary profiles/loads/side-by-side-in-order.yaml articles.1.weight
    '1000 lb..3000 lb'
    """
    from checker.advice.fields import NoSuchFieldError, parse_value
    from checker.advice.vary import vary
    from checker.reports.data import vary as data
    from checker.reports.pages.advice import print_varied
    from checker.reports.shared.glossary import words_of
    from checker.reports.shared.place_words import rulebooks_in_words
    from checker.reports.shared.written_units import system_of
    from checker.units.parsing import UnitError

    read = read_single_profile(profile, root)
    system = system_of(read.stated, units_of(units))
    try:
        low, dots, high = span.partition("..")
        if not dots:
            end_with(f"found '{span}'; wanted two quantities with .. between: '1000 lb..3000 lb'")
        ends = (parse_value(read, field, low.strip()), parse_value(read, field, high.strip()))
        rulebooks = rulebooks_in_words(
            read_rules(rules, loads=[read.stated]), words_of(read.stated), system
        )
        found = vary(read, field, ends, rulebooks, day_of(read, on))
    except (NoSuchFieldError, UnitError) as error:
        end_with(str(error))
    if form is Format.JSON:
        print_json(data.document(found))
    else:
        print_varied(found, console(), system)
