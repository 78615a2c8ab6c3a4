"""Selects the load profiles of a check: as named, or only those that a change may affect."""

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from checker.cli.caching import document_cache
from checker.cli.chosen_rules import rules_of_the_project
from checker.cli.options import (
    end_with,
    end_with_problems,
    find_profile,
    root_of,
    say,
    settings,
    settings_top,
)
from checker.documents.folders import is_yaml, yaml_files

if TYPE_CHECKING:
    from checker.documents.revision.baseline import Baseline
    from checker.load.build import Profile
    from checker.load.files import Found
    from checker.load.model import Variance
    from checker.load.references import Library
    from checker.rulebooks.model import Rulebooks


def find_loads(named: Sequence[str] | None, library: "Library") -> "Found":
    """Every load profile under the names, each once; ends the run if a name does not exist."""
    from checker.load.files import NothingThereError, load_files

    names = list(named or ())
    if not names:
        folder = settings().profiles
        if folder is None:
            end_with(
                "found no load profile to check; wanted files, folders or patterns, or `profiles:` "
                "in cinchbook.yaml"
            )
        names = [folder]
    # Unlike Path.exists, this is False where a name is too long.
    named_so = [
        name
        if os.path.lexists(name) or any(sign in name for sign in "*?[")
        else str(find_profile(Path(name)))
        for name in names
    ]
    try:
        found = load_files(named_so, library=library, ignored=settings().ignored)
    except NothingThereError as error:
        end_with(str(error))
    used = settings().file
    for file in found.settings:
        if used is None or not file.samefile(used):
            say(f"note: {file} is not used: settings apply to their folder and those below it")
    return found


def variances_of_loads(
    named: Sequence[str], root: Path | None, rulebooks: "Rulebooks"
) -> "list[tuple[Variance, str]]":
    """The variances that loads state, each with its load's title.

    Ends the run where a load cannot be read, or states one that nobody can give.
    """
    from checker.documents.problems import ProblemsFoundError
    from checker.load.build import Library, read_profile
    from checker.rulebooks.variances import variance_problems

    if not named:
        return []
    library = Library(document_cache())
    found = find_loads(named, library)
    problems = [problem for _, each in found.unfit for problem in each]
    stated = []
    for file in found.files:
        try:
            load = read_profile(file, root_of(root), library).stated
        except ProblemsFoundError as error:
            problems += error.problems
        else:
            problems += variance_problems(load.variances, rulebooks)
            stated += [(variance, load.title) for variance in load.variances]
    if problems:
        end_with_problems(ProblemsFoundError(problems))
    return stated


def select_affected(
    read: Sequence["Profile"],
    before: "Baseline",
    revision: str,
    rules: Sequence[str] | None,
    root: Path | None,
    named: int,
) -> list["Profile"]:
    """The loads that depend on a file changed since a revision; prints how many, and why.

    All of them where rule files or settings changed, or where it cannot be known.
    """
    from checker.documents.revision.baseline import FileState

    everything = (
        before.unknown
        or _settings_changed(before)
        or _rules_changed(before, rules or rules_of_the_project())
    )
    if everything:
        found = list(read)
        _print_count(len(found), named, revision, f": all of them, because {everything}")
        return found
    folder = root_of(root)
    around = before.state(folder) if folder else FileState.SAME
    states = [max(around, *map(before.state, each.read_as)) for each in read]
    found = [each for each, state in zip(read, states, strict=True) if state is not FileState.SAME]
    beyond = states.count(FileState.UNKNOWN)
    why = f"; for {beyond} that is not known, outside this repository" if beyond else ""
    _print_count(len(found), named, revision, why)
    return found


def _print_count(found: int, named: int, revision: str, why: str) -> None:
    say(f"{found} of {named} load profiles depend on files changed since {revision}{why}.")
    if not found:
        say("Nothing was checked: that is no verdict on any load.")


def _settings_changed(before: "Baseline") -> str:
    """Why settings may have changed since; empty where they are the same."""
    from checker.documents.revision.baseline import FileState
    from checker.documents.settings import FILE

    here = Path.cwd()
    for folder in (here, *here.parents):
        file = folder / FILE
        is_there = os.path.lexists(file)
        if not is_there and not before.had(file):
            if folder == settings_top():
                break
            continue
        match before.state(file) if is_there else FileState.CHANGED:
            case FileState.CHANGED:
                return f"the settings changed ({FILE})"
            case FileState.UNKNOWN:
                return f"the settings ({file}) are outside this repository"
        break
    return ""


def _rules_changed(before: "Baseline", rules: Sequence[str]) -> str:
    """Why rules may have changed since; empty where they are the same.

    Ids name rules that come with the program. Those count only in the program's own repository.
    """
    from checker.documents.resources import shipped_folder
    from checker.documents.revision.baseline import FileState
    from checker.load.build import shown_path

    own = [Path(name) for name in rules if os.path.lexists(name)]
    bundled = shipped_folder("rules")
    if before.names_below(bundled):
        own.append(bundled)
    for each in own:
        files = [each]
        if each.is_dir():
            files, _ = yaml_files(each, settings().ignored)
        state = max((before.state(file) for file in (each, *files)), default=FileState.SAME)
        if state is FileState.UNKNOWN:
            return f"the rules in {shown_path(each)} are outside this repository"
        gone = {
            name
            for name in before.names_below(each)
            if is_yaml(name) and not os.path.lexists(before.top / name)
        }
        if state is FileState.CHANGED or gone:
            return f"rule files changed in {shown_path(each)}"
    return ""
