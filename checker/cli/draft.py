"""`cinchbook draft`: start a new file of some kind."""

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from checker.cli.named_loads import load_finder
from checker.cli.options import (
    end_with,
    end_with_problems,
    known_loads,
    say,
    shipped_or_here,
)
from checker.cli.output import console

if TYPE_CHECKING:
    from collections.abc import Mapping

    from checker.documents.document import Data
    from checker.upkeep.drafting.draft import Draft

MAPPING: Final = "mapping"
_KIND_OF_MAPPING: Final = "haul-log"
"""The kind that the file itself states."""


def run(
    kind: Annotated[
        str,
        typer.Argument(
            metavar="KIND",
            help="load, trailer, tow-vehicle, machine, tiedown, carrier, gear, rulebook, "
            "amendment, variances, sources, ratings, coverage or settings. Or project, with a "
            "folder to make; or mapping, with a haul log.",
        ),
    ],
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="FILE",
            help="File to write, or folder of a new project. Default: standard output. For a "
            "mapping: the log to read.",
        ),
    ] = None,
    mapping: Annotated[
        Path | None,
        typer.Argument(metavar="MAPPING", help="For a mapping: the file to write."),
    ] = None,
    *,
    template: Annotated[
        bool, typer.Option("--template", help="Ask nothing: every field as a comment.")
    ] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")] = False,
) -> None:
    """Start a new file: by questions on a terminal, else as a template with every field.

    Each answer is checked at once and written as typed. A field left out is in the file as a
    comment and counts as not stated.

    A project is a new folder with settings, a folder of amendments, the bundled trailers, vehicles,
    machines, tiedowns and loads in order as samples, and a workflow that checks every load.

    A mapping says how an officer's own log is read: sheet, headers, units, days, words. It is
    proposed from the log, asks nothing, and marks with TODO what a person must decide.

    Example: cinchbook draft trailer profiles/trailers/our-utility.yaml

    Example: cinchbook draft mapping hauls.xlsx mapping.yaml

    Exit codes: 0 written; 2 a problem in the call, the path or the answers, nothing written.
    """
    from checker.documents.files import NotWrittenError
    from checker.documents.problems import ProblemsFoundError, listed, nearest
    from checker.documents.trade_words import word_meant
    from checker.upkeep.drafting.drafts import drafts
    from checker.upkeep.drafting.project import PROJECT
    from checker.upkeep.drafting.text import draft_text
    from checker.upkeep.drafting.writing import ensure_writable, write_checked

    known = drafts(date.today())
    if kind == MAPPING:
        _mapping(file, mapping, template=template, force=force)
        return
    if mapping is not None:
        end_with(f"found the file '{mapping}' as well; wanted it for `draft mapping` alone")
    if kind == PROJECT:
        if template or force:
            end_with("found --template or --force for a project; wanted the new folder alone")
        _project(file, known)
        return
    if kind not in known:
        guess = word_meant(kind, known) or nearest(kind, [*known, PROJECT, MAPPING])
        hint = f"; did you mean '{guess}'?" if guess else ""
        kinds = listed([*known, PROJECT, MAPPING], most=20)
        end_with(f"found the kind '{kind}'; wanted one of: {kinds}{hint}")
    draft = known[kind]
    try:
        if file is not None:
            ensure_writable(file, kind, replacing=force)
        asks = not template and sys.stdin.isatty() and sys.stderr.isatty()
        text = draft_text(draft, _answers(draft, file) if asks else draft.stated)
        if file is None:
            typer.echo(text, nl=False)
            return
        write_checked(text, kind, file, replacing=force)
    except NotWrittenError as error:
        end_with(str(error))
    except ProblemsFoundError as found:
        end_with_problems(found)
    except KeyboardInterrupt:
        typer.echo(err=True)
        end_with("stopped; nothing was written")
    say(f"wrote {file}", err=False)


def _mapping(log: Path | None, file: Path | None, *, template: bool, force: bool) -> None:
    """Write a mapping file proposed for a log, or print it."""
    from checker.documents.files import NotWrittenError
    from checker.documents.problems import ProblemsFoundError
    from checker.logs.drafting.mapping_text import mapping_text
    from checker.upkeep.drafting.writing import ensure_writable, write_checked

    if log is None or template:
        found = "--template for a mapping" if template else "no log"
        end_with(f"found {found}; wanted `cinchbook draft mapping LOG MAPPING`")
    log = Path(shipped_or_here(str(log)))
    try:
        if file is not None:
            ensure_writable(file, _KIND_OF_MAPPING, replacing=force)
        text = mapping_text(log, known_loads(), _is_load)
        if file is None:
            typer.echo(text, nl=False)
            return
        write_checked(text, _KIND_OF_MAPPING, file, replacing=force)
    except NotWrittenError as error:
        end_with(str(error))
    except ProblemsFoundError as found:
        end_with_problems(found)
    say(f"wrote {file}", err=False)
    decide = f"decide what TODO says in {file}, then " if "TODO" in text else ""
    say(f"next: {decide}cinchbook audit {log} --columns {file}", err=False)


def _is_load(name: str) -> bool:
    """True if a haul log may name a load profile so."""
    try:
        load_finder(None)(name)
    except (FileNotFoundError, ValueError):  # the latter: a name with a zero byte
        return False
    return True


def _project(folder: Path | None, known: "Mapping[str, Draft]") -> None:
    """Make a new project, and say how to go on."""
    from checker.documents.files import NotWrittenError
    from checker.upkeep.drafting.project import SAMPLE, write_project

    if folder is None:
        end_with("found no folder; wanted `cinchbook draft project FOLDER`")
    try:
        number = write_project(folder, known)
    except NotWrittenError as error:
        end_with(str(error))
    say(f"wrote {folder} with {number} files", err=False)
    there = "" if folder == Path() else f"cd {folder} && "
    say(f"next: {there}cinchbook check {SAMPLE}", err=False)


def _answers(draft: "Draft", file: Path | None) -> "dict[str, Data]":
    """The answers of a person at the terminal; questions go to standard error."""
    from checker.cli.chosen_rules import read_rules
    from checker.load.build import profile_root
    from checker.upkeep.drafting.files import Files
    from checker.upkeep.drafting.guide import INTRODUCTION, Person, ask_for_fields
    from checker.upkeep.drafting.undecided import UndecidedRules

    shown_on = console(stderr=True)

    def ask(question: str) -> str:
        shown_on.print(question, end="")
        return input()

    shown_on.print(INTRODUCTION)
    new = file or Path(f"{draft.kind}.yaml")
    root = profile_root(new)
    # Read before the first question: a fault in them ends the run.
    rules = (
        UndecidedRules(read_rules(None), new, root, date.today()) if draft.kind == "load" else None
    )
    return ask_for_fields(draft, Person(ask, shown_on.print), Files(root), rules)
