"""`cinchbook audit`: check a season's hauls against the rules of each haul's day."""

import os
import signal
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker import __version__
from checker.cli.audit_reports import (
    AuditCall,
    WriteOption,
    ensure_installed,
    needs_evidence,
    report_targets,
    write,
)
from checker.cli.audit_statement import SampleOption, SignedOption, statement_request
from checker.cli.caching import cache_folder
from checker.cli.named_loads import load_finder, note_bundled
from checker.cli.options import (
    BROKEN,
    INTERRUPTED,
    NO_RULE_BROKEN,
    PROBLEM,
    UNDECIDED,
    ColumnsOption,
    Format,
    FormatOption,
    RootOption,
    RulesOption,
    columns_of,
    end_with,
    end_with_problems,
    mapping_to_draft,
    parse_day,
    print_json,
    root_of,
    say,
    shipped_or_here,
    units_of,
)
from checker.cli.output import console
from checker.cli.progress import Progress
from checker.cli.writing import refuse_overwrites
from checker.documents.escaping import escaped
from checker.units.words import own_units

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.season.audit import Audit
    from checker.season.comparing import Comparison
    from checker.season.record import Record
    from checker.season.running.checkpoint import Checkpoint
    from checker.season.running.cluster import Cluster
    from checker.season.running.worker import Plan


_WAIT = "10 min"
"""How long a cluster may be without workers, unless --wait says otherwise."""


def run(
    log: Annotated[
        Path,
        typer.Argument(
            metavar="LOG",
            help="Haul log: CSV, JSON lines, XLSX or Parquet, or a folder of hauls in YAML.",
        ),
    ],
    columns: ColumnsOption = None,
    earlier: Annotated[
        Path | None,
        typer.Option(
            "--compare",
            metavar="EARLIER",
            help="An earlier audit, written with --as json: also report what is new, fixed, worse "
            "and better since.",
        ),
    ] = None,
    changed_on: Annotated[
        str | None,
        typer.Option(
            "--changed-on",
            metavar="DAY",
            help="Day from which something was done differently, such as 2026-07-01: compare how "
            "often hauls are on hold before and after it.",
        ),
    ] = None,
    rules: RulesOption = None,
    form: FormatOption = Format.TEXT,
    findings: Annotated[
        Path | None,
        typer.Option(
            "--findings",
            metavar="FILE",
            help="Also write every haul and every finding of it, for your own tools, to a file "
            "ending in .parquet or .jsonl.",
        ),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            "--cluster",
            metavar="ADDRESS",
            help="Use the workers of this Dask scheduler, such as tcp://10.0.0.5:8786, which "
            "see the same profiles and rulebooks.",
        ),
    ] = None,
    wait: Annotated[
        str | None,
        typer.Option(
            "--wait",
            metavar="DURATION",
            help="How long the cluster may be without workers, such as 30 s or 2 h, until the run "
            "ends with 2. Default: 10 min.",
        ),
    ] = None,
    root: RootOption = None,
    written: WriteOption = None,
    sample: SampleOption = None,
    signed: SignedOption = None,
) -> None:
    """Check every haul of a log against the rules of its day; count the holds and their reasons.

    A log has the columns load and date; crew, and fields such as articles.1.weight, where they
    differed that day. Rows that cannot be read are listed and counted. A stopped run continues
    where it stopped when the same command is given again.

    Example: cinchbook audit hauls.csv

    Example: cinchbook audit seasons/2026/hauls.csv

    Example: cinchbook audit hauls.csv --compare spring.json

    Example: cinchbook audit hauls.csv --changed-on 2026-07-01

    Example: cinchbook audit hauls.csv --write html=season.html,xlsx=season.xlsx

    Example: cinchbook audit hauls.csv --write statement=sign.html --sample '95 %, 5 %, seed 4711'

    Exit codes: 0 no haul broke a must-rule; 1 some did; 2 rows or the log cannot be read, what is
    done cannot be saved, or the worker processes were lost; 3 some hauls are undecided, or
    there is none; 130 stopped by Ctrl-C.
    """
    from concurrent.futures import BrokenExecutor
    from uuid import uuid4

    from checker.cli.sent_settings import RuleFinder, RulesReader, settings_to_send
    from checker.documents.files import NotWrittenError
    from checker.documents.problems import ProblemsFoundError
    from checker.logs.mapping import read_mapping
    from checker.logs.model import MappingNeededError
    from checker.logs.opening import open_log
    from checker.reports.shared.findings_about import about_findings
    from checker.season.audit import audit
    from checker.season.hauls.digests import change_mark, digest_of_log, ensure_unchanged, files_of
    from checker.season.hauls.file_names import bundled_folders
    from checker.season.record import read_earlier
    from checker.season.records.findings import join_findings
    from checker.season.running.checkpoint import BusyError, NotSavedError
    from checker.season.running.executors import NoClusterError, processes
    from checker.season.running.worker import OtherRulesError, Plan

    asked = report_targets(written)
    change = parse_day(changed_on) if changed_on else None
    to_sign = statement_request(sample, signed, is_written=asked.has("statement"))
    if cluster is not None:
        ensure_installed(
            "distributed", "cluster", f"the cluster '{cluster}'", "or leave --cluster out"
        )
    seconds = _seconds(wait, cluster)
    sent = settings_to_send()
    finder = load_finder(root)
    plan = Plan(
        read=RulesReader(sent),
        rules=tuple(rules or ()),
        found=finder,
        root=_from_here(root_of(root)),
        near=sent.near,
        findings=_form_of(findings),
        evidence=needs_evidence(asked),
        run=uuid4().hex,
        bundled=bundled_folders(),
        rule_files=RuleFinder(sent),
    )
    typed = str(log)
    try:
        log = Path(shipped_or_here(typed))
        columns = columns_of(columns)
        mapping = read_mapping(columns) if columns else None
        then = read_earlier(earlier, __version__) if earlier else None
        outputs = [*asked.names, *([str(findings)] if findings else [])]
        refuse_overwrites(outputs, chain(files_of(log), filter(None, (columns, earlier))))
        mark = change_mark(log)
        called = AuditCall(log, escaped(typed), columns, mapping, plan.rules, root, to_sign)
        opened = open_log(log, mapping)
        digest = digest_of_log(log)
        # A checkpoint of a log that has changed since may mix both versions.
        with _checkpoint(plan, f"{digest} {mark} {opened.mapping}") as work:
            with (
                _raise_on_broken_pipe(),
                _cluster(cluster, seconds) as machines,
                Progress() as progress,
            ):
                done = audit(
                    opened,
                    plan,
                    digest,
                    executor=processes,
                    cluster=machines,
                    libraries=_libraries(log, findings),
                    work=work,
                    watch=progress,
                )
            ensure_unchanged(log, mark)
            done = replace(done, changed_on=change)
            refuse_overwrites(outputs, chain(done.totals.files, done.rulebooks.files))
            compared = _compared(then, done) if then else None
            # The checkpoint is removed once every requested file is written.
            if findings:
                with work.saving():
                    files = work.findings()
                join_findings(files, findings, about_findings(done, __version__))
            with work.saving():
                held = work.evidence()
            write(done, compared, asked, called, held)
    except MappingNeededError as found:
        end_with_problems(found, None if columns else mapping_to_draft(log, "audit"))
    except ProblemsFoundError as found:
        end_with_problems(found)
    except (BusyError, NoClusterError, NotSavedError, OtherRulesError, NotWrittenError) as error:
        end_with(str(error))
    except BrokenExecutor:
        end_with(
            "a process of this run was ended from outside, perhaps for want of memory; the same "
            "command goes on from here"
        )
    except KeyboardInterrupt:
        say("stopped; the same command goes on from here")
        # What is done is kept. The interpreter's own way out would wait for processes that are
        # gone, and with them for what they were handed.
        os._exit(INTERRUPTED)
    note_bundled(done.totals.loads, finder)
    if not asked.on_standard_output:
        _print(done, compared, form, called)
    raise typer.Exit(PROBLEM if done.refused else _exit_code(done))


def _compared(then: "Record", done: "Audit") -> "Comparison":
    from msgspec.json import decode

    from checker.reports.audit_forms.json import audit_json
    from checker.season.comparing import compare
    from checker.season.record import record_of

    return compare(then, record_of(decode(audit_json(done))))


def _from_here(root: Path | None) -> Path | None:
    """The folder of profiles, from the working folder if it is below that."""
    from checker.load.build import shown_path

    return Path(shown_path(root)) if root is not None else None


def _seconds(wait: str | None, cluster: str | None) -> float:
    """How long the cluster may be without workers; ends the run if that cannot be read."""
    from checker.units.parsing import UnitError, parse

    if wait is not None and cluster is None:
        end_with("found --wait without --cluster; wanted the scheduler of the workers beside it")
    try:
        return parse(wait or _WAIT, "duration").value
    except UnitError as error:
        end_with(f"--wait: {error}")


def _libraries(log: Path, findings: Path | None) -> tuple[str, ...]:
    """Libraries that reading the log and writing the findings need beside the program's own."""
    arrow = (file is not None and file.suffix.lower() == ".parquet" for file in (log, findings))
    return ("pyarrow",) if any(arrow) else ()


def _form_of(findings: Path | None) -> str | None:
    """The form of the findings; ends the run if it is not supported."""
    if findings is None:
        return None
    from checker.season.records.findings import FORMS

    if findings.suffix not in FORMS:
        end_with(
            f"found '{findings}' for the findings; wanted a file ending in {' or '.join(FORMS)}"
        )
    if findings.suffix == ".parquet":
        ensure_installed(
            "pyarrow.parquet", "arrow", f"'{findings}' for the findings", "or end it in .jsonl"
        )
    return findings.suffix


@contextmanager
def _raise_on_broken_pipe() -> "Iterator[None]":
    """Make a lost connection to a worker raise an error instead of ending the run.

    It stays so after Ctrl-C, because buffered data for lost workers may be written later.
    """
    if not hasattr(signal, "SIGPIPE"):
        yield
        return
    before = signal.signal(signal.SIGPIPE, signal.SIG_IGN)
    try:
        yield
    except Exception:
        signal.signal(signal.SIGPIPE, before)
        raise
    signal.signal(signal.SIGPIPE, before)


@contextmanager
def _cluster(address: str | None, seconds: float) -> "Iterator[Cluster | None]":
    """The cluster that checks the hauls, if one is asked for."""
    from checker.season.running.cluster import open_cluster

    if address is None:
        yield None
        return
    with open_cluster(address, seconds, say) as found:
        yield found


@contextmanager
def _checkpoint(plan: "Plan", log: str) -> "Iterator[Checkpoint]":
    """The folder that holds the state of this audit, named by log, rules and options.

    Without one a stopped run starts from the beginning.
    """
    from checker.documents.private_folder import key_of
    from checker.season.hauls.digests import digest_of_text
    from checker.season.running.checkpoint import FORM, open_checkpoint, temporary_folder
    from checker.season.running.worker import worker

    asked = (plan.findings, plan.evidence)
    options = (plan.root, plan.found, plan.near, asked, own_units(), worker(plan).rules_digest)
    key = digest_of_text(repr((FORM, __version__, Path.cwd(), *options, log)))
    folder = cache_folder("audits")
    secret = key_of(folder) if folder else None
    if folder is None or secret is None:
        with temporary_folder() as work:
            yield work
        return
    with open_checkpoint(folder, key, secret) as work:
        yield work


def _print(done: "Audit", compared: "Comparison | None", form: Format, called: AuditCall) -> None:
    from checker.reports.audit_forms.json import audit_json
    from checker.reports.pages.audit.first_screen import NOT_COMPARED
    from checker.reports.pages.audit.page import print_audit
    from checker.reports.pages.comparison import comparison_json, in_one_line, print_comparison

    if form is Format.JSON:
        differs = comparison_json(compared) if compared else None
        print_json(audit_json(done, differs))
        return

    differing = partial(print_comparison, compared) if compared else None
    since = in_one_line(compared) if compared else NOT_COMPARED
    print_audit(done, console(), differing, since, units_of(None), called.commands)


def _exit_code(done: "Audit") -> int:
    if done.totals.all.held:
        return BROKEN
    tally = done.totals.all
    # A log without a haul is no pass.
    return UNDECIDED if tally.open or not tally.hauls else NO_RULE_BROKEN
