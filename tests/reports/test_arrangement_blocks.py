"""Chocks and blocks in the steps, the changes, the JSON and the load file of an arrangement."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from msgspec.structs import replace

from checker.advice.arrange.arrangement import Arrangement, as_arrangement
from checker.advice.arrange.blocking import blockings
from checker.advice.arrange.choices import choices_of
from checker.advice.arrange.plan_rows import Plans
from checker.advice.arrange.search import Found
from checker.cli.arranged_load import write_load
from checker.documents.resources import shipped_folder
from checker.documents.schemas import schema_of_written
from checker.load.build import Profile, read_profile
from checker.reports.arrangement_forms import html
from checker.reports.arrangement_forms import json as json_form
from checker.reports.shared.arrangement.record import ArrangementReport, report_of
from checker.reports.shared.scene_building import build_scene
from checker.rulebooks.model import Rulebooks
from checker.units.formatting import US
from tests.arranged import DAY, FIGURES, bundled_load, hooks_of_today


def mower(radius: str = "10 in", **fields: str) -> Profile:
    texts: dict[Any, Any] = {
        ("articles", 0, "axles", end, "wheel_radius"): radius for end in ("front", "rear")
    }
    texts |= {("articles", 0, key): value for key, value in fields.items()}
    return bundled_load("mower-in-order").replaced(texts)


def chocked(profile: Profile, rulebooks: Rulebooks) -> Arrangement:
    """The load as it stands, with all four chocks of the bundled box at its wheels."""
    choices = choices_of(profile, profile.gear)
    blocking = next(own for own in blockings(choices) if len(own) == 2 and own[0].facing == 0)
    choices = replace(choices, blocking=blocking)
    assert choices.stands is not None
    hooks = hooks_of_today(choices)
    plan = Plans(
        choices.stands,
        np.array([[each.course for each in hooks]], dtype=np.intp),
        np.array([[each.kind for each in hooks]], dtype=np.intp),
    )
    return as_arrangement(choices, Found(plan, FIGURES, proved=True, looked_at=1), rulebooks, DAY)


@pytest.fixture(scope="module")
def found(rulebooks: Rulebooks) -> ArrangementReport:
    plan = chocked(mower(chocked="no"), rulebooks)
    return report_of(plan, plan.check, US, "Our box")


def test_chocks_are_fetched_and_set_before_anything_is_tied_down(found: ArrangementReport) -> None:
    kinds = [each.kind for each in found.steps]
    assert found.steps[0].text.endswith(
        '4 of the 6 "2 in straps" and 4 of the 4 "Rubber wheel chock".'
    )
    front, rear = (each for each in found.steps if each.kind == "block")
    assert kinds.index("make ready") < kinds.index("block") < kinds.index("tie down")
    assert front.text == "Chock in front of both front wheels."
    assert rear.text == "Chock behind both rear wheels."
    assert rear.details[0] == '"Rubber wheel chock", pieces 3 and 4 of 4.'
    # tests/advice/arrange/test_blocking.py derives 643 lbf by hand.
    assert "stop it moving forward, with 643 lb each" in front.details[1]
    assert found.changes == [
        "Zero-turn mower: chock in front of both front wheels.",
        "Zero-turn mower: chock behind both rear wheels.",
    ]


def test_chocks_are_drawn_and_in_the_json(found: ArrangementReport) -> None:
    document = json.loads(json_form.report(found))
    assert list(Draft202012Validator(schema_of_written("arrangement")).iter_errors(document)) == []
    front, rear = document["blocks"]
    assert (front["stops"], front["pieces"], rear["pieces"]) == ("forward", [1, 2], [3, 4])
    assert front["names"] == ["front left chock", "front right chock"]
    assert [round(place["y"], 4) for place in front["places"]] == [0.5842, -0.5842]
    assert len(build_scene(found.check).articles[0].blocks) == 4
    assert "Chock behind both rear wheels." in html.report(found)


def test_a_missing_radius_is_asked_for(rulebooks: Rulebooks) -> None:
    plan = chocked(mower(), rulebooks)
    loader = bundled_load("loader-tractor-in-order")
    bare = replace(plan, choices=choices_of(loader, loader.gear))
    assert report_of(bare, bare.check, US, "Our box").blocks_left_out == [
        "'Rubber wheel chock' was not proposed for Compact tractor with loader: measure and state "
        "`axles.front.wheel_radius` and `axles.rear.wheel_radius`, from the deck to the centre of "
        "the wheels."
    ]
    assert report_of(plan, plan.check, US, "Our box").blocks_left_out == []


def test_chocks_too_weak_to_be_counted_on_keep_it_from_rolling(rulebooks: Rulebooks) -> None:
    """By hand: 8 in is less than 0.29 of no wheel here, but at 22 in a light front wheel climbs."""
    plan = chocked(mower("22 in", chocked="no"), rulebooks)
    report = report_of(plan, plan.check, US, "Our box")
    front = next(each for each in report.steps if each.kind == "block")
    assert "They keep it from rolling." in front.details[1]
    assert plan.profile.stated.articles[0].chocked == 1
    assert not plan.profile.stated.articles[0].blocks


def test_the_written_load_is_blocked_as_well(rulebooks: Rulebooks, tmp_path: Path) -> None:
    root = shipped_folder("profiles")
    plan = chocked(mower(), rulebooks)
    target = tmp_path / "new.yaml"
    write_load(plan, target, rulebooks, DAY, root=Path(str(root)), gear_in_full=False)
    article = read_profile(target, root=Path(str(root))).stated.articles[0]
    assert [each.stops for each in article.blocks] == ["forward"] * 2 + ["rearward"] * 2
    assert (article.blocking.forward, article.blocking.rearward, article.chocked) == (1, 1, 1)
