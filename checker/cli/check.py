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
    FullOption,
    RootOption,
    RulesOption,
    UnitsOption,
    day_of,
    found_file,
    read_rules,
    root_of,
    settings,
    units_of,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.documents.problems import Problem
    from checker.load.build import Profile
    from checker.reports.gathered import Checked, Gathered, Unreadable
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
    *,
    full: FullOption = False,
) -> None:
    """Check load profiles rule by rule, with sources, margins and fixes.

    Example: cinchbook check profiles/loads/side-by-side-in-order.yaml

    Exit codes: 0 no rule broken; 1 a must-rule is not met; 2 a problem in the input or the call;
    3 undecided.
    """
    unreadable: list[Unreadable] = []
    read = [done for profile in profiles if (done := _read(found_file(profile), root, unreadable))]
    if not read:
        raise typer.Exit(PROBLEM)
    from checker.advice.fixes import fixes
    from checker.gate import FailOn
    from checker.reports.gathered import Checked, Gathered
    from checker.tolerances import check_profile

    rulebooks = read_rules(rules)
    read = [each for each in read if _variances_in_order(each, rulebooks, unreadable)]
    if not read:
        raise typer.Exit(PROBLEM)
    checked = []
    for each in read:
        check = check_profile(each, rulebooks, day_of(each, on))
        checked.append(Checked(check, fixes(each, check, rulebooks)))
    run = Gathered(checked, unreadable, units_of(units), FailOn.MUST, settings().near, __version__)
    _print(run, form, full=full)
    raise typer.Exit(PROBLEM if unreadable else _exit_code(checked))


def _variances_in_order(
    profile: "Profile", rulebooks: "Rulebooks", unreadable: "list[Unreadable]"
) -> bool:
    """Whether the profile's variances can be given; what forbids one is printed."""
    from checker.variances import faults

    found = list(faults(profile.load({}), rulebooks))
    if found:
        unreadable.append(_told(str(profile.file), found))
    return not found


def _read(profile: Path, root: Path | None, unreadable: "list[Unreadable]") -> "Profile | None":
    """One profile; its problems are printed and the others are still read."""
    from checker.documents.problems import ProblemsFoundError
    from checker.load.build import read_profile

    try:
        return read_profile(profile, root_of(root))
    except ProblemsFoundError as found:
        unreadable.append(_told(str(profile), found.problems))
        return None


def _told(file: str, problems: "Sequence[Problem]") -> "Unreadable":
    """A file that is not judged; its problems are printed."""
    from checker.reports.gathered import Unreadable

    for problem in problems:
        typer.echo(str(problem), err=True)
    number = len(problems)
    typer.echo(f"{file}: {number} problem{'s' if number != 1 else ''} to mend", err=True)
    return Unreadable(file, problems)


def _print(run: "Gathered", form: Format, *, full: bool) -> None:
    if form is Format.JSON:
        from checker.reports.json_report import report

        typer.echo(report(run))
        return
    from rich.console import Console

    from checker.reports.terminal import print_check

    console = Console(highlight=False)
    for number, each in enumerate(run.checked):
        if number:
            console.rule()
        print_check(each.check, console, run.system, each.fixes, run.near, full=full)


def _exit_code(checked: "list[Checked]") -> int:
    """The worst outcome of the run."""
    from checker.engine import Outcome

    outcomes = {each.check.outcome for each in checked}
    if Outcome.HOLD in outcomes:
        return BROKEN
    return UNDECIDED if Outcome.OPEN in outcomes else NO_RULE_BROKEN
