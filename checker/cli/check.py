"""`cinchbook check`: hold load profiles against the rules."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker import __version__
from checker.cli.options import (
    BROKEN,
    NO_RULE_BROKEN,
    PROBLEM,
    UNDECIDED,
    DayOption,
    Format,
    FormatOption,
    RootOption,
    RulesOption,
    Units,
    UnitsOption,
    day_of,
    found_file,
    read_rules,
    root_of,
    settings,
    units_of,
)

if TYPE_CHECKING:
    from checker.advice.fixes import Fix
    from checker.engine import Check
    from checker.load.build import Profile
    from checker.rulebooks.model import Rulebooks


def run(
    profiles: Annotated[
        list[Path],
        typer.Argument(metavar="PROFILE...", help="Load profile files, or names of shipped ones."),
    ],
    rules: RulesOption = None,
    on: DayOption = None,
    form: FormatOption = Format.TEXT,
    units: UnitsOption = None,
    root: RootOption = None,
) -> None:
    """Check load profiles rule by rule, with sources, margins and fixes.

    Example: cinchbook check profiles/loads/side-by-side-in-order.yaml

    Exit codes: 0 no rule broken; 1 a must-rule is not met; 2 a problem in the input or the call;
    3 undecided.
    """
    read = [done for profile in profiles if (done := _read(found_file(profile), root))]
    unreadable = len(read) < len(profiles)
    if not read:
        raise typer.Exit(PROBLEM)
    from checker.advice.fixes import fixes
    from checker.tolerances import check_profile

    rulebooks = read_rules(rules)
    in_order = [each for each in read if _variances_in_order(each, rulebooks)]
    unreadable, read = unreadable or len(in_order) < len(read), in_order
    if not read:
        raise typer.Exit(PROBLEM)
    checks = [check_profile(each, rulebooks, day_of(each, on)) for each in read]
    changes = [fixes(each, done, rulebooks) for each, done in zip(read, checks, strict=True)]
    _print(list(zip(checks, changes, strict=True)), form, units)
    raise typer.Exit(PROBLEM if unreadable else _exit_code(checks))


def _variances_in_order(profile: "Profile", rulebooks: "Rulebooks") -> bool:
    """Whether the profile's variances can be given; what forbids one is printed."""
    from checker.variances import faults

    found = list(faults(profile.load({}), rulebooks))
    for problem in found:
        typer.echo(str(problem), err=True)
    return not found


def _read(profile: Path, root: Path | None) -> "Profile | None":
    """One profile; its problems are printed and the others are still read."""
    from checker.documents.problems import ProblemsFoundError
    from checker.load.build import read_profile

    try:
        return read_profile(profile, root_of(root))
    except ProblemsFoundError as found:
        for problem in found.problems:
            typer.echo(str(problem), err=True)
        number = len(found.problems)
        typer.echo(f"{profile}: {number} problem{'s' if number != 1 else ''} to mend", err=True)
        return None


def _print(
    checks: "list[tuple[Check, dict[str, tuple[Fix, ...]]]]", form: Format, units: Units | None
) -> None:
    if form is Format.JSON:
        from checker.reports.json_report import report

        typer.echo(report(checks, units_of(units), __version__))
        return
    from rich.console import Console

    from checker.reports.terminal import print_check

    console = Console(highlight=False)
    for number, (each, fixes) in enumerate(checks):
        if number:
            console.rule()
        print_check(each, console, units_of(units), fixes, settings().near)


def _exit_code(checks: "list[Check]") -> int:
    """The worst outcome of the run."""
    from checker.engine import Outcome

    outcomes = {each.outcome for each in checks}
    if Outcome.HOLD in outcomes:
        return BROKEN
    return UNDECIDED if Outcome.OPEN in outcomes else NO_RULE_BROKEN
