"""Documents that the program wrote, read back: every fault is told with the place where it stands.

Lines and columns were counted by hand in the texts below.
"""

import json
from pathlib import Path

import pytest

from checker.documents import json_documents
from checker.documents.json_documents import read_json_document
from checker.documents.problems import ProblemsFoundError
from checker.documents.schemas import schema_of_written

SOUND = """\
{
  "kind": "impact",
  "cinchbook": "1.0",
  "cautions": [],
  "judged": 2,
  "refused": ["a \\"quoted\\", {name}: [1"],
  "outcomes": [], "differences": [],
  "verdicts": [],
  "nearest": [
    {"load": "A", "file": "a.yaml", "on": "2026-05-14", "rule": "r", "margin": 0.5},
    {"load": "B", "file": "b.yaml", "on": "2026-05-14", "rule": "r", "margin": 1}
  ]
}
"""


def told(tmp_path: Path, text: str | bytes, version: str = "1.0") -> list[str]:
    """The problems of a document, without the name of its file."""
    file = tmp_path / "done.json"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(ProblemsFoundError, match="found") as raised:
        read_json_document(file, "impact", version)
    return [str(each).removeprefix(f"{file}:") for each in raised.value.problems]


def test_a_sound_document_is_read(tmp_path: Path) -> None:
    file = tmp_path / "done.json"
    file.write_text(SOUND)
    assert read_json_document(file, "impact", "1.0").data == json.loads(SOUND)
    # Another version that writes the same form is as good, and so is a mark of UTF-8.
    file.write_bytes(b"\xef\xbb\xbf" + SOUND.encode())
    assert read_json_document(file, "impact", "2.0").data == json.loads(SOUND)


def test_members_that_a_later_version_added_are_ignored(tmp_path: Path) -> None:
    file = tmp_path / "done.json"
    file.write_text(SOUND.replace('"margin": 1', '"margin": 1, "x": {}'))
    assert read_json_document(file, "impact", "1.0").data["nearest"][1]["x"] == {}


@pytest.mark.parametrize(
    ("was", "is_now", "said"),
    [
        ('"judged": 2', '"judged": -1', "5:13: found -1; wanted at least 0"),
        ('"judged": 2', '"judged": "2"', "5:13: found '2'; wanted a whole number"),
        ('"judged": 2', '"judged": [2]', "5:13: found a list; wanted a whole number"),
        ('"margin": 1', '"margin": null', "11:80: found null; wanted a number"),
        (', "margin": 1', "", "11:5: found no 'margin' in this object; wanted that member too"),
        ('  "judged": 2,\n', "", "1:1: found no 'judged' in this object; wanted that member too"),
        ('[1"]', '[1", 7]', "6:43: found 7; wanted text"),
        ("quoted", r"\u001b[2J", "6:15: found a control character '\\x1b'; wanted plain text"),
    ],
)
def test_what_does_not_fit_is_told_where_it_stands(
    tmp_path: Path, was: str, is_now: str, said: str
) -> None:
    assert was in SOUND
    assert told(tmp_path, SOUND.replace(was, is_now)) == [said]


def test_all_is_told_at_once(tmp_path: Path) -> None:
    text = SOUND.replace('"judged": 2', '"judged": {}').replace("[]", "0")
    assert [each.split(":")[0] for each in told(tmp_path, text)] == ["4", "5", "7", "7", "8"]


def test_another_version_is_told_with_what_does_not_fit(tmp_path: Path) -> None:
    first, second = told(tmp_path, SOUND.replace('"judged": 2', '"judged": {}'), "2.0")
    assert first == (
        "3:16: found a form of version '1.0'; wanted a document of version 2.0; make it "
        "again with this version"
    )
    assert second == "5:13: found an object; wanted a whole number"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "1:1: found text that is not JSON (Expecting value)"),
        (SOUND[: SOUND.index('"verdicts"')], "8:3: found text that is not JSON"),
        ("kind: impact\n", "1:1: found text that is not JSON"),
        (b'{"kind":\n "\xff"}', "2:3: found bytes that are not UTF-8 text"),
        ("[]", "1:1: found no document with a kind; wanted 'impact'"),
        ('{\n "kind": "report"}', "2:10: found 'report' as the kind; wanted 'impact'"),
        ('{"kind": NaN}', "1:1: found the number NaN"),
        ('{"kind": "impact", "kind": 1}', "1:1: found the member 'kind' twice in one object"),
        ("[" * 100_000, "1:1: found a number or a nesting without end"),
        (f'{{"kind": {"9" * 5000}}}', "1:1: found a number or a nesting without end"),
    ],
)
def test_what_is_no_such_document_is_told(tmp_path: Path, text: str | bytes, said: str) -> None:
    (only,) = told(tmp_path, text)
    assert only.startswith(said)


def test_a_file_that_is_not_there_or_very_large_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for path in (tmp_path / "none.json", tmp_path):
        with pytest.raises(ProblemsFoundError, match="1:1: found a file that cannot be read"):
            read_json_document(path, "impact", "1.0")
    monkeypatch.setattr(json_documents, "MOST_BYTES", 20)
    assert told(tmp_path, SOUND) == ["1:1: found a very large file; wanted at most 20 bytes"]


def keywords(node: object) -> set[str]:
    """The words of JSON Schema that a node and what is below it use to refuse something."""
    if isinstance(node, list):
        return {word for each in node for word in keywords(each)}
    if not isinstance(node, dict):
        return set()
    below = {
        word
        for name in ("properties", "$defs")
        for each in node.get(name, {}).values()
        for word in keywords(each)
    }
    below |= {w for name in ("items", "additionalProperties") for w in keywords(node.get(name))}
    return set(node) - {"properties", "$defs", "items"} | below


def test_every_word_of_the_schemas_has_its_own_message() -> None:
    # Of `additionalProperties` only schemas are used, which refuse nothing by themselves.
    notes = {"$schema", "$id", "$ref", "title", "description", "format", "additionalProperties"}
    told = {"type", "required", "enum", "minimum", "maximum"}
    # Of documents that are read back.
    words = {word for name in ("audit", "impact") for word in keywords(schema_of_written(name))}
    # The kind is looked at before the schema is.
    assert words - notes == told | {"const"}
