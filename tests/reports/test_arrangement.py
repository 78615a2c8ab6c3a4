"""The steps of an arrangement as a crew reads them."""

import re
from collections.abc import Callable
from datetime import date

import pytest
from msgspec.structs import replace

from checker.advice.arrange.arrangement import Arrangement
from checker.advice.arrange.choices import Choices, Hook
from checker.load.build import Profile
from checker.reports.shared.arrangement.record import ArrangementReport, first_line, report_of
from checker.reports.shared.arrangement.steps import Step
from checker.rulebooks.model import Rulebooks
from checker.units.formatting import SI, US, System
from tests.arranged import arranged, bundled_load, hooks_of_today, other_hooks

INCH = 0.0254
VARIANCE_DAY = date(2026, 5, 14)


def report(plan: Arrangement, system: System = US) -> ArrangementReport:
    return report_of(plan, plan.check, system, "Our box")


def steps(plan: Arrangement, kind: str, system: System = US) -> list[Step]:
    return [each for each in report(plan, system).steps if each.kind == kind]


def test_where_nothing_changes_the_first_line_says_so(rulebooks: Rulebooks) -> None:
    plan = arranged(bundled_load("side-by-side-in-order"), rulebooks)
    found = report(plan)
    assert first_line(found).startswith("Nothing needs changing in where it stands")
    assert found.changes == []
    assert all(each.kept for each in found.tied)
    (eye,) = steps(plan, "by eye")
    assert eye.text == "Walk around it and check by eye:"


def test_the_place_is_measured_from_the_rail_and_behind_the_ball(rulebooks: Rulebooks) -> None:
    """By hand: rail at 50 in, end at 52 + 42 in, axle 14 in behind it; deck 82, machine 60 wide."""
    load = bundled_load("too-far-forward")
    (step,) = steps(arranged(load, rulebooks, further_back=42 * INCH), "set on")
    assert step.text == (
        "Side-by-side, two seats: drive it on forwards until its front end is 44 in behind the "
        "front rail, 94 in behind the ball. The hubs of its front wheels are then 58 in behind "
        "the front rail. In the middle between the sides: 11 in of deck free on each."
    )
    assert step.details == ["Against the load as stated: 42 in further back."]
    (metric,) = steps(arranged(load, rulebooks, further_back=42 * INCH), "set on", SI)
    assert "1.118 m behind the front rail, 2.388 m behind the ball" in metric.text
    assert not re.search(r"\bin\b of|\d in\b", metric.text)


def test_off_the_middle_and_ahead_of_the_rail(rulebooks: Rulebooks) -> None:
    """By hand: 11 in free on each side, so 9 and 13 in; 52 - 4 in stands 2 in ahead of 50 in."""
    load = bundled_load("too-far-forward")
    plan = arranged(load, rulebooks, further_back=-4 * INCH, further_left=-2 * INCH)
    (step,) = steps(plan, "set on")
    assert "front end is 2 in ahead of the front rail, 48 in behind the ball" in step.text
    assert step.text.endswith(
        "Its centre line 2 in right of the middle of the deck: 9 in of deck free on the "
        "trailer's right, 13 in on its left."
    )
    assert report(plan).changes[0].endswith("4 in further forward and 2 in further right.")


def test_a_machine_turned_round_is_backed_on_and_its_sides_are_those_of_the_trailer(
    rulebooks: Rulebooks,
) -> None:
    plan = arranged(bundled_load("side-by-side-in-order"), rulebooks, turned=True)
    (step,) = steps(plan, "set on")
    assert "back it on, so that its front faces the rear, until its rear end is" in step.text
    for each in report(plan).tied:
        (tie,) = (step for step in steps(plan, "tie down") if step.tiedown == each.number)
        end, side = each.points[0].split("-")
        other = {"front": "Rear", "rear": "Front"}[end], {"left": "right", "right": "left"}[side]
        assert tie.text.startswith(f"{other[0]} {other[1]} ({each.number} in the drawing)")


def test_front_ones_are_drawn_snug_before_the_rear_ones_hard(rulebooks: Rulebooks) -> None:
    plan = arranged(bundled_load("side-by-side-in-order"), rulebooks)
    words = [each.details[-1] for each in steps(plan, "tie down")]
    assert [each.text.split(" (")[0] for each in steps(plan, "tie down")] == [
        "Front left",
        "Front right",
        "Rear left",
        "Rear right",
    ]
    assert words[1] == "Draw the front ones snug, not hard yet."
    assert words[3] == "Now draw the rear ones hard, one side after the other."


def backwards(choices: Choices) -> list[Hook]:
    return other_hooks(choices)[::-1]


@pytest.mark.parametrize("hooks", [other_hooks, backwards])
def test_the_order_of_a_search_does_not_matter_and_numbers_are_those_of_the_work(
    rulebooks: Rulebooks, hooks: Callable[[Choices], list[Hook]]
) -> None:
    load = bundled_load("gooseneck-two-articles-in-order")
    plan = arranged(load, rulebooks, hooks=hooks)
    numbers = [each.tiedown for each in steps(plan, "tie down")]
    assert numbers == list(range(1, len(numbers) + 1))
    kinds = [each.kind for each in report(plan).steps]
    assert kinds.index("set on") < kinds.index("tie down")
    held = [each.article for each in report(plan).steps if each.article is not None]
    assert held == sorted(held), "the article nearest the coupler is tied down first"


def without_one(choices: Choices) -> list[Hook]:
    return hooks_of_today(choices)[1:]


def test_what_comes_off_and_what_takes_the_place_of_what(rulebooks: Rulebooks) -> None:
    load = bundled_load("side-by-side-in-order")
    plan = arranged(load, rulebooks, hooks=without_one)
    (fetch,) = steps(plan, "fetch")
    assert fetch.text == 'From "Our box" take 3 of the 6 "2 in straps".'
    assert fetch.details == [
        "If the load is tied down as stated, take off tiedown 1 (2 in ratchet strap with wire "
        "hooks)."
    ]
    found = report(arranged(load, rulebooks, hooks=other_hooks))
    new = [each for each in found.tied if not each.kept]
    assert new
    assert len(found.changes) == len(new)
    (eye,) = (each for each in found.steps if each.kind == "by eye")
    assert "give them again" in eye.text


def test_blocks_follow_what_they_stop(rulebooks: Rulebooks) -> None:
    """By hand: the front cleat stands at the front end, 124 in; moved 2 in, at 126 in."""
    load = bundled_load("pallet-of-attachments")
    (block,) = steps(arranged(load, rulebooks), "block")
    assert block.details[0] == "front cleat: stops it forward."
    (block,) = steps(arranged(load, rulebooks, further_back=2 * INCH), "block")
    assert "set it anew, 10 ft 6 in behind the ball" in block.details[0]
    (step,) = steps(arranged(load, rulebooks), "set on")
    assert "set it down with its own front toward the coupler: its front end 74 in" in step.text


def british(load: Profile) -> Profile:
    return load.replaced({("trip", "places"): ["GB"]})


def test_words_of_the_place_and_none_that_promise(rulebooks: Rulebooks) -> None:
    load = british(bundled_load("side-by-side-in-order"))
    found = report(arranged(load, rulebooks, hooks=without_one))
    own = [*found.changes, first_line(found)]
    own += [each.text for each in found.steps if each.kind in ("fetch", "set on", "tie down")]
    own += [line for each in found.steps if each.kind == "fetch" for line in each.details]
    assert any("lashing" in each for each in own)
    for each in own:
        assert "tiedown" not in each.lower()
        assert "safe" not in each.lower()


def test_gear_of_unknown_length(rulebooks: Rulebooks) -> None:
    """The tiedowns of the load itself have no length stated."""
    load = bundled_load("side-by-side-in-order")
    own = replace(load, merged=replace(load.merged, gear=None))
    plan = arranged(own, rulebooks)
    for each in steps(plan, "tie down"):
        assert "the length of the strap is not stated: see that it reaches." in each.text


def test_what_a_variance_excuses_is_not_called_broken(rulebooks: Rulebooks) -> None:
    """By the bundled load: its first stop is late, under a variance."""
    found = report(arranged(bundled_load("variance-late-first-stop"), rulebooks, day=VARIANCE_DAY))
    assert [each.label for each in found.left] == ["EXCUSED"]
