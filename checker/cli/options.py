"""Options that several commands share, and how the command line ends."""

import os
from collections.abc import Sequence
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

if TYPE_CHECKING:
    from checker.documents.problems import ProblemsFoundError
    from checker.load.build import Profile
    from checker.rulebooks.model import Rulebooks

SHIPPED = "shipped"
"""The word that stands for all shipped rulebooks, beside an officer's own folder."""

NO_RULE_BROKEN, BROKEN, PROBLEM, UNDECIDED = 0, 1, 2, 3


class Units(StrEnum):
    """Units of the report."""

    US = "us"
    SI = "si"


class Format(StrEnum):
    """Form of the report."""

    TEXT = "text"
    JSON = "json"


RulesOption = Annotated[
    list[str] | None,
    typer.Option(
        "--rules",
        metavar="FOLDER|ID",
        help="A folder of rule files, the id of a shipped rulebook, or the word shipped for all "
        "of those. May be repeated. Left out: all shipped rulebooks.",
    ),
]
DayOption = Annotated[
    str | None,
    typer.Option(
        "--on",
        metavar="DATE",
        help="Day to judge for. Left out: the trip's own day, else today.",
    ),
]
RootOption = Annotated[
    Path | None,
    typer.Option(
        "--profiles",
        metavar="DIR",
        help="Folder that references start from. Left out: the nearest folder above the profile "
        "called profiles.",
    ),
]
UnitsOption = Annotated[Units, typer.Option("--units", help="Units of the report.")]
FormatOption = Annotated[Format, typer.Option("--as", help="Form of the report.")]


def read_rules(chosen: Sequence[str] | None, *, with_proofs: bool = False) -> "Rulebooks":
    """The rulebooks a command works with; ends the run where they cannot be read."""
    from checker.documents.problems import ProblemsFoundError
    from checker.resources import shipped
    from checker.rulebooks.loading import load_rulebooks
    from checker.rulebooks.selecting import RulebookChoiceError, only, together

    folders = [Path(name) for name in chosen or () if Path(name).is_dir()]
    ids = [name for name in chosen or () if not Path(name).is_dir()]
    try:
        all_shipped = load_rulebooks(shipped("rules"), with_proofs=with_proofs)
        sets = [
            load_rulebooks(folder, with_proofs=with_proofs, known=all_shipped.sources)
            for folder in folders
        ]
        if SHIPPED in ids or not chosen:
            sets.append(all_shipped)
        elif ids:
            sets.append(only(all_shipped, ids))
        known = frozenset(rule.id for book in all_shipped.books for rule in book.rules)
        return together(sets, elsewhere=known)
    except ProblemsFoundError as found:
        end_with_problems(found)
    except RulebookChoiceError as error:
        end_with(str(error))


def found_file(profile: Path) -> Path:
    """The file meant: as given, or one of the profiles that come with the program."""
    from checker.documents.problems import nearest
    from checker.resources import shipped

    inside = shipped("profiles")
    candidates = (profile, inside / profile, inside / f"{profile}.yaml")
    for path in candidates:
        # Unlike Path's own questions, these answer no where a name is too long.
        if os.path.isfile(path):  # noqa: PTH113
            return path
    if os.path.isdir(profile):  # noqa: PTH112
        return end_with(f"found a folder, '{profile}'; wanted a load profile file in it")
    known = [f"loads/{path.stem}" for path in (inside / "loads").glob("*.yaml")]
    guess = nearest(str(profile), known) or nearest(f"loads/{profile.stem}", known)
    hint = f"; did you mean '{guess}'?" if guess else ""
    return end_with(f"found no file '{profile}'; wanted a load profile{hint}")


def read_one(profile: Path, root: Path | None) -> "Profile":
    """The one profile a command is about; ends the run where it has problems."""
    from checker.documents.problems import ProblemsFoundError
    from checker.load.build import read_profile

    try:
        return read_profile(found_file(profile), root)
    except ProblemsFoundError as found:
        return end_with_problems(found)


def day_of(profile: "Profile", on: str | None) -> date:
    """The day asked for, else the trip's own, else today; reports print which it was."""
    if on:
        return parse_day(on)
    stated = profile.load({}).trip.date
    return date.fromisoformat(stated) if stated else date.today()


def end_with_problems(found: "ProblemsFoundError") -> NoReturn:
    """Print every problem on its own line, how many there are, and end the run."""
    for problem in found.problems:
        typer.echo(str(problem), err=True)
    number = len(found.problems)
    typer.echo(f"{number} problem{'s' if number != 1 else ''} to mend", err=True)
    raise typer.Exit(PROBLEM)


def end_with(message: str) -> NoReturn:
    """Print why the call cannot be carried out and end the run."""
    typer.echo(message, err=True)
    raise typer.Exit(PROBLEM)


def parse_day(text: str) -> date:
    """A day given on the command line."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        end_with(f"found '{text}'; wanted a day such as 2026-05-14")
