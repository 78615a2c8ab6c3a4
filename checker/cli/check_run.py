"""Reads the load profiles of one check, evaluates the rules, collects the results for reports."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from checker import __version__
from checker.cli.caching import document_cache
from checker.cli.checked_loads import check_loads
from checker.cli.chosen_rules import read_rules
from checker.cli.hauls_of_logs import (
    HaulName,
    files_of_logs,
    haul_name,
    hauls_named,
    read_named_hauls,
)
from checker.cli.loads_to_check import find_loads, select_affected
from checker.cli.options import end_with, root_of, say, settings, units_of
from checker.cli.writing import Targets, refuse_overwrites
from checker.documents.folders import is_yaml
from checker.evaluation.strictness import FailOn
from checker.units.formatting import Units

if TYPE_CHECKING:
    from checker.documents.problems import Problem
    from checker.documents.revision.baseline import Baseline
    from checker.load.build import Profile
    from checker.load.references import Library
    from checker.reports.shared.check_results import CheckRun, Unreadable
    from checker.rulebooks.model import Rulebooks


class CheckRequest(Struct, frozen=True):
    """The arguments of a check.

    Changed files are those that differ between a revision and the commit `until`. The files to
    check are in `folder`, a copy from `repository`, if that is not the work tree itself.
    """

    profiles: Sequence[str]
    rules: Sequence[str]
    on: str | None
    root: Path | None
    units: Units | None
    fail_on: FailOn
    written: Targets
    changed_since: str | None
    full: bool
    columns: Path | None = None
    until: str = "HEAD"
    repository: Path | None = None
    folder: Path | None = None


@contextmanager
def with_staged_files(asked: CheckRequest, *, staged: bool) -> Iterator[CheckRequest]:
    """The request; with `staged` for a copy of the staged files, made the working directory."""
    if not staged:
        yield asked
        return
    from checker.cli.staged import staged_content

    with staged_content() as content:
        yield replace(
            asked,
            profiles=[content.standing_in(each) for each in asked.profiles],
            rules=[content.standing_in(each) for each in asked.rules],
            root=asked.root and Path(content.standing_in(str(asked.root))),
            changed_since=asked.changed_since or content.revision,
            until=content.until,
            repository=content.repository,
            folder=content.folder,
        )


def run_check(asked: CheckRequest) -> "CheckRun":
    """The results of every load and the unreadable files; prints problems as they are found."""
    from checker.load.files import Found
    from checker.load.references import Library
    from checker.reports.shared.check_results import CheckRun

    library = Library(document_cache())
    hauls = hauls_named(asked.profiles)
    profiles = [each for each in asked.profiles if not haul_name(each)]
    # Without any name the loads of the settings are meant.
    found = find_loads(profiles, library) if profiles or not hauls else Found([], [])
    unreadable = [_unreadable(name, problems) for name, problems in found.unfit]
    read = _read(found.files, asked.root, library, unreadable)
    # Where a haul goes is not known before it is read.
    rulebooks = read_rules(asked.rules, loads=() if hauls else [each.stated for each in read])
    read += _hauls(hauls, asked, rulebooks, unreadable)
    profiles_read = (file for each in read for file in each.rests_on)
    pages = [file for form, file in asked.written.files if form == "html"]
    refuse_overwrites(
        asked.written.names,
        chain(found.files, profiles_read, rulebooks.files, files_of_logs(hauls, asked.columns)),
        folders=pages,
    )
    if asked.changed_since is not None:
        before = _before(asked, asked.changed_since)
        named = len(found.files) + len(found.unfit)
        read = select_affected(read, before, asked.changed_since, asked.rules, asked.root, named)
    read = [each for each in read if _fits_rules(each, rulebooks, unreadable)]
    return CheckRun(
        check_loads(read, rulebooks, asked.on, units_of(asked.units)),
        unreadable,
        asked.fail_on,
        settings().near,
        __version__,
        settings().ignored.counts,
        asked.full,
    )


def _before(asked: CheckRequest, revision: str) -> "Baseline":
    """The files at the revision to compare with."""
    from checker.documents.revision.baseline import baseline
    from checker.documents.revision.git import NoRevisionError, sparse_files, top_of

    try:
        top = asked.repository or top_of(Path.cwd())
        if not asked.folder and (missing := sum(map(is_yaml, sparse_files(top)))):
            files = (
                "file left out of this work tree is"
                if missing == 1
                else ("files left out of this work tree are")
            )
            say(f"note: {missing} YAML {files} not read")
        return baseline(top, revision, until=asked.until, stands_at=asked.folder)
    except NoRevisionError as error:
        end_with(str(error))


def _read(
    files: "Sequence[Path]",
    root: Path | None,
    library: "Library",
    unreadable: "list[Unreadable]",
) -> "list[Profile]":
    """Every profile that can be read; prints the problems of the others."""
    from checker.documents.problems import ProblemsFoundError
    from checker.load.build import read_profile

    read = []
    for file in files:
        try:
            read.append(read_profile(file, root_of(root), library))
        except ProblemsFoundError as found:
            unreadable.append(_unreadable(str(file), found.problems))
    return read


def _hauls(
    hauls: "Sequence[HaulName]",
    asked: CheckRequest,
    rulebooks: "Rulebooks",
    unreadable: "list[Unreadable]",
) -> "Iterator[Profile]":
    """Every named haul that can be checked; prints the problems of the others."""
    if not hauls:
        return
    from checker.documents.problems import Problem

    for name, haul in read_named_hauls(hauls, asked.columns, asked.root, rulebooks):
        if isinstance(haul, Problem):
            unreadable.append(_unreadable(name, [haul]))
        else:
            yield haul.profile


def _fits_rules(profile: "Profile", rulebooks: "Rulebooks", unreadable: "list[Unreadable]") -> bool:
    """True if the rulebooks can be applied to the profile; prints the problems if not."""
    from checker.evaluation.against_rules import profile_faults

    found = list(profile_faults(profile, rulebooks))
    if found:
        unreadable.append(_unreadable(str(profile.file), found))
    return not found


def _unreadable(file: str, problems: "Sequence[Problem]") -> "Unreadable":
    """The record of a file that is not checked; prints its problems."""
    from checker.documents.escaping import escaped
    from checker.documents.problems import count_problems
    from checker.reports.shared.check_results import Unreadable

    name = escaped(file)
    for problem in problems:
        say(str(problem))
    number = count_problems(problems)
    say(f"{name}: {number} problem{'s' if number != 1 else ''} to fix")
    return Unreadable(name, problems)
