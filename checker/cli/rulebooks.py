"""`cinchbook rulebooks`: every problem of rule files."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker.cli.chosen_rules import read_rules, rules_of_the_project
from checker.cli.options import (
    BROKEN,
    SHIPPED,
    Format,
    FormatOption,
    RulesOption,
    end_with_problems,
    parse_day,
    print_json,
)
from checker.cli.output import console

if TYPE_CHECKING:
    from checker.rulebooks.model import Rulebooks
    from checker.upkeep.released import ReleasedIds


def run(
    rules: RulesOption = None,
    on: Annotated[
        str | None,
        typer.Option(
            "--on",
            metavar="DATE",
            help="Day for which source review dates are checked. Default: today.",
        ),
    ] = None,
    strict: Annotated[  # noqa: FBT002 - a switch of the command line
        bool, typer.Option("--strict", help="Count sources due for review as faults.")
    ] = False,
    form: FormatOption = Format.TEXT,
) -> None:
    """Check rule files: formulas, units, sources, amendments, proofs, conditions, released ids.

    A rule of your own with the id of a bundled rule of law must not be less strict than that one.

    If a file does not load, its problems are listed and nothing else is checked until they are
    fixed. A condition (`when`) is reported if it can never be true: because it contradicts itself
    on one fact or one sum, or because of its thresholds alone.

    Example: cinchbook rulebooks --rules crew-rules --on 2027-01-01 --strict

    Exit codes: 0 no problem; 1 problems found; 2 files that cannot be read.
    """
    from rich.progress import Progress

    from checker.documents.problems import ProblemsFoundError
    from checker.documents.resources import shipped_folder
    from checker.reports.data import rulebooks as data
    from checker.reports.pages.rulebooks import print_checked
    from checker.upkeep.all_checks import check_everything
    from checker.upkeep.released import read_released

    day = parse_day(on) if on else date.today()
    read = read_rules(rules, with_proofs=True)
    named = rules or rules_of_the_project()
    folders = {Path(name): True for name in named if Path(name).is_dir()}
    folders[shipped_folder("rules")] = SHIPPED in named
    try:
        lists = [read_released(folder, whole=whole) for folder, whole in folders.items()]
    except ProblemsFoundError as found:
        end_with_problems(found)
    shown_on = console()
    errors = console(stderr=True)
    with Progress(console=errors, transient=True, disable=not errors.is_terminal) as bar:
        task = bar.add_task("proving", total=len(read.books))
        checked = check_everything(
            read,
            [each for each in lists if each],
            day,
            lambda _: bar.advance(task),
            bundled=_bundled_of_copies(read, lists[-1]),
        )
    if form is Format.JSON:
        print_json(data.document(checked))
    else:
        print_checked(checked, shown_on, strict=strict)
    wrong = checked.faults or (strict and checked.warnings)
    raise typer.Exit(BROKEN if wrong else 0)


def _bundled_of_copies(read: "Rulebooks", released: "ReleasedIds | None") -> "Rulebooks | None":
    """The bundled rules, if rules of other files have ids of theirs; most projects have none."""
    from checker.documents.resources import shipped_folder
    from checker.rulebooks.loading import load_rulebooks

    shipped = shipped_folder("rules")
    own = {
        rule.id
        for book in read.books
        if not Path(book.file).resolve().is_relative_to(shipped.resolve())
        for rule in book.rules
    }
    copies = released is not None and not own.isdisjoint(released.titles)
    return load_rulebooks(shipped) if copies else None
