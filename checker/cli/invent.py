"""`cinchbook invent`: writes a log of invented hauls."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker.cli.options import (
    RootOption,
    end_with,
    end_with_problems,
    parse_day,
    root_of,
    say,
    settings,
)

if TYPE_CHECKING:
    from checker.invented.pool import Pool


def run(
    log: Annotated[
        Path,
        typer.Argument(
            metavar="LOG",
            help="New file ending in .csv, .jsonl, .xlsx or .parquet; without an ending, a folder "
            "of hauls in YAML.",
        ),
    ],
    hauls: Annotated[
        int, typer.Option("--hauls", metavar="N", min=1, help="Number of hauls.")
    ] = 1000,
    seed: Annotated[
        int,
        typer.Option("--seed", metavar="N", min=0, help="The same seed invents the same hauls."),
    ] = 1,
    first: Annotated[str, typer.Option("--from", metavar="DATE", help="First day.")] = "2026-01-01",
    last: Annotated[str, typer.Option("--to", metavar="DATE", help="Last day.")] = "2026-12-31",
    over: Annotated[
        str | None,
        typer.Option(
            "--over",
            metavar="PATH",
            help="Load profiles to haul: a folder, file or pattern; the log names them by their "
            "path from here. Default: the bundled profiles.",
        ),
    ] = None,
    slips: Annotated[
        int,
        typer.Option(
            "--slips",
            metavar="N",
            min=0,
            help="How many rows to spoil: a misspelt load, an impossible day.",
        ),
    ] = 0,
    root: RootOption = None,
) -> None:
    """Write a log of invented hauls, to try an audit on. None of them was ever driven.

    Crews, days, weights, jurisdictions, answers and mistakes are drawn at random around the values
    in the load profiles. The hauls are named invented-1, invented-2 and so on. No file is replaced.

    Example: cinchbook invent practice.csv --hauls 20000 --seed 7

    Exit codes: 0 written; 2 a problem in the call, the path or the load profiles, nothing written.
    """
    from checker.documents.files import NotWrittenError
    from checker.documents.problems import ProblemsFoundError
    from checker.invented.drawing import invent_hauls
    from checker.invented.writing import check_target, write_log

    days = parse_day(first), parse_day(last)
    if days[1] < days[0]:
        end_with(f"found a season from {first} to {last}; wanted --to on or after --from")
    if slips > hauls:
        end_with(f"found {slips} slips in {hauls} hauls; wanted no more slips than hauls")
    try:
        check_target(log, hauls)
        pool = _pool(over, root)
        write_log(log, invent_hauls(pool, hauls, seed, *days, slips=slips))
    except NotWrittenError as error:
        end_with(str(error))
    except ProblemsFoundError as found:
        end_with_problems(found)
    loads = len(pool.names)
    say(f"wrote {hauls:,} invented hauls over {loads} load profiles to {log}", err=False)


def _pool(over: str | None, root: Path | None) -> "Pool":
    from checker.documents.problems import ProblemsFoundError
    from checker.documents.resources import shipped_folder
    from checker.invented.pool import Pool
    from checker.load.build import read_profile
    from checker.load.files import NothingThereError, load_files

    bundled = shipped_folder("profiles")
    try:
        found = load_files([over or str(bundled / "loads")], ignored=settings().ignored)
    except NothingThereError as error:
        end_with(str(error))
    if found.unfit:
        raise ProblemsFoundError(problem for _, problems in found.unfit for problem in problems)
    files = found.files
    if over is None:
        return Pool({f"loads/{file.stem}": read_profile(file, bundled) for file in files})
    for file in files:
        if not str(file).isprintable():
            end_with(f"found the load profile '{file}'; wanted a name that a log can state")
    return Pool({file.as_posix(): read_profile(file, root_of(root)) for file in files})
