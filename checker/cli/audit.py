"""`cinchbook audit`: a season's hauls against the rules of each haul's day."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker import __version__
from checker.cli.audit_reports import WriteOption, asked_for, write
from checker.cli.options import (
    BROKEN,
    NO_RULE_BROKEN,
    PROBLEM,
    UNDECIDED,
    Format,
    FormatOption,
    RootOption,
    RulesOption,
    end_with_problems,
    load_named,
    read_rules,
    root_of,
    settings,
)

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from checker.rulebooks.model import Rulebooks
    from checker.season.audit import Audit


def run(
    log: Annotated[
        Path,
        typer.Argument(
            metavar="LOG",
            help="Haul log: CSV, JSON lines, XLSX or Parquet, or a folder of hauls in YAML.",
        ),
    ],
    columns: Annotated[
        Path | None,
        typer.Option(
            "--columns",
            metavar="FILE",
            help="A file of kind haul-log that says which fields the log's own columns are.",
        ),
    ] = None,
    rules: RulesOption = None,
    form: FormatOption = Format.TEXT,
    root: RootOption = None,
    written: WriteOption = None,
) -> None:
    """Judge every haul of a log by the rules of its day, and count what was on hold, and why.

    A log has the columns load and date; crew, and fields such as articles.1.weight, where they
    differed that day. Rows that cannot be read are told and counted.

    Example: cinchbook audit hauls.csv

    Example: cinchbook audit hauls.csv --write html=season.html,xlsx=season.xlsx

    Exit codes: 0 no haul broke a must-rule; 1 some did; 2 rows or the log cannot be read; 3 some
    hauls are undecided, or there is none.
    """
    from checker.documents.problems import ProblemsFoundError
    from checker.season.audit import audit
    from checker.season.bench import Plan
    from checker.season.logs.mapping import read_mapping
    from checker.season.logs.opening import open_log

    asked = asked_for(written)
    plan = Plan(_rulebooks, tuple(rules or ()), settings().near)
    try:
        own = read_mapping(columns) if columns else None
        with _Progress() as progress:
            done = audit(
                open_log(log, own), plan, load_named, root_of(root), _workers, progress.advance
            )
    except ProblemsFoundError as found:
        end_with_problems(found)
    if not asked.on_standard_output:
        _print(done, form)
    write(done, asked, log, own, root_of(root))
    raise typer.Exit(PROBLEM if done.refused else _exit_code(done))


def _rulebooks(rules: tuple[str, ...]) -> "Rulebooks":
    return read_rules(list(rules) or None)


def _workers() -> "Executor":
    from concurrent.futures import ProcessPoolExecutor

    return ProcessPoolExecutor(os.cpu_count())


class _Progress:
    """Hauls done and how many a second, for whoever watches; nothing in pipes and in CI."""

    def __init__(self) -> None:
        from rich.console import Console
        from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

        console = Console(stderr=True)
        self.done = 0
        self.shown = Progress(
            SpinnerColumn(),
            TextColumn("Judged {task.completed:,.0f} hauls, {task.speed:,.0f} a second"),
            TimeElapsedColumn(),
            console=console,
            transient=True,
            disable=not console.is_terminal,
        )
        self.task = self.shown.add_task("hauls", total=None)

    def __enter__(self) -> "_Progress":
        self.shown.start()
        return self

    def __exit__(self, *_error: object) -> None:
        self.shown.stop()

    def advance(self, hauls: int) -> None:
        """Tell that so many more are done."""
        self.shown.advance(self.task, hauls)


def _print(done: "Audit", form: Format) -> None:
    from checker.reports.audit_page import audit_json, print_audit

    if form is Format.JSON:
        typer.echo(audit_json(done, __version__), nl=False)
        return
    from rich.console import Console

    print_audit(done, Console(highlight=False))


def _exit_code(done: "Audit") -> int:
    if done.totals.all.held:
        return BROKEN
    tally = done.totals.all
    # A log without a haul is no pass.
    return UNDECIDED if tally.open or not tally.hauls else NO_RULE_BROKEN
