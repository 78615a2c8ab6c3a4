"""Short digests of the inputs of an audit: its log, its rules, its load profiles."""

import os
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path

from checker.documents.files import is_folder, read_blocks
from checker.rulebooks.model import Rulebooks
from checker.season.mark import files_of


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
