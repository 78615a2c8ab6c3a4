"""Checkpoints: the counts and records of an audit's finished tasks, saved until it finishes.

The next run of a stopped audit reads the log again and resumes after these tasks. The files are
plain data; nothing in them is executed. The counts are signed with the key of the parent folder;
without a valid signature all tasks are done again.
"""

import shutil
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from itertools import chain
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

import msgspec
from filelock import FileLock, Timeout

from checker.documents.files import NotWrittenError, write_file
from checker.documents.private_folder import KEY, digest, sign, verified_content
from checker.season.records.recording import Records
from checker.season.totals import Totals

FORM: Final = 20
"""Version of the file formats; a run does not resume from another version."""

_FINDINGS: Final = "findings"
_EVIDENCE: Final = "evidence"
_OLD_DAYS: Final = 30
_LOCK: Final = ".lock"
_SECONDS_BETWEEN: Final = 2.0
"""Shortest time between two saves of the totals: a stopped run loses no more work than that."""


class _Progress(msgspec.Struct):
    """The number of finished tasks of a key, counted from the first, and their totals.

    `records` holds, by the name of its files, a digest of each task's record of single hauls; empty
    if none was requested.
    """

    key: str
    tasks: int
    totals: Totals
    records: dict[str, list[str]]


class BusyError(Exception):
    """Another run of the same audit is still going."""


class NotSavedError(Exception):
    """A run cannot save its results, or they were deleted; the message says how to go on."""


class Checkpoint:
    """The checkpoint folder of one audit.

    Saving raises NotWrittenError where the folder cannot be written, or was deleted.
    """

    def __init__(self, folder: Path, secret: bytes = b"") -> None:
        """Use `folder`; ignore files in it that were not signed with `secret`."""
        self.folder = folder
        self._secret = secret
        self._kept_at = time.monotonic()
        self._digests: dict[str, list[str]] = {}

    def _digest(self, content: bytes) -> str:
        return digest(content, "", self._secret).hex()

    def progress(self, key: str) -> tuple[int, Totals]:
        """The number of finished tasks, counted from the first, and their totals.

        0 if the tasks had another key, or if any of their files is missing or damaged.
        """
        try:
            written = self._progress_file.read_bytes()
            content = verified_content(written, self._progress_file.name, self._secret) or b""
            stored = msgspec.json.decode(content, type=_Progress)
            found = {
                name: [
                    self._digest(self._record(name, task).read_bytes()) for task in range(len(of))
                ]
                for name, of in stored.records.items()
            }
        except (OSError, msgspec.DecodeError):
            return 0, Totals()
        if (stored.key, stored.records) != (key, found):
            return 0, Totals()
        self._digests = found
        return stored.tasks, stored.totals

    def put_progress(self, key: str, tasks: int, totals: Totals) -> None:
        """Save the totals of the finished tasks, at most every two seconds."""
        if time.monotonic() - self._kept_at >= _SECONDS_BETWEEN:
            progress = msgspec.json.encode(_Progress(key, tasks, totals, self._digests))
            file = self._progress_file
            write_file(sign(progress, file.name, self._secret), file)
            self._kept_at = time.monotonic()

    def forget_progress(self) -> None:
        """Delete all totals and records, so that evaluation starts from the first task."""
        self._digests = {}
        records = (self.folder.glob(f"{name}-*") for name in (_FINDINGS, _EVIDENCE))
        for file in (self._progress_file, *chain.from_iterable(records)):
            file.unlink(missing_ok=True)

    def put_records(self, task: int, records: Records) -> None:
        """Store the records of a task, before the task counts as finished."""
        if records.findings is not None:
            self.put_findings(task, records.findings)
        if records.evidence is not None:
            self._put(_EVIDENCE, task, records.evidence)

    def put_findings(self, task: int, findings: bytes) -> None:
        """Store all findings of a task, before the task counts as finished."""
        self._put(_FINDINGS, task, findings)

    def findings(self) -> list[Path]:
        """The findings files of all tasks, in order; raises NotWrittenError if one is missing."""
        return self._stored(_FINDINGS)

    def evidence(self) -> list[Path]:
        """The files of all tasks with the evidence of single hauls, in order, as `findings`."""
        return self._stored(_EVIDENCE)

    def _put(self, name: str, task: int, content: bytes) -> None:
        # Else a run of hours would learn at its end that its first records are gone.
        self._ensure_stored(name, range(task)[-1:])
        write_file(content, self._record(name, task))
        self._digests.setdefault(name, [])[task:] = [self._digest(content)]

    def _stored(self, name: str) -> list[Path]:
        tasks = range(len(self._digests.get(name, ())))
        self._ensure_stored(name, tasks)
        return [self._record(name, task) for task in tasks]

    def _ensure_stored(self, name: str, tasks: range) -> None:
        for file in (self._record(name, task) for task in tasks):
            if not file.is_file():
                raise NotWrittenError(f"found '{file}' deleted; wanted it kept until the run ends")

    @contextmanager
    def saving(self) -> Iterator[None]:
        """Raise NotSavedError in place of NotWrittenError inside a `with` block."""
        try:
            yield
        except NotWrittenError as error:
            if self._secret and self._progress_file.is_file():
                then = "the same command goes on from what was saved last"
            else:
                then = "the same command begins again"
            raise NotSavedError(f"{error}; {then}") from error

    @property
    def _progress_file(self) -> Path:
        return self.folder / "progress.json"

    def _record(self, name: str, task: int) -> Path:
        return self.folder / f"{name}-{task:06}"


@contextmanager
def open_checkpoint(parent: Path, key: str, secret: bytes) -> Iterator[Checkpoint]:
    """The checkpoint of the audit with this key; deleted when the block ends without an error.

    `secret` is the signing key of `parent`. A temporary folder where `parent` cannot be written.
    Raises BusyError while another run uses the checkpoint.
    """
    folder = parent / key
    with ExitStack() as stack:
        try:
            _remove_old(parent)
            stack.enter_context(_lock(folder))
            folder.mkdir(mode=0o700, exist_ok=True)
        except Timeout as error:
            raise BusyError("found another run of this audit; wanted it to end first") from error
        except OSError:
            yield stack.enter_context(temporary_folder())
            return
        yield Checkpoint(folder, secret)
        # The results are complete, so a file that cannot be deleted must not stop their report.
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def temporary_folder() -> Iterator[Checkpoint]:
    """A checkpoint in a temporary folder, for one run only."""
    with TemporaryDirectory(prefix="cinchbook-") as folder:
        yield Checkpoint(Path(folder))


def _lock(folder: Path) -> FileLock:
    """The lock that a run holds while it uses a checkpoint folder."""
    return FileLock(folder.with_name(folder.name + _LOCK), timeout=0)


def _remove_old(parent: Path) -> None:
    """Delete the files of audits that were not resumed for 30 days.

    Where the clock was set forward every folder looks old, so the folder of a run that is still
    going is told by its lock.
    """
    written: dict[str, float] = {}
    for each in parent.iterdir():
        name = each.name.removesuffix(_LOCK)
        with suppress(FileNotFoundError):  # removed by another run meanwhile
            written[name] = max(each.stat().st_mtime, written.get(name, 0.0))
    written.pop(KEY, None)
    before = time.time() - _OLD_DAYS * 86_400
    for old in (parent / name for name, at in written.items() if at < before):
        with suppress(Timeout, OSError), _lock(old) as lock:
            if old.is_dir():
                shutil.rmtree(old, ignore_errors=True)
            else:
                old.unlink(missing_ok=True)
            Path(lock.lock_file).unlink()
