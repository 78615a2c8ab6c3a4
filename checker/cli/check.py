"""`cinchbook check`: hold load profiles against the rules."""

from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker import __version__
from checker.cli.check_reports import FORMS, WriteOption, write
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
    kept,
    read_rules,
    root_of,
    settings,
    units_of,
)
from checker.cli.to_check import affected, loads_meant
from checker.cli.writing import keep_apart, targets
from checker.strictness import FailOn

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.documents.problems import Problem
    from checker.load.build import Profile
    from checker.reports.gathered import Checked, Gathered, Unreadable
    from checker.rulebooks.model import Rulebooks


def run(
    profiles: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="PROFILE...",
            help="Load profiles: files, folders, patterns, or names of shipped ones. Left out: the "
            "profiles folder of cinchbook.yaml.",
        ),
    ] = None,
    rules: RulesOption = None,
    on: DayOption = None,
    form: FormatOption = Format.TEXT,
    units: UnitsOption = None,
    root: RootOption = None,
    fail_on: Annotated[
        FailOn,
        typer.Option(
            "--fail-on",
            help="What else stops a load: should-rules not met, should-rules left open, rules met "
            "by no more than the share that counts as near. Each grade stops all before it too.",
        ),
    ] = FailOn.MUST,
    changed_since: Annotated[
        str | None,
        typer.Option(
            "--changed-since",
            metavar="REV",
            help="Only loads that rest on a file changed since this git revision: the profile, "
            "what it refers to, or any rule file.",
        ),
    ] = None,
    written: WriteOption = None,
    *,
    full: FullOption = False,
) -> None:
    """Check load profiles rule by rule, with sources, margins and fixes.

    Example: cinchbook check profiles/loads/side-by-side-in-order.yaml

    Example: cinchbook check profiles --changed-since main --write junit=cinchbook.xml

    Exit codes: 0 no rule broken; 1 a must-rule is not met, or what --fail-on adds; 2 a problem in
    the input or the call; 3 undecided.
    """
    asked = targets(written, FORMS)
    files = loads_meant(profiles)
    unreadable: list[Unreadable] = []
    read = _read(files, root, unreadable)
    rulebooks = read_rules(rules, loads=[each.stated for each in read])
    profiles_read = (file for each in read for file in each.rests_on)
    keep_apart(asked.names, chain(files, profiles_read, rulebooks.files))
    if changed_since is not None:
        read = affected(read, changed_since, rules, len(files))
    read = [each for each in read if _fits_rules(each, rulebooks, unreadable)]
    from checker.reports.gathered import Gathered

    checked = _checked(read, rulebooks, on)
    near = settings().near
    done = Gathered(checked, unreadable, units_of(units), fail_on, near, __version__)
    if checked and not asked.on_standard_output:
        _print(done, form, full=full)
    write(done, asked)
    raise typer.Exit(PROBLEM if unreadable else _exit_code(done))


def _read(
    files: "list[Path]", root: Path | None, unreadable: "list[Unreadable]"
) -> "list[Profile]":
    """Every profile that can be read; the problems of the others are printed."""
    from checker.documents.problems import ProblemsFoundError
    from checker.load.build import Library, read_profile

    read = []
    for file in files:
        try:
            read.append(read_profile(file, root_of(root), Library(kept())))
        except ProblemsFoundError as found:
            unreadable.append(_told(str(file), found.problems))
    return read


def _fits_rules(profile: "Profile", rulebooks: "Rulebooks", unreadable: "list[Unreadable]") -> bool:
    """Whether the rulebooks can judge the profile; what is in the way is printed."""
    from checker.against_rules import profile_faults

    found = list(profile_faults(profile, rulebooks))
    if found:
        unreadable.append(_told(str(profile.file), found))
    return not found


def _told(file: str, problems: "Sequence[Problem]") -> "Unreadable":
    """A file that is not judged; its problems are printed."""
    from checker.reports.gathered import Unreadable

    for problem in problems:
        typer.echo(str(problem), err=True)
    number = len(problems)
    typer.echo(f"{file}: {number} problem{'s' if number != 1 else ''} to mend", err=True)
    return Unreadable(file, problems)


def _checked(read: "Sequence[Profile]", rulebooks: "Rulebooks", on: str | None) -> "list[Checked]":
    """Each load judged, with the smallest changes that would mend it."""
    from checker.advice.fixes import fixes
    from checker.reports.gathered import Checked
    from checker.tolerances import check_profile

    found = []
    for profile in _with_progress(read):
        check = check_profile(profile, rulebooks, day_of(profile, on))
        found.append(Checked(check, fixes(profile, check, rulebooks)))
    return found


def _with_progress(read: "Sequence[Profile]") -> "Iterable[Profile]":
    """A bar for whoever watches more than one load being judged; nothing in pipes and in CI."""
    if len(read) < 2:
        return read
    from rich.console import Console
    from rich.progress import track

    console = Console(stderr=True)
    disabled = not console.is_terminal
    return track(read, "Judging", console=console, disable=disabled, transient=True)


def _print(run: "Gathered", form: Format, *, full: bool) -> None:
    if form is Format.JSON:
        from checker.reports.json_report import report

        typer.echo(report(run), nl=False)
        return
    from rich.console import Console

    from checker.reports.overview import print_overview, worth_printing
    from checker.reports.terminal import print_check

    console = Console(highlight=False)
    alone = len(run.checked) == 1
    for each in run.checked:
        if alone or full or worth_printing(each, run):
            print_check(each.check, console, run.system, each.fixes, run.near, full=full)
            if not alone:
                console.rule(characters="-")
    if not alone:
        print_overview(run, console)


def _exit_code(run: "Gathered") -> int:
    """The worst outcome of the run."""
    from checker.engine import Outcome
    from checker.gate import outcome_at

    outcomes = {outcome_at(each.check, run.fail_on, run.near) for each in run.checked}
    if Outcome.HOLD in outcomes:
        return BROKEN
    return UNDECIDED if Outcome.OPEN in outcomes else NO_RULE_BROKEN
