"""What the workers of a cluster must have as the caller has it: program, rules, load profiles.

The caller is the authority. It reads the bytes of the files that summaries of loads name, and
parses a profile itself only where a worker does not agree. Every worker compares its own files with
the caller's; the hauls of a load with a file that differs anywhere are refused.
"""

import asyncio
import sys
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from hashlib import blake2b
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import NamedTuple

from checker import __version__
from checker.documents.document import decode_text, read_bounded
from checker.load.build import profile_root
from checker.season.hauls.digests import digest_of_text
from checker.season.hauls.file_names import FileNames
from checker.season.hauls.loads import Loads, changed_meanwhile
from checker.season.hauls.same_shape import LoadSummary
from checker.season.running.worker import Plan, start_worker
from checker.units.words import Unit, call_with_own_units

_LIBRARIES = ("numpy", "highspy", "pint", "msgspec")
"""Libraries on which figures depend; other versions of them may give other bytes."""


OF_THE_PROGRAM = ("cinchbook", "program files")
"""The program itself, among what a process has."""
_MOST_NAMED = 3
"""Most workers named after the first one that has something otherwise."""


class Wanted(NamedTuple):
    """What a worker must have before it may do anything."""

    program: Mapping[str, str]
    rule_files: Mapping[str, str | None]
    """By file, a digest of its text."""
    rules: str
    """A digest of the rules as they were read."""


class Differing(NamedTuple):
    """What a worker has otherwise than the caller, each with words such as `has another`."""

    files: Mapping[str, str]
    loads: Mapping[str, str]


def wanted(plan: Plan, rules_digest: str, libraries: Sequence[str]) -> Wanted:
    """What this process has; `libraries` are further ones that the work needs."""
    return Wanted(_program(tuple(libraries)), _rule_files(plan), rules_digest)


async def differences_of_worker(
    plan: Plan, units: tuple[Unit, ...], caller: Wanted, libraries: Sequence[str]
) -> list[str]:
    """Why this worker may not be used: what it has otherwise than the caller. It reads the rules.

    Runs beside the worker's own talk with its scheduler, as reading takes seconds.
    """
    return await asyncio.to_thread(
        call_with_own_units, units, _differences_of_worker, plan, caller, libraries
    )


def _differences_of_worker(plan: Plan, caller: Wanted, libraries: Sequence[str]) -> list[str]:
    if found := differences_of_program(caller.program, libraries):
        return found
    own = _rule_files(plan)
    for file in sorted(own.keys() | caller.rule_files.keys()):
        if file not in caller.rule_files:
            found.append(f"has {file}, which is not here")
        elif own.get(file) != caller.rule_files[file]:
            found.append(f"has {'another' if own.get(file) else 'no'} {file}")
    # Only rules of which every file is the caller's are read: others may have problems.
    if not found and start_worker(plan).rules_digest != caller.rules:
        found.append("read other rules from the same files")
    return found


def differences_of_program(caller: Mapping[str, str], libraries: Sequence[str]) -> list[str]:
    """What a process has otherwise of the program than the caller, and what the caller has."""
    own = _program(tuple(libraries))
    return [
        f"has {what} {own[what]}; wanted {each}"
        for what, each in caller.items()
        if own[what] != each
    ]


async def differing_files(
    plan: Plan, files: Mapping[str, str], loads: Mapping[str, str]
) -> Differing:
    """What this worker has otherwise, among files with their digests and loads with their files."""
    return await asyncio.to_thread(_differing_files, plan, files, loads)


def _differing_files(plan: Plan, files: Mapping[str, str], loads: Mapping[str, str]) -> Differing:
    names = FileNames(plan.bundled)
    found: dict[str, str] = {}
    for file, digest in files.items():
        own = digest_of_file(names.path(file))
        if own != digest:
            found[file] = f"has {'no' if own is None else 'another'} {file}"
    elsewhere: dict[str, str] = {}
    for load, file in loads.items():
        own_file = file_of_load(plan, load)
        if own_file is not None and own_file != file:
            elsewhere[load] = f"takes {own_file} for it"
    return Differing(found, elsewhere)


def file_of_load(plan: Plan, name: str) -> str | None:
    """The caller's name of the file that a load of the log is read from; None if there is none."""
    try:
        return FileNames(plan.bundled).name(plan.found(name))
    except FileNotFoundError:
        return None


def digest_of_file(file: Path) -> str | None:
    """A digest of the text of a file, as summaries of loads have it; None if it is not there."""
    try:
        raw = read_bounded(file)
    except OSError:
        return None
    try:
        return digest_of_text(decode_text(raw))
    except UnicodeDecodeError:
        return blake2b(raw, digest_size=8).hexdigest()


def _rule_files(plan: Plan) -> dict[str, str | None]:
    """A digest of every rule file, by its name."""
    if plan.rule_files is None:
        return {}
    return {name: digest_of_file(file) for name, file in plan.rule_files(plan.rules).items()}


@cache
def _program(libraries: tuple[str, ...]) -> dict[str, str]:
    """Versions of the program and of what it calculates with, and a digest of its own files.

    Kept from the first call on: a worker goes on with the code that it has loaded.
    """
    found = {"cinchbook": __version__, "Python": f"{sys.version_info[0]}.{sys.version_info[1]}"}
    for library in (*_LIBRARIES, *libraries):
        try:
            found[library] = version(library)
        except PackageNotFoundError:
            found[library] = "(not installed)"
    found["program files"] = _digest_of_program()
    return found


def _digest_of_program() -> str:
    package = Path(__file__).parent.parent
    total = blake2b(digest_size=8)
    kinds = (package.rglob(f"*{suffix}") for suffix in (".py", ".json", ".txt"))
    # The rules and profiles that come with the program are compared file by file.
    files = {each.relative_to(package).as_posix(): each for kind in kinds for each in kind}
    for name in sorted(name for name in files if not name.startswith("_data/")):
        total.update(name.encode())
        total.update(files[name].read_bytes())
    return total.hexdigest()


class Agreement:
    """Refuses loads that a worker reads otherwise than the caller."""

    def __init__(self, plan: Plan, loads: Loads) -> None:
        self._plan, self._loads = plan, loads
        self._names = FileNames(plan.bundled)
        self.files: dict[str, str] = {}
        """A digest of every file of a load, as it is here."""

    def agreed(
        self,
        read: Mapping[str, LoadSummary | str],
        differing: Callable[[Mapping[str, str], Mapping[str, str]], Mapping[str, Differing]],
    ) -> dict[str, LoadSummary | str]:
        """Loads that workers read, as they are here; the reason for those that are refused.

        `differing` compares files and loads with those of every worker. Raises ProblemsFoundError
        if a file here changes meanwhile.
        """
        own = {name: self._own(name, load) for name, load in read.items()}
        sound = {name: load for name, load in own.items() if isinstance(load, LoadSummary)}
        files = {file: digest for load in sound.values() for file, digest in load.digests.items()}
        for file, digest in files.items():
            if self.files.setdefault(file, digest) != digest:
                raise changed_meanwhile(file)
        by_worker = differing(files, {name: load.file for name, load in sound.items()})
        own |= {name: _reason(load, by_worker) or load for name, load in sound.items()}
        for name, load in own.items():
            if isinstance(load, str):
                self._loads.refuse(name, load)
        return own

    def _own(self, name: str, load: LoadSummary | str) -> LoadSummary | str:
        """The load as it is here; `load` is what a worker read."""
        own = isinstance(load, LoadSummary) and self._is_own(name, load)
        return load if own else self._loads.load(name)

    def _is_own(self, name: str, load: LoadSummary) -> bool:
        """True if reading the load here would lead to the same files, with the same text."""
        if file_of_load(self._plan, name) != load.file:
            return False
        root = (self._plan.root or profile_root(self._names.path(load.file))).resolve()
        used = {self._names.name((root / f"{each}.yaml").resolve()) for each in load.uses}
        return used <= load.digests.keys() and all(
            self.files.get(file) == digest or digest_of_file(self._names.path(file)) == digest
            for file, digest in load.digests.items()
        )


def _reason(load: LoadSummary, differing: Mapping[str, Differing]) -> str | None:
    """Why the hauls of a load are refused; None if every worker has its files as they are here.

    `differing` holds what each worker has otherwise, by its address.
    """
    by_words: dict[str, list[str]] = {}
    for worker, found in sorted(differing.items()):
        words = [found.files[file] for file in sorted(load.digests) if file in found.files]
        words += [found.loads[load.name]] if load.name in found.loads else []
        if words:
            by_words.setdefault(" and ".join(words), []).append(worker)
    if not by_words:
        return None
    clauses = (f"worker {_named(workers)} {words}" for words, workers in by_words.items())
    return f"{load.name}: {'; '.join(clauses)}"


def _named(workers: Sequence[str]) -> str:
    first, *others = workers
    more = len(others) - _MOST_NAMED
    listed = [*others[:_MOST_NAMED], *([f"{more} more"] if more > 0 else [])]
    return f"{first} (also {', '.join(listed)})" if listed else first
