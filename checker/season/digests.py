"""Short digests of what an audit rests on: its log, its rules, its load profiles."""

import os
from hashlib import blake2b
from pathlib import Path

from checker.documents.files import is_folder, read_blocks
from checker.rulebooks.model import Rulebooks
from checker.season.logs.yaml_folder import names_in


def digest_of_log(log: Path) -> str:
    """A digest of a log's bytes, or of all files of a folder by their names and bytes."""
    total = blake2b(digest_size=8)
    if not is_folder(log):
        _add_bytes(str(log), total)
        return total.hexdigest()
    beneath = os.path.join(log, "")  # noqa: PTH118 - a Path costs twice the reading
    for name in names_in(log):
        total.update(name.encode(errors="surrogateescape"))
        _add_bytes(beneath + name, total)
    return total.hexdigest()


def _add_bytes(file: str, total: blake2b) -> None:
    """What cannot be read has no bytes; whoever reads the log refuses it and says why."""
    try:
        for block in read_blocks(file):
            total.update(block)
    except OSError:
        return


def digest_of_rules(rulebooks: Rulebooks) -> str:
    """A digest of all rule files that judging rests on, and of ids variances may name."""
    parts = [f"{book.id} {book.digest}" for book in rulebooks.books]
    parts += [f"{table.id} {table.digest}" for table in rulebooks.tables]
    parts += [f"{amendment.id} {amendment.digest}" for amendment in rulebooks.amendments]
    parts += sorted(rulebooks.elsewhere)
    return digest_of_text("\n".join(parts))


def digest_of_text(text: str) -> str:
    """A digest of a text whose line ends are all of one kind."""
    return blake2b(text.encode(), digest_size=8).hexdigest()
