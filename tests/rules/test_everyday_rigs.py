"""A legal everyday rig in five places, and the same rig with one thing wrong.

A 1.5 t excavator on a tandem trailer behind a pickup (`rigs/everyday.yaml`), with what each place
wants changed. No must of another place holds it; what is wrong is held by the clause of the place.
"""

import json
import re
from collections.abc import Callable, Mapping
from copy import deepcopy
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from checker.evaluation.check import Check, check
from checker.evaluation.gate import is_near
from checker.evaluation.outcome import Outcome
from checker.load.model import Load
from checker.rulebooks.jurisdictions import has_law, touches
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict

RIG = YAML(typ="safe").load(Path(__file__).parent / "rigs" / "everyday.yaml")
Changes = Mapping[str, Any]

FORWARD: Changes = {
    # 45 + 1500 x (3.40 - 1.45 - 1.50) / 3.40 = 243.5 kg, 11.3 % of 2150 kg.
    "articles.0.placed.x": "1.45 m",
    "tow_vehicle.receiver.tongue_rating": "300 kg",
    "tow_vehicle.ball_mount.tongue_rating": "300 kg",
    "trailer.coupler.tongue_rating": "300 kg",
}
ELECTRIC: Changes = {
    "trailer.brakes": "electric",
    "walkaround.breakaway_battery_charged": "yes",
}
CHAINS: Changes = {
    "trailer.safety_chains.count": 2,
    "trailer.safety_chains.breaking_strength": "5400 kg",
    "walkaround.chains_connected": "yes",
    "walkaround.chains_crossed": "yes",
    "walkaround.chains_slack_right": "yes",
}
WORKING_LOAD_LIMITS: Changes = {
    f"tiedowns.{number}.{field}": value
    for number in range(4)
    for field, value in {
        "unmarked": "no",
        "marked_working_load_limit": "2000 kg",
        "hooks_working_load_limit": "2000 kg",
        "tensioner_working_load_limit": "2000 kg",
    }.items()
}
LEGAL: Mapping[str, Changes] = {
    "DE": {},
    "GB": {
        "trip.speed": "60 mph",
        "trip.speed_on_single_roads": "50 mph",
        "walkaround.breakaway_works_all_brakes": "yes",
    },
    "AU-NSW": {**FORWARD, **ELECTRIC, **CHAINS, "driver.licence": "ordinary"},
    "NZ": {"driver.licence": "ordinary"},
    "CA-ON": {
        **WORKING_LOAD_LIMITS,
        **FORWARD,
        **ELECTRIC,
        **CHAINS,
        "driver.licence": "ordinary",
        "tow_vehicle.payload_rating": "900 kg",
        "walkaround.receiver_pin_clipped": "yes",
        "walkaround.ball_nut_tight": "yes",
    },
}
NO_BREAKAWAY: Changes = {
    "trailer.breakaway_fitted": "no",
    "walkaround.breakaway_connected": "no",
    "walkaround.breakaway_battery_charged": "no",
    "walkaround.breakaway_works_all_brakes": "no",
}
LOOSE: Changes = {"walkaround.breakaway_connected": "no"}
UNBRAKED: Changes = {
    **NO_BREAKAWAY,
    "trailer.brakes": "none",
    "trailer.axles.front.brakes": "no",
    "trailer.axles.rear.brakes": "no",
}
OVER_THE_PLATE: Changes = {"trailer.coupler.tongue_rating": "100 kg"}
# Four rings of 60 kg hold 0.38 of the weight forward, 0.33 to the side.
WEAK_RINGS: Changes = {
    f"trailer.anchors.{ring}.working_load_limit": "60 kg"
    for ring in ("front-left", "front-right", "rear-left", "rear-right")
}
LEARNER: Changes = {"driver.licence": "learner or restricted"}


Rig = Callable[..., Check]


@pytest.fixture
def rig(profile: Callable[[str], Load], books: Rulebooks) -> Rig:
    """The check of the rig in a place, with changes by the path of each field."""

    def checked(place: str, *changes: Changes) -> Check:
        data: Any = deepcopy(RIG)
        for each in ({"trip.places": [place]}, LEGAL.get(place, {}), *changes):
            for name, value in each.items():
                *path, last = name.split(".")
                at = data
                for step in path:
                    at = at[int(step)] if step.isdigit() else at[step]
                at[last] = value
        return check(profile(json.dumps(data, default=str)), books, date(2026, 6, 1))

    return checked


@pytest.mark.parametrize("place", LEGAL)
def test_a_legal_rig_goes_by_the_rules_of_its_place_alone(place: str, rig: Rig) -> None:
    found = rig(place)
    musts = [each for each in found.findings if each.rule.level == "must"]
    assert [each.rule.id for each in musts if each.verdict is Verdict.NOT_MET] == []
    assert [each.rule.id for each in musts if each.verdict is Verdict.NOT_STATED] == []
    assert found.outcome is Outcome.NO_RULE_BROKEN
    # 50 mm on 50 mm is no near miss, nor is any other figure of this rig.
    assert [each.rule.id for each in musts if is_near(each, 0.05)] == []
    for each in musts:
        where = each.book.jurisdiction
        assert where == "any" or touches(where, [place]) == 1, each.rule.id
        assert each.rule.basis != "law" or has_law(where), each.rule.id


@pytest.mark.parametrize("place", LEGAL)
def test_a_rule_that_counts_in_a_place_says_whose_federal_law_it_means(
    place: str, rig: Rig
) -> None:
    for each in rig(place).findings:
        if each.verdict is not Verdict.DOES_NOT_APPLY:
            assert not re.search(r"(?<!US )\bfederal\b", each.because), each.rule.id


@pytest.mark.parametrize(
    ("place", "change", "rule"),
    [
        # Axles carry 2150 - 116 kg, 244 kg on the coupling in Ontario and New South Wales.
        ("DE", UNBRAKED, "de-unbraked-axle-load"),
        ("GB", UNBRAKED, "gb-trailer-brakes"),
        ("AU-NSW", UNBRAKED, "au-trailer-brakes"),
        ("NZ", UNBRAKED, "nz-brakes-from-2000-kg"),
        ("CA-ON", UNBRAKED, "trailer-without-brakes-light"),
        ("DE", OVER_THE_PLATE, "de-most-coupling-load"),
        ("GB", OVER_THE_PLATE, "coupler-rated-for-tongue"),
        ("AU-NSW", OVER_THE_PLATE, "coupler-rated-for-tongue"),
        ("NZ", OVER_THE_PLATE, "coupler-rated-for-tongue"),
        ("CA-ON", OVER_THE_PLATE, "coupler-rated-for-tongue"),
        ("DE", {"trip.speed": "81 km/h"}, "de-speed"),
        ("GB", {"trip.speed": "61 mph"}, "gb-speed"),
        ("GB", {"trip.speed_on_single_roads": "51 mph"}, "gb-speed-on-single-roads"),
        ("AU-NSW", {"trip.speed": "101 km/h"}, "au-nsw-speed"),
        ("NZ", {"trip.speed": "91 km/h"}, "nz-speed"),
        # No speed for trailers was found in Ontario: what trailer tyres are made for holds it.
        ("CA-ON", {"trip.speed": "125 km/h"}, "speed-far-over"),
        ("DE", {"driver.licence": "ordinary"}, "de-licence"),  # 3200 + 2700 = 5900 > 3500 kg
        ("GB", LEARNER, "gb-licence"),
        ("NZ", LEARNER, "nz-licence"),  # 3200 + 2700 = 5900 > 4500 kg
        # 3200 + 1500 = 4700 > 4600 kg
        ("CA-ON", {"trailer.empty_weight": "3200 kg"}, "ca-on-licence"),
        ("DE", WEAK_RINGS, "de-load-held-braking"),
        ("GB", WEAK_RINGS, "gb-load-held"),
        ("AU-NSW", WEAK_RINGS, "au-held-forward"),  # over 4.5 t together: heavy
        # 1750 + 2700 = 4450 kg together: light, whatever GCM the label of the ute has
        ("AU-NSW", {**WEAK_RINGS, "tow_vehicle.gvwr": "1750 kg"}, "au-light-held-forward"),
        ("NZ", WEAK_RINGS, "nz-held-forward"),
        ("CA-ON", WEAK_RINGS, "ca-aggregate-working-load-limit"),
        ("DE", LOOSE, "de-breakaway"),
        ("GB", LOOSE, "breakaway-connected"),
        ("NZ", NO_BREAKAWAY, "nz-chain"),
        ("NZ", LOOSE, "nz-chain"),
        ("AU-NSW", {**LOOSE, "walkaround.chains_connected": "no"}, "au-chain"),
        ("IE", LOOSE, "ie-breakaway"),
        ("AU-NSW", {**NO_BREAKAWAY, "walkaround.chains_crossed": "no"}, "au-chains-crossed"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_held_by_the_clause_of_the_place(
    place: str, change: Changes, rule: str, rig: Rig
) -> None:
    found = rig(place, change)
    held = {each.rule.id for each in found.findings if each.verdict is Verdict.NOT_MET}
    assert rule in held
    assert found.outcome is Outcome.HOLD


@pytest.mark.parametrize("place", [*LEGAL, "FR", "IE"])
def test_2150_kg_without_brakes_hold_where_no_maker_sets_a_limit(place: str, rig: Rig) -> None:
    """2150 kg > 75 % of 2200 kg, in places too whose law on brakes was read in copies alone."""
    found = rig(place, UNBRAKED, {"tow_vehicle.largest_unbraked_trailer_weight": "no limit given"})
    held = {each.rule.id for each in found.findings if each.verdict is Verdict.NOT_MET}
    assert "trailer-without-brakes-far-too-heavy" in held
    assert found.outcome is Outcome.HOLD


def test_the_reason_names_the_figures_in_force(rig: Rig) -> None:
    (licence,) = (each for each in rig("NZ", LEARNER).findings if each.rule.id == "nz-licence")
    assert licence.because == (
        "Gross laden weights added up: 4,500 kg on a learner or restricted class 1, "
        "6,000 kg on a full one, 12,000 kg on class 2."
    )


def test_the_licence_in_australia_is_a_should(rig: Rig) -> None:
    """Its classes were read in a copy alone, so they hold no load."""
    found = rig("AU-NSW", LEARNER)
    assert {each.rule.id for each in found.findings if each.verdict is Verdict.NOT_MET} == {
        "au-licence"
    }
    assert found.outcome is Outcome.NO_RULE_BROKEN


def test_a_braked_trailer_on_chains_needs_no_breakaway_device_in_ontario(rig: Rig) -> None:
    """That is practice in the United States; Ontario's pages ask for chains."""
    assert rig("CA-ON", NO_BREAKAWAY).outcome is Outcome.NO_RULE_BROKEN
    found = rig("CA-ON", LOOSE)
    held = {each.rule.id for each in found.findings if each.verdict is Verdict.NOT_MET}
    assert held == {"breakaway-connected"}
