"""Finds the load profiles that haul logs name: the project's own before the bundled ones."""

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from checker.cli.options import own_profiles, say
from checker.documents.resources import shipped_folder


@dataclass(frozen=True, slots=True)
class LoadFinder:
    """Finds load profiles for logs, in this or another process.

    `own` are the caller's `own_profiles`: another process may stand in another folder.
    """

    own: Path | None = None

    def __call__(self, name: str) -> Path:
        """The file of a load by its name in a log: a path from here, else an own or a bundled one.

        Raises FileNotFoundError.
        """
        for path in (Path(name), *places_of_name(name, self.own)):
            # Unlike Path's methods, this is False where a name is too long.
            if os.path.isfile(path):  # noqa: PTH113
                return path
        raise FileNotFoundError(self._missing(name))

    def _missing(self, name: str) -> str:
        from checker.documents.problems import quoted
        from checker.load.build import shown_path

        if self.own is not None:
            wanted = f"a file, a load in '{shown_path(self.own)}' or a bundled load"
        else:
            wanted = "a file, or a bundled load, as there is no folder 'profiles' here or above"
        return (
            f"found no load profile {quoted(name)}; wanted {wanted}; --profiles, or `profiles:` in "
            "cinchbook.yaml, names the folder of your own profiles"
        )


def load_finder(chosen: Path | None) -> LoadFinder:
    """What finds load profiles for this call; `chosen` is the folder of profiles asked for."""
    from checker.load.build import shown_path

    own = own_profiles(chosen)
    return LoadFinder(Path(shown_path(own)) if own is not None else None)


def places_of_name(name: str, own: Path | None) -> Iterator[Path]:
    """Where a profile or log of that name would lie, with or without its ending: own ones first."""
    for folder in filter(None, (own, shipped_folder("profiles"))):
        yield folder / name
        yield folder / f"{name}.yaml"


def note_bundled(files: Mapping[str, str | Path], finder: LoadFinder) -> None:
    """Say which loads are bundled ones although the project has profiles of its own.

    `files` are those of the loads, by their names in the log.
    """
    from checker.documents.problems import listed
    from checker.load.build import shown_path
    from checker.season.hauls.profile_names import BUNDLED, name_of

    if finder.own is None:
        return
    names = (name_of(Path(file), finder.own) for file in files.values())
    found = sorted({name for name in names if name.startswith(BUNDLED)})
    if found:
        own = shown_path(finder.own)
        say(f"note: '{own}' has no such load, so a bundled one is used: {listed(found)}")
