"""Files read without waste, and files that are there whole or not at all."""

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
_TEMPORARY: Final = re.compile(r"\.(?P<name>.+)\.(?P<process>[0-9]{1,10})(?:\.[a-z]+)?", re.DOTALL)
# Windows would make other line ends of what it takes for a text.
# Without waiting: opening a pipe that nobody writes to would never come back.
_AS_BYTES: Final = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)


_KINDS: Final = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISSOCK, "a socket"),
)


class NotWrittenError(Exception):
    """A file that cannot be written; the message says why."""


def write_error(target: Path, error: OSError) -> NotWrittenError:
    """What to say of a file that the system does not let be written."""
    reason = (error.strerror or str(error)).lower()
    return NotWrittenError(f"found '{target}', which cannot be written ({reason})")


def ensure_file(target: Path) -> None:
    """Raise NotWrittenError where something other than an ordinary file stands at a place."""
    try:
        kind = target.stat().st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        raise write_error(target, error) from error
    if not stat.S_ISREG(kind):
        what = next((name for is_such, name in _KINDS if is_such(kind)), "no ordinary file")
        raise NotWrittenError(f"found '{target}', {what}; wanted a file to write")


def is_folder(path: str | Path) -> bool:
    """True for a folder; unlike Path's own question, False where a name is too long."""
    return os.path.isdir(path)  # noqa: PTH112


def open_regular(file: str | Path) -> int:
    """A handle to read an ordinary file; raises OSError for any other: pipe, device, folder.

    What is none can be without an end, or keep a reader waiting for ever.
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
    """An ordinary file opened to read its bytes; raises OSError as `open_regular` does."""
    return os.fdopen(open_regular(file), "rb")


def read_blocks(file: str | Path) -> Iterator[bytes]:
    """The bytes of a file, block after block; raises OSError.

    For small files this costs a third of what file objects do: of a folder of them, most of all.
    """
    handle = open_regular(file)
    try:
        while block := os.read(handle, _BLOCK):
            yield block
    finally:
        os.close(handle)


def content(file: str | Path, most: int) -> bytes:
    """The bytes of a file, of a long one somewhat more than `most`; raises OSError."""
    read = b""
    for block in read_blocks(file):
        read += block
        if len(read) > most:
            break
    return read


def write_text_file(text: str, target: Path) -> None:
    """Write a text as `write_file` does, in UTF-8; raises NotWrittenError."""
    write_file(text.encode(), target)


def write_file(content: bytes, target: Path, *, lasting: bool = True) -> None:
    """Write a file as `new_file` does; raises NotWrittenError."""
    with new_file(target, lasting=lasting) as file:
        file.write(content)


@contextlib.contextmanager
def new_file(target: Path, *, lasting: bool = True) -> Iterator[BinaryIO]:
    """A new file beside its place, moved there at the end, with the folders it needs.

    Until the move an older file stays as it is, and whatever stops the run leaves no half file. The
    new file has the mode of the older one from the beginning, else the one that the system gives.
    What is not `lasting` may be gone or damaged after the machine fails. Raises NotWrittenError,
    also where something other than a file stands there.
    """
    ensure_file(target)
    place = Path(os.path.realpath(target))
    beside = temporary_name(place)
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        if lasting:
            remove_leftovers(place.parent, place.name)
        older = stat.S_IMODE(place.stat().st_mode) if place.exists() else None

        def opener(name: str, flags: int) -> int:
            return os.open(name, flags, 0o666 if older is None else older)

        with open(beside, "xb", opener=opener) as file:
            if older is not None:
                beside.chmod(older)
            yield file
            if lasting:
                file.flush()
                os.fsync(file.fileno())
        beside.replace(place)
    except OSError as error:
        raise write_error(target, error) from error
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()


def temporary_name(place: Path, suffix: str = "") -> Path:
    """What a file is called until it is whole: whose process that was tells who may remove it."""
    return place.with_name(f".{place.name}.{os.getpid()}{suffix}")


def remove_leftovers(folder: Path, name: str | None = None) -> None:
    """Remove what processes that are gone left half written in a folder, of one name or of any.

    A process of this one's own number was another one, in its place.
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
    """True if a process of that number runs, or where no system call tells without ending it."""
    if os.name == "nt":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):  # somebody else's; a number that no process has
        return True
    return True
