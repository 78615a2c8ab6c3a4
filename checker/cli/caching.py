"""The user's cache folder, and whether this run uses it."""

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from checker.documents.document_cache import DocumentCache


class Caching:
    """Whether this process uses what earlier runs left in the user's cache folder."""

    used = True


def cache_folder(name: str) -> Path | None:
    """A folder of cached data; None where nothing is to be cached.

    It may not exist yet.
    """
    if not Caching.used:
        return None
    from platformdirs import user_cache_path

    return user_cache_path("cinchbook", appauthor=False) / name


def document_cache() -> "DocumentCache":
    """The cache of parsed files, in the user's cache folder."""
    return _open_document_cache(cache_folder("documents"))


@cache
def _open_document_cache(folder: Path | None) -> "DocumentCache":
    from checker.documents.document_cache import DocumentCache

    return DocumentCache(folder)
