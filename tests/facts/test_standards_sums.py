"""Standards' sums turned round: what each standard says a whole load holds, in g.

A case asks which lashings hold a coefficient; here exactly those lashings stand on a load and the
fact has to give the coefficient back. Expected figures: the worked cases of the international
reference, each with its origin in the file; and laws that hold whatever the figures are.
"""

import copy
import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checker.facts.view import Facts
from checker.units.arithmetic import Number
from tests.lashed_goods import (
    CASE_G,
    Data,
    add_direct,
    add_over,
    amount,
    goods,
    metres,
    pull_against,
)
from tests.published import published_cases

G = 9.80665  # N/kg, standard gravity, exact

CASES = published_cases("international-cases")

Read = Callable[[Data], Facts]


def of_article(facts: Facts, name: str) -> Number:
    return facts.value(f"article.{name}", facts.subjects("article")[0])


# --- EN 12195-1: direct lashing -------------------------------------------------------------------

DIRECT = {
    "intl-direct-01": "forward",
    "intl-direct-02": "rearward",
    "intl-direct-03": "left",
    "intl-direct-04": "forward",
}


@pytest.mark.parametrize("case_id", DIRECT)
def test_direct_lashings_of_the_force_a_case_asks_for_hold_its_coefficient(
    case_id: str, read: Read
) -> None:
    given, way = CASES[case_id]["given"], DIRECT[case_id]
    assert (given["conversion_factor"], given["c_z"]) == ("0.75 1", "1.0 1")
    data = goods(amount(given["mass"]), friction=amount(given["friction_factor"]))
    needed = amount(CASES[case_id]["expect"]["force_per_lashing"])
    assert given["acting_lashings"] == "2 1"
    angle, plan = (amount(given[each]) for each in ("vertical_angle", "plan_angle_to_direction"))
    for side in (1.0, -1.0):
        pull = pull_against(way, angle, plan, side)
        add_direct(data, (1.0, side, 1.5), pull, lashing_capacity=f"{needed!r} N")
    held = of_article(read(data), f"en_12195_1_direct_sliding_{way}")
    # The case rounds its force to 0.006 kN, two of which are this much of the weight.
    assert held == pytest.approx(amount(given["c"]), abs=2 * 6 / amount(given["mass"]))


@pytest.mark.parametrize(
    ("case_id", "way"), [("intl-direct-05", "forward"), ("intl-direct-06", "left")]
)
def test_unequal_direct_lashings_leave_the_margin_of_the_case(
    case_id: str, way: str, read: Read
) -> None:
    case = CASES[case_id]
    given = case["given"]
    data = goods(amount(given["mass"]), friction=amount(given["friction_factor"]))
    for lashing, side in zip(given["lashings"], (1.0, -1.0), strict=True):
        # The lashings run rearward; against moving left both pull to the right.
        across = -1.0 if way == "left" else side
        run = [amount(lashing[axis]) for axis in ("X", "Y", "Z")]
        pull = (run[0], across * run[1], -run[2])
        add_direct(data, (1.0, side, 1.5), pull, lashing_capacity=lashing["LC"])
    held = float(of_article(read(data), f"en_12195_1_direct_sliding_{way}"))
    margin = (held - amount(given["c"])) * amount(given["mass"])
    assert margin == pytest.approx(amount(case["expect"]["margin"]), abs=6.0)


@pytest.mark.parametrize("case_id", ["intl-dirtilt-01", "intl-dirtilt-02"])
def test_direct_lashings_against_tilting_hold_the_largest_mass_of_the_case(
    case_id: str, read: Read
) -> None:
    """The edge it tips over is 1 m ahead of the middle; the centre of gravity is the case's lever
    behind it and the lashings are hooked the case's lever behind it too.
    """
    given = CASES[case_id]["given"]
    lever, hooked = amount(given["lever_b"]), amount(given["lever_w"])
    mass = amount(CASES[case_id]["expect"]["largest_mass"])
    cg = {"x": f"{lever!r} m", "y": "0 m", "z": given["cog_height_d"]}
    data = goods(mass, cg=cg, length="3 m")
    angle, plan = (amount(given[each]) for each in ("vertical_angle", "plan_angle_to_direction"))
    for side in (1.0, -1.0):
        place = (hooked, side, amount(given["attachment_height"]))
        pull = pull_against("forward", angle, plan, side)
        add_direct(data, place, pull, lashing_capacity=given["force_per_lashing"])
    held = of_article(read(data), "en_12195_1_direct_tilting_forward")
    # A thousandth of the mass is less than a thousandth of the coefficient.
    assert held == pytest.approx(amount(given["c"]), rel=0.001)


@pytest.mark.parametrize(
    ("case_id", "way"),
    [(case, way) for case in ("intl-tilt-12", "intl-tilt-13") for way in ("forward", "left")],
)
def test_without_lashings_tilting_is_lever_over_height(case_id: str, way: str, read: Read) -> None:
    """Of the stability cases: 0.6 m over 1 m holds more than the coefficient, 0.5 m just it."""
    given = CASES[case_id]["given"]
    lever = amount(given["lever_b"])
    centre = {"x": f"{lever} m", "y": f"{1 - lever} m", "z": given["cog_height_d"]}
    held = of_article(read(goods(10_000.0, cg=centre)), f"en_12195_1_direct_tilting_{way}")
    assert held == pytest.approx(lever / amount(given["cog_height_d"]), rel=1e-12)
    stable = "tilt-safe" if held > amount(given["c"]) + 1e-12 else "not tilt-safe"
    assert stable == CASES[case_id]["expect"]["stability"]


@pytest.mark.parametrize(
    ("way", "lever"), [("forward", 0.5), ("rearward", 0.8), ("left", 0.4), ("right", 0.4)]
)
def test_a_machine_tips_over_its_wheels_and_not_its_corners(
    read: Read, way: str, lever: float
) -> None:
    """Hand-calculated: axles at 0.4 and 1.7 m, cg 0.9 m behind the front end and 0.5 m high, the
    narrower of the two tracks 0.8 m.
    """
    axles = {"front": {"x": "0.4 m", "track": "0.8 m"}, "rear": {"x": "1.7 m", "track": "1.2 m"}}
    centre = {"x": "0.9 m", "y": "0 m", "z": "0.5 m"}
    facts = read(goods(10_000.0, type="wheeled machine", axles=axles, cg=centre))
    held = of_article(facts, f"en_12195_1_direct_tilting_{way}")
    assert held == pytest.approx(lever / 0.5, rel=1e-12)


# --- EN 12195-1: lashings over the top, blocking --------------------------------------------------


@pytest.mark.parametrize(
    ("case_id", "way"),
    [("intl-frict-04", "forward"), ("intl-frict-05", "left"), ("intl-frict-06", "forward")],
)
def test_the_lashings_a_case_asks_for_hold_its_coefficient(
    case_id: str, way: str, read: Read
) -> None:
    """The case's exact number of lashings is a broken one: one lashing of so many times the STF."""
    case = CASES[case_id]
    given = case["given"]
    stf = amount(given["pretension"]) * amount(case["expect"]["exact_number"])
    data = goods(amount(given["mass"]), friction=amount(given["friction_factor"]))
    add_over(data, amount(given["angle"]), standard_tension=f"{stf!r} N")
    if "blocking_capacity" in given:
        block = {"stops": way, "strength": given["blocking_capacity"], **metres(0.0, 0.0, 0.1)}
        data["articles"][0]["blocks"] = {"rail": block}
    held = of_article(read(data), f"en_12195_1_friction_sliding_{way}")
    assert held == pytest.approx(amount(given["c"]), abs=0.0005)


@pytest.mark.parametrize(
    ("way", "safety"), [("forward", 1.25), ("rearward", 1.1), ("left", 1.1), ("right", 1.1)]
)
def test_each_way_has_its_own_safety_factor(read: Read, way: str, safety: float) -> None:
    """EN 12195-1:2010 5.4.2 in GDV's forms. One upright strap of 3 kN over 10 kN, friction 0.4."""
    data = goods(10_000.0, friction=0.4)
    add_over(data, math.pi / 2, standard_tension="3 kN")
    held = of_article(read(data), f"en_12195_1_friction_sliding_{way}")
    assert held == pytest.approx(0.4 + 2 * 0.4 * 0.3 / safety, rel=1e-12)


@pytest.mark.parametrize("case_id", ["intl-frict-07", "intl-frict-08"])
def test_friction_alone_holds_its_own_coefficient(case_id: str, read: Read) -> None:
    given = CASES[case_id]["given"]
    friction = amount(given["friction_factor"])
    held = of_article(read(goods(10_000.0, friction=friction)), "en_12195_1_friction_sliding_left")
    assert held == pytest.approx(friction, rel=1e-12)
    assert held >= amount(given["c"])  # so the case needs no lashing


@pytest.mark.parametrize(
    ("case_id", "way"),
    [("intl-block-01", "forward"), ("intl-block-02", "rearward"), ("intl-block-03", "left")],
)
def test_the_blocking_a_case_asks_for_holds_its_coefficient(
    case_id: str, way: str, read: Read
) -> None:
    case = CASES[case_id]
    given = case["given"]
    data = goods(amount(given["mass"]), friction=amount(given["friction_factor"]))
    strength = amount(case["expect"]["blocking_capacity"])
    if strength:
        block = {"stops": way, "strength": f"{strength!r} N", **metres(0.0, 0.0, 0.1)}
        data["articles"][0]["blocks"] = {"rail": block}
    held = of_article(read(data), f"en_12195_1_friction_sliding_{way}")
    assert held == pytest.approx(amount(given["c"]), abs=1e-6)


def test_a_block_holds_only_the_way_it_stops(read: Read) -> None:
    """Hand-calculated: 0.75 * 0.4, and 3000 N over 10000 N more where the block stands."""
    block = {"stops": "forward", "strength": "3000 N", **metres(0.0, 0.0, 0.1)}
    facts = read(goods(10_000.0, friction=0.4, blocks={"rail": block}))
    held = [of_article(facts, f"en_12195_1_direct_sliding_{way}") for way in ("forward", "left")]
    assert held == pytest.approx([0.6, 0.3], rel=1e-12)


# --- CTU Code -------------------------------------------------------------------------------------

SHARES = {"webbing": 0.50, "chain": 0.50, "wire rope": 0.30, "steel strapping": 0.70}
"""CSS Code annex 13 table 1, text seen; fibre rope 0.33."""


@pytest.mark.parametrize(
    ("device", "share"), [*SHARES.items(), ("polyester rope", 0.33), ("manila rope", 0.33)]
)
def test_the_ctu_sum_counts_the_securing_load_of_each_device(
    read: Read, device: str, share: float
) -> None:
    """Hand-calculated: 20 kN straight rearward at 45 degrees under 10 kN with friction 0.4:
    0.75 * 0.4 + share * 2 * (cos 45 + 0.3 * sin 45).
    """
    data = goods(10_000.0, friction=0.4)
    pull = pull_against("forward", math.pi / 4, 0.0, 1.0)
    add_direct(data, (1.0, 0.0, 1.0), pull, device=device, breaking_strength="20000 N")
    held = of_article(read(data), "ctu_code_direct_forward")
    assert held == pytest.approx(0.3 + share * 2.0 * math.sqrt(0.5) * 1.3, rel=1e-12)


def test_a_device_the_ctu_table_does_not_know_leaves_it_open(read: Read) -> None:
    data = goods(10_000.0, friction=0.4)
    pull = pull_against("forward", math.pi / 4, 0.0, 1.0)
    strap = {"device": "unidentified synthetic rope", "breaking_strength": "20000 N"}
    add_direct(data, (1.0, 0.0, 1.0), pull, **strap)
    assert np.isnan(of_article(read(data), "ctu_code_direct_forward"))


# --- Australia ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("case_id", "effect"), [("intl-au-02", 3400 / 3500), ("intl-au-04", 1.5 / 2.0)]
)
def test_the_chains_a_guide_asks_for_hold_its_coefficient(
    case_id: str, effect: float, read: Read
) -> None:
    """Angle effects: 3400 over 3500 mm (loader), 1.5 over 2 m (roller), both from the cases."""
    case = CASES[case_id]
    given = case["given"]
    capacity = amount(case["expect"]["required_LC"])
    assert given["acting_chains"] == "2 1"
    data = goods(amount(given["mass"]), friction=0.6)
    for side in (1.0, -1.0):
        pull = (effect, side * math.sqrt(1 - effect**2) * 0.6, -math.sqrt(1 - effect**2) * 0.8)
        place, held = (1.0, side, 1.5), {"device": "chain", "lashing_capacity": f"{capacity!r} N"}
        add_direct(data, place, pull, **held)
    held_forward = of_article(read(data), "australia_direct_forward")
    # The case rounds its capacity to 0.6 kgf, two of which are this much of the mass.
    assert held_forward == pytest.approx(amount(given["c"]), abs=1.2 * CASE_G / amount("8000 kg"))


@pytest.mark.parametrize("case_id", ["intl-au-05", "intl-au-06", "intl-au-07"])
@pytest.mark.parametrize(
    ("mass", "coefficient"),
    [("mass_unblocked", "c_unblocked"), ("mass_blocked", "c_blocked_in_front")],
)
def test_one_strap_over_the_mass_of_a_case_holds_its_coefficient(
    case_id: str, mass: str, coefficient: str, read: Read
) -> None:
    case = CASES[case_id]
    given = case["given"]
    weight = amount(case["expect"][mass])
    data = goods(weight, friction=amount(given["friction_factor"]))
    add_over(data, amount(given["angle"]), standard_tension=f"{amount(given['pretension'])!r} N")
    held = of_article(read(data), "australia_tie_down_forward")
    # The case rounds its mass to 0.6 kg, the lightest being 155 kg: 0.4 % of what the strap adds.
    assert held == pytest.approx(amount(given[coefficient]), abs=0.4 * 0.6 / 155)


# --- New Zealand ----------------------------------------------------------------------------------


def nz(mass: str, *tiedowns: Data) -> Data:
    data = goods(amount(mass))
    for y, each in enumerate(tiedowns):
        add_direct(data, (1.0, float(y), 1.0), (1.0, 0.0, -1.0), **each)
    return data


@pytest.mark.parametrize(
    ("case_id", "rated", "ratio"),
    [
        ("intl-nz-01", "total_strength", 2.0),
        ("intl-nz-02", "total_strength", 1.0),
        ("intl-nz-04", "total_strength", 1.5),
    ],
)
def test_chains_of_the_strength_a_case_asks_for_are_its_multiple_of_the_weight(
    case_id: str, rated: str, ratio: float, read: Read
) -> None:
    """Multiples by headboard: none 2, full 1, partial 1.5, as in the cases."""
    case = CASES[case_id]
    half = f"{amount(case['expect'][rated]) / 2!r} N"
    chains = [{"device": "chain", "breaking_strength": half}] * 2
    facts = read(nz(case["given"]["mass"], *chains))
    assert of_article(facts, "new_zealand_strength_ratio") == pytest.approx(ratio, rel=1e-12)


def test_two_chains_of_the_rating_a_case_asks_for(read: Read) -> None:
    case = CASES["intl-nz-03"]
    assert case["given"]["chains"] == "2 1"
    strength = f"{amount(case['expect']['rating_per_chain'])!r} N"
    facts = read(
        nz(case["given"]["mass"], *[{"device": "chain", "breaking_strength": strength}] * 2)
    )
    assert of_article(facts, "new_zealand_strength_ratio") == pytest.approx(1.0, rel=1e-12)


def test_webbing_is_rated_at_half_its_breaking_strength(read: Read) -> None:
    case = CASES["intl-nz-05"]
    webbing = {"device": "webbing", "breaking_strength": case["given"]["breaking_strength"]}
    facts = read(nz("10 t", webbing))
    rated = float(of_article(facts, "new_zealand_strength_ratio")) * amount("10 t")
    assert rated == pytest.approx(amount(case["expect"]["rated_strength"]), rel=1e-12)


@pytest.mark.parametrize(
    ("device", "share"), [("wire rope", 1.0), ("chain", 1.0), ("polyester rope", 0.5)]
)
def test_chain_and_wire_count_in_full_and_rope_at_half(
    read: Read, device: str, share: float
) -> None:
    facts = read(nz("10 t", {"device": device, "breaking_strength": "49.05 kN"}))
    assert of_article(facts, "new_zealand_strength_ratio") == pytest.approx(share / 2, rel=1e-12)


# --- laws -----------------------------------------------------------------------------------------

SUMS = [
    *(
        f"{sum_}_{way}"
        for sum_ in (
            "en_12195_1_direct_sliding",
            "en_12195_1_direct_tilting",
            "en_12195_1_friction_sliding",
            "en_12195_1_friction_tilting",
            "en_12195_1_sliding",
            "australia_direct",
            "australia_tie_down",
            "ctu_code_direct",
            "ctu_code_sliding",
        )
        for way in ("forward", "rearward", "left", "right")
    ),
    *(f"en_12195_1_friction_tilting_at_half_capacity_{way}" for way in ("left", "right")),
    "new_zealand_strength_ratio",
]

STRAP = {"lashing_capacity": "2000 daN", "standard_tension": "300 daN", "breaking_strength": "4 t"}


def well_tied(**more: Any) -> Data:
    """A crate off the middle, four unequal lashings from its corners and one over the top."""
    centre = {"x": "0.9 m", "y": "0.1 m", "z": "0.6 m"}
    data = goods(12_000.0, friction=0.4, cg=centre, **more)
    corners = [(0.1, 0.9), (0.1, -0.9), (1.9, 0.9), (1.9, -0.9)]
    for (x, y), (out, aside) in zip(
        corners, [(0.9, 0.3), (0.7, 0.4), (0.8, 0.5), (1.0, 0.2)], strict=True
    ):
        pull = (out if x > 1 else -out, aside if y > 0 else -aside, -0.8)
        add_direct(data, (x, y, 0.8), pull, **STRAP)
    add_over(data, math.radians(70), **STRAP)
    return data


def mirrored(data: Data) -> Data:
    """Left and right changed over."""
    image = copy.deepcopy(data)
    article = image["articles"][0]
    for place in (
        article["cg"],
        article["placed"],
        *article["attachments"].values(),
        *image["trailer"]["anchors"].values(),
    ):
        number, unit = place["y"].split()
        place["y"] = f"{-float(number)!r} {unit}"
    return image


def turned(data: Data) -> Data:
    """The same places on the trailer, written down for the crate facing rearward."""
    image = copy.deepcopy(data)
    article = image["articles"][0]
    article["placed"]["facing"] = "rearward"
    for place in (article["cg"], *article["attachments"].values()):
        x, y = (float(place[axis].split()[0]) for axis in "xy")
        place |= {"x": f"{2.0 - x!r} m", "y": f"{-y!r} m"}
    return image


def figures(facts: Facts) -> dict[str, float]:
    return {name: float(of_article(facts, name)) for name in SUMS}


def swapped(name: str) -> str:
    other = {"left": "right", "right": "left"}
    sum_, _, way = name.rpartition("_")
    return f"{sum_}_{other[way]}" if way in other else name


def test_a_mirror_image_changes_left_and_right_over(read: Read) -> None:
    found, image = figures(read(well_tied())), figures(read(mirrored(well_tied())))
    assert not np.isnan(list(found.values())).any()
    assert image == pytest.approx({name: found[swapped(name)] for name in SUMS}, rel=1e-12)


def test_facing_rearward_on_the_same_places_changes_nothing(read: Read) -> None:
    found = figures(read(well_tied()))
    assert figures(read(turned(well_tied()))) == pytest.approx(found, rel=1e-12)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    x=st.floats(0.05, 1.95),
    y=st.floats(-0.95, 0.95),
    along=st.floats(-1.5, 1.5),
    across=st.floats(-1.5, 1.5),
    over=st.booleans(),
)
def test_one_more_lashing_never_lowers_a_sum(
    read: Read, *, x: float, y: float, along: float, across: float, over: bool
) -> None:
    data = well_tied()
    found = figures(read(data))
    if over:
        add_over(data, math.radians(60), x=x, **STRAP)
    else:
        add_direct(data, (x, y, 0.8), (along, across, -0.8), **STRAP)
    more = figures(read(data))
    lower = [name for name in SUMS if not more[name] >= found[name] - 1e-12]
    assert lower == []


def test_a_lashing_over_the_top_is_the_same_from_both_ends(read: Read) -> None:
    """One leg at 45 degrees, the other at 80. Hand-calculated for Australia: friction 0.4 on 10 kN
    pressed by 3 kN * (sin 45 + sin 80): 0.4 * (1 + 0.3 * 1.692) = 0.603.
    """
    data = goods(10_000.0, friction=0.4)
    add_over(data, math.radians(45), **STRAP)
    out = math.cos(math.radians(80)) / math.sin(math.radians(80))
    data["trailer"]["anchors"]["over-0-right"] |= metres(4.0, -1.0 - out, 0.0)
    other = copy.deepcopy(data)
    (strap,) = other["tiedowns"]
    strap |= {"anchor": strap["far_anchor"], "far_anchor": strap["anchor"]}
    strap["over"].reverse()
    for name in ("australia_tie_down_left", "en_12195_1_friction_sliding_left"):
        assert of_article(read(other), name) == pytest.approx(of_article(read(data), name))
    held = of_article(read(data), "australia_tie_down_left")
    sines = math.sin(math.radians(45)) + math.sin(math.radians(80))
    assert held == pytest.approx(0.4 * (1 + 0.3 * sines), rel=1e-12)


def test_a_winch_line_counts_in_no_sum(read: Read) -> None:
    data = well_tied()
    found = figures(read(data))
    add_direct(data, (1.0, 0.0, 0.3), (-1.0, 0.0, 0.0), **STRAP, device="winch line")
    assert figures(read(data)) == found


def test_friction_lashing_has_nothing_to_do_with_lashing_capacity(read: Read) -> None:
    """Nor direct lashing with the tension left by hand."""
    strong, slack = well_tied(), well_tied()
    for tiedown in strong["tiedowns"]:
        tiedown |= {"lashing_capacity": "9999 daN", "breaking_strength": "20 t"}
    for tiedown in slack["tiedowns"]:
        tiedown["standard_tension"] = "1 daN"
    found = figures(read(well_tied()))
    for data, same in ((strong, ("friction", "tie_down")), (slack, ("direct", "half_capacity"))):
        other = figures(read(data))
        kept = [
            name
            for name in SUMS
            if any(word in name for word in same)
            and ("half_capacity" in name) is ("half_capacity" in same and "tilting_at" in name)
        ]
        assert [other[name] for name in kept] == [found[name] for name in kept]
        assert other != found


def test_tolerances_make_rows_that_are_the_single_loads(read: Read) -> None:
    """Independent: the same load written out once for each end of the tolerance."""
    uncertain, rows = well_tied(), []
    uncertain["articles"][0]["weight"] = "12000 N +/- 1000 N"
    uncertain["trailer"]["anchors"]["point-0"]["x"] = "2.2 m +/- 0.1 m"
    for weight, x in ((12, 2.2), (11, 2.1), (11, 2.3), (13, 2.1), (13, 2.3)):
        one = well_tied()
        one["articles"][0]["weight"] = f"{weight}000 N"
        one["trailer"]["anchors"]["point-0"]["x"] = f"{x} m"
        rows.append(figures(read(one)))
    facts = read(uncertain)
    assert facts.load.rows == 5
    for name in SUMS:
        found = np.broadcast_to(of_article(facts, name), (5,))
        table = sorted(row[name] for row in rows)
        assert found[0] == pytest.approx(rows[0][name], rel=1e-12), name
        assert sorted(found) == pytest.approx(table, rel=1e-12), name


MISSING: Mapping[str, tuple[str, tuple[str | int, ...], list[str]]] = {
    "friction": (
        "en_12195_1_direct_sliding_forward",
        ("articles", 0, "friction"),
        ["articles.1.friction"],
    ),
    "capacity": (
        "australia_direct_forward",
        ("tiedowns", 2, "lashing_capacity"),
        ["tiedowns.3.lashing_capacity"],
    ),
    "tension": (
        "australia_tie_down_left",
        ("tiedowns", 4, "standard_tension"),
        ["tiedowns.5.standard_tension"],
    ),
    "strength": (
        "new_zealand_strength_ratio",
        ("tiedowns", 0, "breaking_strength"),
        ["tiedowns.1.breaking_strength"],
    ),
    "type": (
        "en_12195_1_direct_tilting_left",
        ("articles", 0, "type"),
        ["articles.1.type"],
    ),
    "height": (
        "en_12195_1_direct_tilting_left",
        ("articles", 0, "cg", "z"),
        ["articles.1.cg.z"],
    ),
}


@pytest.mark.parametrize("left_out", MISSING)
def test_what_a_sum_lacks_is_named(read: Read, left_out: str) -> None:
    name, path, missing = MISSING[left_out]
    data = well_tied()
    inside: Any = data
    for part in path[:-1]:
        inside = inside[part]
    del inside[path[-1]]
    facts = read(data)
    assert np.isnan(of_article(facts, name))
    assert facts.missing(f"article.{name}", facts.subjects("article")[0]) == missing


def test_tiedowns_not_stated_leave_every_sum_open(read: Read) -> None:
    data = well_tied()
    del data["tiedowns"]
    assert np.isnan(list(figures(read(data)).values())).all()
