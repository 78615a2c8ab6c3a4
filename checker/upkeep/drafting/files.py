"""The profile files a new file may refer to."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from checker.documents.reader import read_file


@dataclass(frozen=True, slots=True)
class Files:
    """The files below the folder that references start from."""

    root: Path

    def of_kind(self, kind: str) -> list[str]:
        """References to files of a kind, in the root itself or in a folder of it."""
        return [
            path.relative_to(self.root).with_suffix("").as_posix()
            for path in self._near()
            if read_file(path).kind == kind
        ]

    def has(self, reference: str, kind: str) -> bool:
        """True if a reference leads to a file of that kind, in any subfolder."""
        return read_file(self.root / f"{reference}.yaml").kind == kind

    def _near(self) -> Iterator[Path]:
        yield from sorted(self.root.glob("*.yaml"))
        yield from sorted(self.root.glob("*/*.yaml"))
