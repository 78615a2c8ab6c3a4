"""`cinchbook check`: check load profiles against the rules."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker.cli.check_reports import FORMS, WriteOption, write
from checker.cli.check_run import CheckRequest, run_check, with_staged_files
from checker.cli.hauls_of_logs import refuse_hauls
from checker.cli.options import (
    BROKEN,
    NO_RULE_BROKEN,
    PROBLEM,
    UNDECIDED,
    ColumnsOption,
    DayOption,
    Format,
    FormatOption,
    FullOption,
    RootOption,
    RulesOption,
    UnitsOption,
    end_with,
    print_json,
    say,
)
from checker.cli.output import console
from checker.cli.writing import targets
from checker.evaluation.strictness import FailOn

if TYPE_CHECKING:
    from checker.reports.shared.check_results import CheckRun


def run(
    profiles: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="PROFILE...",
            help="Load profiles: files, folders, patterns, or names of bundled ones; or LOG#ROW, a "
            "haul of a log by its row or its own number. Default: the profiles folder of "
            "cinchbook.yaml.",
        ),
    ] = None,
    rules: RulesOption = None,
    on: DayOption = None,
    form: FormatOption = Format.TEXT,
    units: UnitsOption = None,
    root: RootOption = None,
    columns: ColumnsOption = None,
    fail_on: Annotated[
        FailOn,
        typer.Option(
            "--fail-on",
            help="What else stops a load: should-rules not met, should-rules left open, rules met "
            "by no more than the share that counts as near. Each of these includes those before "
            "it. `unread` stops what `open` stops, and loads with law that nobody read.",
        ),
    ] = FailOn.MUST,
    changed_since: Annotated[
        str | None,
        typer.Option(
            "--changed-since",
            metavar="REV",
            help="Only loads that depend on a file changed since this git revision, or since the "
            "branch left it: the profile, files it refers to, rule files, settings. All loads "
            "where that cannot be known.",
        ),
    ] = None,
    written: WriteOption = None,
    new_load: Annotated[
        Path | None,
        typer.Option(
            "--write-load",
            metavar="FILE",
            help="Save the haul LOG#ROW as a load profile of its own, once a check of it agrees.",
        ),
    ] = None,
    *,
    staged: Annotated[
        bool,
        typer.Option(
            "--staged",
            help="For a pre-commit hook: check the staged files and not the work tree; during a "
            "commit the loads it affects, called by hand every load. Paths outside the repository "
            "must be absolute.",
        ),
    ] = False,
    short: Annotated[
        bool,
        typer.Option("--short", help="In a text report: one line for each load, and the totals."),
    ] = False,
    full: FullOption = False,
) -> None:
    """Check load profiles rule by rule, with sources, margins and fixes.

    Example: cinchbook check profiles/loads/side-by-side-in-order.yaml

    Example: cinchbook check profiles --changed-since main --write junit=cinchbook.xml

    Example: cinchbook check profiles --staged --short

    Example: cinchbook check seasons/2026/hauls.csv#17

    Example: cinchbook check hauls.csv#2 --write-load profiles/loads/tuesday.yaml

    Exit codes: 0 no rule broken; 1 a must-rule is not met, or what --fail-on adds; 2 a problem in
    the input or the call; 3 undecided.
    """
    if short and full:
        end_with("found --short and --full; wanted one of them")
    for option in [*(["--staged"] * staged), *(["--changed-since"] * bool(changed_since))]:
        refuse_hauls(profiles or (), option)
    to = targets(written, FORMS)
    # What is staged is checked in a folder of its own, and reports go where they were meant to.
    to = to.absolute() if staged else to
    asked = CheckRequest(
        profiles or (), rules or (), on, root, units, fail_on, to, changed_since, full, columns
    )
    if new_load:
        from checker.cli.haul_load import read_haul_to_write, write_haul

        haul = read_haul_to_write(asked.profiles, new_load, columns, root, rules)
    with with_staged_files(asked, staged=staged) as meant:
        done = run_check(meant)
        if not to.on_standard_output:
            _print(done, form, full=full, short=short)
        write(done, to)
    if new_load:
        write_haul(haul, new_load, root, rules)
    raise typer.Exit(PROBLEM if done.unreadable else _exit_code(done))


def _print(run: "CheckRun", form: Format, *, full: bool, short: bool) -> None:
    """Print the run as text, or as a JSON document."""
    if form is Format.JSON:
        from checker.reports.check_forms.json import report

        print_json(report(run))
        return
    from checker.reports.pages.check.page import print_check
    from checker.reports.pages.overview import print_overview, worth_printing
    from checker.reports.shared.check_results import ignored_words

    shown_on = console()
    number = len(run.checked) + len(run.unreadable)
    alone = number == 1 and not short
    for each in run.checked:
        if alone or full or (worth_printing(each, run) and not short):
            near, gate = run.near, run.fail_on
            nearest = each.nearest if alone else None
            print_check(
                each.check,
                shown_on,
                each.system,
                each.fixes,
                near,
                fail_on=gate,
                full=full,
                nearest=nearest,
            )
            if not alone:
                shown_on.rule(characters="-")
    if number and not alone:
        print_overview(run, shown_on, short=short)
    elif run.ignored:
        say(ignored_words(run.ignored))


def _exit_code(run: "CheckRun") -> int:
    """The exit code of the worst outcome of the run."""
    from checker.evaluation.gate import outcome_at
    from checker.evaluation.outcome import Outcome

    outcomes = {outcome_at(each.check, run.fail_on, run.near) for each in run.checked}
    if Outcome.HOLD in outcomes:
        return BROKEN
    return UNDECIDED if Outcome.OPEN in outcomes else NO_RULE_BROKEN
