"""Short digests of the inputs of an audit: its log, its rules, its load profiles."""

import os
from collections.abc import Iterator
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path

from checker.documents.files import is_folder, read_blocks
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.logs.yaml_folder import names_in
from checker.rulebooks.model import Rulebooks


def digest_of_log(log: Path) -> str:
    """A digest of a log's bytes, or of all files of a folder by their names and bytes."""
    total = blake2b(digest_size=8)
    beneath = os.path.join(log, "") if is_folder(log) else None  # noqa: PTH118 - as in `files_of`
    for file in files_of(log):
        if beneath is not None:
            total.update(file.removeprefix(beneath).encode(errors="surrogateescape"))
        # A file that cannot be read adds no bytes; reading the log reports it as a problem.
        with suppress(OSError):
            for block in read_blocks(file):
                total.update(block)
    return total.hexdigest()


def digest_of_rules(rulebooks: Rulebooks) -> str:
    """A digest of all rule files that are evaluated, and of other ids that variances may name."""
    parts = [f"{book.id} {book.digest}" for book in rulebooks.books]
    parts += [f"{table.id} {table.digest}" for table in rulebooks.tables]
    parts += [f"{amendment.id} {amendment.digest}" for amendment in rulebooks.amendments]
    parts += [f"{register.id} {register.digest}" for register in rulebooks.registers]
    parts += sorted(rulebooks.elsewhere)
    return digest_of_text("\n".join(parts))


def digest_of_text(text: str) -> str:
    """A digest of a text with uniform line ends."""
    return blake2b(text.encode(), digest_size=8).hexdigest()


def change_mark(log: Path) -> str:
    """A digest that changes if a file of the log is written, replaced, added or removed.

    It covers sizes, times and inodes and reads no content, so it is cheap. It also changes if a
    file is written again with the same content.
    """
    files = list(files_of(log))
    marks = repr([files, *map(_change_mark, files)])
    return blake2b(marks.encode(errors="surrogateescape"), digest_size=8).hexdigest()


def files_of(log: Path) -> Iterator[str]:
    """The file of a log, or the files of a folder, listed lazily."""
    if not is_folder(log):
        yield str(log)
        return
    beneath = os.path.join(log, "")  # noqa: PTH118 - a Path for each file doubles the time
    yield from (beneath + name for name in names_in(log))


def ensure_unchanged(log: Path, mark: str) -> None:
    """Raise ProblemsFoundError if the mark of a log is no longer `mark`."""
    if change_mark(log) != mark:
        found = "a log that was written to while it was read"
        wanted = "it to stay as it is until the audit is done"
        raise ProblemsFoundError([Problem(str(log), Mark(1, 1), found, wanted)])


def _change_mark(file: str) -> tuple[int, ...]:
    try:
        found = os.stat(file)  # noqa: PTH116 - as above
    except OSError:
        return ()
    return found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino
