"""Reads ordinary files in bounded memory, and writes files so that they are complete or absent."""

import contextlib
import errno
import os
import re
import shutil
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Final

_BLOCK: Final = 1 << 16
_WRITABLE: Final = stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH
_TEMPORARY: Final = re.compile(r"\.(?P<name>.+)\.(?P<process>[0-9]{1,10})(?:\.[a-z]+)?", re.DOTALL)
# Windows would change the line ends of a text file.
# Without waiting: opening a pipe without a writer would never return.
_AS_BYTES: Final = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)


_KINDS: Final = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISSOCK, "a socket"),
)


class NotWrittenError(Exception):
    """A file that cannot be written; the message gives the reason."""


def write_error(target: Path, error: OSError) -> NotWrittenError:
    """The message for a file that the operating system refuses to write."""
    reason = (error.strerror or str(error)).lower()
    return NotWrittenError(f"found '{target}', which cannot be written ({reason})")


def ensure_file(target: Path) -> None:
    """Raise NotWrittenError if something other than an ordinary file to write is at the path.

    A file that is read-only is refused: a new file in its place would ignore that.
    """
    try:
        kind = target.stat().st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        raise write_error(target, error) from error
    if not stat.S_ISREG(kind):
        what = next((name for is_such, name in _KINDS if is_such(kind)), "no ordinary file")
        raise NotWrittenError(f"found '{target}', {what}; wanted a file to write")
    # Some accounts may write everything, so the mode is asked, too.
    if not kind & _WRITABLE or not os.access(target, os.W_OK):
        raise NotWrittenError(f"found '{target}', which is read-only; wanted a file to write")


def is_folder(path: str | Path) -> bool:
    """True for a folder; unlike Path.is_dir, False where a name is too long."""
    return os.path.isdir(path)  # noqa: PTH112


def open_regular(file: str | Path) -> int:
    """A handle to read an ordinary file; raises OSError for a pipe, device or folder.

    Reading one of those may never end.
    """
    handle = os.open(file, _AS_BYTES)
    kind = os.fstat(handle).st_mode
    if stat.S_ISREG(kind):
        return handle
    os.close(handle)
    if stat.S_ISDIR(kind):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(file))
    raise OSError(errno.EINVAL, "Not an ordinary file", str(file))


def open_binary(file: str | Path) -> BinaryIO:
    """An ordinary file opened to read bytes; raises OSError as `open_regular` does."""
    return os.fdopen(open_regular(file), "rb")


def read_blocks(file: str | Path) -> Iterator[bytes]:
    """The bytes of a file, block by block; raises OSError.

    For small files this takes a third of the time of file objects, which counts in a large folder.
    """
    handle = open_regular(file)
    try:
        while block := os.read(handle, _BLOCK):
            yield block
    finally:
        os.close(handle)


def read_content(file: str | Path, most: int) -> bytes:
    """The bytes of a file, at most a little more than `most`; raises OSError."""
    read = b""
    for block in read_blocks(file):
        read += block
        if len(read) > most:
            break
    return read


def write_file(content: bytes, target: Path, *, durable: bool = True) -> None:
    """Write a file as `new_file` does; raises NotWrittenError."""
    with new_file(target, durable=durable) as file:
        file.write(content)


@contextlib.contextmanager
def new_file(target: Path, *, durable: bool = True) -> Iterator[BinaryIO]:
    """A new file written beside its target and moved there at the end; makes missing folders.

    Until the move an older file stays as it is, so a run that stops leaves no half-written file.
    The new file has mode and owner of the older one, else the system's default mode. A file
    that is not `durable` may be lost or damaged when the machine crashes. Raises NotWrittenError,
    also where the target exists and is not a file.
    """
    ensure_file(target)
    path = Path(os.path.realpath(target))
    beside = temporary_name(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if durable:
            remove_leftovers(path.parent, path.name)
        older = path.stat() if path.exists() else None

        def opener(name: str, flags: int) -> int:
            return os.open(name, flags, stat.S_IMODE(older.st_mode) if older else 0o666)

        with open(beside, "xb", opener=opener) as file:
            if older is not None:
                _keep_owner_and_mode(beside, older)
            yield file
            if durable:
                file.flush()
                os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        raise write_error(target, error) from error
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()


def _keep_owner_and_mode(file: Path, older: os.stat_result) -> None:
    """Give a file the group, the owner and the mode of an older one, as far as one may."""
    if hasattr(os, "chown"):
        for owner, group in ((-1, older.st_gid), (older.st_uid, -1)):
            with contextlib.suppress(PermissionError):
                os.chown(file, owner, group)
    file.chmod(stat.S_IMODE(older.st_mode))


def temporary_name(path: Path, suffix: str = "") -> Path:
    """The name of a file while it is written; it holds the process id, for `remove_leftovers`."""
    return path.with_name(f".{path.name}.{os.getpid()}{suffix}")


def remove_leftovers(folder: Path, name: str | None = None) -> None:
    """Remove half-written files of ended processes from a folder, of one name or of any.

    A file with this process's own id is from an earlier process with the same id.
    """
    with contextlib.suppress(OSError):
        for each in os.scandir(folder):
            found = _TEMPORARY.fullmatch(each.name)
            if not found or (name is not None and found["name"] != name):
                continue
            process = int(found["process"])
            if process == os.getpid() or not _is_alive(process):
                if each.is_dir(follow_symlinks=False):
                    shutil.rmtree(each.path, ignore_errors=True)
                else:
                    with contextlib.suppress(OSError):
                        os.unlink(each.path)  # noqa: PTH108 - as scandir gives it


def _is_alive(process: int) -> bool:
    """True if a process of that id runs, or if this system cannot tell without ending it."""
    if os.name == "nt":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):  # another user's process; an id that no process has
        return True
    return True
