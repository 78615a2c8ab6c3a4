"""What an audit has done so far, kept in a folder until all of it is done.

A run that is stopped, however rudely, leaves whole files behind, and the next run of the same audit
goes on from them. The files are plain arrays and JSON: nothing in them is ever executed. Digests
that take the key of the folder above to make tell what a run of ours wrote; the rest is done anew.
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
from checker.season.totals import MOST_TOLD, Totals

FORM: Final = 8
"""Grows with what stands in the folder: nobody goes on from another form."""

_OLD_DAYS: Final = 30
_SECONDS_BETWEEN: Final = 2.0
"""Counts are kept so often: to go on from there costs no more than that."""


class _PartFile(msgspec.Struct):
    """What a part of the log holds beside its records; see `ParsedPart`.

    `extent` says which part it is: another run may part the log otherwise.
    """

    extent: tuple[int, int]
    records: str
    """A digest of them."""
    heading: msgspec.Raw
    loads: Mapping[str, tuple[int, int]]
    read: int
    refused: int
    refusals: Sequence[Refused]
    names: Mapping[int, str]


class _SoFar(msgspec.Struct):
    """How many tasks of a key are judged, from the first on, and what they come to.

    `findings` are digests of the findings of each task, none where nobody asked for them.
    """

    key: str
    tasks: int
    totals: Totals
    findings: list[str]


Extent: TypeAlias = tuple[int, int]
"""Where a part of a log begins and its size, in the measure of the log's own size."""


_Form = TypeVar("_Form", bound=msgspec.Struct)


class BusyError(Exception):
    """Another run of the same audit is under way."""


@dataclass(frozen=True, slots=True)
class StoredPart:
    """A part of the log that is read, with its hauls and their own names on disk."""

    work: "Checkpoint"
    number: int
    heading: Heading
    read: int
    refused: int
    refusals: Sequence[Refused]

    def records(self, places: Iterable[tuple[int, int]]) -> Iterator[NDArray[np.void]]:
        """Some of its hauls: for each pair those from the first index on, up to the second."""
        dtype = self.heading.dtype
        with self.work.file(self.number, ".records").open("rb") as file:
            for start, stop in places:
                file.seek(start * dtype.itemsize)
                yield np.frombuffer(file.read((stop - start) * dtype.itemsize), dtype)

    def names(self, rows: Collection[int]) -> Iterator[tuple[int, str]]:
        """Of these rows those that the log names, and how."""
        stored = self.work.stored(self.number)
        return (each for each in (stored.names if stored else {}).items() if each[0] in rows)


class PartStore:
    """All parts of a log that are read, and where the hauls of each load stand in them."""

    def __init__(self) -> None:
        self.parts: list[StoredPart] = []
        # Three numbers for each part a load is in: which part, first and last. A season has some
        # hundred parts and loads, and as objects these would grow to more than all else.
        self._places: dict[str, array[int]] = {}
        self._fields: dict[str, set[str]] = {}

    def put(self, log: str, part: StoredPart, loads: Mapping[str, tuple[int, int]]) -> None:
        """Add the next part of a log, in which the hauls of each load begin and end there.

        Raises ProblemsFoundError where its parts state too many fields between them.
        """
        fields = self._fields.setdefault(log, set())
        fields.update(column.field for column in part.heading.columns)
        if len(fields) > MOST_COLUMNS:
            found, wanted = f"{len(fields):,} fields in all rows", f"at most {MOST_COLUMNS:,}"
            raise ProblemsFoundError([Problem(log, Mark(1, 1), found, wanted)])
        for load, (start, stop) in loads.items():
            self._places.setdefault(load, array("q")).extend((len(self.parts), start, stop))
        self.parts.append(part)

    @property
    def loads(self) -> Iterable[str]:
        """The loads in the order in which the log first names them."""
        return self._places

    def pieces(self, loads: Iterable[str]) -> Iterator[tuple[str, RowSlice]]:
        """The hauls of some loads, part after part, so that a slice has some of all loads."""
        of_part: dict[int, dict[str, tuple[int, int]]] = {}
        for load in loads:
            numbers = iter(self._places[load])
            for index, start, stop in zip(numbers, numbers, numbers, strict=True):
                of_part.setdefault(index, {})[load] = (start, stop)
        for index, places in sorted(of_part.items()):
            part = self.parts[index]
            for load, records in zip(places, part.records(places.values()), strict=True):
                yield load, (records, part.heading)


class Checkpoint:
    """The folder of one audit."""

    def __init__(self, folder: Path, secret: bytes = b"") -> None:
        """Go on from what is there and was written with this key."""
        self.folder = folder
        self._secret = secret
        self._kept_at = time.monotonic()
        self._digests: list[str] = []

    def has_part(self, number: int, extent: Extent) -> bool:
        """True if this part of the log has been read already, and nothing of that is lost."""
        stored = self.stored(number)
        try:
            records = self.file(number, ".records").read_bytes()
        except OSError:
            return False
        return stored is not None and (
            (stored.extent, stored.records) == (extent, self._digest(records))
        )

    def part(self, number: int) -> tuple[StoredPart, Mapping[str, tuple[int, int]]]:
        """A part of the log that has been read, and where the hauls of each load stand in it."""
        stored = self.stored(number)
        assert stored is not None  # as whoever asks for it has read it, or asked for `has_part`
        heading = _heading(bytes(stored.heading))
        part = StoredPart(self, number, heading, stored.read, stored.refused, stored.refusals)
        return part, stored.loads

    def put_part(self, number: int, extent: Extent, part: ParsedPart) -> None:
        """Keep a part of the log that has been read; it counts once its last file is there."""
        records = part.records.tobytes()
        stored = _PartFile(
            extent=extent,
            records=self._digest(records),
            heading=msgspec.Raw(msgspec.json.encode(part.heading)),
            loads=part.loads,
            read=part.read,
            refused=len(part.refused),
            refusals=part.refused[:MOST_TOLD],
            names=part.names,
        )
        # To wait for the disk each time would take as long as the reading. A run that is killed
        # loses nothing by that, and where the power fails the digests differ.
        write_file(records, self.file(number, ".records"), lasting=False)
        self._put(stored, self.file(number, ".json"), lasting=False)

    def stored(self, number: int) -> _PartFile | None:
        """What is kept of a part beside its records; None if that is none of ours."""
        return self._read(self.file(number, ".json"), _PartFile)

    def _read(self, file: Path, form: type[_Form]) -> _Form | None:
        try:
            content = verified_content(file.read_bytes(), file.name, self._secret)
            return None if content is None else msgspec.json.decode(content, type=form)
        except (OSError, msgspec.DecodeError):
            return None

    def _put(self, content: msgspec.Struct, file: Path, *, lasting: bool = True) -> None:
        written = sign(msgspec.json.encode(content), file.name, self._secret)
        write_file(written, file, lasting=lasting)

    def _digest(self, content: bytes) -> str:
        return digest(content, "", self._secret).hex()

    def judged(self, key: str) -> tuple[int, Totals]:
        """How many tasks have been judged, from the first on, and what they come to.

        None if they were tasks of another key, or if anything of them or their findings is lost.
        """
        kept = self._read(self._so_far, _SoFar)
        if kept is None or kept.key != key:
            return 0, Totals()
        try:
            found = [
                self._digest(self._findings(task).read_bytes())
                for task in range(len(kept.findings))
            ]
        except OSError:
            return 0, Totals()
        if found != kept.findings:
            return 0, Totals()
        self._digests = found
        return kept.tasks, kept.totals

    def put_judged(self, key: str, tasks: int, totals: Totals) -> None:
        """Keep what so many tasks come to, unless that was done a moment ago."""
        if time.monotonic() - self._kept_at >= _SECONDS_BETWEEN:
            self._put(_SoFar(key, tasks, totals, self._digests), self._so_far)
            self._kept_at = time.monotonic()

    def forget_judged(self) -> None:
        """Begin judging anew."""
        self._digests = []
        for file in (self._so_far, *self.findings()):
            file.unlink(missing_ok=True)

    def put_findings(self, task: int, findings: bytes) -> None:
        """Keep all findings of a task, before it counts as done."""
        write_file(findings, self._findings(task))
        self._digests[task:] = [self._digest(findings)]

    def findings(self) -> list[Path]:
        """The findings of all tasks, in their order."""
        return sorted(self.folder.glob("findings-*"))

    @property
    def _so_far(self) -> Path:
        return self.folder / "judged.json"

    def _findings(self, task: int) -> Path:
        return self.folder / f"findings-{task:06}"

    def file(self, number: int, suffix: str) -> Path:
        """A file of a part."""
        return self.folder / f"part-{number:06}{suffix}"


@lru_cache(maxsize=64)
def _heading(told: bytes) -> Heading:
    """A heading from JSON; most parts of a log have the same, and it is kept once."""
    return msgspec.json.decode(told, type=Heading)


@contextmanager
def open_checkpoint(parent: Path, key: str, secret: bytes) -> Iterator[Checkpoint]:
    """The folder of the audit with that key; gone once all is done, there if it is not.

    `secret` is the key of the folder above, which is there. Raises BusyError while another run has
    it.
    """
    _forget_old(parent)
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
    """A folder for one run only."""
    with TemporaryDirectory(prefix="cinchbook-") as folder:
        yield Checkpoint(Path(folder))


def _forget_old(parent: Path) -> None:
    """Remove what nobody came back for."""
    before = time.time() - _OLD_DAYS * 86_400
    for each in parent.iterdir():
        if each.name != KEY and each.stat().st_mtime < before:
            if each.is_dir():
                shutil.rmtree(each, ignore_errors=True)
            else:
                each.unlink(missing_ok=True)
