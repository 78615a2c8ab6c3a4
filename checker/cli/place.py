"""`cinchbook place`: where one article should stand on the deck."""

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
    end_with_problems,
    print_json,
    read_single_profile,
    units_of,
)
from checker.cli.output import console


def run(
    profile: Annotated[Path, typer.Argument(metavar="PROFILE", help="Load profile file.")],
    article: Annotated[
        int, typer.Option("--article", min=1, help="Which article to move, counted from 1.")
    ] = 1,
    rules: RulesOption = None,
    on: DayOption = None,
    units: UnitsOption = None,
    root: RootOption = None,
    form: FormatOption = Format.TEXT,
) -> None:
    """Find where an article should stand: sweep it along the deck, facing both ways.

    Every rule about placement, ratings and coupling is tried at each quarter of an inch. Prints the
    stretch where all are met, the rules that end it on each side, and the best position.

    Example: cinchbook place profiles/loads/too-far-forward.yaml
    """
    from checker.advice.place import CannotPlaceError, place
    from checker.documents.problems import Problem, ProblemsFoundError
    from checker.reports.data import place as data
    from checker.reports.pages.advice import print_place
    from checker.reports.shared.glossary import words_of
    from checker.reports.shared.place_words import rulebooks_in_words
    from checker.reports.shared.written_units import system_of

    read = read_single_profile(profile, root)
    number = len(read.stated.articles)
    if not number:
        where = read.merged.locations.get(("articles",)) or read.merged.locations[()]
        end_with_problems(
            ProblemsFoundError([Problem(*where, "no article", "an article to place")])
        )
    if article > number:
        wanted = f"a number from 1 to {number}" if number > 1 else "--article 1"
        end_with(f"found --article {article}; wanted {wanted}")
    system = system_of(read.stated, units_of(units))
    try:
        rulebooks = rulebooks_in_words(
            read_rules(rules, loads=[read.stated]), words_of(read.stated), system
        )
        found = place(read, article - 1, rulebooks, day_of(read, on))
    except CannotPlaceError as error:
        end_with(str(error))
    if form is Format.JSON:
        print_json(data.document(found))
    else:
        print_place(found, console(), system)
