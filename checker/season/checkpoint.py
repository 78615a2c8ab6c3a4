"""Checkpoints: the intermediate results of an audit, saved in a folder until it finishes.

A run that is killed leaves complete files, and the next run of the same audit resumes from them.
The files are plain data; nothing in them is executed. Each file is signed with the key of the
parent folder. A file without a valid signature is ignored and its content computed again.
"""

import shutil
import time
from array import array
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from os import SEEK_END
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final, TypeAlias

import msgspec
import numpy as np
from filelock import FileLock, Timeout

from checker.documents.files import write_file
from checker.documents.private_folder import KEY, digest, sign, verified_content
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.season.logs.limits import MOST_COLUMNS
from checker.season.reading import ParsedPart
from checker.season.table import Heading, Table
from checker.season.totals import Totals

FORM: Final = 11
"""Version of the file formats; a run does not resume from another version."""

_OLD_DAYS: Final = 30
_SECONDS_BETWEEN: Final = 2.0
"""Shortest time between two saves of the totals: a stopped run loses no more work than that."""


class _Progress(msgspec.Struct):
    """The number of finished tasks of a key, counted from the first, and their totals.

    `findings` holds a digest of the findings of each task; empty if findings were not requested.
    """

    key: str
    tasks: int
    totals: Totals
    findings: list[str]


Extent: TypeAlias = tuple[int, int]
"""Where a part of a log begins and its size, in the unit of `Log.size`."""


class BusyError(Exception):
    """Another run of the same audit is still going."""


class PartStore:
    """Where the hauls of each load are in the stored parts of a log."""

    def __init__(self, work: "Checkpoint") -> None:
        self.read = 0
        """Number of rows in all parts."""
        self.refused = Totals()
        """The refused rows of all parts, and nothing else."""
        self._work = work
        self._headings: list[Heading] = []
        self._known: dict[bytes, Heading] = {}
        self._extents: list[Extent] = []
        self._sizes: list[int] = []
        # Three numbers for each part that has hauls of a load: index of the part, start, stop. An
        # array, because objects for hundreds of parts and loads would take the most memory of all.
        self._ranges: dict[str, array[int]] = {}
        self._fields: dict[str, set[str]] = {}

    def __len__(self) -> int:
        """Number of parts."""
        return len(self._sizes)

    def put(self, log: str, extent: Extent, part: ParsedPart | None = None) -> None:
        """Add the next part of a log, and store it if it is given.

        Raises ProblemsFoundError if all parts together state too many fields.
        """
        if part is not None:
            self._work.put_part(len(self), extent, part)
        else:
            part = self._stored(len(self), extent)
        fields = self._fields.setdefault(log, set())
        fields.update(column.field for column in part.heading.columns)
        if len(fields) > MOST_COLUMNS:
            found, wanted = f"{len(fields):,} fields in all rows", f"at most {MOST_COLUMNS:,}"
            raise ProblemsFoundError([Problem(log, Mark(1, 1), found, wanted)])
        for load, (start, stop) in part.loads.items():
            self._ranges.setdefault(load, array("q")).extend((len(self._sizes), start, stop))
        # Most parts of a log have the same heading.
        written = msgspec.msgpack.encode(part.heading)
        self._headings.append(self._known.setdefault(written, part.heading))
        self._extents.append(extent)
        self._sizes.append(len(part.records))
        self.read += part.read
        self.refused.refuse(part.refused)

    @property
    def loads(self) -> Iterable[str]:
        """The loads in the order in which the log first names them."""
        return self._ranges

    def names(self, rows: Collection[int]) -> dict[int, str]:
        """The haul names that the log states for some rows."""
        parts = (self._stored(number, extent) for number, extent in enumerate(self._extents))
        return {row: name for part in parts for row, name in part.names.items() if row in rows}

    def _stored(self, number: int, extent: Extent) -> ParsedPart:
        part = self._work.part(number, extent)
        assert part is not None  # nobody else writes into the folder of a run
        return part

    def slices(self, loads: Iterable[str]) -> Iterator[tuple[str, Table]]:
        """The hauls of some loads, part by part, so that hauls of all loads come early."""
        of_part: dict[int, list[tuple[str, int, int]]] = {}
        for load in loads:
            numbers = iter(self._ranges[load])
            for index, start, stop in zip(numbers, numbers, numbers, strict=True):
                of_part.setdefault(index, []).append((load, start, stop))
        for index, ranges in sorted(of_part.items()):
            heading, dtype = self._headings[index], self._headings[index].dtype
            with self._work.part_file(index).open("rb") as file:
                for load, start, stop in ranges:
                    file.seek(start * dtype.itemsize - self._sizes[index], SEEK_END)
                    records = np.frombuffer(file.read((stop - start) * dtype.itemsize), dtype)
                    yield load, Table(heading, records)


class Checkpoint:
    """The checkpoint folder of one audit."""

    def __init__(self, folder: Path, secret: bytes = b"") -> None:
        """Use `folder`; ignore files in it that were not signed with `secret`."""
        self.folder = folder
        self._secret = secret
        self._kept_at = time.monotonic()
        self._digests: list[str] = []

    def part(self, number: int, extent: Extent) -> ParsedPart | None:
        """A part of the log; None if it is not stored, or not as a whole."""
        try:
            content = self._content(self.part_file(number))
            stored, part = msgspec.msgpack.decode(content, type=tuple[Extent, ParsedPart])
        except (OSError, msgspec.DecodeError):
            return None
        # Another run may divide the log differently.
        return part if stored == extent else None

    def put_part(self, number: int, extent: Extent, part: ParsedPart) -> None:
        """Store a part of the log."""
        # Waiting for the disk each time would take as long as reading the log. A killed run loses
        # nothing by not waiting, and after a power failure the digest does not match.
        self._put(msgspec.msgpack.encode((extent, part)), self.part_file(number), durable=False)

    def part_file(self, number: int) -> Path:
        """The file of a part, which ends with its records."""
        return self.folder / f"part-{number:06}"

    def _content(self, file: Path) -> bytes:
        """The content of a file; raises OSError if it is missing, empty if it is not signed."""
        return verified_content(file.read_bytes(), file.name, self._secret) or b""

    def _put(self, content: bytes, file: Path, *, durable: bool = True) -> None:
        write_file(sign(content, file.name, self._secret), file, durable=durable)

    def _digest(self, content: bytes) -> str:
        return digest(content, "", self._secret).hex()

    def progress(self, key: str) -> tuple[int, Totals]:
        """The number of finished tasks, counted from the first, and their totals.

        0 if the tasks had another key, or if any of their files is missing or damaged.
        """
        try:
            content = self._content(self._progress_file)
            stored = msgspec.json.decode(content, type=_Progress)
            found = [
                self._digest(self._findings(task).read_bytes())
                for task in range(len(stored.findings))
            ]
        except (OSError, msgspec.DecodeError):
            return 0, Totals()
        if (stored.key, stored.findings) != (key, found):
            return 0, Totals()
        self._digests = found
        return stored.tasks, stored.totals

    def put_progress(self, key: str, tasks: int, totals: Totals) -> None:
        """Save the totals of the finished tasks, at most every two seconds."""
        if time.monotonic() - self._kept_at >= _SECONDS_BETWEEN:
            progress = _Progress(key, tasks, totals, self._digests)
            self._put(msgspec.json.encode(progress), self._progress_file)
            self._kept_at = time.monotonic()

    def forget_progress(self) -> None:
        """Delete all totals and findings, so that evaluation starts from the first task."""
        self._digests = []
        for file in (self._progress_file, *self.findings()):
            file.unlink(missing_ok=True)

    def put_findings(self, task: int, findings: bytes) -> None:
        """Store all findings of a task, before the task counts as finished."""
        write_file(findings, self._findings(task))
        self._digests[task:] = [self._digest(findings)]

    def findings(self) -> list[Path]:
        """The findings files of all tasks, in order."""
        return sorted(self.folder.glob("findings-*"))

    @property
    def _progress_file(self) -> Path:
        return self.folder / "progress.json"

    def _findings(self, task: int) -> Path:
        return self.folder / f"findings-{task:06}"


@contextmanager
def open_checkpoint(parent: Path, key: str, secret: bytes) -> Iterator[Checkpoint]:
    """The checkpoint of the audit with this key; deleted when the block ends without an error.

    `parent` must exist; `secret` is its signing key. Raises BusyError while another run uses the
    checkpoint.
    """
    _remove_old(parent)
    lock = FileLock(parent / f"{key}.lock", timeout=0)
    try:
        lock.acquire()
    except Timeout as error:
        raise BusyError("found another run of this audit; wanted it to end first") from error
    with lock:
        folder = parent / key
        folder.mkdir(mode=0o700, exist_ok=True)
        yield Checkpoint(folder, secret)
        shutil.rmtree(folder)


@contextmanager
def temporary_folder() -> Iterator[Checkpoint]:
    """A checkpoint in a temporary folder, for one run only."""
    with TemporaryDirectory(prefix="cinchbook-") as folder:
        yield Checkpoint(Path(folder))


def _remove_old(parent: Path) -> None:
    """Delete the files of audits that were not resumed for 30 days."""
    before = time.time() - _OLD_DAYS * 86_400
    for each in parent.iterdir():
        if each.name != KEY and each.stat().st_mtime < before:
            if each.is_dir():
                shutil.rmtree(each, ignore_errors=True)
            else:
                each.unlink(missing_ok=True)
