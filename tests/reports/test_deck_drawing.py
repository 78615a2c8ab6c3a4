"""The drawing of a load: columns worked out by hand from the scale, symmetry, turns, widths.

The side-by-side's trailer is 97 in wide, which takes eight rows on either side of the centre line:
a column is 97 / 2 / 16 = 3.03125 in and a row twice as much.
"""

from collections.abc import Iterator
from datetime import date
from functools import cache

import pytest
from msgspec.structs import replace

from checker.documents.resources import shipped_folder
from checker.evaluation.check import check
from checker.load.build import read_load
from checker.reports.shared.deck_drawing import Drawing, plan, side
from checker.reports.shared.scene import Scene
from checker.reports.shared.scene_building import build_scene
from checker.rulebooks.model import Rulebooks
from checker.units.formatting import US

LOADS = sorted(file.stem for file in (shipped_folder("profiles") / "loads").iterdir())
NO_RULES = Rulebooks((), ())


@cache
def scene(name: str) -> Scene:
    file = shipped_folder("profiles") / "loads" / f"{name}.yaml"
    return build_scene(check(read_load(file), NO_RULES, date(2026, 6, 1)))


def drawn(name: str, columns: int = 80, *, plain: bool = True) -> Drawing:
    drawing = plan(scene(name), columns, US, plain=plain)
    assert drawing is not None
    return drawing


def all_drawings(name: str) -> Iterator[tuple[int, bool, Drawing]]:
    for columns in (60, 80, 100):
        for plain in (True, False):
            for view in (plan, side):
                drawing = view(scene(name), columns, US, plain=plain)
                assert drawing is not None
                yield columns, plain, drawing


@pytest.mark.parametrize("name", LOADS)
def test_every_bundled_load_fits_and_explains_its_marks(name: str) -> None:
    for columns, plain, drawing in all_drawings(name):
        assert max(map(len, drawing.lines)) <= columns
        assert len(drawing.lines) <= 20
        text = "\n".join(drawing.lines)
        assert text.isascii() or not plain
        for mark, meaning in drawing.legend:
            if meaning not in ("tiedowns, at their anchors", "anchor", "trailer axle"):
                assert mark in text, (mark, meaning)


def test_everything_stands_in_the_column_of_its_place() -> None:
    lines = drawn("side-by-side-in-order").lines
    middle = next(line for line in lines if line.startswith("@"))
    assert middle.index("#") == 15  # deck and rail at 46 in
    assert middle.index("<") == 17  # front end at 52 in
    assert middle.index("X") == 36  # centre of gravity at 109.35 in
    assert middle.index(":") == 41  # axle at 124 in
    assert middle.index("|") == 51  # rear end at 156 in
    assert middle.rindex("|") == 55  # rear edge of the deck at 166 in
    assert [number for number, line in enumerate(lines) if "(O)" in line] == [0, 14]
    assert lines[-2].startswith("+-------+")  # 24 in after 7.9 columns
    assert lines[-1].split() == ["0", "2", "4", "6", "8", "10", "12", "14"]


def test_a_row_is_as_much_as_two_columns() -> None:
    lines = drawn("side-by-side-in-order").lines
    machine = [number for number, line in enumerate(lines) if "[==" in line]
    # 60 in are 9.9 rows of 6.0625 in: five on either side of the middle.
    assert machine == [2, 12]


def test_a_load_alike_on_both_sides_is_drawn_alike() -> None:
    lines = list(drawn("side-by-side-in-order").lines[:-2])
    turned = "\n".join(reversed(lines)).translate(str.maketrans("1234", "2143"))
    swapped = turned.replace("RIGHT", "?").replace("LEFT ", "RIGHT").replace("?", "LEFT ")
    assert swapped == "\n".join(lines)


def test_the_left_side_is_the_lower_one() -> None:
    lines = drawn("side-by-side-in-order").lines
    rows = {mark: n for n, line in enumerate(lines[:-2]) for mark in "12" if mark in line}
    # Tiedown 1 hooks at the front left anchor, tiedown 2 at the front right one.
    assert rows == {"2": 3, "1": 11}
    assert lines[1].startswith("RIGHT")
    assert lines[13].startswith("LEFT")


def test_which_way_a_machine_looks_is_told_at_its_own_front_end() -> None:
    forward, rearward = (
        drawn("loader-tractor-in-order"),
        drawn("compact-tractor-tail-first-in-order"),
    )
    assert ("<", "its own front end") in forward.legend
    assert (">", "its own front end") in rearward.legend
    middle = next(line for line in rearward.lines if line.startswith("@"))
    # 20 ft 2 in of deck end at 242 in; a column is 101 / 32 = 3.156 in, its front end at 208 in.
    assert middle.index(">") == 66
    assert "<" not in middle


def test_what_stands_on_the_deck_is_told_apart_by_letters() -> None:
    legend = dict(drawn("gooseneck-two-articles-in-order").legend)
    assert legend["A"] == "Skid-steer loader"
    assert legend["B"] == "Pallet of attachments"


def test_tiedowns_of_one_anchor_share_its_place() -> None:
    load = scene("side-by-side-in-order")
    moved = replace(load.tiedowns[2], path=load.tiedowns[0].path)
    drawing = plan(
        replace(load, tiedowns=(*load.tiedowns[:2], moved, load.tiedowns[3])), 80, US, plain=True
    )
    assert drawing is not None
    assert any("1,3" in line for line in drawing.lines)


def test_nothing_is_drawn_of_a_deck_without_measures() -> None:
    load = scene("side-by-side-in-order")
    unknown = replace(load, deck=replace(load.deck, left=float("nan"), right=float("nan")))
    assert plan(unknown, 80, US, plain=True) is None
    assert side(unknown, 80, US, plain=True) is not None


def test_what_is_not_stated_is_left_out() -> None:
    drawing = drawn("missing-information")
    meanings = {meaning for _, meaning in drawing.legend}
    assert "outline of what is on the deck" not in meanings
    assert "tiedowns, at their anchors" in meanings


def test_heights_are_to_scale_from_the_side() -> None:
    drawing = side(scene("side-by-side-in-order"), 80, US, plain=True)
    assert drawing is not None
    lines = drawing.lines
    # 74 in of machine and 24 in of deck height on 15 rows: 6.53 in each.
    assert lines[0].lstrip().startswith("[=")
    assert next(number for number, line in enumerate(lines) if "---" in line) == 11  # 74 / 6.53
    assert next(number for number, line in enumerate(lines) if "~~~" in line) == 15
    assert next(number for number, line in enumerate(lines) if "X" in line) == 8  # 49 / 6.53 = 7.5
