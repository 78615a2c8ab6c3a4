"""Gear files: what a crew carries, named by a load, its carrier or a command."""

import math
from collections.abc import Mapping
from pathlib import Path

import pytest

from checker.documents.problems import Mark, ProblemsFoundError
from checker.documents.resources import shipped_folder
from checker.load.build import Profile, read_profile
from checker.load.gear_file import read_gear
from checker.load.gear_problems import without_label
from checker.load.model import Gear

INCH, POUND = 0.0254, 4.4482216152605
"""In metres and newtons; both are exact by definition."""

STRAP = """\
kind: tiedown
title: Two-inch strap
device: webbing
size: 2 in
marked_working_load_limit: 3333 lb
breaking_strength: 10000 lb
"""
BOX = """\
kind: gear
title: Box
tiedowns:
  - {from: tiedowns/strap, count: 6, length: 27 ft}
  - from: tiedowns/strap
    name: worn straps
    title: Old strap
    count: 2
    marked_working_load_limit: 3000 lb
  - {device: chain, grade: "70", size: 3/8 in, marked_working_load_limit: 6600 lb, count: 4}
blocks:
  - {title: Chock, count: 4, strength: 2000 lbf, height: 8 in, chocks_wheels: yes}
"""
CARRIER = "kind: carrier\ntitle: Crew\ngovernment: yes\ngear: gear/box\n"
LOAD = "kind: load\ntitle: Mower\ncarrier: carriers/crew\n"
FILES = {
    "tiedowns/strap.yaml": STRAP,
    "gear/box.yaml": BOX,
    "carriers/crew.yaml": CARRIER,
    "load.yaml": LOAD,
}


@pytest.fixture(autouse=True)
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def write(files: Mapping[str, str]) -> None:
    for name, text in (FILES | files).items():
        file = Path(name)
        file.parent.mkdir(exist_ok=True)
        file.write_text(text)


def profile(files: Mapping[str, str] = {}) -> Profile:
    write(files)
    return read_profile(Path("load.yaml"), Path.cwd())


def gear(files: Mapping[str, str] = {}) -> Gear:
    write(files)
    return read_gear(Path("gear/box.yaml"), Path.cwd())


def problems(files: Mapping[str, str]) -> list[str]:
    with pytest.raises(ProblemsFoundError, match="found") as found:
        gear(files)
    return [str(each) for each in found.value.problems]


def test_a_piece_has_the_label_of_its_tiedown_file_and_its_own_figures() -> None:
    long, worn, chain = gear().tiedowns
    assert (long.title, long.name, long.count) == ("Two-inch strap", "Two-inch strap", 6)
    assert isinstance(long.count, int)
    assert long.length == pytest.approx(27 * 12 * INCH)
    assert long.marked_working_load_limit == pytest.approx(3333 * POUND)
    assert (worn.title, worn.name) == ("Old strap", "worn straps")
    assert worn.marked_working_load_limit == pytest.approx(3000 * POUND)
    assert worn.breaking_strength == pytest.approx(10000 * POUND)
    assert math.isnan(worn.length), "not stated"
    assert (chain.device, chain.grade, chain.count) == ("chain", "70", 4)
    assert worn.location == ("gear/box.yaml", Mark(5, 5))


def test_a_piece_knows_what_to_write_into_a_load() -> None:
    long, worn, chain = gear().tiedowns
    assert long.written == {"from": "tiedowns/strap"}
    assert worn.written == {
        "from": "tiedowns/strap",
        "title": "Old strap",
        "marked_working_load_limit": "3000 lb",
    }
    assert chain.written == {
        "device": "chain",
        "grade": "70",
        "size": "3/8 in",
        "marked_working_load_limit": "6600 lb",
    }
    assert worn.stated == {
        "title": "Old strap",
        "device": "webbing",
        "size": "2 in",
        "marked_working_load_limit": "3000 lb",
        "breaking_strength": "10000 lb",
    }


def test_what_is_stated_of_a_piece_stands_in_for_tiedowns_of_a_load() -> None:
    tied = "trailer: {anchors: {front: {x: 5 ft}}}\narticles: [{weight: 900 lb}]\ntiedowns: []\n"
    loaded = profile({"load.yaml": LOAD + tied})
    assert loaded.gear is not None
    piece = loaded.gear.tiedowns[0]
    hooked = {**piece.stated, "anchor": "front", "pulls": ["forward", "down"]}
    load = loaded.replaced({("tiedowns",): [hooked, hooked]}).stated
    assert load.tiedowns is not None
    assert [each.anchor and each.anchor.name for each in load.tiedowns] == ["front", "front"]
    assert load.tiedowns[1].marked_working_load_limit == piece.marked_working_load_limit
    # The line of `tiedowns: []`, which encloses what was added.
    assert load.origins["tiedowns.2.pulls"].mark == Mark(6, 11)
    assert load.origins["tiedowns.2.size"].mark == Mark(6, 11)


def test_blocks_have_their_strength_and_height() -> None:
    (chock,) = gear().blocks
    assert (chock.title, chock.count, chock.chocks_wheels) == ("Chock", 4, 1.0)
    assert chock.strength == pytest.approx(2000 * POUND)
    assert chock.height == pytest.approx(8 * INCH)
    assert math.isnan(chock.cannot_come_loose), "not stated"


OTHER = "kind: gear\ntitle: Other box\ntiedowns: [{from: tiedowns/strap, count: 1}]\n"


@pytest.mark.parametrize(
    ("lines", "title", "blocks"),
    [
        ("carrier: carriers/crew\n", "Box", 1),
        ("carrier: carriers/crew\ngear: gear/other\n", "Other box", 0),
        # A file named beside `from` replaces the gear of the carrier's file as a whole.
        ("carrier: {from: carriers/crew, gear: gear/other}\n", "Other box", 0),
        ("carrier: {from: carriers/crew, gear: {from: gear/other}}\n", "Other box", 0),
        # Own fields without a file replace those fields alone, as they do everywhere.
        ("carrier: {from: carriers/crew, gear: {title: Ours}}\n", "Ours", 1),
        ("gear: {from: gear/box, blocks: []}\n", "Box", 0),
        ("gear: {title: Ours, tiedowns: [{from: tiedowns/strap, count: 1}]}\n", "Ours", 0),
    ],
)
def test_a_load_has_its_own_gear_else_that_of_its_carrier(
    lines: str, title: str, blocks: int
) -> None:
    found = profile({"load.yaml": f"kind: load\n{lines}", "gear/other.yaml": OTHER})
    assert found.stated.gear is not None
    assert (found.stated.gear.title, len(found.stated.gear.blocks)) == (title, blocks)
    assert {piece.device for piece in found.stated.gear.tiedowns} >= {"webbing"}


def test_a_load_without_gear_has_none() -> None:
    assert profile({"load.yaml": "kind: load\ntitle: x\n"}).stated.gear is None


def test_a_piece_without_a_title_is_called_a_tiedown() -> None:
    box = "kind: gear\ntiedowns:\n  - {marked_working_load_limit: 400 lb, count: 2}\n"
    (piece,) = gear({"gear/box.yaml": box}).tiedowns
    assert (piece.title, piece.name) == ("tiedown", "tiedown")


def test_gear_may_take_another_box() -> None:
    extended = gear({"gear/box.yaml": "kind: gear\nfrom: gear/all\nblocks: []\n",
                     "gear/all.yaml": BOX})  # fmt: skip
    assert [piece.count for piece in extended.tiedowns] == [6, 2, 4]
    assert extended.tiedowns[1].written == {
        "from": "tiedowns/strap",
        "title": "Old strap",
        "marked_working_load_limit": "3000 lb",
    }
    assert extended.blocks == ()


def test_a_check_depends_on_the_gear_file_and_reads_none_of_its_figures() -> None:
    """A tolerance there would add rows, and a figure would part loads of the same shape."""
    with_gear = profile({"gear/box.yaml": BOX.replace("27 ft", "27 ± 1 ft")})
    without = profile({"carriers/crew.yaml": CARRIER.replace("gear: gear/box\n", "")})
    assert Path("gear/box.yaml").resolve() in with_gear.rests_on
    assert with_gear.merged.data == without.merged.data
    assert with_gear.merged.locations == without.merged.locations
    assert with_gear.figures == without.figures == {}
    assert with_gear.stated.origins == without.stated.origins


def test_a_load_uses_no_strap_that_stays_in_the_box() -> None:
    """A variance for loads with a file is for those that it holds, not for all of the crew."""
    assert profile().uses == {"load", "carriers/crew"}
    tied = """\
trailer: {anchors: {front: {x: 5 ft}}}
articles: [{weight: 900 lb}]
tiedowns: [{from: tiedowns/strap, anchor: front}]
"""
    assert profile({"load.yaml": LOAD + tied}).uses == {"load", "carriers/crew", "tiedowns/strap"}
    inline = "gear: {tiedowns: [{from: tiedowns/strap, count: 1}]}\n"
    assert profile({"load.yaml": LOAD + inline}).uses == {"load", "carriers/crew"}


@pytest.mark.parametrize(
    ("written", "instead", "problem"),
    [
        (
            "count: 6, ",
            "",
            "gear/box.yaml:4:5: found no 'count' here; wanted a line `count: ...`",
        ),
        (
            "count: 6",
            "count: 0",
            "gear/box.yaml:4:35: found the bare number 0; wanted how many complete tiedowns there "
            "are, a chain with its binder counted as one, at least 1",
        ),
        (
            "count: 6",
            "cuont: 6",
            "gear/box.yaml:4:28: found the key 'cuont'; wanted one of: kind, title, note, from, "
            "device, grade, size, thickness, marked_working_load_limit, unmarked, "
            "nominal_strength, hooks_working_load_limit and 18 more; did you mean 'count'?",
        ),
        (
            "strength: 2000 lbf",
            "strength: strong",
            "gear/box.yaml:12:40: found 'strong'; wanted ",
        ),
        (
            "{from: tiedowns/strap, count: 6",
            "{from: tiedowns/strop, count: 6",
            "gear/box.yaml:4:12: found 'tiedowns/strop'; wanted a file tiedowns/strop.yaml "
            "under .; did you mean 'tiedowns/strap'?",
        ),
        (
            "{from: tiedowns/strap, count: 6",
            "{from: carriers/crew, count: 6",
            "gear/box.yaml:4:12: found 'carriers/crew', a file of kind 'carrier'; "
            "wanted a file of kind 'tiedown'",
        ),
        (
            "count: 2",
            "count: 2\n    anchor: front",
            "gear/box.yaml:9:5: found the key 'anchor'; wanted one of: ",
        ),
        (
            "marked_working_load_limit: 3000 lb",
            "marked_working_load_limit: 10000 lb",
            "gear/box.yaml:9:32: found a working load limit of 10000 lb on a part that breaks at "
            "10000 lb (tiedowns/strap.yaml:6); wanted ",
        ),
        ("kind: gear", "kind: geer", "gear/box.yaml:1:7: found 'geer' as the kind; wanted "),
    ],
)
def test_a_fault_of_a_gear_file_is_told_at_its_place(
    written: str, instead: str, problem: str
) -> None:
    assert written in BOX
    found = problems({"gear/box.yaml": BOX.replace(written, instead, 1)})
    assert problem in [each[: len(problem)] for each in found]


def test_all_faults_are_told_at_once() -> None:
    text = BOX.replace("count: 6", "count: six").replace("lbf", "pounds of force")
    found = problems({"gear/box.yaml": text, "tiedowns/strap.yaml": STRAP + "anchor: front\n"})
    # The strap file is used by two pieces.
    assert [each.split(" found ")[0] for each in found] == [
        "gear/box.yaml:4:35:",
        "gear/box.yaml:12:40:",
        "tiedowns/strap.yaml:7:9:",
    ]
    assert found[-1].endswith(
        "found 'anchor' in a tiedown of the gear that a crew carries; "
        "wanted the field in each load: gear is not rigged yet"
    )


def test_a_load_is_refused_with_the_gear_that_it_names() -> None:
    """As with every file that a load names."""
    with pytest.raises(ProblemsFoundError, match=r"gear/box\.yaml:4:28: found the key 'cuont'"):
        profile({"gear/box.yaml": BOX.replace("count: 6", "cuont: 6")})
    missing = r"^carriers/crew\.yaml:4:7: found 'gear/bx'.*did you mean 'gear/box'\?$"
    with pytest.raises(ProblemsFoundError, match=missing):
        profile({"carriers/crew.yaml": CARRIER.replace("gear/box", "gear/bx")})


@pytest.mark.parametrize(
    ("label", "known"),
    [
        ("device: webbing", False),
        ("hooks_working_load_limit: 3333 lb", False),
        ("unmarked: yes", False),
        ("unmarked: yes, device: webbing", False),
        ("unmarked: no, device: webbing, size: 2 in", False),
        # The law's table of unmarked tiedowns is by device and size.
        ("unmarked: yes, device: webbing, size: 2 in", True),
        ("marked_working_load_limit: 3333 lb", True),
        ("lashing_capacity: 2500 daN", True),
        ("standard_tension: 350 daN", True),
        ("breaking_strength: 10000 lb", True),
        ("nominal_strength: 10000 lb", True),
    ],
)
def test_a_tiedown_without_a_label_is_refused_as_gear_and_stops_no_check(
    label: str, known: bool
) -> None:
    box = f"kind: gear\ntiedowns:\n  - {{title: Strap, count: 1, {label}}}\n"
    of_load = profile({"gear/box.yaml": box}).gear
    assert of_load is not None
    assert len(without_label(of_load)) == (0 if known else 1)
    if known:
        assert read_gear(Path("gear/box.yaml"), Path.cwd()) == of_load
        return
    (told,) = problems({"gear/box.yaml": box})
    assert told.startswith("gear/box.yaml:3:5: found 'Strap' without a figure of its label; wanted")


def test_a_gear_file_that_is_not_there() -> None:
    write({})
    with pytest.raises(ProblemsFoundError, match=r"^gear/none\.yaml:1:1: found"):
        read_gear(Path("gear/none.yaml"), Path.cwd())


def test_the_bundled_box_is_that_of_the_bundled_carrier() -> None:
    folder = Path(str(shipped_folder("profiles")))
    box = read_gear(folder / "gear" / "juniper-basin.yaml")
    # Counts as the file has them; limits as in the three bundled tiedown files.
    assert [(piece.count, piece.device) for piece in box.tiedowns] == [
        (6, "webbing"),
        (4, "chain"),
        (4, "webbing"),
    ]
    assert [piece.marked_working_load_limit for piece in box.tiedowns] == pytest.approx(
        [3333 * POUND, 6600 * POUND, 400 * POUND]
    )
    assert read_profile(folder / "loads" / "mower-in-order.yaml").gear == box


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("tiedowns: []\n", r"gear/bare\.yaml:3:11: found no tiedown in it; wanted an entry"),
        ("blocks: []\n", r"gear/bare\.yaml:1:1: found gear without `tiedowns`; wanted an entry"),
    ],
)
def test_gear_without_a_tiedown_is_reported_where_it_stands(
    text: str, message: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("gear").mkdir()
    Path("gear/bare.yaml").write_text(f"kind: gear\ntitle: Bare\n{text}")
    with pytest.raises(ProblemsFoundError, match=message):
        read_gear(Path("gear/bare.yaml"), Path.cwd())
