"""The settings of the caller's project in the form in which they go to other processes.

A worker may stand in another folder or on another machine, with settings of its own. Everything
that decides a verdict is therefore sent along, and a worker reads no settings.
"""

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from checker.cli.caching import Caching
from checker.cli.chosen_rules import files_of_rules, forget_shipped, read_rules
from checker.cli.options import settings, settings_sent
from checker.documents.folders import IgnorePatterns
from checker.documents.settings import Settings
from checker.load.build import shown_path
from checker.units.words import Unit, own_units, with_own_units

if TYPE_CHECKING:
    from checker.rulebooks.model import Rulebooks


@dataclass(frozen=True, slots=True)
class SentSettings:
    """The settings; paths below the working folder are relative to it."""

    rules: tuple[str, ...]
    amendments: tuple[str, ...]
    own_units: tuple[Unit, ...]
    near: float
    ignore: tuple[str, ...]
    ignore_from: str | None
    longest_variance: int | None
    origins: tuple[tuple[str, str], ...]
    cached: bool
    """True if the user's cache folder may be used."""

    @contextmanager
    def in_force(self) -> Iterator[None]:
        """Make `settings()` return these inside a `with` block."""
        if not self.cached:
            Caching.used = False
        # The caller's own settings also count the files that they exclude.
        if self in _OF_THIS_PROCESS:
            yield
            return
        start = Path(self.ignore_from) if self.ignore_from is not None else None
        found = Settings(
            file=None,
            rules=self.rules,
            amendments=self.amendments,
            # The caller reads the log, and finds the folder of its loads.
            profiles=None,
            columns=None,
            units="profile",
            own_units=self.own_units,
            near=self.near,
            ignored=IgnorePatterns(self.ignore, start),
            longest_variance=self.longest_variance,
            origins=dict(self.origins),
        )
        with settings_sent(found):
            yield


_OF_THIS_PROCESS: set[SentSettings] = set()


def settings_to_send() -> SentSettings:
    """The settings of this process, to be sent to others."""
    found = settings()
    sent = SentSettings(
        rules=tuple(map(_from_here, found.rules)),
        amendments=tuple(map(_from_here, found.amendments)),
        own_units=found.own_units,
        near=found.near,
        ignore=tuple(found.stated.get("ignore", ())),
        ignore_from=_from_here(str(found.file.parent)) if found.file else None,
        longest_variance=found.longest_variance,
        origins=tuple(sorted(found.origins.items())),
        cached=Caching.used,
    )
    _OF_THIS_PROCESS.add(sent)
    return sent


def _from_here(name: str) -> str:
    """A path, from the working folder if it is below that; the id of a rulebook as it is."""
    # Unlike Path.exists, this is False where a name is too long.
    return shown_path(Path(name)) if os.path.exists(name) else name  # noqa: PTH110


@dataclass(frozen=True, slots=True)
class RulesReader:
    """Reads rulebooks under the settings of the caller."""

    settings: SentSettings

    def __call__(self, rules: tuple[str, ...]) -> "Rulebooks":
        """The rulebooks of these names, else those of the settings."""
        with self.settings.in_force(), with_own_units(own_units()):
            return read_rules(list(rules) or None)


@dataclass(frozen=True, slots=True)
class RuleFinder:
    """Finds rule files under the settings of the caller."""

    settings: SentSettings

    def __call__(self, rules: tuple[str, ...]) -> Mapping[str, Path]:
        """The files that a `RulesReader` reads, by name; it reads all of them again."""
        forget_shipped()
        with self.settings.in_force():
            return files_of_rules(list(rules) or None)
