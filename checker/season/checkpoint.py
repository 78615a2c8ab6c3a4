"""Checkpoints: the intermediate results of an audit, saved in a folder until it finishes.

A run that is killed leaves complete files, and the next run of the same audit resumes from them.
The files are plain arrays and JSON; nothing in them is executed. Each file is signed with the key
of the parent folder. A file without a valid signature is ignored and its content computed again.
"""

import shutil
import time
from array import array
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final, TypeAlias, TypeVar

import msgspec
import numpy as np
from filelock import FileLock, Timeout
from numpy.typing import NDArray

from checker.documents.files import write_file
from checker.documents.private_folder import KEY, digest, sign, verified_content
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.season.logs.limits import MOST_COLUMNS
from checker.season.logs.model import Refused
from checker.season.reading import Heading, ParsedPart, RowSlice
from checker.season.totals import MOST_REFUSALS_LISTED, Totals

FORM: Final = 10
"""Version of the file formats; a run does not resume from another version."""

_OLD_DAYS: Final = 30
_SECONDS_BETWEEN: Final = 2.0
"""Shortest time between two saves of the totals: a stopped run loses no more work than that."""


class _PartFile(msgspec.Struct):
    """The JSON file stored beside the records of a part of the log; see `ParsedPart`.

    `extent` identifies the part, as another run may divide the log differently.
    """

    extent: tuple[int, int]
    records: str
    """Digest of the records file."""
    heading: msgspec.Raw
    loads: Mapping[str, tuple[int, int]]
    read: int
    refused: int
    refusals: Sequence[Refused]
    names: Mapping[int, str]


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


_Form = TypeVar("_Form", bound=msgspec.Struct)


class BusyError(Exception):
    """Another run of the same audit is still going."""


@dataclass(frozen=True, slots=True)
class StoredPart:
    """A part of the log whose hauls and haul names are stored on disk."""

    work: "Checkpoint"
    number: int
    heading: Heading
    read: int
    refused: int
    refusals: Sequence[Refused]

    def records(self, ranges: Iterable[tuple[int, int]]) -> Iterator[NDArray[np.void]]:
        """The records of each range (start, stop) of indices."""
        dtype = self.heading.dtype
        with self.work.file(self.number, ".records").open("rb") as file:
            for start, stop in ranges:
                file.seek(start * dtype.itemsize)
                yield np.frombuffer(file.read((stop - start) * dtype.itemsize), dtype)

    def names(self, rows: Collection[int]) -> Iterator[tuple[int, str]]:
        """Row and haul name, for those of `rows` for which the log states a name."""
        stored = self.work.stored(self.number)
        return (each for each in (stored.names if stored else {}).items() if each[0] in rows)


class PartStore:
    """All stored parts of a log, with the ranges in which each part holds the hauls of a load."""

    def __init__(self) -> None:
        self.parts: list[StoredPart] = []
        # Three numbers for each part that has hauls of a load: index of the part, start, stop. An
        # array, because objects for hundreds of parts and loads would take the most memory of all.
        self._ranges: dict[str, array[int]] = {}
        self._fields: dict[str, set[str]] = {}

    def put(self, log: str, part: StoredPart, loads: Mapping[str, tuple[int, int]]) -> None:
        """Add the next part of a log; `loads` holds the range of the hauls of each load in it.

        Raises ProblemsFoundError if all parts together state too many fields.
        """
        fields = self._fields.setdefault(log, set())
        fields.update(column.field for column in part.heading.columns)
        if len(fields) > MOST_COLUMNS:
            found, wanted = f"{len(fields):,} fields in all rows", f"at most {MOST_COLUMNS:,}"
            raise ProblemsFoundError([Problem(log, Mark(1, 1), found, wanted)])
        for load, (start, stop) in loads.items():
            self._ranges.setdefault(load, array("q")).extend((len(self.parts), start, stop))
        self.parts.append(part)

    @property
    def loads(self) -> Iterable[str]:
        """The loads in the order in which the log first names them."""
        return self._ranges

    def slices(self, loads: Iterable[str]) -> Iterator[tuple[str, RowSlice]]:
        """The hauls of some loads, part by part, so that hauls of all loads come early."""
        of_part: dict[int, dict[str, tuple[int, int]]] = {}
        for load in loads:
            numbers = iter(self._ranges[load])
            for index, start, stop in zip(numbers, numbers, numbers, strict=True):
                of_part.setdefault(index, {})[load] = (start, stop)
        for index, ranges in sorted(of_part.items()):
            part = self.parts[index]
            for load, records in zip(ranges, part.records(ranges.values()), strict=True):
                yield load, (records, part.heading)


class Checkpoint:
    """The checkpoint folder of one audit."""

    def __init__(self, folder: Path, secret: bytes = b"") -> None:
        """Use `folder`; ignore files in it that were not signed with `secret`."""
        self.folder = folder
        self._secret = secret
        self._kept_at = time.monotonic()
        self._digests: list[str] = []

    def has_part(self, number: int, extent: Extent) -> bool:
        """True if this part of the log is stored completely."""
        stored = self.stored(number)
        try:
            records = self.file(number, ".records").read_bytes()
        except OSError:
            return False
        return stored is not None and (
            (stored.extent, stored.records) == (extent, self._digest(records))
        )

    def part(self, number: int) -> tuple[StoredPart, Mapping[str, tuple[int, int]]]:
        """A stored part of the log, and the range of the hauls of each load in it."""
        stored = self.stored(number)
        assert stored is not None  # callers have stored it or called `has_part`
        heading = _heading(bytes(stored.heading))
        part = StoredPart(self, number, heading, stored.read, stored.refused, stored.refusals)
        return part, stored.loads

    def put_part(self, number: int, extent: Extent, part: ParsedPart) -> None:
        """Store a part of the log; it counts as stored once its second file is written."""
        records = part.records.tobytes()
        stored = _PartFile(
            extent=extent,
            records=self._digest(records),
            heading=msgspec.Raw(msgspec.json.encode(part.heading)),
            loads=part.loads,
            read=part.read,
            refused=len(part.refused),
            refusals=part.refused[:MOST_REFUSALS_LISTED],
            names=part.names,
        )
        # Waiting for the disk each time would take as long as reading the log. A killed run loses
        # nothing by not waiting, and after a power failure the digests do not match.
        write_file(records, self.file(number, ".records"), durable=False)
        self._put(stored, self.file(number, ".json"), durable=False)

    def stored(self, number: int) -> _PartFile | None:
        """The JSON file of a part; None if it is missing or its signature is not valid."""
        return self._read(self.file(number, ".json"), _PartFile)

    def _read(self, file: Path, form: type[_Form]) -> _Form | None:
        try:
            content = verified_content(file.read_bytes(), file.name, self._secret)
            return None if content is None else msgspec.json.decode(content, type=form)
        except (OSError, msgspec.DecodeError):
            return None

    def _put(self, content: msgspec.Struct, file: Path, *, durable: bool = True) -> None:
        written = sign(msgspec.json.encode(content), file.name, self._secret)
        write_file(written, file, durable=durable)

    def _digest(self, content: bytes) -> str:
        return digest(content, "", self._secret).hex()

    def progress(self, key: str) -> tuple[int, Totals]:
        """The number of finished tasks, counted from the first, and their totals.

        0 if the tasks had another key, or if any of their files is missing or damaged.
        """
        stored = self._read(self._progress_file, _Progress)
        if stored is None or stored.key != key:
            return 0, Totals()
        try:
            found = [
                self._digest(self._findings(task).read_bytes())
                for task in range(len(stored.findings))
            ]
        except OSError:
            return 0, Totals()
        if found != stored.findings:
            return 0, Totals()
        self._digests = found
        return stored.tasks, stored.totals

    def put_progress(self, key: str, tasks: int, totals: Totals) -> None:
        """Save the totals of the finished tasks, at most every two seconds."""
        if time.monotonic() - self._kept_at >= _SECONDS_BETWEEN:
            self._put(_Progress(key, tasks, totals, self._digests), self._progress_file)
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

    def file(self, number: int, suffix: str) -> Path:
        """Path of the file of a part with this suffix."""
        return self.folder / f"part-{number:06}{suffix}"


@lru_cache(maxsize=64)
def _heading(content: bytes) -> Heading:
    """A heading from JSON; cached, as most parts of a log have the same one."""
    return msgspec.json.decode(content, type=Heading)


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
