"""A lock for a file that is read, changed and written again, so that no change of another is lost.

The lock is a file beside it, made so that only one process can make it. That holds on every system
and on network drives too, where locks of the operating system may be missing. It is removed at the
end; that of a process that was killed on this machine is taken over.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from checker.documents.files import NotWrittenError, write_error

_WAIT_S: Final = 10.0
"""Several times what a change takes."""


@contextmanager
def locked(file: Path) -> Iterator[None]:
    """Hold the lock of a file, which need not exist; waits while another process holds it.

    Raises NotWrittenError where that takes longer, or where no lock can be made beside the file.
    """
    from filelock import SoftFileLock, Timeout  # slow to import, and only a change needs it

    path = file.resolve()
    beside = path.with_name(f".{path.name}.lock")
    lock = SoftFileLock(beside, timeout=_WAIT_S)
    try:
        lock.acquire()
    except Timeout as error:
        message = (
            f"found '{file}' being changed by somebody else; wanted it to end: try again, or "
            f"remove '{beside}' if nobody changes it"
        )
        raise NotWrittenError(message) from error
    except OSError as error:
        raise write_error(file, error) from error
    try:
        yield
    finally:
        lock.release()
