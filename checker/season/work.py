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
from hashlib import blake2b
from hmac import compare_digest
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final, TypeAlias

import msgspec
import numpy as np
from filelock import FileLock, Timeout
from numpy.typing import NDArray

from checker.documents.files import write_file
from checker.documents.private_folder import DIGEST_BYTES, KEY, sign, verified_content
from checker.documents.problems import printable
from checker.season.logs.model import Refused
from checker.season.reading import Heading, Piece, Sheet
from checker.season.totals import Totals

FORM: Final = 6
"""Grows with what stands in the folder: nobody goes on from another form."""

_OLD_DAYS: Final = 30
_SECONDS_BETWEEN: Final = 2.0
"""Counts are kept so often: to go on from there costs no more than that."""


class _Told(msgspec.Struct):
    """What a part of the log holds beside its records and names; see `Sheet`."""

    fields: list[tuple[str, str]]
    heading: msgspec.Raw
    loads: Mapping[str, tuple[int, int]]
    read: int
    refused: int
    refusals: Sequence[Refused]
    named: Sequence[tuple[int, int]]


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


class BusyError(Exception):
    """Another run of the same audit is under way."""


@dataclass(frozen=True, slots=True)
class StoredSheet:
    """A part of the log that is read, with its hauls on disk."""

    file: Path
    dtype: np.dtype[np.void]
    heading: Heading
    read: int
    refused: int
    refusals: Sequence[Refused]
    named: Sequence[tuple[int, int]]

    def records(self, places: Iterable[tuple[int, int]]) -> Iterator[NDArray[np.void]]:
        """Some of its hauls: for each pair those from the first place on, up to the second."""
        with self.file.open("rb", buffering=0) as file:
            for start, stop in places:
                file.seek(start * self.dtype.itemsize)
                read = file.read((stop - start) * self.dtype.itemsize)
                yield np.frombuffer(read, self.dtype)

    def names(self, rows: Collection[int]) -> Iterator[tuple[int, str]]:
        """Of these rows those that the log names, and how."""
        lines = self.file.with_suffix(".names").read_bytes().split(b"\n")
        above = 0
        for first, count in self.named:
            for row in rows:
                if first <= row < first + count:
                    written = lines[above + row - first].decode(errors="surrogatepass")
                    if name := printable(written).strip():
                        yield row, name
            above += count


class Shelf:
    """All parts of a log that are read, and where the hauls of each load stand in them."""

    def __init__(self) -> None:
        self.sheets: list[StoredSheet] = []
        # Three numbers for each part a load is in: which part, first and last. A season has some
        # hundred parts and loads, and as objects these would grow to more than all else.
        self._places: dict[str, array[int]] = {}

    def put(self, sheet: StoredSheet, loads: Mapping[str, tuple[int, int]]) -> None:
        """Add the next part, in which the hauls of each load begin and end there."""
        for load, (start, stop) in loads.items():
            self._places.setdefault(load, array("q")).extend((len(self.sheets), start, stop))
        self.sheets.append(sheet)

    @property
    def loads(self) -> Iterable[str]:
        """The loads in the order in which the log first names them."""
        return self._places

    def pieces(self, loads: Iterable[str]) -> Iterator[tuple[str, Piece]]:
        """The hauls of some loads, part after part, so that a slice has some of all loads."""
        of_part: dict[int, dict[str, tuple[int, int]]] = {}
        for load in loads:
            numbers = iter(self._places[load])
            for part, start, stop in zip(numbers, numbers, numbers, strict=True):
                of_part.setdefault(part, {})[load] = (start, stop)
        for part, places in sorted(of_part.items()):
            sheet = self.sheets[part]
            for load, records in zip(places, sheet.records(places.values()), strict=True):
                yield load, (records, sheet.heading)


class Work:
    """The folder of one audit."""

    def __init__(self, folder: Path, secret: bytes = b"") -> None:
        """Go on from what is there and was written with this key."""
        self.folder = folder
        self._secret = secret
        self._kept_at = time.monotonic()
        self._digests: list[str] = []

    def has_sheet(self, number: int, extent: Extent) -> bool:
        """Whether a part of the log has been read already, and nothing of that is lost."""
        try:
            written, told = self._told(number)
            records, names = (
                self._file(number, suffix).read_bytes() for suffix in (".records", ".names")
            )
            sheet, _ = self.sheet(number)
            whole = len(records) % sheet.dtype.itemsize == 0
        except (OSError, msgspec.DecodeError, TypeError, ValueError, ZeroDivisionError):
            return False
        return whole and compare_digest(written, self._of_part(extent, records, names, told))

    def sheet(self, number: int) -> tuple[StoredSheet, Mapping[str, tuple[int, int]]]:
        """A part of the log that has been read, and where the hauls of each load stand in it."""
        told = msgspec.json.decode(self._told(number)[1], type=_Told)
        sheet = StoredSheet(
            file=self._file(number, ".records"),
            dtype=np.dtype(told.fields),
            heading=_heading(bytes(told.heading)),
            read=told.read,
            refused=told.refused,
            refusals=told.refusals,
            named=told.named,
        )
        return sheet, told.loads

    def put_sheet(self, number: int, extent: Extent, sheet: Sheet) -> None:
        """Keep a part of the log that has been read; it counts once its last file is there."""
        records = sheet.records.tobytes()
        told = msgspec.json.encode(
            _Told(
                fields=[(name, form) for name, form, *_ in sheet.records.dtype.descr],
                heading=msgspec.Raw(msgspec.json.encode(sheet.heading)),
                loads=sheet.loads,
                read=sheet.read,
                refused=sheet.refused,
                refusals=sheet.refusals,
                named=sheet.named,
            )
        )
        # To wait for the disk each time would take as long as the reading. A run that is killed
        # loses nothing by that, and where the power fails the digest tells.
        write_file(records, self._file(number, ".records"), lasting=False)
        write_file(sheet.names, self._file(number, ".names"), lasting=False)
        written = self._of_part(extent, records, sheet.names, told)
        write_file(written + told, self._file(number, ".json"), lasting=False)

    def _told(self, number: int) -> tuple[bytes, bytes]:
        """The digest of the files of a part, and what is told of it."""
        read = self._file(number, ".json").read_bytes()
        return read[:DIGEST_BYTES], read[DIGEST_BYTES:]

    def _of_part(self, extent: Extent, *contents: bytes) -> bytes:
        """A digest that differs too where another run parts the log otherwise, as a later may."""
        total = blake2b(repr(extent).encode(), digest_size=DIGEST_BYTES, key=self._secret)
        for each in contents:
            total.update(b"%d " % len(each))
            total.update(each)
        return total.digest()

    def judged(self, key: str) -> tuple[int, Totals]:
        """How many tasks have been judged, from the first on, and what they come to.

        None if they were tasks of another key, or if anything of them or their findings is lost.
        """
        try:
            told = verified_content(self._so_far.read_bytes(), self._so_far.name, self._secret)
            if told is None:
                return 0, Totals()
            kept = msgspec.json.decode(told, type=_SoFar)
            digests = [
                self._digest(self._findings(task).read_bytes())
                for task in range(len(kept.findings))
            ]
        except (OSError, msgspec.DecodeError):
            return 0, Totals()
        if kept.key != key or digests != kept.findings:
            return 0, Totals()
        self._digests = digests
        return kept.tasks, kept.totals

    def put_judged(self, key: str, tasks: int, totals: Totals) -> None:
        """Keep what so many tasks come to, unless that was done a moment ago."""
        if time.monotonic() - self._kept_at >= _SECONDS_BETWEEN:
            told = msgspec.json.encode(_SoFar(key, tasks, totals, self._digests))
            write_file(sign(told, self._so_far.name, self._secret), self._so_far)
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

    def _digest(self, findings: bytes) -> str:
        return blake2b(findings, digest_size=DIGEST_BYTES, key=self._secret).hexdigest()

    def findings(self) -> list[Path]:
        """The findings of all tasks, in their order."""
        return sorted(self.folder.glob("findings-*"))

    @property
    def _so_far(self) -> Path:
        return self.folder / "judged.json"

    def _findings(self, task: int) -> Path:
        return self.folder / f"findings-{task:06}"

    def _file(self, number: int, suffix: str) -> Path:
        return self.folder / f"part-{number:06}{suffix}"


@lru_cache(maxsize=64)
def _heading(told: bytes) -> Heading:
    """A heading from JSON; most parts of a log have the same, and it is kept once."""
    return msgspec.json.decode(told, type=Heading)


@contextmanager
def kept_work(parent: Path, key: str, secret: bytes) -> Iterator[Work]:
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
        yield Work(folder, secret)
        shutil.rmtree(folder)


@contextmanager
def passing_work() -> Iterator[Work]:
    """A folder for one run only."""
    with TemporaryDirectory(prefix="cinchbook-") as folder:
        yield Work(Path(folder))


def _forget_old(parent: Path) -> None:
    """Remove what nobody came back for."""
    before = time.time() - _OLD_DAYS * 86_400
    for each in parent.iterdir():
        if each.name != KEY and each.stat().st_mtime < before:
            if each.is_dir():
                shutil.rmtree(each, ignore_errors=True)
            else:
                each.unlink(missing_ok=True)
