"""Reads the rulebooks that a command needs, by folder, file or id."""

import os
from collections.abc import Mapping, Sequence
from functools import cache, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from checker.cli.caching import document_cache
from checker.cli.options import SHIPPED, end_with, end_with_problems, say, settings
from checker.documents.folders import yaml_files
from checker.documents.settings import FILE

if TYPE_CHECKING:
    from checker.documents.document_cache import DocumentCache
    from checker.load.model import Load
    from checker.rulebooks.model import Rule, Rulebook, Rulebooks
    from checker.rulebooks.needed_rulebooks import Trips


def read_rules(
    chosen: Sequence[str] | None,
    *,
    with_proofs: bool = False,
    edited: Mapping[Path, str] | None = None,
    also: Path | None = None,
    loads: "Sequence[Load]" = (),
    may_be_empty: bool = False,
) -> "Rulebooks":
    """The rulebooks and amendments for a command; ends the run where they have problems.

    `edited` holds texts to read in place of files, by absolute path, or beside all the others.
    `also` is one more file or folder to read. With `loads`, rules of jurisdictions that these loads
    do not touch are left out. With `may_be_empty` there may be no rulebook.
    """
    from checker.documents.problems import ProblemsFoundError
    from checker.rulebooks.needed_rulebooks import Trips
    from checker.rulebooks.selection import RulebookChoiceError, combine_rulebooks

    texts = edited or {}
    wanted = chosen or rules_of_the_project(texts)
    on_disk = [path for path in map(Path, wanted) if _is_there(path)]
    ids = [name for name in wanted if Path(name) not in on_disk]
    for path in (*texts, *((also.resolve(),) if also else ())):
        if not any(path.is_relative_to(each.resolve()) for each in on_disk):
            on_disk.append(path)

    def read(trips: "Trips | None") -> "tuple[list[Rulebooks], frozenset[str]]":
        return _sets(on_disk, ids, with_proofs=with_proofs, edited=texts, trips=trips)

    try:
        trips = Trips.through(load.trip.places for load in loads) if loads else None
        sets, known = read(trips)
        spoken_of = {change.rule_id for each in sets for change in each.changes}
        spoken_of |= {variance.rule for load in loads for variance in load.variances}
        spoken_of |= {variance.rule for each in sets for variance in each.variances}
        if trips is not None and not spoken_of <= known:
            # The rule may be in a skipped rulebook or in none: only reading all shows which.
            sets, known = read(None)
        return combine_rulebooks(
            sets,
            elsewhere=known,
            longest_variance=settings().longest_variance,
            partly_read=trips is not None,
            tables_alone=with_proofs,
            may_be_empty=may_be_empty,
        )
    except ProblemsFoundError as found:
        end_with_problems(found)
    except RulebookChoiceError as error:
        at = None if chosen else settings().origins.get("rules")
        end_with(f"{at}: {error}" if at else str(error))


def _sets(
    on_disk: Sequence[Path],
    ids: Sequence[str],
    *,
    with_proofs: bool,
    edited: Mapping[Path, str],
    trips: "Trips | None",
) -> "tuple[list[Rulebooks], frozenset[str]]":
    """The sets of rules in these files and of these ids, and the ids of all rules read."""
    from checker.documents.problems import Problem, ProblemsFoundError
    from checker.documents.resources import shipped_folder
    from checker.load.build import shown_path
    from checker.rulebooks.loading import load_rulebooks
    from checker.rulebooks.needed_rulebooks import Trips
    from checker.rulebooks.selection import select_rulebooks

    # Of shipped rules that were not chosen, loads need only the sources that others may cite.
    trips_of_shipped = trips if ids or trips is None else Trips.through(())
    known = None if with_proofs else document_cache()
    # As it is shown: where a run changes its folder, the same files are shown by other names.
    folder = Path(shown_path(shipped_folder("rules")))
    all_shipped = _read_shipped(
        folder, with_proofs=with_proofs, trips=trips_of_shipped, cache=known
    )
    sets: list[Rulebooks] = []
    problems: list[Problem] = []
    for path in on_disk:
        try:
            sets.append(
                load_rulebooks(
                    path,
                    with_proofs=with_proofs,
                    known=all_shipped,
                    edited=edited,
                    trips=trips,
                    cache=known,
                    ignored=settings().ignored,
                )
            )
        except ProblemsFoundError as found:
            problems += found.problems
    if problems:
        # Reported together, so that nobody fixes one folder only to find the next one broken.
        raise ProblemsFoundError(problems)
    if ids:
        # Beside all shipped rulebooks, too, a name that is none of them may be a folder misspelt.
        named = select_rulebooks(all_shipped, [each for each in ids if each != SHIPPED])
        sets.append(all_shipped if SHIPPED in ids else named)
    return sets, frozenset(
        rule.id for each in (*sets, all_shipped) for book in each.books for rule in book.rules
    )


@lru_cache(maxsize=8)
def _read_shipped(
    folder: Path, *, with_proofs: bool, trips: "Trips | None", cache: "DocumentCache | None"
) -> "Rulebooks":
    """The shipped rules, read once in a run: an amendment is checked against two sets of rules."""
    from checker.rulebooks.loading import load_rulebooks

    return load_rulebooks(folder, with_proofs=with_proofs, trips=trips, cache=cache)


def forget_shipped() -> None:
    """Have the shipped rules read again, in a process that outlives a run."""
    _read_shipped.cache_clear()


def files_of_rules(chosen: Sequence[str] | None) -> dict[str, Path]:
    """The files that `read_rules` reads for these names, by their names in messages.

    Among them are all shipped rule files, named from the program's own folder.
    """
    from checker.documents.resources import shipped_folder
    from checker.load.build import shown_path

    shipped = shipped_folder("rules").resolve()
    files = yaml_files(shipped)[0]
    for path in filter(_is_there, map(Path, chosen or rules_of_the_project(quiet=True))):
        top = path.resolve()
        files += yaml_files(top, settings().ignored)[0] if top.is_dir() else [top]
    return {
        f"shipped:rules/{file.relative_to(shipped).as_posix()}"
        if file.is_relative_to(shipped)
        else shown_path(file): file
        for file in files
    }


def rules_of_the_project(
    edited: Mapping[Path, str] = MappingProxyType({}), *, quiet: bool = False
) -> list[str]:
    """The project's rules and amendments, without empty folders; with a note unless `quiet`."""
    found = []
    for name in (*settings().rules, *settings().amendments):
        if (
            not os.path.isdir(name)  # noqa: PTH112 - answers no where a name is too long
            or any(yaml_files(Path(name)))
            or any(path.is_relative_to(Path(name).resolve()) for path in edited)
        ):
            found.append(name)
        elif not quiet:
            _note_empty(name)
    return found


@cache
def _note_empty(folder: str) -> None:
    """Note once a run that a folder of the settings holds no rules."""
    say(f"note: the folder '{folder}', which {FILE} names, has no YAML file in it")


def _is_there(path: Path) -> bool:
    # Unlike Path.exists, this is False where a name is too long.
    return os.path.exists(path)  # noqa: PTH110


def find_rule(rulebooks: "Rulebooks", rule_id: str) -> "tuple[Rulebook, Rule]":
    """The rule of that id with its rulebook; ends the run if there is none."""
    from checker.documents.problems import nearest

    found = rulebooks.rule(rule_id)
    if found is None:
        known = [rule.id for book in rulebooks.books for rule in book.rules]
        guess = nearest(rule_id, known)
        hint = f"; did you mean '{guess}'?" if guess else ""
        end_with(f"found no rule '{rule_id}'; wanted an id that `cinchbook rules` lists{hint}")
    return found
