"""Chocks and blocks of the gear: where they may stand, what is stated of them, the best plan."""

from collections.abc import Callable
from math import sqrt
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from checker.advice.arrange.blocking import blockings, statements, unfit_blocks
from checker.advice.arrange.choices import Choices, choices_of
from checker.advice.arrange.one_article import Found
from checker.advice.arrange.scores import OBJECTIVES
from checker.advice.arrange.with_blocks import best_plan
from checker.load.build import Profile
from checker.load.model import GearBlock
from checker.mechanics.quantities import POUND_FORCE
from checker.rulebooks.model import Rulebooks
from tests.arranged import bundled_load
from tests.exhaustive_plans import DAY, RULES, best_of_all, chocked_load, chocks

Rules = Callable[..., Rulebooks]
INCH = 0.0254


def with_blocks(profile: Profile, *blocks: GearBlock) -> Choices:
    return replace(choices_of(profile, None), blocks=blocks)


def measured(name: str, radius: str = "10 in", **fields: Any) -> Profile:
    """A bundled load whose machine has wheels of that radius."""
    texts: dict[Any, Any] = {
        ("articles", 0, "axles", end, "wheel_radius"): radius for end in ("front", "rear")
    }
    return bundled_load(name).replaced(
        texts | {("articles", 0, key): value for key, value in fields.items()}
    )


def ways(choices: Choices) -> list[list[tuple[str, int | None, bool]]]:
    return [
        [(each.way, each.facing, bool(each.strengths)) for each in own]
        for own in blockings(choices)
    ]


def test_chocks_go_to_both_wheels_of_the_end_that_leads() -> None:
    """A mower of 1150 lb: 820 lb on the rear axle, 330 lb on the front one.

    By hand: 8 in at a wheel of 10 in has the slope sqrt(160 - 64) / 2 = 4.90, so 2000 lbf count as
    1592; a front wheel of 165 lb climbs at 808 lbf, which count as 643: two hold 920 lbf, 0.8 of
    the weight.
    """
    choices = with_blocks(measured("mower-in-order"), chocks(4))
    assert len(ways(choices)) == 6
    assert ways(choices)[:2] == [[("forward", 0, True)], [("forward", 1, True)]]
    some = replace(choices, blocking=blockings(choices)[0])
    stated = statements(some, [0])
    assert stated["articles", 0, "blocking", "forward"] == "yes"
    block = stated["articles", 0, "blocks", "front left chock"]
    # The axle is 12 in behind the front end: the tyre meets the chock sqrt(96) in ahead of it.
    assert block["x"] == f"{12 - sqrt(96):.1f} in"
    assert (block["stops"], block["y"], block["z"]) == ("forward", "23 in", "8 in")
    slope = sqrt(96) / 2
    assert block["strength"] == f"{int(165 * slope * (1 - 1 / slope))} lbf"


def test_two_chocks_are_not_both_in_front_and_behind() -> None:
    choices = with_blocks(measured("mower-in-order"), chocks(2))
    assert all(len(own) == 1 for own in ways(choices))
    assert not blockings(with_blocks(measured("mower-in-order"), chocks(1)))


def test_chocks_that_are_too_weak_keep_it_from_rolling_only() -> None:
    """By hand: 0.5 of 4300 lb is 2150 lbf, twice 500 lbf is less."""
    weak = replace(chocks(4), strength=500 * POUND_FORCE)
    assert not blockings(with_blocks(measured("loader-tractor-in-order"), weak))
    choices = with_blocks(measured("loader-tractor-in-order", chocked="no"), weak)
    assert ways(choices) == [
        [("forward", facing, False), ("rearward", facing, False)] for facing in (0, 1)
    ]
    some = replace(choices, blocking=blockings(choices)[0])
    assert statements(some, [0]) == {("articles", 0, "chocked"): "yes"}


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({"strength": float("nan")}, {"of_block": ("strength",)}),
        ({"cannot_come_loose": float("nan")}, {"of_block": ("cannot_come_loose",)}),
        ({"cannot_come_loose": 0.0}, {"comes_loose": True}),
        ({"height": 2 * INCH}, {"too_low": True}),
    ],
)
def test_what_keeps_a_chock_from_use_is_named(
    changed: dict[str, float], expected: dict[str, Any]
) -> None:
    choices = with_blocks(measured("mower-in-order"), replace(chocks(4), **changed))
    (unfit,) = unfit_blocks(choices)
    assert {key: getattr(unfit, key) for key in expected} == expected
    assert not blockings(choices)


def test_the_radius_of_the_wheels_is_asked_for() -> None:
    choices = with_blocks(bundled_load("loader-tractor-in-order"), chocks(4))
    (unfit,) = unfit_blocks(choices)
    assert unfit.of_article == ("axles.front.wheel_radius", "axles.rear.wheel_radius")
    assert not blockings(choices)


def test_goods_are_blocked_against_their_base() -> None:
    """The pallet of 1800 lb: 0.8 of it is 1440 lbf, so two of 800 lbf in front; else 900, two."""
    profile = bundled_load("pallet-of-attachments").replaced(
        {
            ("articles", 0, "blocks"): {},
            ("articles", 0, "blocking"): dict.fromkeys(("forward", "rearward"), "no"),
        }
    )
    block = replace(chocks(9), chocks_wheels=0.0, strength=800 * POUND_FORCE, height=4 * INCH)
    choices = with_blocks(profile, block)
    every = blockings(choices)
    assert len(every) == 15
    assert [len(own) for own in every].count(4) == 1
    front = next(own for own in every if own[0].way == "forward")
    some = replace(choices, blocking=front[:1])
    entries = statements(some, [0])
    first = entries["articles", 0, "blocks", "front block 1"]
    assert first == {
        "stops": "forward",
        "strength": "800 lbf",
        "x": "0 in",
        "y": "-12 in",
        "z": "2 in",
    }
    turned = statements(some, [1])["articles", 0, "blocks", "front block 1"]
    assert (turned["x"], turned["y"]) == ("48 in", "12 in")


# -- the best plan -----------------------------------------------------------------------------


@pytest.fixture
def small_rules(rules: Rules) -> Rulebooks:
    return rules(**RULES)


def best(profile: Profile, books: Rulebooks, *blocks: GearBlock) -> Found | None:
    found = best_plan(with_blocks(profile, *blocks), books, DAY)
    return found[1] if found else None


def test_with_blocks_it_is_the_best_of_all_plans(small_rules: Rulebooks, tmp_path: Path) -> None:
    """Of this load only a plan with two chocks meets every should-rule; two without are worse."""
    profile = chocked_load(16, tmp_path)
    choices = with_blocks(profile, chocks(4))
    every, count = best_of_all(choices, small_rules)
    assert count > 10_000
    found = best_plan(choices, small_rules, DAY)
    assert found is not None
    assert every is not None
    assert found[0].blocks_used == 2
    assert found[1].figures.key(OBJECTIVES) == every.key(OBJECTIVES)
    assert found[1].proved
    without = best(profile, small_rules)
    assert without is not None
    assert every.key(OBJECTIVES) < without.figures.key(OBJECTIVES)
    fewer = best(profile, small_rules, chocks(1))
    assert fewer is not None
    assert fewer.figures == without.figures


def test_the_mirror_image_is_blocked_as_well(small_rules: Rulebooks, tmp_path: Path) -> None:
    profile = chocked_load(16, tmp_path).replaced({("articles", 0, "cg", "y"): "0 in"})
    data: Any = profile.merged.data
    mirrored = profile.replaced(
        {
            (*at, name, "y"): text[1:] if (text := each["y"]).startswith("-") else f"-{text}"
            for at, named in (
                (("trailer", "anchors"), data["trailer"]["anchors"]),
                (("articles", 0, "attachments"), data["articles"][0]["attachments"]),
            )
            for name, each in named.items()
        }
    )
    one, other = (best(each, small_rules, chocks(4)) for each in (profile, mirrored))
    assert one is not None
    assert other is not None
    assert one.figures.key(OBJECTIVES) == other.figures.key(OBJECTIVES)
