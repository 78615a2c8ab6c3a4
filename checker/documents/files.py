"""Files read without waste, and files that are there whole or not at all."""

import contextlib
import errno
import os
import shutil
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Final

_BLOCK: Final = 1 << 16
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


def unwritable(target: Path, error: OSError) -> NotWrittenError:
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
        raise unwritable(target, error) from error
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


def blocks(file: str | Path) -> Iterator[bytes]:
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
    for block in blocks(file):
        read += block
        if len(read) > most:
            break
    return read


def put_text(text: str, target: Path) -> None:
    """Write a text as `put_bytes` does, in UTF-8; raises NotWrittenError."""
    put_bytes(text.encode(), target)


def put_bytes(content: bytes, target: Path, *, lasting: bool = True) -> None:
    """Write a file beside its place and move it there, with the folders it needs.

    Until the move an older file stays as it is, and whatever stops the run leaves no half file.
    What is not `lasting` may be gone or damaged after the machine fails. Raises NotWrittenError,
    also where something other than a file stands there.
    """
    ensure_file(target)
    place = Path(os.path.realpath(target))
    beside = place.with_name(f".{place.name}.{os.getpid()}")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("xb") as file:
            file.write(content)
            if lasting:
                file.flush()
                os.fsync(file.fileno())
        if place.exists():
            shutil.copymode(place, beside)
        beside.replace(place)
    except OSError as error:
        raise unwritable(target, error) from error
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()
