"""How much acceleration whole loads are held against: closed forms, symmetry, what is missing.

Expected figures: statics of symmetric loads, written beside each test; the same load written in
another way, which has to give the same; and laws of limit analysis.
"""

import copy
import json
import math
from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.facts.restraint import WAYS, holdings
from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from checker.units.arithmetic import Number

Data = dict[str, Any]
Read = Callable[[Data], Facts]
Vector = tuple[float, float, float]

FRONT_END = 3.0  # m behind the ball
LENGTH, WIDTH = 2.0, 1.6
WEIGHT = 10_000.0
FRICTION = 0.4
CG_HEIGHT = 0.3
LEVEL_WAYS = ("forward", "rearward", "left", "right")

slow_law = settings(
    max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)


def held(facts: Facts, name: str) -> Number:
    return facts.value(f"article.holds_{name}", facts.subjects("article")[0])


def missing(facts: Facts, name: str) -> list[str]:
    return facts.missing(f"article.holds_{name}", facts.subjects("article")[0])


def place(x: float, y: float, z: float) -> dict[str, str]:
    return {axis: f"{at!r} m" for axis, at in zip("xyz", (x, y, z), strict=True)}


def crate(**more: Any) -> Data:
    """A low crate on the middle of the deck, standing on its four corners, nothing tied."""
    article = {
        "type": "palletised goods",
        "weight": f"{WEIGHT} N",
        "length": f"{LENGTH} m",
        "width": f"{WIDTH} m",
        "cg": place(LENGTH / 2, 0.0, CG_HEIGHT),
        "friction": FRICTION,
        "placed": {"x": f"{FRONT_END} m", "y": "0 m", "facing": "forward"},
        **more,
    }
    return {"trailer": {"anchors": {}}, "articles": [article], "tiedowns": []}


def machine(**more: Any) -> Data:
    """A machine of the crate's size, on four wheels."""
    axles = {
        "front": {"x": "0.3 m", "track": "1.2 m"},
        "rear": {"x": "1.7 m", "track": "1.4 m"},
    }
    return crate(type="wheeled machine", axles=axles, **more)


def rated(limit: float) -> Data:
    parts = ("marked", "hooks", "tensioner")
    return {f"{part}_working_load_limit": f"{limit!r} N" for part in parts}


def tie(data: Data, point: Vector, run: Vector, limit: float = 4000.0, **more: Any) -> None:
    """A strap from a point of the article (own frame, facing forward) along a run to its anchor."""
    article, name = data["articles"][0], f"p{len(data['tiedowns'])}"
    unrated = {"working_load_limit": "no rating exists"}
    article.setdefault("attachments", {})[name] = {**place(*point), **unrated}
    x, y, z = (start + way for start, way in zip(point, run, strict=True))
    anchor = {**place(FRONT_END + x, y, z), "working_load_limit": "100 kN"}
    data["trailer"]["anchors"][name] = anchor
    data["tiedowns"].append(
        {
            "path": "direct",
            "device": "webbing",
            "anchor": name,
            "attachment": name,
            "breaking_strength": f"{3 * limit!r} N",
            **rated(limit),
            **more,
        }
    )


def tie_over(data: Data, angle: float, pretension: float, limit: float = 4000.0) -> None:
    """A strap straight across the top, 0.8 m high, its legs down to both sides at an angle."""
    article, name = data["articles"][0], f"p{len(data['tiedowns'])}"
    out = WIDTH / 2 + 0.8 / math.tan(angle)
    for side, sign in (("l", 1.0), ("r", -1.0)):
        article.setdefault("attachments", {})[name + side] = place(1.0, sign * WIDTH / 2, 0.8)
        anchor = {**place(FRONT_END + 1.0, sign * out, 0.0), "working_load_limit": "100 kN"}
        data["trailer"]["anchors"][name + side] = anchor
    data["tiedowns"].append(
        {
            "path": "other side",
            "device": "webbing",
            "anchor": f"{name}l",
            "far_anchor": f"{name}r",
            "over": [f"{name}l", f"{name}r"],
            "pretension": f"{pretension!r} N",
            **rated(limit),
        }
    )


# --- closed forms ---------------------------------------------------------------------------------


@pytest.mark.parametrize("way", LEVEL_WAYS)
def test_friction_alone_holds_its_coefficient(read: Read, way: str) -> None:
    """Statics: friction * weight = acceleration * weight."""
    facts = read(crate())
    assert held(facts, way) == pytest.approx(FRICTION, abs=1e-7)
    assert held(facts, f"{way}_without_friction") == pytest.approx(0.0, abs=1e-7)


def test_untied_it_lifts_at_one_g(read: Read) -> None:
    """Statics: upward acceleration equal to gravity leaves nothing on the deck."""
    assert held(read(crate()), "up") == pytest.approx(1.0, abs=1e-7)


def test_friction_holds_about_the_same_all_around(read: Read) -> None:
    """Friction's cone is a pyramid of 16 edges: at worst cos(pi / 16) of it is counted."""
    least = held(read(crate()), "least_way")
    assert FRICTION * math.cos(math.pi / 16) - 1e-7 <= least <= FRICTION


@pytest.mark.parametrize(("angle", "plan"), [(30, 0), (45, 20), (20, 50)])
@pytest.mark.parametrize(
    ("name", "limit", "friction"),
    [
        ("forward", 4000.0, FRICTION),
        ("forward_without_friction", 4000.0, 0.0),
        ("forward_at_breaking_strength", 12_000.0, FRICTION),
        ("forward_without_friction_at_breaking_strength", 12_000.0, 0.0),
    ],
)
def test_a_pair_at_an_angle_pulls_and_presses(
    read: Read, angle: int, plan: int, name: str, limit: float, friction: float
) -> None:
    """Statics: weight * a = 2 * limit * (cos * cos + friction * sin) + friction * weight.

    The same form as EN 12195-1:2010 5.5.3.1 (GDV form 1b) with no factor on friction.
    """
    data = crate()
    slope, turn = math.radians(angle), math.radians(plan)
    for side in (1.0, -1.0):
        run = (math.cos(slope) * math.cos(turn), side * math.cos(slope) * math.sin(turn))
        tie(data, (1.0, side * 0.5, CG_HEIGHT + 1.0), (*run, -math.sin(slope)))
    # Hooked ahead of and above the middle of a crate that is long for its height: no tipping.
    along = math.cos(slope) * math.cos(turn)
    wanted = 2 * limit * (along + friction * math.sin(slope)) / WEIGHT + friction
    assert held(read(data), name) == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize(
    ("way", "lever"), [("forward", 0.7), ("rearward", 1.3), ("left", 0.9), ("right", 0.7)]
)
def test_a_tall_crate_tips_over_its_edge(read: Read, way: str, lever: float) -> None:
    """Statics: lever over height. Cg 0.7 m behind the front edge, 0.1 m right of the middle."""
    data = crate(friction=1, cg=place(0.7, -0.1, 1.5))
    facts = read(data)
    assert held(facts, way) == pytest.approx(lever / 1.5, abs=1e-7)
    (found,) = [each for each in holdings(facts) if each.way == way]
    assert found.held.governs is not None
    assert (found.held.governs.kind, found.held.governs.motion) == ("tipping", "tipping")


@pytest.mark.parametrize(
    ("way", "lever"), [("forward", 0.7), ("rearward", 0.7), ("left", 0.6), ("right", 0.6)]
)
def test_a_machine_tips_over_its_wheels(read: Read, way: str, lever: float) -> None:
    """Statics: lever over height. Axles at 0.3 and 1.7 m, cg at 1 m and 2 m high.

    Both tracks equal, so that it tips over a line along the trailer.
    """
    data = machine(friction=1, cg=place(1.0, 0.0, 2.0), parking_brake_set="yes")
    data["articles"][0]["axles"]["rear"]["track"] = "1.2 m"
    assert held(read(data), way) == pytest.approx(lever / 2.0, abs=1e-7)


@pytest.mark.parametrize(
    ("brake", "park", "held_forward"),
    [("yes", "no", FRICTION), ("no", "yes", FRICTION), ("no", "no", 0.0)],
)
def test_wheels_free_to_roll_do_not_rub(
    read: Read, brake: str, park: str, held_forward: float
) -> None:
    facts = read(machine(parking_brake_set=brake, in_park=park))
    assert held(facts, "forward") == pytest.approx(held_forward, abs=1e-7)


def test_wheels_of_which_nobody_says_whether_they_roll_are_not_known(read: Read) -> None:
    facts = read(machine(parking_brake_set="no"))
    assert np.isnan(held(facts, "forward"))
    assert missing(facts, "forward") == ["articles.1.in_park"]
    assert held(facts, "forward_without_friction") == pytest.approx(0.0, abs=1e-7)


def test_goods_have_no_brake_to_set(read: Read) -> None:
    assert held(read(crate(parking_brake_set="no", in_park="no")), "left") == pytest.approx(
        FRICTION, abs=1e-7
    )


def test_a_strap_over_the_top_counts_what_it_was_drawn_to(read: Read) -> None:
    """Statics: a = friction * (1 + 2 * pretension * sin(angle) / weight)."""
    data = crate()
    tie_over(data, math.radians(60), pretension=1500.0)
    pressed = FRICTION * (1 + 2 * 1500 * math.sin(math.radians(60)) / WEIGHT)
    facts = read(data)
    assert [held(facts, way) for way in LEVEL_WAYS] == pytest.approx([pressed] * 4, rel=1e-6)
    stronger = crate()
    tie_over(stronger, math.radians(60), pretension=1500.0, limit=40_000.0)
    assert held(read(stronger), "forward") == pytest.approx(pressed, rel=1e-6)


def test_a_strap_drawn_over_its_limit_counts_its_limit(read: Read) -> None:
    data = crate()
    tie_over(data, math.radians(60), pretension=9000.0, limit=4000.0)
    pressed = FRICTION * (1 + 2 * 4000 * math.sin(math.radians(60)) / WEIGHT)
    assert held(read(data), "forward") == pytest.approx(pressed, rel=1e-6)


def test_a_block_holds_its_own_way_only(read: Read) -> None:
    """Statics: friction and strength over weight. It pushes at the height of the cg: no tipping."""
    block = {"stops": "forward", "strength": "3000 N", **place(0.0, 0.0, CG_HEIGHT)}
    facts = read(crate(blocks={"rail": block}))
    assert held(facts, "forward") == pytest.approx(FRICTION + 0.3, abs=1e-7)
    assert held(facts, "rearward") == pytest.approx(FRICTION, abs=1e-7)
    assert held(facts, "forward_without_friction") == pytest.approx(0.3, abs=1e-7)


@pytest.mark.parametrize(
    ("way", "at"),
    [("forward", (0.0, 0.0)), ("rearward", (2.0, 0.0)), ("left", (1.0, 0.8)), ("right", (1, -0.8))],
)
def test_a_block_stops_the_way_it_says(read: Read, way: str, at: tuple[float, float]) -> None:
    block = {"stops": way, "strength": "3000 N", **place(*at, CG_HEIGHT)}
    facts = read(crate(blocks={"rail": block}))
    found = {each: held(facts, f"{each}_without_friction") for each in LEVEL_WAYS}
    assert found == pytest.approx({**dict.fromkeys(LEVEL_WAYS, 0.0), way: 0.3}, abs=1e-7)


def test_nothing_is_looked_for_above_ten_g(read: Read) -> None:
    block = {"stops": "forward", "strength": "900 kN", **place(0.0, 0.0, CG_HEIGHT)}
    facts = read(crate(blocks={"rail": block}))
    assert held(facts, "forward") == pytest.approx(10.0)


def test_an_article_that_falls_over_by_itself_is_not_held(read: Read) -> None:
    data = crate(cg=place(1.0, 2.5, 0.5))  # beyond its own side
    facts = read(data)
    assert held(facts, "forward") == 0.0
    assert held(facts, "least_way") == 0.0


# --- the same load written in another way ---------------------------------------------------------


def four_corners(**more: Any) -> Data:
    """A crate off the middle, four unequal straps, one over the top and a block ahead."""
    block = {"stops": "forward", "strength": "1500 N", **place(0.0, 0.2, 0.2)}
    data = crate(cg=place(0.9, 0.1, 0.5), blocks={"rail": block}, **more)
    for x, y, out, aside, limit in (
        (0.1, 0.7, -0.9, 0.3, 3000.0),
        (0.1, -0.7, -0.7, -0.4, 4000.0),
        (1.9, 0.7, 0.8, 0.5, 5000.0),
        (1.9, -0.7, 1.0, -0.2, 3500.0),
    ):
        tie(
            data, (x, y, 0.8), (out, aside, -0.8), limit, pretension="200 N", stretch_at_limit="5 %"
        )
    return data


NAMES = [
    f"{way}{friction}{limit}"
    for way in WAYS
    for friction in ("", "_without_friction")
    for limit in ("", "_at_breaking_strength")
]
ELASTIC = [f"{way}_elastically" for way in LEVEL_WAYS]


def figures(facts: Facts, names: list[str]) -> dict[str, float]:
    return {name: float(held(facts, name)) for name in names}


def mirrored(data: Data) -> Data:
    image = copy.deepcopy(data)
    article = image["articles"][0]
    for at in (
        article["cg"],
        article["placed"],
        *article["attachments"].values(),
        *article["blocks"].values(),
        *image["trailer"]["anchors"].values(),
    ):
        at["y"] = f"{-float(at['y'].split()[0])!r} m"
    return image


def turned(data: Data) -> Data:
    """The same places on the trailer, written down for the crate facing rearward."""
    image = copy.deepcopy(data)
    article = image["articles"][0]
    article["placed"]["facing"] = "rearward"
    for at in (article["cg"], *article["attachments"].values(), *article["blocks"].values()):
        x, y = (float(at[axis].split()[0]) for axis in "xy")
        at |= {"x": f"{LENGTH - x!r} m", "y": f"{-y!r} m"}
    return image


def swapped(name: str) -> str:
    for one, other in (("left", "right"), ("right", "left")):
        if name.startswith(one):
            return other + name.removeprefix(one)
    return name


def test_facing_rearward_on_the_same_places_changes_nothing(read: Read) -> None:
    names = [*NAMES, *ELASTIC, "least_way"]
    found = figures(read(four_corners()), names)
    assert not np.isnan(list(found.values())).any()
    assert figures(read(turned(four_corners())), names) == pytest.approx(found, abs=2e-4)
    limit_analysis = figures(read(turned(four_corners())), NAMES)
    assert limit_analysis == pytest.approx({name: found[name] for name in NAMES}, abs=1e-7)


def test_a_mirror_image_changes_left_and_right_over(read: Read) -> None:
    found = figures(read(four_corners()), NAMES)
    image = figures(read(mirrored(four_corners())), NAMES)
    assert image == pytest.approx({name: found[swapped(name)] for name in NAMES}, abs=1e-7)
    elastic = figures(read(four_corners()), ELASTIC)
    other = figures(read(mirrored(four_corners())), ELASTIC)
    assert other == pytest.approx({name: elastic[swapped(name)] for name in ELASTIC}, abs=2e-4)


def test_the_place_on_the_trailer_does_not_matter(read: Read) -> None:
    """Everything 1.7 m further back and 0.2 m to the left."""
    moved = four_corners()
    moved["articles"][0]["placed"] |= {"x": f"{FRONT_END + 1.7} m", "y": "0.2 m"}
    for anchor in moved["trailer"]["anchors"].values():
        x, y = (float(anchor[axis].split()[0]) for axis in "xy")
        anchor |= {"x": f"{x + 1.7!r} m", "y": f"{y + 0.2!r} m"}
    found = figures(read(four_corners()), NAMES)
    assert figures(read(moved), NAMES) == pytest.approx(found, abs=1e-7)


def test_a_second_article_takes_no_part(read: Read) -> None:
    both = four_corners()
    other = crate(name="other")["articles"][0]
    other["placed"] = {"x": "6 m", "y": "0 m", "facing": "forward"}
    both["articles"] = [{**both["articles"][0], "name": "first"}, other]
    for tiedown in both["tiedowns"]:
        tiedown["article"] = "first"
    found = figures(read(four_corners()), NAMES)
    facts = read(both)
    assert figures(facts, NAMES) == pytest.approx(found, abs=1e-7)
    alone = facts.value("article.holds_left", facts.subjects("article")[1])
    assert alone == pytest.approx(FRICTION, abs=1e-7)


def test_a_winch_line_does_not_count(read: Read) -> None:
    data = four_corners()
    found = figures(read(data), [*NAMES, *ELASTIC])
    tie(data, (0.1, 0.0, 0.4), (-1.5, 0.0, -0.1), 20_000.0, device="winch line")
    assert figures(read(data), [*NAMES, *ELASTIC]) == found


# --- laws -----------------------------------------------------------------------------------------

runs = st.tuples(st.floats(-1.5, 1.5), st.floats(-1.2, 1.2))


@slow_law
@given(x=st.floats(0.05, 1.95), y=st.floats(-0.75, 0.75), run=runs)
def test_one_more_strap_never_lowers_a_figure(
    read: Read, x: float, y: float, run: tuple[float, float]
) -> None:
    """Tension only, anything from nothing to its limit: it can always be left slack."""
    data = four_corners()
    found = figures(read(data), NAMES)
    tie(data, (x, y, 0.8), (*run, -0.7))
    more = figures(read(data), NAMES)
    assert [name for name in NAMES if more[name] < found[name] - 1e-7] == []


@slow_law
@given(data=st.data())
def test_springs_hold_at_most_what_limit_analysis_finds_without_friction(
    read: Read, data: st.DataObject
) -> None:
    load = crate(cg=place(0.9, 0.1, 0.5))
    for x, y in ((0.1, 0.7), (0.1, -0.7), (1.9, 0.7), (1.9, -0.7)):
        out, aside = data.draw(runs)
        stretch = f"{data.draw(st.integers(1, 12))} %"
        drawn = f"{data.draw(st.integers(0, 2500))} N"
        tie(load, (x, y, 0.8), (out, aside, -0.8), stretch_at_limit=stretch, pretension=drawn)
    facts = read(load)
    for way in LEVEL_WAYS:
        elastic, plastic = held(facts, f"{way}_elastically"), held(facts, f"{way}_without_friction")
        assert 0.0 <= elastic <= plastic + 1e-3, way
        assert plastic <= held(facts, way) + 1e-7, way


@pytest.mark.parametrize(
    ("pretension", "wanted"),
    [
        (0.0, 4000.0),  # the other one is slack: all of the force in one
        (1000.0, 4000.0),  # slack before it is full: 2 * 1000 is less than 4000
        (3000.0, 2000.0),  # 3000 + force / 2 = 4000
        (3999.0, 2.0),
        (4001.0, 0.0),  # over its limit as it stands
    ],
)
def test_two_opposed_straps_share_a_force_until_one_is_slack(
    read: Read, pretension: float, wanted: float
) -> None:
    """Statics of two equal springs: pretension + force / 2, then the force. Flat, at the cg."""
    data = crate(friction=0)
    for x, run in ((0.1, -1.5), (1.9, 1.5)):
        drawn = {"pretension": f"{pretension} N", "stretch_at_limit": "5 %"}
        tie(data, (x, 0.0, CG_HEIGHT), (run, 0.0, 0.0), **drawn)
    facts = read(data)
    for way in ("forward", "rearward"):
        # Halved down to a ten-thousandth of g.
        found = held(facts, f"{way}_elastically")
        assert found == pytest.approx(wanted / WEIGHT, abs=1.5e-4), way


def test_a_stiff_strap_is_full_before_a_soft_one(read: Read) -> None:
    """Hand-calculated: two flat parallel straps alike but for stretch, 2 and 8 % at their limit.

    Both on the middle line they stretch alike: the soft one has a quarter of its limit when the
    stiff one is full. Together 5000 N over 10000 N; limit analysis has 8000.
    """
    data = crate(friction=0)
    for stretch in ("2 %", "8 %"):
        springs = {"stretch_at_limit": stretch, "pretension": "0 N"}
        tie(data, (1.9, 0.0, CG_HEIGHT), (1.5, 0.0, 0.0), **springs)
    # Both hook to one anchor: two at one point are refused.
    data["tiedowns"][1]["anchor"] = data["tiedowns"][0]["anchor"]
    del data["trailer"]["anchors"]["p1"]
    facts = read(data)
    assert held(facts, "forward_elastically") == pytest.approx(0.5, abs=1e-3)
    assert held(facts, "forward_without_friction") == pytest.approx(0.8, abs=1e-4)


def test_a_short_strap_is_full_before_a_long_one(read: Read) -> None:
    """Hand-calculated: alike but for their length, 0.5 and 2 m; the long one has a quarter of its
    limit when the short one is full: 5000 N over 10000 N.
    """
    data = crate(friction=0)
    for run in (0.5, 2.0):
        springs = {"stretch_at_limit": "5 %", "pretension": "0 N"}
        tie(data, (1.9, 0.0, CG_HEIGHT), (run, 0.0, 0.0), **springs)
    assert held(read(data), "forward_elastically") == pytest.approx(0.5, abs=1e-3)


# --- many rows ------------------------------------------------------------------------------------


def test_rows_of_tolerances_are_the_single_loads(read: Read) -> None:
    """Independent: the same load written out once for each end of the tolerances."""
    names = [*NAMES, *ELASTIC, "least_way"]
    uncertain = four_corners()
    uncertain["articles"][0]["weight"] = "10000 N +/- 2000 N"
    uncertain["tiedowns"][2]["marked_working_load_limit"] = "4000 N +/- 500 N"
    facts = read(uncertain)
    weights = facts.load.articles[0].weight
    assert facts.load.tiedowns is not None
    limits = facts.load.tiedowns[2].marked_working_load_limit
    assert np.size(weights) == 5
    columns = {name: held(facts, name) for name in names}
    for row, (weight, limit) in enumerate(zip(weights, limits, strict=True)):
        one = four_corners()
        one["articles"][0]["weight"] = f"{weight:.0f} N"
        one["tiedowns"][2]["marked_working_load_limit"] = f"{limit:.0f} N"
        found = figures(read(one), names)
        rows = {name: np.broadcast_to(columns[name], (5,))[row] for name in names}
        assert rows == pytest.approx(found, abs=1e-7), row


def test_a_row_that_is_not_stated_leaves_the_others_alone(
    books: Rulebooks, profile: Callable[[str], Load]
) -> None:
    load = profile(json.dumps({"kind": "load", **crate()}))
    rows = replace(load.articles[0], weight=np.array([WEIGHT, np.nan, 2 * WEIGHT]))
    load = replace(load, articles=(rows,), rows=3)
    facts = Facts(load, books.unmarked_on(date(2026, 6, 1)))
    found = np.asarray(held(facts, "left"))
    assert found == pytest.approx([FRICTION, np.nan, FRICTION], abs=1e-7, nan_ok=True)


# --- what is missing ------------------------------------------------------------------------------

LEFT_OUT: dict[str, tuple[str, ...]] = {
    "articles.1.weight": ("forward", "up_without_friction", "least_way", "left_elastically"),
    "articles.1.cg.y": ("forward", "up", "least_way", "left_elastically"),
    "articles.1.cg.z": ("forward", "up", "least_way", "left_elastically"),
    "articles.1.placed.x": ("forward", "up", "least_way", "left_elastically"),
    "articles.1.placed.y": ("forward", "up", "least_way", "left_elastically"),
    "articles.1.placed.facing": ("forward", "up", "least_way", "left_elastically"),
    "articles.1.type": ("forward", "up", "least_way", "left_elastically"),
    "articles.1.friction": ("forward", "up", "least_way"),
    "tiedowns.1.attachment": ("forward", "up", "least_way", "left_elastically"),
    "tiedowns.1.anchor": ("forward", "up", "least_way", "left_elastically"),
    "tiedowns.1.hooks_working_load_limit": ("forward", "left_elastically"),
    "tiedowns.1.breaking_strength": ("forward_at_breaking_strength",),
    "tiedowns.1.pretension": ("left_elastically",),
    "tiedowns.1.stretch_at_limit": ("left_elastically",),
    "articles.1.cg.x": ("forward", "up"),
    "trailer.anchors.p0.x": ("forward",),
    "articles.1.attachments.p0.z": ("forward",),
    "articles.1.blocks.rail.strength": ("forward",),
    "articles.1.width": ("forward",),
    "articles.1.length": ("forward",),
}


def without(data: Data, field: str) -> Data:
    inside: Any = data
    *way, last = field.split(".")
    for part in way:
        inside = inside[int(part) - 1] if isinstance(inside, list) else inside[part]
    del inside[last]
    return data


@pytest.mark.parametrize(
    ("field", "name"), [(field, name) for field, names in LEFT_OUT.items() for name in names]
)
def test_what_is_left_out_leaves_the_figure_open_and_is_named(
    read: Read, field: str, name: str
) -> None:
    facts = read(without(four_corners(), field))
    assert np.isnan(held(facts, name))
    assert field in missing(facts, name)


def test_what_one_figure_lacks_does_not_touch_another(read: Read) -> None:
    facts = read(without(four_corners(), "tiedowns.1.breaking_strength"))
    assert np.isnan(held(facts, "forward_at_breaking_strength"))
    assert not np.isnan(held(facts, "forward"))
    facts = read(without(four_corners(), "articles.1.friction"))
    assert not np.isnan(held(facts, "forward_without_friction"))


def test_the_pretension_of_a_strap_over_the_top_is_asked_for(read: Read) -> None:
    data = crate()
    tie_over(data, math.radians(60), pretension=1500.0)
    del data["tiedowns"][0]["pretension"]
    facts = read(data)
    assert np.isnan(held(facts, "forward"))
    assert missing(facts, "forward") == ["tiedowns.1.pretension"]


def test_a_direct_strap_needs_no_pretension(read: Read) -> None:
    facts = read(without(four_corners(), "tiedowns.1.pretension"))
    assert not np.isnan(held(facts, "forward"))


@pytest.mark.parametrize("name", ["forward", "left_without_friction", "least_way"])
def test_tiedowns_not_stated_are_not_the_same_as_none(read: Read, name: str) -> None:
    data = crate()
    assert not np.isnan(held(read(data), name))
    del data["tiedowns"]
    facts = read(data)
    assert np.isnan(held(facts, name))
    assert missing(facts, name) == ["tiedowns"]


# --- what gives first -----------------------------------------------------------------------------


def test_holdings_tell_what_gives_first_each_way(read: Read) -> None:
    data = crate()
    for side in (1.0, -1.0):
        tie(data, (1.0, side * 0.5, 1.0), (1.0, 0.0, -1.0))
    facts = read(data)
    found = list(holdings(facts))
    assert [each.way for each in found] == list(WAYS)
    governs = {each.way: each.held.governs for each in found}
    assert all(
        each.held.acceleration_g == pytest.approx(held(facts, each.way), abs=1e-7) for each in found
    )
    forward, rearward = governs["forward"], governs["rearward"]
    assert forward is not None
    assert rearward is not None
    assert (forward.kind, forward.motion) == ("tiedown full", "sliding")
    assert forward.tiedowns == ("tiedown 1 at p0", "tiedown 2 at p1")
    # Going rearward friction is all there is, and the straps still press a little.
    assert rearward.motion == "sliding"


def test_holdings_leave_out_what_cannot_be_worked_out(read: Read) -> None:
    data = four_corners()
    data["articles"] = [
        {**without(four_corners(), "articles.1.cg.z")["articles"][0], "name": "unknown"},
        {
            **crate()["articles"][0],
            "name": "known",
            "placed": {"x": "30 m", "y": "0 m", "facing": "forward"},
        },
    ]
    for tiedown in data["tiedowns"]:
        tiedown["article"] = "unknown"
    facts = read(data)
    assert {each.article.name for each in holdings(facts)} == {"known"}
    del data["tiedowns"]
    assert list(holdings(read(data))) == []
