"""Parsed files kept as plain JSON, because parsing YAML is most of a check's time.

The name of an entry is a digest of everything it depends on: the file's bytes, how much of the file
was asked for, the units in force, and the code that reads and validates it. An entry that is out of
date is therefore never found. Each entry starts with a digest of itself, made with the key of the
folder: an entry that is cut short, changed, renamed or of another form counts as missing, and the
file is read. Nothing in an entry is ever executed. Only files without problems are kept, so
problems are always reported by the reader itself.
"""

import contextlib
import hashlib
import json
import time
from collections.abc import Iterator, Mapping, Set
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

import msgspec

from checker import __version__
from checker.documents.document import Document, decode_text, read_bounded
from checker.documents.escaping import escaped
from checker.documents.files import NotWrittenError, read_content, remove_leftovers, write_file
from checker.documents.private_folder import KEY, key_of, sign, verified_content
from checker.documents.problems import DataPath, Mark
from checker.documents.validate import validate
from checker.units.words import own_units

_OLD_DAYS: Final = 30
_MOST_BYTES: Final = 64_000_000
"""A longer entry is not ours: files are short, and their entries are not much longer."""


class _Node(msgspec.Struct, array_like=True, gc=False):
    """Line and column of a value, those of its key (0 without one), and the nodes inside it."""

    line: int
    column: int
    key_line: int
    key_column: int
    inside: "dict[str, _Node] | list[_Node] | None"


class _Entry(msgspec.Struct):
    """The cached data of one file."""

    data: Any
    whole: bool
    sound: bool
    marks: _Node


class DocumentCache:
    """A folder of parsed files; without a folder, or when it fails, every file is read."""

    def __init__(self, folder: Path | None) -> None:
        self._secret = (key_of(folder) if folder and _code_digest() else None) or b""
        self._folder = folder if self._secret else None
        self._looked_for_old = False

    def read_file(
        self,
        path: Path,
        shown_as: str,
        *,
        first_only: Set[str] = frozenset(),
        until: Set[str] = frozenset(),
    ) -> Document:
        """The same document as `reader.read_file`, from the cache if it is there."""
        folder = self._folder
        raw = _entry_bytes(path) if folder else None
        if folder is None or raw is None:
            from checker.documents.reader import read_file

            return read_file(path, shown_as, first_only=first_only, until=until)
        entry = folder / _entry_name(raw, first_only, until)
        if (found := self._read_entry(entry)) is not None:
            return _document(found, raw, shown_as)
        # Imported for uncached files only: the parser costs more than many cached files.
        from checker.documents.reader import read_bytes

        document = read_bytes(raw, shown_as, first_only=first_only, until=until)
        if not document.problems:
            self._write_entry(document, entry)
        return document

    def _write_entry(self, document: Document, entry: Path) -> None:
        """Write an entry; if that fails, nothing more is kept in this run."""
        found = _Entry(
            data=document.data,
            whole=document.whole,
            sound=document.whole and not validate(document),
            marks=_nested_marks(document, document.data, ()),
        )
        text = msgspec.json.encode(found)
        try:
            write_file(sign(text, entry.name, self._secret), entry, durable=False)
        except NotWrittenError:
            self._folder = None
        if not self._looked_for_old:
            self._looked_for_old = True
            _remove_old_entries(entry.parent)

    def _read_entry(self, entry: Path) -> _Entry | None:
        """The content of an entry; None if it is missing, or was not written with our key."""
        try:
            text = verified_content(read_content(entry, _MOST_BYTES), entry.name, self._secret)
            return None if text is None else msgspec.json.decode(text, type=_Entry)
        except (OSError, msgspec.DecodeError, RecursionError):
            return None


def _entry_bytes(path: Path) -> bytes | None:
    try:
        return read_bounded(path)
    except OSError:
        return None


@cache
def _code_digest() -> bytes:
    """A digest of the code that entries depend on; empty if the code cannot be read."""
    here = Path(__file__).parent
    files = [
        *here.glob("*.py"),
        *here.glob("schemas/*.json"),
        *here.glob("*.txt"),
        *here.parent.glob("units/*.py"),
        *_definitions_of_pint(),
    ]
    digest = hashlib.sha256(__version__.encode())
    try:
        for file in sorted(files):
            digest.update(file.read_bytes())
    except OSError:
        return b""
    return digest.digest() if files else b""


def _definitions_of_pint() -> list[Path]:
    """The file in which pint defines its units; an upgrade may change which words are units.

    It is found without importing pint, which takes longer than a check.
    """
    found = find_spec("pint")
    folders = (found.submodule_search_locations if found else None) or ()
    return [Path(folder) / "default_en.txt" for folder in folders]


def _entry_name(raw: bytes, first_only: Set[str], until: Set[str]) -> str:
    asked = json.dumps([sorted(first_only), sorted(until), repr(own_units())]).encode()
    return hashlib.sha256(b"%b%d %b %b" % (_code_digest(), len(asked), asked, raw)).hexdigest()


def _document(found: _Entry, raw: bytes, shown_as: str) -> Document:
    return Document(
        escaped(shown_as),
        found.data,
        _MarksByPath(found.marks, of_keys=False),
        _MarksByPath(found.marks, of_keys=True),
        text=decode_text(raw),
        whole=found.whole,
        sound=found.sound,
    )


def _nested_marks(document: Document, data: Any, path: DataPath) -> _Node:
    inside: Any = None
    if isinstance(data, dict):
        inside = {key: _nested_marks(document, each, (*path, key)) for key, each in data.items()}
    elif isinstance(data, list):
        inside = [_nested_marks(document, each, (*path, at)) for at, each in enumerate(data)]
    return _Node(*document.values[path], *document.keys.get(path, (0, 0)), inside)


class _MarksByPath(Mapping[DataPath, Mark]):
    """Positions by path, looked up in the tree they are stored in: most are never needed."""

    def __init__(self, top: _Node, *, of_keys: bool) -> None:
        self._top = top
        self._of_keys = of_keys

    def __getitem__(self, path: DataPath) -> Mark:
        node: Any = self._top
        try:
            for part in path:
                node = node.inside[part]
        except (KeyError, IndexError, TypeError):
            raise KeyError(path) from None
        mark = self._mark(node)
        if not mark.line:
            raise KeyError(path)
        return mark

    def _mark(self, node: _Node) -> Mark:
        return (
            Mark(node.key_line, node.key_column) if self._of_keys else Mark(node.line, node.column)
        )

    def __iter__(self) -> Iterator[DataPath]:
        return (path for path, node in _nodes(self._top, ()) if self._mark(node).line)

    def __len__(self) -> int:
        return sum(1 for _ in self)


def _nodes(node: _Node, path: DataPath) -> Iterator[tuple[DataPath, _Node]]:
    """A node and all inside it, in the order of the file."""
    yield path, node
    inside = node.inside or []
    parts: Any = inside.items() if isinstance(inside, dict) else enumerate(inside)
    for part, each in parts:
        yield from _nodes(each, (*path, part))


def _remove_old_entries(folder: Path) -> None:
    """Remove old and half-written entries; one still in use is written again."""
    remove_leftovers(folder)
    before = time.time() - _OLD_DAYS * 86_400
    with contextlib.suppress(OSError):
        for each in folder.iterdir():
            if each.name != KEY and each.stat().st_mtime < before:
                each.unlink(missing_ok=True)
