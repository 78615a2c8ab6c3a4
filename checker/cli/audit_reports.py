"""The reports that `cinchbook audit` writes into files."""

from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final, NamedTuple

from checker import __version__
from checker.cli.audit_statement import StatementRequest, statement_details
from checker.cli.named_loads import load_finder
from checker.cli.options import end_with, end_with_problems, root_of, units_of
from checker.cli.output import console
from checker.cli.writing import (
    STANDARD_OUTPUT,
    Targets,
    forms_in,
    targets,
    write_option,
    write_report,
)

if TYPE_CHECKING:
    from checker.logs.model import LogMapping
    from checker.reports.shared.haul_command import HaulCommands
    from checker.season.audit import Audit
    from checker.season.comparing import Comparison
    from checker.season.records.workings import Working

FORMS: Final = forms_in("checker.reports.audit_forms")

WriteOption = Annotated[list[str] | None, write_option(FORMS, "html=season.html,xlsx=season.xlsx")]


def report_targets(written: list[str] | None) -> Targets:
    """The forms and files asked for; ends the run first if one is not possible."""
    asked = targets(written, FORMS)
    if asked.has("xlsx"):
        ensure_installed("openpyxl", "xlsx", "the form 'xlsx' to write", "or write csv")
    for form, file in asked.files:
        if form == "html" and file != STANDARD_OUTPUT:
            _ensure_own_folder(Path(file))
    return asked


def _ensure_own_folder(page: Path) -> None:
    from checker.cli.page_folder import ensure_own_folder
    from checker.documents.files import NotWrittenError

    try:
        ensure_own_folder(page)
    except NotWrittenError as error:
        end_with(str(error))


def needs_evidence(asked: Targets) -> bool:
    """True if a report lists every haul on hold."""
    return asked.has("html") or asked.has("xlsx")


def ensure_installed(library: str, extra: str, found: str, instead: str) -> None:
    """End the run, before any work is done, if a library is missing that an option needs."""
    try:
        import_module(library)
    except ImportError:
        name = library.split(".", maxsplit=1)[0]
        end_with(
            f"found {found}, which needs the library {name}; wanted it installed: "
            f"pip install 'cinchbook[{extra}]'; {instead}"
        )


class AuditCall(NamedTuple):
    """What an audit was called with: its log and mapping file, rules, and what is to be signed.

    `typed` is the log as it was typed.
    """

    log: Path
    typed: str
    columns: Path | None
    mapping: "LogMapping | None"
    rules: Sequence[str]
    profiles: Path | None
    statement: StatementRequest | None

    @property
    def commands(self) -> "HaulCommands":
        """The calls that read and check a haul as the audit did."""
        from checker.reports.shared.haul_command import HaulCommands

        named = [("--rules", each) for each in self.rules]
        named += [("--columns", str(self.columns))] if self.columns else []
        named += [("--profiles", str(self.profiles))] if self.profiles else []
        return HaulCommands(self.typed, [word for pair in named for word in pair])


def write(
    done: "Audit",
    compared: "Comparison | None",
    asked: Targets,
    called: AuditCall,
    evidence: Sequence[Path],
) -> None:
    """Make every report and write it to its target; `evidence` are files on single hauls."""
    if not asked.files:
        return
    from checker.reports.pages.comparison import comparison_json, sections
    from checker.reports.shared.audit_results import AuditRun
    from checker.reports.shared.statement import StatementDetails
    from checker.season.records.evidence import read_evidence

    root = root_of(called.profiles)
    shown = _worked(done, called.log, called.mapping, root) if asked.has("html") else {}
    details = StatementDetails()
    if called.statement:
        details = statement_details(
            done, called.statement, called.log, called.columns, called.mapping, root
        )
    run = AuditRun(
        done,
        units_of(None),
        __version__,
        shown,
        comparison_json(compared) if compared else None,
        list(sections(compared)) if compared else (),
        read_evidence(evidence) if needs_evidence(asked) else None,
        called.commands,
        details,
    )
    for form, file in asked.files:
        module = import_module(f"checker.reports.audit_forms.{form}")
        if form == "html" and file != STANDARD_OUTPUT:
            from checker.cli.page_folder import folder_beside, write_page

            page = Path(file)
            text, files = module.pages(run, folder_beside(page).name)
            write_page(text, files, page)
        else:
            write_report(module.report(run), file)


def _worked(
    done: "Audit", log: Path, mapping: "LogMapping | None", root: Path | None
) -> "dict[int, Working]":
    """The listed hauls, those with a working together with it."""
    from rich.progress import track

    from checker.documents.problems import ProblemsFoundError
    from checker.reports.shared.season_causes import season_causes
    from checker.season.records.workings import workings

    rows = [each.row for each in season_causes(done).worst_first(done.totals.worst_hauls)]
    found = workings(log, rows, done.rulebooks, load_finder(root), mapping=mapping, root=root)
    shown_on = console(stderr=True)
    quiet = not shown_on.is_terminal
    label = "Working out the worst hauls"
    shown = track(found, label, len(rows), console=shown_on, disable=quiet, transient=True)
    try:
        return {each.row: each for each in shown}
    except ProblemsFoundError as problems:
        end_with_problems(problems)
