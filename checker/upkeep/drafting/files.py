"""The profile files a new file may refer to."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from checker.documents.document import read_bounded
from checker.documents.reader import read_bytes


@dataclass(frozen=True, slots=True)
class Files:
    """The files below the folder that references start from."""

    root: Path

    def of_kind(self, kind: str) -> list[str]:
        """References to files of a kind, in the root itself or in a folder of it."""
        return [
            path.relative_to(self.root).with_suffix("").as_posix()
            for path in self._near()
            if _kind(path) == kind
        ]

    def has(self, reference: str, kind: str) -> bool:
        """True if a reference leads to a file of that kind, in any subfolder."""
        return _kind(self.root / f"{reference}.yaml") == kind

    def _near(self) -> Iterator[Path]:
        yield from sorted(self.root.glob("*.yaml"))
        yield from sorted(self.root.glob("*/*.yaml"))


def _kind(path: Path) -> str | None:
    """The kind that a file states; None where it states none or cannot be read."""
    try:
        return _kind_in(read_bounded(path))
    except OSError:
        return None


@lru_cache(maxsize=1000)
def _kind_in(content: bytes) -> str | None:
    """The kind in the bytes of a file: one guide asks for those of all files many times."""
    return read_bytes(content, "").kind
