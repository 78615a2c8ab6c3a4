"""Whatever stands in a file, reading it gives a load or located problems, never another error."""

import sys
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.documents.validate import validate
from checker.load.build import Library, read_profile, shown_path

GOOD = """\
kind: load
title: Roller to Juniper Basin yard
trailer:
  from: flat
  axles: {rear: {x: 15 ft, tyres: 2}}
  anchors: {d ring: {x: 5 ft}}
tow_vehicle: {seats: 5, ball: {size: 2 5/16 in}}
articles:
  - &roller
    name: roller
    weight: 2150 lb ± 50 lb
    axles: {front: {weight: 1000 lb}, rear: {weight: 1150 lb}}
    attachments: {eye: {x: 0 in, part: frame}}
    placed: {x: 8 ft}
tiedowns:
  - {article: roller, anchor: d ring, attachment: eye, grade: '70', pulls: [left, down]}
  - {from: strap, article: roller}
walkaround: {gate_locked: yes, rear_flags: 2}
trip: {date: 2026-05-14, places: [US-UT], load_checks: [45 mi], speed: 55 mph}
"""
FLAT = "kind: trailer\ngvwr: 7000 lb\naxles: {front: {x: 12 ft}}\n"
STRAP = "kind: tiedown\ndevice: webbing\nsize: 2 in\n"
PIECES = [
    *("null", "~", "true", "3", "-1", "1e999", "''", '"\\0"', '"\\ud800"', "9" * 400, "2150 lb"),
    *("[]", "{}", "[null]", "{a: b}", "[[]]", "{'': 1}", "{[a]: b}", "- x", "*roller", "&x", "!x"),
    *("<<: *roller", "from: flat", "from: from", "kind: load", "kind:", "---", "...", "%YAML 1.1"),
    *(": ", ":\n", "\n", "\n  ", "\t", "#", "'", '"', "|\n", ">\n", "? ", ", ", "{", "}", "[", "]"),
    *("flat", "strap", "../flat", "/etc/hosts", "\x1b", "\ufeff", "\u2028", "é", "𝄞", "x" * 300),
]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("profiles")
    (root / "flat.yaml").write_text(FLAT, "utf-8")
    (root / "strap.yaml").write_text(STRAP, "utf-8")
    return root


@pytest.fixture(scope="module", params=["libyaml", "pure"], autouse=True)
def _each_parser(request: pytest.FixtureRequest) -> object:
    with pytest.MonkeyPatch.context() as patch:
        if request.param == "pure":
            patch.setitem(sys.modules, "_ruamel_yaml", None)
        yield


def fits(problem: Problem, raw: bytes) -> bool:
    """It has words, stands on one line, and its place is in the file or just after its end."""
    lines = raw.decode("utf-8", "replace").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    text = str(problem)
    return (
        1 <= problem.mark.line <= len(lines) + 1
        and problem.mark.column >= 1
        and bool(problem.found)
        and text.isprintable()
        and len(text) < 1000
    )


def problems_of(file: Path, library: Library) -> list[Problem]:
    try:
        read_profile(file, library=library).load()
    except ProblemsFoundError as error:
        return error.problems or [Problem("an error without problems", Mark(0, 0), "", "")]
    return []


def read(folder: Path, raw: bytes) -> list[Problem]:
    """The problems of a load file, with what is to hold for any file held against it."""
    file = folder / "load.yaml"
    file.write_bytes(raw)
    library = Library()
    document = library.read_ahead(file, shown_path(file))
    problems = problems_of(file, library)
    here = [problem for problem in problems if problem.file.endswith("load.yaml")]
    if not (problems and document.kind == "load"):  # else its own are among them
        direct = document.problems + validate(document)
        assert problems or not direct, "a faulty document became a load"
        here += direct
    assert [problem for problem in here if not fits(problem, raw)] == []
    return problems


def test_the_text_that_is_mutated_is_a_good_profile(folder: Path) -> None:
    assert read(folder, GOOD.encode()) == []


@given(raw=st.binary(max_size=200))
@example(raw=b"")
@example(raw=b"\xff\xfe\x00")
def test_any_bytes(folder: Path, raw: bytes) -> None:
    assert read(folder, raw)


@given(text=st.text(max_size=100))
def test_any_text_after_a_good_start(folder: Path, text: str) -> None:
    read(folder, f"kind: load\n{text}".encode("utf-8", "surrogatepass"))


EDITS = st.tuples(
    st.integers(0, len(GOOD)), st.integers(0, 30), st.sampled_from(PIECES) | st.text(max_size=5)
)


@settings(max_examples=300)
@given(edits=st.lists(EDITS, min_size=1, max_size=6))
def test_a_good_profile_with_random_edits(folder: Path, edits: list[tuple[int, int, str]]) -> None:
    text = GOOD
    for start, length, piece in edits:
        text = text[:start] + piece + text[start + length :]
    read(folder, text.encode("utf-8", "surrogatepass"))


@settings(max_examples=200)
@given(data=st.data())
def test_lines_dropped_doubled_and_moved(folder: Path, data: st.DataObject) -> None:
    lines = GOOD.splitlines(keepends=True)
    chosen = data.draw(st.lists(st.sampled_from(lines), max_size=30))
    read(folder, ("kind: load\n" + "".join(chosen)).encode())


KEYS = ["title", "trailer", "tow_vehicle", "carrier", "driver", "articles", "tiedowns"]
KEYS += ["gear", "walkaround", "trip", "note", "from", "", "kind "]
SHAPES = ["3", "x", "flat", "strap", "load", "true", "null", "''", "1e400", "9" * 30, "2026-05-14"]
SHAPES += ["[]", "{}", "[null]", "[[null]]", "[3, x]", "{a: {b: [c]}}", "{from: flat}", "[flat]"]
SHAPES += ["{from: [flat]}", "{from: {}}", "[{from: strap}]", "[{from: flat}]", "{'': ''}", "[{}]"]
SHAPES += ["{axles: [3]}", "[{axles: {front: [], rear: 3}, weight: 1 lb}]", "{anchors: [a]}"]
SHAPES += ["[{article: [a], anchor: {}, attachment: 3}]", "{date: [], places: {}}", "[{name: []}]"]

SHAPES += ["{tiedowns: [3, {from: 3}]}", "{tiedowns: {a: 3}, blocks: 3}", "{gear: {gear: 3}}"]
SHAPES += ["{tiedowns: [{from: strap, count: []}], blocks: [{count: .nan}]}", "{gear: [load]}"]


@pytest.mark.parametrize("key", KEYS)
def test_odd_shapes_alone_and_beside_good_ones(folder: Path, key: str) -> None:
    beside = {"articles": "[{name: a}, {name: b}]", "tiedowns": "[{article: a, anchor: b}]"}
    rest = "".join(f"{name}: {value}\n" for name, value in beside.items() if name != key)
    for shape in SHAPES:
        alone = f"kind: load\n'{key}': {shape}\n"
        read(folder, alone.encode())
        read(folder, f"{alone}{rest}".encode())


@pytest.mark.parametrize("shape", SHAPES)
def test_odd_files_behind_a_reference(folder: Path, shape: str) -> None:
    try:
        for text in (
            shape,
            f"kind: machine\naxles: {shape}\n",
            f"kind: machine\nfrom: {shape}\n",
            f"kind: gear\ntiedowns: {shape}\n",
            f"kind: gear\nblocks: {shape}\n",
        ):
            (folder / "odd.yaml").write_text(text, "utf-8")
            read(folder, b"kind: load\ngear: odd\ncarrier: {gear: {from: odd}}\n")
            read(folder, b"kind: load\narticles: [odd, {from: odd}]\ntiedowns: [{from: odd}]\n")
    finally:
        (folder / "odd.yaml").unlink()
