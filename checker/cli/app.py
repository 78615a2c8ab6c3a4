"""The `cinchbook` command: puts its subcommands together and owns the exit codes."""

import gc
import signal
import sys
from typing import Annotated

import typer

from checker import __version__
from checker.cli import (
    amend,
    audit,
    check,
    coverage,
    draft,
    explain,
    facts,
    history,
    impact,
    invent,
    place,
    prove,
    rule,
    rulebooks,
    rules,
    schema,
    settings,
    vary,
)
from checker.cli.options import PROBLEM

EXIT_CODES = (
    "Exit codes: 0 no rule broken; 1 a must-rule is not met, or a proof fails; "
    "2 a problem in the input or the call; 3 undecided."
)

app = typer.Typer(
    name="cinchbook",
    help="Hold a load profile (trailer, tow vehicle, cargo, tiedowns) against cited, dated rules.",
    epilog=EXIT_CODES,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
for _command in (
    check,
    explain,
    place,
    vary,
    draft,
    rules,
    rule,
    history,
    facts,
    rulebooks,
    prove,
    coverage,
    amend,
    impact,
    audit,
    invent,
    settings,
    schema,
):
    app.command(_command.__name__.rpartition(".")[2])(_command.run)


def _version(wanted: bool) -> None:  # noqa: FBT001 - typer calls it so
    if wanted:
        typer.echo(f"cinchbook {__version__}")
        raise typer.Exit


_VersionOption = Annotated[
    bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
]


@app.callback()
def _root(version: _VersionOption = False) -> None:  # noqa: FBT002 - its callback acts
    """Take the options that belong to no command."""


def main() -> None:
    """Run the command line; whatever happens, a person reads words and not a traceback."""
    if hasattr(signal, "SIGPIPE"):
        # The reader has seen enough (`| head`): end as other commands do, by the signal, and not
        # with a code that stands for a verdict.
        signal.signal(signal.SIGPIPE, signal.SIG_DFL)
    # What a run reads stays until its end: looking through it for garbage, now and once more on
    # leaving, would be a sixth of the time of a check.
    gc.set_threshold(100_000, 20, 100)
    try:
        app()
    except Exception as error:
        typer.echo(
            f"cinchbook stopped on a fault of its own ({type(error).__name__}: {error}). Nothing "
            "was judged. Please report it with the command and the files.",
            err=True,
        )
        sys.exit(PROBLEM)
    finally:
        gc.freeze()
