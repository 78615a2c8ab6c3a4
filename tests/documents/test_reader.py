"""Reading YAML: what becomes a value, what becomes a located problem, and where things stand.

Origin of expected values: the YAML 1.2 specification where a value is read; positions are counted
by hand, and for a whole document compared with those of ruamel's own round-trip loader.
"""

import math
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from checker.documents import reader
from checker.documents.document import MOST_BYTES, MOST_DEPTH, Document
from checker.documents.problems import DataPath, Mark
from checker.documents.reader import read_bytes, read_file


def read(text: str) -> Document:
    return read_bytes(text.encode(), "x.yaml")


def told(document: Document) -> list[str]:
    return [str(problem) for problem in document.problems]


def value_of(text: str) -> Any:
    document = read(f"a: {text}\n")
    assert told(document) == []
    assert isinstance(document.data, dict)
    return document.data["a"]


@pytest.fixture(params=["libyaml", "pure"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both parsers in turn; None in `sys.modules` makes an import fail."""
    if request.param == "pure":
        monkeypatch.setitem(sys.modules, "_ruamel_yaml", None)
    return str(request.param)


# -- values ----------------------------------------------------------------------------------


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("4", 4),
        ("-4", -4),
        ("+4", 4),
        ("0", 0),
        ("2.5", 2.5),
        ("1e3", 1000.0),
        ("-1.5E-2", -0.015),
        ("9999999999999999999", 9999999999999999999),
        ("10000000000000000000", 1e19),
        ("true", True),
        ("false", False),
        ("null", None),
        ("~", None),
        ("", None),
    ],
)
def test_plain_numbers_and_words_of_yaml(text: str, value: object) -> None:
    found = value_of(text)
    assert found == value
    assert type(found) is type(value)


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize(
    "text",
    [
        *("yes", "no", "on", "off", "y", "True", "NULL"),
        *("2026-05-14", "2026-05-14T10:00:00", "12:30:45"),
        *("017", "0o17", "0x1f", "1_000", "1,000", "1.", ".5", "--1"),
        *(".nan", "-.inf", ".inf", "1e999", "1e1000", "9" * 400),
    ],
)
def test_what_other_yaml_readers_turn_into_something_else_stays_text(text: str) -> None:
    assert value_of(text) == text


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize("text", ["'4'", '"4"', "'true'", "''", '"~"'])
def test_quoted_values_are_text(text: str) -> None:
    assert value_of(text) == text[1:-1]


def test_no_number_is_ever_infinite() -> None:
    below, above = value_of("1.7976931348623157e308"), value_of("1.8e308")
    assert math.isfinite(below)
    assert above == "1.8e308"


@pytest.mark.usefixtures("parser")
def test_folded_and_literal_text() -> None:
    document = read("a: >\n  x\n  y\nb: |\n  x\n  y\nc: x\n  y\n")
    assert document.data == {"a": "x y\n", "b": "x\ny\n", "c": "x y"}


# -- what is refused --------------------------------------------------------------------------

NO_TAG = "wanted plain values without tags; quotes around a text that begins with `!`"
EARLIER = "an anchor of that name earlier in the file"
NOT_A_KEY = "found a list or mapping used as a key; wanted a plain word as the key"
EMPTY = "found an empty file; wanted a document that starts with `kind: ...`"


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (
            "a: 1\nb: 2\na: 3\n",
            "3:1: found the key 'a' a second time; wanted each key once; it is already on line 1",
        ),
        (
            "x:\n  '': 1\n  '': 2\n",
            "3:3: found the key '' a second time; wanted each key once; it is already on line 2",
        ),
        (
            "a: !!python/name:os.system x\n",
            f"1:4: found a tag 'tag:yaml.org,2002:python/name:os.system'; {NO_TAG}",
        ),
        (
            "a: !x [1]\n",
            f"1:4: found a tag '!x'; {NO_TAG}",
        ),
        (
            "a: !x {b: 1}\n",
            f"1:4: found a tag '!x'; {NO_TAG}",
        ),
        (
            "a: !%1B[31m x\n",
            rf"1:4: found a tag '!\u001b[31m'; {NO_TAG}",
        ),
        ("a: *b\n", f"1:4: found an alias '*b'; wanted {EARLIER}"),
        ("a: &a [*a]\n", f"1:8: found an alias '*a'; wanted {EARLIER}"),
        ("a: &a x\n*a : 1\n", "2:1: found an alias '*a' used as a key; wanted a plain word"),
        ("? [a]\n: 1\n", f"1:3: {NOT_A_KEY}"),
        ("? {a: b}\n: 1\n", f"1:3: {NOT_A_KEY}"),
        ("a: 1\n---\nb: 2\n", "2:1: found a second document (`---`); wanted one in each file"),
        ("", f"1:1: {EMPTY}"),
        ("# only this\n", f"1:1: {EMPTY}"),
        ("---\n...\n", f"1:1: {EMPTY}"),
        ("a: 1\nb: x\x07y\n", "2:5: found a control character '\\x07'; wanted plain text"),
        ("a: x\x85b: 1\n", "1:5: found a control character '\\x85'; wanted plain text"),
        ("a: x\u2028b: 1\n", "1:5: found a control character '\\u2028'; wanted plain text"),
        ("a: x\u202eb\n", "1:5: found a control character '\\u202e'; wanted plain text"),
        ("\ufeff\ufeffa: 1\n", "1:1: found a control character '\\ufeff'; wanted plain text"),
        ('a: b\nc: "\\0"\n', "2:4: found a control character '\\x00'; wanted plain text"),
        ('a: "\\e[31m"\n', "1:4: found a control character '\\x1b'; wanted plain text"),
        ('"\\e": 1\n', "1:1: found a control character '\\x1b'; wanted plain text"),
    ],
)
def test_refused_with_its_place(text: str, problem: str) -> None:
    assert told(read(text)) == [f"x.yaml:{problem}"]


@pytest.mark.usefixtures("parser")
def test_text_that_is_not_yaml_is_told_where_it_stops_being_it() -> None:
    # Mistakes that people make have their own words (test_yaml_mistakes.py); of any other the
    # reason in brackets is the parser's own and differs between the two.
    (problem,) = told(read("%YAML 3.0\n---\na: 1\n"))
    assert problem.startswith("x.yaml:1:1: found text that is not YAML (")
    assert problem.endswith(
        "; wanted `key: value` lines, spaces for indents, and quotes around text with `: ` or `#`"
    )


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize("escape", ["\\ud800", "\\U00110000", "\\Uffffffff"])
def test_escapes_for_what_is_no_letter_are_refused(escape: str) -> None:
    document = read(f'a: "{escape}"\n')
    assert len(document.problems) == 1
    assert document.data is None


def test_a_file_with_a_syntax_error_keeps_the_problems_before_it() -> None:
    assert [line[:20] for line in told(read("a: 1\na: 2\nb: [\n"))] == [
        "x.yaml:2:1: found th",
        "x.yaml:3:4: found `[",
    ]


@pytest.mark.usefixtures("parser")
def test_the_first_of_two_equal_keys_stays() -> None:
    assert read("a: 1\na: 2\n").data == {"a": 1}


@pytest.mark.usefixtures("parser")
def test_a_yaml_1_1_directive_does_not_bring_back_its_words() -> None:
    document = read("%YAML 1.1\n---\na: no\nb: 017\nc: 2026-05-14\n")
    assert document.data == {"a": "no", "b": "017", "c": "2026-05-14"}


@pytest.mark.usefixtures("parser")
def test_the_empty_key_is_a_key_like_any_other() -> None:
    document = read("'': 1\n\"''\": 2\n")
    assert document.data == {"": 1, "''": 2}
    assert told(document) == []


# -- bytes ------------------------------------------------------------------------------------


@pytest.mark.parametrize("ending", ["\r\n", "\r"])
def test_line_ends_of_any_system_count_the_same(ending: str) -> None:
    text = "a: |\n  x\n  y\nb:\n  - c: 1\n    c: 2\n"
    other = read(text.replace("\n", ending))
    assert other == read(text)
    assert told(other)[0].startswith("x.yaml:6:5: found the key 'c' a second time")


def test_a_byte_order_mark_is_not_part_of_the_text() -> None:
    assert read_bytes(b"\xef\xbb\xbfa: 1\n", "x.yaml") == read("a: 1\n")


@pytest.mark.parametrize(
    ("raw", "place"),
    [
        (b"a: 1\nb: caf\xe9\n", "2:7"),  # Latin-1
        (b"a: 1\r\nb: caf\xe9\r\n", "2:7"),
        ("a: 1\n".encode("utf-16"), "1:1"),
    ],
)
def test_bytes_that_are_not_utf_8(raw: bytes, place: str) -> None:
    document = read_bytes(raw, "x.yaml")
    assert told(document) == [
        f"x.yaml:{place}: found bytes that are not UTF-8 text; wanted a text file saved as UTF-8"
    ]


@pytest.mark.parametrize(("size", "refused"), [(MOST_BYTES, False), (MOST_BYTES + 1, True)])
def test_size_at_and_above_the_limit(tmp_path: Path, size: int, refused: bool) -> None:
    file = tmp_path / "x.yaml"
    file.write_bytes(b"a: 1 #" + b"x" * (size - 6))
    expected = ["x.yaml:1:1: found a very large file; wanted at most 2,000,000 bytes"]
    assert told(read_file(file, "x.yaml")) == (expected if refused else [])


def test_a_file_that_is_not_there_and_a_folder(tmp_path: Path) -> None:
    missing = read_file(tmp_path / "none.yaml", "none.yaml")
    assert told(missing) == [
        "none.yaml:1:1: found a file that cannot be read (no such file or directory)"
    ]
    folder = read_file(tmp_path, "folder")
    assert told(folder) == ["folder:1:1: found a file that cannot be read (is a directory)"]


# -- growth -----------------------------------------------------------------------------------


def nested(depth: int) -> str:
    return "[" * depth + "]" * depth


@pytest.mark.usefixtures("parser")
def test_depth_at_and_above_the_limit() -> None:
    assert told(read(nested(MOST_DEPTH))) == []
    assert told(read(nested(MOST_DEPTH + 1))) == [
        "x.yaml:1:41: found very deep nesting; wanted at most 40 levels"
    ]


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize("opening", ["[", "{a: ", "- "])
def test_hostile_depth_ends_early(opening: str) -> None:
    document = read(opening * 100_000)
    assert [problem.found for problem in document.problems] == ["very deep nesting"]


def test_depth_by_aliases_counts_as_depth() -> None:
    rows = "".join(f"- &a{n} [*a{n - 1}]\n" for n in range(1, 39))
    assert told(read("- &a0 x\n" + rows)) == []
    longer = rows + "- &a39 [*a38]\n- &a40 [*a39]\n"
    assert told(read("- &a0 x\n" + longer)) == [
        "x.yaml:41:9: found very deep nesting; wanted at most 40 levels"
    ]


def test_number_of_values_at_and_above_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "MOST_NODES", 5)
    assert told(read("[1, 2, 3, 4]")) == []
    assert told(read("[1, 2, 3, 4, 5]")) == [
        "x.yaml:1:14: found a very large document; "
        "wanted at most 5 values, repeated ones counted each time"
    ]


def test_values_under_aliases_count_each_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "MOST_NODES", 7)
    assert told(read("[&a [1, 2], *a]")) == []
    assert [p.found for p in read("[&a [1, 2, 3], *a]").problems] == ["a very large document"]


@pytest.mark.usefixtures("parser")
def test_an_alias_bomb_is_refused() -> None:
    lines = ["a: &a [x, x, x, x, x, x, x, x, x]\n"]
    for name, before in zip("bcdefghi", "abcdefgh", strict=True):
        lines.append(f"{name}: &{name} [{', '.join([f'*{before}'] * 9)}]\n")
    document = read("".join(lines))
    assert [problem.found for problem in document.problems] == ["a very large document"]
    assert document.data is None


# -- aliases and merge keys -------------------------------------------------------------------


@pytest.mark.usefixtures("parser")
def test_an_alias_repeats_a_value_and_its_places() -> None:
    document = read("a: &strap\n  size: 2 in\n  pulls: [left]\nb: *strap\n")
    assert document.data == {
        "a": {"size": "2 in", "pulls": ["left"]},
        "b": {"size": "2 in", "pulls": ["left"]},
    }
    assert document.values[("b",)] == Mark(4, 4)
    for inside in (("size",), ("pulls",), ("pulls", 0)):
        assert document.values[("b", *inside)] == document.values[("a", *inside)]
    assert document.keys[("b", "size")] == Mark(2, 3)


@pytest.mark.usefixtures("parser")
def test_an_alias_of_one_word() -> None:
    assert read("a: &w 2150 lb\nb: *w\n").data == {"a": "2150 lb", "b": "2150 lb"}


@pytest.mark.usefixtures("parser")
def test_a_merge_key_is_a_key_like_any_other() -> None:
    document = read("a: &a {x: 1}\nb:\n  <<: *a\n")
    assert document.data == {"a": {"x": 1}, "b": {"<<": {"x": 1}}}


# -- places -----------------------------------------------------------------------------------

RIG = Path(__file__).parent.parent / "reference" / "towing-cases.yaml"


def places_by_ruamel(node: Any, path: DataPath = ()) -> dict[DataPath, tuple[int, int]]:
    """Place of every value that stands on a line of its own key or dash, by ruamel's `.lc`."""
    found: dict[DataPath, tuple[int, int]] = {}
    if isinstance(node, CommentedMap):
        for key, value in node.items():
            found[(*path, key)] = node.lc.value(key)
            found |= places_by_ruamel(value, (*path, key))
    elif isinstance(node, CommentedSeq):
        for index, value in enumerate(node):
            found[(*path, index)] = node.lc.item(index)
            found |= places_by_ruamel(value, (*path, index))
    return found


def test_places_equal_those_of_ruamels_round_trip_loader() -> None:
    text = RIG.read_text("utf-8")
    round_trip = YAML(typ="rt")
    expected = places_by_ruamel(round_trip.load(text))
    document = read(text)
    assert told(document) == []
    stated = {path for path in expected if _at(document.data, path) is not None}
    assert len(stated) > 2000
    ours = {path: document.values[path] for path in stated}
    assert ours == {path: Mark(expected[path][0] + 1, expected[path][1] + 1) for path in stated}


def _at(data: Any, path: DataPath) -> Any:
    for part in path:
        data = data[part]
    return data


def test_places_of_keys_values_and_what_is_missing() -> None:
    document = read("a:\n  b: 1\n  c:\n  - x\n  - y\nd:\n")
    assert document.key_mark(("a", "b")) == Mark(2, 3)
    assert document.value_mark(("a", "b")) == Mark(2, 6)
    assert document.key_mark(("a", "c", 1)) == Mark(5, 5)
    assert document.value_mark(("a", "zebra", "stripe")) == Mark(2, 3)
    assert document.value_mark(("d",)) == Mark(6, 1), "a value left out is looked for at its key"
    assert document.value_mark(()) == Mark(1, 1)


MARKED = [
    ("a: x > 1\n", 4, "1:8"),
    ("a: 'x > 1'\n", 4, "1:9"),
    ("a: 'it''s > 1'\n", 7, "1:13"),
    ('a: "x > 1"\n', 4, "1:9"),
    ('a: "x \\" > 1"\n', 6, "1:12"),
    ("a: x\n   >  1\n", 2, "2:4"),
    ("a: x\n   >  1\n", 5, "2:7"),
    ("a: x\n\n   > 1\n", 2, "3:4"),
    ("a: >-\n  x\n  > 1\n", 2, "3:3"),
    ("a: |\n  x\n  > 1\n", 4, "3:5"),
    ("a: > # said\n  x > 1\n", 4, "2:7"),
    ("a: &f x > 1\n", 4, "1:11"),
    ("b: &f x > 1\na: *f\n", 4, "2:4"),
    ("a: x > 1\n", 5, "1:9"),
    ("a: x > 1\n", 1, "1:5"),
]


@pytest.mark.parametrize(("text", "offset", "place"), MARKED)
def test_place_of_a_letter_inside_a_text(text: str, offset: int, place: str) -> None:
    mark = read(text).mark_inside(("a",), offset)
    assert f"{mark.line}:{mark.column}" == place


def test_place_of_a_letter_in_text_that_keeps_its_own_line_breaks() -> None:
    # In a folded block a more indented line keeps its break: "x\n  > 1\n", so `>` is at 4.
    mark = read("a: >\n  x\n    > 1\n").mark_inside(("a",), 4)
    assert mark == Mark(3, 5)


# -- the two parsers --------------------------------------------------------------------------


def both_ways(text: str) -> tuple[Document, Document]:
    by_libyaml = read(text)
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(sys.modules, "_ruamel_yaml", None)
        return by_libyaml, read(text)


def test_libyaml_is_used_where_it_is_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    class PureParserError(Exception):
        pass

    def refuse(**_options: object) -> None:
        raise PureParserError("pure")

    monkeypatch.setattr(reader, "YAML", refuse)
    assert read("a: 1\n").data == {"a": 1}
    monkeypatch.setitem(sys.modules, "_ruamel_yaml", None)
    with pytest.raises(PureParserError, match=r"^pure$"):
        read("a: 1\n")


def test_both_parsers_give_identical_documents() -> None:
    fast, pure = both_ways(RIG.read_text("utf-8"))
    assert fast == pure


WORD = st.text("abXY019 é½'\"#:-&*!%|>{}[],~\n", max_size=12)
DATA = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | WORD,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(WORD, inner, max_size=4),
    max_leaves=12,
)


def dumped(data: object) -> str:
    """Written by an independent hand: ruamel's own writer."""
    out = StringIO()
    writer = YAML(typ="safe", pure=True)
    writer.width = 40
    writer.dump(data, out)
    return out.getvalue()


@given(data=DATA)
def test_no_text_means_two_things_to_the_two_parsers(data: object) -> None:
    fast, pure = both_ways(dumped(data))
    # libyaml refuses a few texts that the pure parser reads, such as `[:0]`: told, not guessed.
    assume(not fast.problems and not pure.problems)
    assert fast == pure


@pytest.mark.parametrize(
    ("text", "data", "whole"),
    [
        ("id: a\nrules: [1]\n", {"id": "a"}, False),
        ("id: a\nrules: [1\n", {"id": "a"}, False),  # not YAML, but behind the end
        ("id: a\ndeep: {rules: 1}\nlist: [rules]\n", "all", True),
        ("id: rules\n", {"id": "rules"}, True),
        ("rules: 1\nid: a\n", {}, False),
        ("[rules]\n", ["rules"], True),
    ],
)
def test_reading_until_a_top_key(text: str, data: Any, whole: bool) -> None:
    read = read_bytes(text.encode(), "x.yaml", until=frozenset({"rules"}))
    wanted = {"id": "a", "deep": {"rules": 1}, "list": ["rules"]} if data == "all" else data
    assert (read.data, read.whole, read.text) == (wanted, whole, text)
    assert read.problems == []
