"""The `cinchbook` command: collects the subcommands and sets the exit codes."""

import gc
import signal
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Annotated, Any, NoReturn

import typer
from typer.core import TyperCommand, TyperOption

from checker import __version__
from checker.cli.caching import Caching
from checker.cli.options import PROBLEM, note_ignored, say
from checker.cli.output import guarded_output

EXIT_CODES = (
    "Exit codes: 0 no rule broken; 1 a must-rule is not met, or a proof fails; "
    "2 a problem in the input or the call; 3 undecided."
)

COMMANDS = (
    "check",
    "explain",
    "place",
    "arrange",
    "vary",
    "draft",
    "rules",
    "rule",
    "history",
    "facts",
    "rulebooks",
    "prove",
    "coverage",
    "places",
    "sources",
    "amend",
    "variances",
    "calendar",
    "impact",
    "audit",
    "invent",
    "settings",
    "schema",
)
"""Every command, in the order of the help; each is the `run` of the module of its name."""


CACHED = (
    "check",
    "explain",
    "place",
    "arrange",
    "vary",
    "rules",
    "rule",
    "history",
    "coverage",
    "places",
    "variances",
    "calendar",
    "sources",
    "amend",
    "variances",
    "calendar",
    "impact",
    "audit",
)
"""The commands that use the cache of earlier runs unless --no-cache is given."""


class _CachedCommand(TyperCommand):
    """A command with the option --no-cache, which every command has."""

    def __init__(self, name: str | None, *, params: list[Any], **more: Any) -> None:
        no_cache = TyperOption(
            param_decls=["--no-cache"],
            is_flag=True,
            default=False,
            expose_value=False,
            callback=_no_cache,
            envvar="CINCHBOOK_NO_CACHE",
            show_envvar=True,
            help="Read every file; neither use nor write the user's cache folder.",
        )
        super().__init__(name, params=[*params, no_cache], **more)


def _no_cache(_context: Any, _option: Any, wanted: bool) -> None:  # noqa: FBT001 - as below
    Caching.used = not wanted


def _version(wanted: bool) -> None:  # noqa: FBT001 - typer calls it so
    if wanted:
        typer.echo(f"cinchbook {__version__}")
        raise typer.Exit


_VersionOption = Annotated[
    bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
]


def _root(context: typer.Context, version: _VersionOption = False) -> None:  # noqa: ARG001, FBT002 - its callback acts
    """Handle the options that belong to no command."""
    # A check prints them in its report.
    if context.invoked_subcommand != "check":
        context.call_on_close(note_ignored)


def application(commands: Sequence[str] = COMMANDS) -> typer.Typer:
    """The command line with these commands."""
    app = typer.Typer(
        name="cinchbook",
        help="Check a load profile (trailer, tow vehicle, cargo, tiedowns) against cited, dated "
        "rules.",
        epilog=EXIT_CODES,
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
    )
    for name in commands:
        kind = _CachedCommand if name in CACHED else TyperCommand
        app.command(name, cls=kind)(import_module(f"checker.cli.{name}").run)
    app.callback()(_root)
    return app


def _called(arguments: Sequence[str]) -> Sequence[str]:
    """The called command alone, because typer prepares every command that it is given.

    All commands where the first word names none, for the help and for a suggestion.
    """
    first = arguments[:1]
    return first if first and first[0] in COMMANDS else COMMANDS


def main() -> None:
    """Run the command line; an error is always printed as a message, never as a traceback."""
    if hasattr(signal, "SIGPIPE"):
        # The reader has seen enough (`| head`): end as other commands do, by the signal, and not
        # with a code that means a verdict.
        signal.signal(signal.SIGPIPE, signal.SIG_DFL)
    # Data read by a run is needed until its end: collecting garbage, during the run and on
    # leaving, would be a sixth of the time of a check.
    gc.set_threshold(100_000, 20, 100)
    with guarded_output():
        call(sys.argv[1:])


def call(arguments: Sequence[str]) -> NoReturn:
    """Run a command and end with its exit code; an error is a message, never a traceback."""
    try:
        application(_called(arguments))(arguments, "cinchbook")
    except OSError as error:
        # A full disk or a missing file is not an error in the program.
        where = f" ('{error.filename}')" if error.filename else ""
        say(f"cinchbook stopped: {(error.strerror or str(error)).lower()}{where}")
    except Exception as error:
        say(
            f"cinchbook stopped on an error in the program ({type(error).__name__}: {error}). "
            "Nothing was checked. Please report it with the command and the files."
        )
    finally:
        gc.freeze()
    sys.exit(PROBLEM)
