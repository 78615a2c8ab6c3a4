"""What earlier runs left in the user's cache folder, and whether this run uses it."""

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from checker.documents.kept import Kept


class Caching:
    """Whether this process believes what earlier runs keep in the user's cache folder."""

    used = True


def cache_folder(name: str) -> Path | None:
    """One of the folders in which runs keep what they have done; None where nothing is to be kept.

    It may not be there yet.
    """
    if not Caching.used:
        return None
    from platformdirs import user_cache_path

    return user_cache_path("cinchbook", appauthor=False) / name


def kept() -> "Kept":
    """Files read in earlier runs, among what the user's system keeps for programs."""
    return _kept_in(cache_folder("documents"))


@cache
def _kept_in(folder: Path | None) -> "Kept":
    from checker.documents.kept import Kept

    return Kept(folder)
