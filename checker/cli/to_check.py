"""Which load profiles a check is about: as named, and of those the ones a change may touch."""

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from checker.cli.options import end_with, found_file, rules_of_the_project, settings

if TYPE_CHECKING:
    from checker.load.build import Profile


def loads_meant(named: Sequence[str] | None) -> list[Path]:
    """Every load profile under the names, each once; ends the run where a name gives none."""
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
    found: dict[Path, None] = {}
    for name in names:
        # Unlike Path's own questions, this answers no where a name is too long.
        several = os.path.isdir(name) or any(sign in name for sign in "*?[")  # noqa: PTH112
        try:
            here = load_files([name]) if several else [found_file(Path(name))]
        except NothingThereError as error:
            end_with(str(error))
        for file in here:
            found.setdefault(Path(os.path.normpath(file)))
    return list(found)


def affected(
    read: Sequence["Profile"], revision: str, rules: Sequence[str] | None, named: int
) -> list["Profile"]:
    """The loads that rest on a file changed since a revision; says how many there are.

    A changed rule file, and changed settings, touch all of them.
    """
    from checker.resources import shipped
    from checker.revision import NoRevisionError, changed_since

    try:
        changed = changed_since(revision, Path.cwd())
    except NoRevisionError as error:
        end_with(str(error))
    named_rules = [Path(name).resolve() for name in rules or rules_of_the_project()]
    in_use = [*named_rules, Path(str(shipped("rules"))).resolve()]
    file = settings().file
    by_rules = any(
        path == file or any(path == each or path.is_relative_to(each) for each in in_use)
        for path in changed
        if path.suffix == ".yaml"
    )
    found = [each for each in read if by_rules or each.rests_on.keys() & changed]
    why = ", because rule files or settings changed" if by_rules else ""
    typer.echo(
        f"{len(found)} of {named} load profiles rest on what changed since {revision}{why}.",
        err=True,
    )
    if not found:
        typer.echo("Nothing was judged: that is no verdict on any load.", err=True)
    return found
