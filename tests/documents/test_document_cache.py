"""A file that was kept is told as one that is read; what is wrong in the folder changes nothing."""

import hashlib
import json
import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from checker.documents import document_cache as module
from checker.documents import quick_validation, reader
from checker.documents.document import Document
from checker.documents.document_cache import DocumentCache
from checker.documents.private_folder import DIGEST_BYTES, key_of, sign, verified_content
from checker.documents.reader import read_file
from checker.documents.resources import shipped_folder
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from tests.shipped import shipped_rules

TEXT = """kind: rulebook
id: straps
answers: {yes: true, "7": 0x1, none: ~}
numbers: [1, -2.50, 1e-9, 123456789012345678]
texts: ["é", 'yes', 2026-01-01, "tab\\there"]
anchored: &deep {inside: [a, {b: c}]}
again: *deep
folded: >
  one
  two
rules:
- {id: a, proofs: [{name: first}, {name: second}]}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "book.yaml"
    path.write_text(TEXT, "utf-8")
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "kept"


@pytest.fixture
def never_parsed(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """From the call on no file can be parsed, and none held against a schema."""

    def fail(*_args: object, **_named: object) -> Document:
        raise AssertionError("a file was parsed")

    def forbid() -> None:
        monkeypatch.setattr(reader, "read_bytes", fail)
        monkeypatch.setattr(quick_validation, "fits", fail)

    return forbid


def entries(folder: Path) -> list[Path]:
    return [each for each in folder.iterdir() if each.name != "key"]


def told(document: Document) -> tuple[object, ...]:
    """All of a document, with places in their order."""
    places = list(document.values.items()), list(document.keys.items())
    rest = document.problems, document.text, document.whole
    return document.file, repr(document.data), *places, *rest


PARTS: list[dict[str, frozenset[str]]] = [
    {},
    {"first_only": frozenset({"proofs"})},
    {"until": frozenset({"rules"})},
]


@pytest.mark.parametrize("part", PARTS)
def test_what_is_kept_is_what_was_read(
    part: dict[str, frozenset[str]], file: Path, folder: Path, never_parsed: Callable[[], None]
) -> None:
    whole = told(read_file(file, "shown", **part))
    assert told(DocumentCache(folder).read_file(file, "shown", **part)) == whole
    never_parsed()
    assert told(DocumentCache(folder).read_file(file, "shown", **part)) == whole


def test_parts_of_a_file_are_kept_apart(file: Path, folder: Path) -> None:
    for part in (*PARTS, *PARTS):
        assert told(DocumentCache(folder).read_file(file, "s", **part)) == told(
            read_file(file, "s", **part)
        )
    assert len(entries(folder)) == len(PARTS)


def test_every_shipped_rule_file_is_kept_as_it_is_read(folder: Path) -> None:
    files = sorted(shipped_folder("rules").rglob("*.yaml"))
    part = PARTS[1]
    for each in files:
        read = told(read_file(each, "s", **part))
        for _ in range(2):
            assert told(DocumentCache(folder).read_file(each, "s", **part)) == read
    assert len(entries(folder)) == len(files)


def test_places_inside_a_kept_file_fall_back_to_what_encloses(file: Path, folder: Path) -> None:
    file.write_text(TEXT.replace("&deep ", "").replace("*deep", "none"))  # then lists are cut
    for _ in range(2):
        document = DocumentCache(folder).read_file(file, "s", first_only=frozenset({"proofs"}))
        assert document.value_mark(("rules", 0, "proofs", 1, "name")) == document.value_mark(
            ("rules", 0, "proofs")
        )
        assert document.key_mark(("rules", 0)) == document.value_mark(("rules", 0))
        assert document.value_mark(("texts", "nothing", 3)) == document.value_mark(("texts",))
        assert document.mark_inside(("folded",), 5) == read_file(file).mark_inside(("folded",), 5)


def test_a_file_that_changes_is_read_anew(file: Path, folder: Path) -> None:
    DocumentCache(folder).read_file(file, "s")
    file.write_text(TEXT.replace("straps", "chains"), "utf-8")
    assert DocumentCache(folder).read_file(file, "s").data == read_file(file).data


def test_the_same_bytes_under_another_name_are_shown_under_it(file: Path, folder: Path) -> None:
    DocumentCache(folder).read_file(file, "one")
    assert DocumentCache(folder).read_file(file, "two").file == "two"


def test_other_code_does_not_find_what_was_kept(
    file: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    DocumentCache(folder).read_file(file, "s")
    monkeypatch.setattr(module, "_code_digest", lambda: b"other")
    DocumentCache(folder).read_file(file, "s")
    assert len(entries(folder)) == 2


def test_problems_are_found_each_time_and_never_kept(tmp_path: Path, folder: Path) -> None:
    file = tmp_path / "bad.yaml"
    file.write_text("a: 1\na: 2\n")
    for _ in range(2):
        document = DocumentCache(folder).read_file(file, "s")
        assert [str(each) for each in document.problems] == [
            "s:2:1: found the key 'a' a second time; wanted each key once; it is already on line 1"
        ]
    assert not entries(folder)


def test_a_file_that_is_not_there_is_a_problem(tmp_path: Path, folder: Path) -> None:
    for keeper in (DocumentCache(folder), DocumentCache(None)):
        document = keeper.read_file(tmp_path / "none.yaml", "none.yaml")
        assert [each.found for each in document.problems] == [
            "a file that cannot be read (no such file or directory)"
        ]


def _cut(entry: Path, _other: Path) -> None:
    entry.write_bytes(entry.read_bytes()[:-20])


def _empty(entry: Path, _other: Path) -> None:
    entry.write_bytes(b"")


def _flipped(entry: Path, _other: Path) -> None:
    content = bytearray(entry.read_bytes())
    content[content.index(b"straps")] ^= 1
    entry.write_bytes(bytes(content))


def _of_another_file(entry: Path, other: Path) -> None:
    entry.write_bytes(other.read_bytes())


def _foreign(entry: Path, _other: Path) -> None:
    entry.write_text(json.dumps({"data": {"kind": "rulebook"}, "whole": True, "places": []}))


def _changed(entry: Path) -> bytes:
    return entry.read_bytes()[DIGEST_BYTES:].replace(b"-2.5", b"-9.5")


def _changed_with_a_plain_digest(entry: Path, _other: Path) -> None:
    text = _changed(entry)
    entry.write_bytes(hashlib.sha256(entry.name.encode() + text).digest() + text)


def _changed_with_a_digest_without_key(entry: Path, _other: Path) -> None:
    entry.write_bytes(sign(_changed(entry), entry.name, b""))


def _changed_with_the_key_of_another_folder(entry: Path, _other: Path) -> None:
    elsewhere = key_of(entry.parent.with_name("elsewhere"))
    assert elsewhere
    entry.write_bytes(sign(_changed(entry), entry.name, elsewhere))


def _no_file(entry: Path, _other: Path) -> None:
    entry.unlink()
    entry.mkdir()


@pytest.mark.parametrize(
    "spoil",
    [
        _cut,
        _empty,
        _flipped,
        _of_another_file,
        _foreign,
        _changed_with_a_plain_digest,
        _changed_with_a_digest_without_key,
        _changed_with_the_key_of_another_folder,
        _no_file,
    ],
)
def test_a_spoilt_entry_counts_as_not_there(
    spoil: Callable[[Path, Path], None], file: Path, folder: Path, tmp_path: Path
) -> None:
    DocumentCache(folder).read_file(file, "s")
    (entry,) = entries(folder)
    other_file = tmp_path / "other.yaml"
    other_file.write_text(TEXT.replace("straps", "chains"), "utf-8")
    DocumentCache(folder).read_file(other_file, "s")
    (other,) = set(entries(folder)) - {entry}
    spoil(entry, other)
    assert told(DocumentCache(folder).read_file(file, "s")) == told(read_file(file, "s"))
    assert told(DocumentCache(folder).read_file(file, "s")) == told(read_file(file, "s"))


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'{"data": {"kind": "rulebook"}}',
        b'{"data": {}, "whole": 1, "sound": true, "places": [1, 1, 0, 0, null]}',
        b'{"data": {}, "whole": true, "sound": true, "places": [1, 1]}',
        b'{"data": {}, "whole": true, "sound": true, "places": [1, 1, 0, 0, {"a": 7}]}',
        b'{"data": ' + b"[" * 100_000 + b"]" * 100_000 + b"}",
        b'{"data": "\xff", "whole": true, "sound": true, "places": [1, 1, 0, 0, null]}',
    ],
)
def test_an_entry_of_another_form_is_read_again_though_its_digest_is_right(
    text: bytes, file: Path, folder: Path
) -> None:
    DocumentCache(folder).read_file(file, "s")
    (entry,) = entries(folder)
    key = key_of(folder)
    assert key
    entry.write_bytes(sign(text, entry.name, key))
    assert told(DocumentCache(folder).read_file(file, "s")) == told(read_file(file, "s"))
    assert verified_content(entry.read_bytes(), entry.name, key) not in (text, None)


def test_where_nothing_can_be_written_files_are_read(file: Path, tmp_path: Path) -> None:
    (tmp_path / "no folder").write_text("")
    keeper = DocumentCache(tmp_path / "no folder" / "kept")
    for _ in range(2):
        assert told(keeper.read_file(file, "s")) == told(read_file(file, "s"))


def test_what_was_written_long_ago_is_removed(file: Path, folder: Path) -> None:
    folder.mkdir()
    key = key_of(folder)
    (folder / "old").write_text("")
    (folder / "new").write_text("")
    long_ago = time.time() - 31 * 86_400
    for name in ("old", "key"):
        os.utime(folder / name, (long_ago, long_ago))
    DocumentCache(folder).read_file(file, "s")
    assert {each.name for each in folder.iterdir()} > {"new", "key"}
    assert key_of(folder) == key
    assert not (folder / "old").exists()


def test_rulebooks_are_the_same_from_what_was_kept(
    folder: Path, never_parsed: Callable[[], None]
) -> None:
    def told_of(books: Rulebooks) -> list[tuple[object, ...]]:
        return [
            (book.id, book.digest, rule.id, rule.location, rule.requires.text, rule.thresholds)
            for book in books.books
            for rule in book.rules
        ]

    read = told_of(shipped_rules())
    rules = shipped_folder("rules")
    assert told_of(load_rulebooks(rules, cache=DocumentCache(folder))) == read
    never_parsed()
    assert told_of(load_rulebooks(rules, cache=DocumentCache(folder))) == read
