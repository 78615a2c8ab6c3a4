"""`cinchbook check`: hold load profiles against the rules."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker import __version__
from checker.cli.options import (
    BROKEN,
    NO_RULE_BROKEN,
    PROBLEM,
    UNDECIDED,
    Format,
    FormatOption,
    RulesOption,
    Units,
    UnitsOption,
    end_with,
    parse_day,
    read_rules,
)

if TYPE_CHECKING:
    from datetime import date

    from checker.advice.fixes import Fix
    from checker.engine import Check
    from checker.load.build import Profile


def run(
    profiles: Annotated[
        list[Path],
        typer.Argument(metavar="PROFILE...", help="Load profile files, or names of shipped ones."),
    ],
    rules: RulesOption = None,
    on: Annotated[
        str | None,
        typer.Option(
            metavar="DATE", help="Day to judge for. Left out: the trip's own day, else today."
        ),
    ] = None,
    form: FormatOption = Format.TEXT,
    units: UnitsOption = Units.US,
    root: Annotated[
        Path | None,
        typer.Option(
            "--profiles",
            metavar="DIR",
            help="Folder that references start from. Left out: the nearest folder above the "
            "profile called profiles.",
        ),
    ] = None,
) -> None:
    """Check load profiles rule by rule, with sources, margins and fixes.

    Example: cinchbook check profiles/loads/side-by-side-in-order.yaml

    Exit codes: 0 no rule broken; 1 a must-rule is not met; 2 a problem in the input or the call;
    3 undecided.
    """
    day = parse_day(on) if on else None
    read = [done for profile in profiles if (done := _read(_found(profile), root))]
    unreadable = len(read) < len(profiles)
    if not read:
        raise typer.Exit(PROBLEM)
    from checker.advice.fixes import fixes
    from checker.tolerances import check_profile

    rulebooks = read_rules(rules)
    checks = [check_profile(each, rulebooks, day or _day_of(each)) for each in read]
    changes = [fixes(each, done, rulebooks) for each, done in zip(read, checks, strict=True)]
    _print(list(zip(checks, changes, strict=True)), form, units)
    raise typer.Exit(PROBLEM if unreadable else _exit_code(checks))


def _found(profile: Path) -> Path:
    """The file meant: as given, or one of the profiles that come with the program."""
    from checker.documents.problems import nearest
    from checker.resources import shipped

    inside = shipped("profiles")
    candidates = (profile, inside / profile, inside / f"{profile}.yaml")
    for path in candidates:
        # Unlike Path's own questions, these answer no where a name is too long.
        if os.path.isfile(path):  # noqa: PTH113
            return path
    if os.path.isdir(profile):  # noqa: PTH112
        return end_with(f"found a folder, '{profile}'; wanted a load profile file in it")
    known = [f"loads/{path.stem}" for path in (inside / "loads").glob("*.yaml")]
    guess = nearest(str(profile), known) or nearest(f"loads/{profile.stem}", known)
    hint = f"; did you mean '{guess}'?" if guess else ""
    return end_with(f"found no file '{profile}'; wanted a load profile{hint}")


def _read(profile: Path, root: Path | None) -> "Profile | None":
    """One profile; its problems are printed and the others are still read."""
    from checker.documents.problems import ProblemsFoundError
    from checker.load.build import read_profile

    try:
        return read_profile(profile, root)
    except ProblemsFoundError as found:
        for problem in found.problems:
            typer.echo(str(problem), err=True)
        number = len(found.problems)
        typer.echo(f"{profile}: {number} problem{'s' if number != 1 else ''} to mend", err=True)
        return None


def _day_of(profile: "Profile") -> "date":
    """The trip's own day, else today; the report prints which day it judged for."""
    from datetime import date

    stated = profile.load({}).trip.date
    return date.fromisoformat(stated) if stated else date.today()


def _print(
    checks: "list[tuple[Check, dict[str, tuple[Fix, ...]]]]", form: Format, units: Units
) -> None:
    if form is Format.JSON:
        from checker.reports.json_report import report

        typer.echo(report(checks, units.value, __version__))
        return
    from rich.console import Console

    from checker.reports.terminal import print_check

    console = Console(highlight=False)
    for number, (each, fixes) in enumerate(checks):
        if number:
            console.rule()
        print_check(each, console, units.value, fixes)


def _exit_code(checks: "list[Check]") -> int:
    """The worst outcome of the run."""
    from checker.engine import Outcome

    outcomes = {each.outcome for each in checks}
    if Outcome.HOLD in outcomes:
        return BROKEN
    return UNDECIDED if Outcome.OPEN in outcomes else NO_RULE_BROKEN
