"""What earlier runs left in the user's cache folder, and whether this run uses it."""

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from checker.documents.document_cache import DocumentCache


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


def document_cache() -> "DocumentCache":
    """Files read in earlier runs, among what the user's system keeps for programs."""
    return _open_document_cache(cache_folder("documents"))


@cache
def _open_document_cache(folder: Path | None) -> "DocumentCache":
    from checker.documents.document_cache import DocumentCache

    return DocumentCache(folder)
