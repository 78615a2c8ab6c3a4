"""The rules and settings of the project as of a git revision."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import typer

from checker.cli.chosen_rules import read_rules, rules_of_the_project
from checker.cli.commit_content import standing_in, working_in
from checker.cli.options import SHIPPED, end_with, say, settings
from checker.documents.settings import FILE

if TYPE_CHECKING:
    from checker.documents.settings import Settings
    from checker.rulebooks.model import Rulebooks


class State(NamedTuple):
    """The rules of a project, and the settings that chose them."""

    rulebooks: "Rulebooks"
    settings: "Settings"


def states(revision: str, rules: list[str] | None) -> tuple[State, State]:
    """The project at a revision and as it is; each is read with its own settings.

    A revision without rules has none, which is no problem. Ends the run for an unknown revision,
    for problems of rule files, and where neither state has rules or settings of its own.
    """
    from checker.documents.revision.git import NoRevisionError, find_commit, top_of

    now = settings()
    no_own = "found no rule files of your own to compare; wanted --rules FOLDER"
    own = _has_own(rules)
    try:
        top = top_of(Path.cwd())
        commit = find_commit(top, revision)
        with working_in(top, commit) as folder:
            _make_named_folders(top, folder)
            has_settings = _settings_at(revision).file is not None
            if not own and not has_settings and not _has_own(rules):
                end_with(no_own)
            chosen = rules or (
                rules_of_the_project(quiet=True)
                if has_settings
                else [SHIPPED, *_amendments(now, top)]
            )
            then = State(_read(revision, chosen, top, folder), settings())
    except NoRevisionError as error:
        end_with(str(error) if own else no_own)
    finally:
        settings()  # the units of today's settings are in force again
    return then, State(read_rules(rules), settings())


def _amendments(now: "Settings", top: Path) -> list[str]:
    """The amendments that today's settings name, as absolute paths.

    A revision without settings used the bundled rules; its amendments were named in each call.
    """
    paths = [Path(name).resolve() for name in now.amendments]
    return [str(path) for path in paths if path.is_relative_to(top)]


def _has_own(rules: list[str] | None) -> bool:
    """True if there are settings, or one of the rules asked for is a path."""
    return settings().file is not None or any(Path(name).exists() for name in rules or ())


def _settings_at(revision: str) -> "Settings":
    with _named_as_of(revision):
        return settings()


@contextmanager
def _named_as_of(revision: str) -> Iterator[None]:
    """Say of problems that end the run that they are in the files of the revision."""
    try:
        yield
    except typer.Exit:
        say(f"these problems are in the files as of {revision}")
        raise


def _read(revision: str, rules: list[str], top: Path, folder: Path) -> "Rulebooks":
    from checker.rulebooks.model import Rulebooks

    chosen = [standing_in(name, top, folder) for name in rules]
    # A path that is only there today had no rules; a name that is no path is that of a rulebook.
    there = [
        each
        for each, name in zip(chosen, rules, strict=True)
        if Path(each).exists() or not _is_there_today(name, top, folder)
    ]
    if not there:
        return Rulebooks((), ())
    with _named_as_of(revision):
        return read_rules(there, may_be_empty=True)


def _is_there_today(name: str, top: Path, folder: Path) -> bool:
    return (top / Path.cwd().relative_to(folder) / name).exists()


def _make_named_folders(top: Path, folder: Path) -> None:
    """Make the folders that the settings of the revision name and git left out as empty."""
    from checker.documents.reader import read_file

    beside = next((each for each in _upwards(folder) if (each / FILE).exists()), None)
    if beside is None:
        return
    data: Any = read_file(beside / FILE).data
    for key in ("rules", "amendments", "profiles"):
        stated = data.get(key) if isinstance(data, dict) else None
        for name in stated if isinstance(stated, list) else [stated]:
            if not isinstance(name, str) or (beside / name).exists():
                continue
            is_path = key != "rules" or (top / beside.relative_to(folder) / name).exists()
            if is_path and (beside / name).resolve().is_relative_to(folder):
                (beside / name).mkdir(parents=True)


def _upwards(folder: Path) -> list[Path]:
    here = Path.cwd()
    return [each for each in (here, *here.parents) if each.is_relative_to(folder)]
