"""The published cases of blocking, direct lashings, half-loops and slings, run through `check`."""

import math
from collections.abc import Mapping
from typing import Any

import pytest

from checker.rulebooks.verdicts import Verdict
from tests.lashed_goods import (
    Data,
    add_direct,
    amount,
    goods,
    metres,
    pairs,
    pull_against,
)
from tests.rules.cases_through_check import CASES, NOT_NEEDED, RULES, WAYS, holds

# --- blocking, direct lashing, half-loops, springs ------------------------------------------------

BLOCKED = {"intl-block-01": "forward", "intl-block-02": "rear", "intl-block-03": "side"}


@pytest.mark.parametrize("case_id", BLOCKED)
def test_strength_of_blocking(verdict: Any, case_id: str) -> None:
    case, way = CASES[case_id], BLOCKED[case_id]
    strength = amount(case["expect"]["blocking_capacity"])

    def build(weight: float, given: Mapping[str, str]) -> Data:
        data = goods(weight, friction=amount(given["friction_factor"]))
        sides = {"forward": ["forward"], "rear": ["rearward"], "side": ["left", "right"]}[way]
        blocks = {
            side: {"stops": side, "strength": f"{strength!r} N"} | metres(0.0, 0.0, 0.1 + index)
            for index, side in enumerate(sides)
        }
        data["articles"][0]["blocks"] = blocks if strength else {}
        return data

    text = case["given"]["mass"] if strength else NOT_NEEDED
    holds(verdict, RULES[way], build, text, case["given"])


DIRECT = {
    "intl-direct-01": "forward",
    "intl-direct-02": "rear",
    "intl-direct-03": "side",
    "intl-direct-04": "forward",
}


@pytest.mark.parametrize("case_id", DIRECT)
def test_force_of_direct_lashings(verdict: Any, case_id: str) -> None:
    case, way = CASES[case_id], DIRECT[case_id]

    def build(weight: float, given: Mapping[str, str]) -> Data:
        angle, plan = (
            amount(given[each]) for each in ("vertical_angle", "plan_angle_to_direction")
        )
        ways = ("left", "right") if way == "side" else (WAYS[way],)
        vectors = [
            tuple(
                -part if each == "right" and axis == 1 else part
                for axis, part in enumerate(
                    pull_against("left" if each == "right" else each, angle, plan, side)
                )
            )
            for each in ways
            for side in (1.0, -1.0)
        ]
        return pairs(vectors, weight, given, case["expect"]["force_per_lashing"])

    holds(verdict, RULES[way], build, case["given"]["mass"], case["given"])


@pytest.mark.parametrize("way", ["side", "forward"])
@pytest.mark.parametrize("case_id", [f"intl-direct-{number:02}" for number in range(7, 12)])
def test_mass_that_one_straight_lashing_holds(verdict: Any, case_id: str, way: str) -> None:
    """Two of them each way, and twice the mass: a single one would let the crate turn."""
    given, text = CASES[case_id]["given"], CASES[case_id]["expect"][f"mass_per_lashing_{way}"]
    angle, plan = amount(given["vertical_angle"]), amount(given["plan_angle"])

    def build(weight: float, given: Mapping[str, str]) -> Data:
        flat, down = math.cos(angle), -math.sin(angle)
        along, across = flat * math.cos(plan), flat * math.sin(plan)
        if way == "side":
            vectors = [(a * across, s * along, down) for s in (1.0, -1.0) for a in (1.0, -1.0)]
        else:
            vectors = [(along, s * across, down) for s in (1.0, -1.0)]
        return pairs(vectors, 2 * weight, given, given["lashing_capacity"])

    holds(verdict, RULES[way], build, text, given)


@pytest.mark.parametrize(
    ("case_id", "way"), [("intl-direct-05", "forward"), ("intl-direct-06", "side")]
)
def test_unequal_direct_lashings(verdict: Any, case_id: str, way: str) -> None:
    case = CASES[case_id]
    given = case["given"]
    data = goods(amount(given["mass"]), friction=amount(given["friction_factor"]))
    data["articles"][0]["blocks"] = {}
    for lashing, side in zip(given["lashings"], (1.0, -1.0), strict=True):
        run = [amount(lashing[axis]) for axis in ("X", "Y", "Z")]
        across = -1.0 if way == "side" else side
        add_direct(
            data,
            (1.0, side, 1.5),
            (run[0], across * run[1], -run[2]),
            lashing_capacity=lashing["LC"],
        )
    if way == "side":  # the case is of one side; a block holds the other
        stop = {"stops": "right", "strength": "9999 kN"} | metres(1.0, 1.0, 0.1)
        data["articles"][0]["blocks"] = {"stop": stop}
    expected = Verdict.MET if case["expect"]["outcome"] == "pass" else Verdict.NOT_MET
    assert verdict(RULES[way], data) is expected


def add_loop(data: Data, x: float, side: float, **label: Any) -> None:
    """A half-loop round the crate: flat under it to the ring on one side, and up its near face."""
    article, number = data["articles"][0], len(data["tiedowns"])
    names = [f"loop-{number}-{part}" for part in ("low", "high")]
    free = {"working_load_limit": "no rating exists"}
    strong = {"working_load_limit": "9999 kN"}
    article.setdefault("attachments", {}).update(
        {
            f"{names[0]}-far": metres(x, -side, 0.0) | free,
            f"{names[1]}-far": metres(x, -side, 1.0) | free,
            f"{names[1]}-near": metres(x, side, 1.0) | free,
        }
    )
    data["trailer"]["anchors"] |= {
        names[0]: metres(3.0 + x, 1.3 * side, 0.0) | strong,
        names[1]: metres(3.0 + x, side, 0.0) | strong,
    }
    data["tiedowns"].append(
        {
            "path": "same side",
            "device": "webbing",
            "over_wheel": "no",
            "anchor": names[0],
            "far_anchor": names[1],
            "over": [f"{names[0]}-far", f"{names[1]}-far", f"{names[1]}-near"],
            **label,
        }
    )


def looped(weight: float, given: Mapping[str, str], sides: tuple[float, ...] = (1.0, -1.0)) -> Data:
    """Two pairs of half-loops, one of each pair from either side."""
    data = goods(weight, friction=amount(given["friction_factor"]))
    for x in (0.5, 1.5):
        for side in sides:
            add_loop(
                data, x, side, lashing_capacity=given["lashing_capacity"], standard_tension="1 N"
            )
    return data


@pytest.mark.parametrize("case_id", [f"intl-loopspring-{number:02}" for number in range(1, 6)])
def test_mass_that_a_pair_of_half_loops_holds(verdict: Any, case_id: str) -> None:
    case = CASES[case_id]

    def build(weight: float, given: Mapping[str, str]) -> Data:
        return looped(2 * weight, given)

    holds(verdict, RULES["side"], build, case["expect"]["mass_per_pair"], case["given"])


def test_half_loops_of_one_side_hold_one_way(verdict: Any) -> None:
    given = CASES["intl-loopspring-01"]["given"]
    assert verdict(RULES["side"], looped(1000.0, given, sides=(1.0,))) is Verdict.NOT_MET


SLINGS = [
    (f"intl-loopspring-{number:02}", way)
    for number in (6, 7, 8)
    for way in ("rear", "forward")
    # Friction of 0.55 holds half of any weight without a sling (5.2).
    if (number, way) != (8, "rear")
]


@pytest.mark.parametrize(("case_id", "way"), SLINGS)
def test_mass_that_a_sling_round_an_end_holds(verdict: Any, case_id: str, way: str) -> None:
    """A load states a sling as its two legs."""
    case = CASES[case_id]

    def build(weight: float, given: Mapping[str, str]) -> Data:
        angle = amount(given["angle"])
        leg = pull_against(WAYS[way], angle, 0.0, 1.0)
        return pairs([leg, leg], weight, given, given["lashing_capacity"])

    holds(verdict, RULES[way], build, case["expect"][f"mass_{way}"], case["given"])


CASES_RUN = {
    *BLOCKED,
    *DIRECT,
    *(f"intl-direct-{number:02}" for number in range(5, 12)),
    *(f"intl-loopspring-{number:02}" for number in range(1, 9)),
}
