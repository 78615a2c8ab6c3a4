"""`--write statement=FILE`: the sample of a statement, and who signs it."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from checker.cli.named_loads import load_finder
from checker.cli.options import end_with, parse_day, units_of
from checker.cli.output import console

if TYPE_CHECKING:
    from checker.logs.model import LogMapping
    from checker.reports.shared.statement import SampledHaul, Signatory, StatementDetails
    from checker.season.audit import Audit
    from checker.season.records.sampling import SampleRequest

SampleOption = Annotated[
    str | None,
    typer.Option(
        "--sample",
        metavar="CONFIDENCE,RATE",
        help="The hauls that a statement has to look up: enough that, if none of them deviates, "
        "fewer than the tolerable rate of all do, with this confidence. '95 %, 5 %, seed 4711' "
        "draws by a seed of your own. Default: 95 %, 5 % and the digest of the log as seed.",
    ),
]
SignedOption = Annotated[
    list[str] | None,
    typer.Option(
        "--signed-by",
        metavar="NAME;ROLE;DATE",
        help="Who signs a statement: 'Ann Field; safety officer; 2026-11-30'. What is left out is "
        "a line to fill in by hand. May be repeated.",
    ),
]


class StatementRequest(NamedTuple):
    """What is asked for of a statement."""

    sample: "SampleRequest"
    signed: "Sequence[Signatory]"


def statement_request(
    sample: str | None, signed: Sequence[str] | None, *, is_written: bool
) -> StatementRequest | None:
    """The sample and the signatories asked for; None where no statement is written.

    Ends the run where an option is not understood, or has no statement.
    """
    if not is_written:
        for option, given in (("--sample", sample), ("--signed-by", signed)):
            if given:
                end_with(f"found {option} without a statement; wanted --write statement=FILE, too")
        return None
    from checker.reports.shared.statement import DEFAULT_SAMPLE, NOT_YET_SIGNED
    from checker.season.records.sampling import read_request

    try:
        asked = read_request(sample) if sample is not None else DEFAULT_SAMPLE
    except ValueError as error:
        end_with(str(error))
    return StatementRequest(asked, [_signatory(each) for each in signed or ()] or NOT_YET_SIGNED)


def _signatory(text: str) -> "Signatory":
    from checker.reports.shared.statement import Signatory

    name, role, day, *more = [*(part.strip() for part in text.split(";")), "", ""]
    if not name or any(more):
        end_with(
            f"found '{text}' to sign; wanted a name, then role and date if you like: "
            "'Ann Field; safety officer; 2026-11-30'"
        )
    return Signatory(name, role, parse_day(day).isoformat() if day else "")


def statement_details(
    done: "Audit",
    request: StatementRequest,
    log: Path,
    columns: Path | None,
    mapping: "LogMapping | None",
    root: Path | None,
) -> "StatementDetails":
    """The sample of the audited hauls, each with its evidence, and the digests of what was read."""
    from rich.progress import track

    from checker.logs.opening import open_log
    from checker.reports.shared.statement import StatementDetails, sampled_haul, sha256_of
    from checker.season.hauls.loads import Loads
    from checker.season.records.sample import draw_sample

    seed = request.sample.seed or done.digest
    size = request.sample.size(done.checked)
    loads = Loads(load_finder(root), root, [done.rulebooks])
    checked = done.totals.loads
    sample = draw_sample(lambda: open_log(log, mapping), loads, checked, size, seed)
    shown_on = console(stderr=True)
    label, quiet = "Checking the sample", not shown_on.is_terminal
    hauls: list[SampledHaul] = [
        sampled_haul(haul, done.rulebooks, units_of(None))
        for haul in track(
            sample.hauls, label, console=shown_on, disable=quiet, transient=True, total=size
        )
    ]
    return StatementDetails(
        request=request.sample,
        seed=seed,
        hauls=hauls,
        first=sample.first,
        last=sample.last,
        sha256=sha256_of(log),
        mapping=(str(columns), sha256_of(columns)) if columns else None,
        signed=request.signed,
    )
