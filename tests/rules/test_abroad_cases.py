"""Boundary cases of towing law abroad, by clause, through `check`.

The ids are those of the collection the cases come from; each gives the verdict of one rule alone.
"""

import json
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import pytest

from checker.evaluation.check import check
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict

Stated = Mapping[str, Any]

ROAD = {"public_road": "yes"}


def trailer(weighs: int, nose: int = 50, **more: Any) -> Stated:
    """An empty one-axle trailer of a weight, with what its nose carries."""
    return {
        "coupling": "ball",
        "full_trailer": "no",
        "empty_weight": f"{weighs} kg",
        "empty_tongue_weight": f"{nose} kg",
        "suspension": "single",
        "axles": {"only": {"x": "3 m"}},
        **more,
    }


def two_axles(apart: str, **more: Any) -> Stated:
    return {"axles": {"front": {"x": "3 m"}, "rear": {"x": apart}}, **more}


def load(**sections: Any) -> Stated:
    return {"articles": [], "tiedowns": [], **sections}


def rated(tow_rating: str, trailer_rating: str) -> Stated:
    """A rig that weighs less than it is rated for, its edges bare."""
    tow_vehicle = {
        "gvwr": tow_rating,
        "front_axle_weight": "1000 kg",
        "rear_axle_weight": "1000 kg",
        "occupants_and_cargo": "0 kg",
        "gcwr_on_label": "no",
        "front_restoration": "none",
    }
    return load(
        trailer=trailer(1500, gvwr=trailer_rating),
        tow_vehicle=tow_vehicle,
        walkaround={"edges_protected": "no"},
    )


CASES: list[tuple[str, str, str, Stated, Verdict]] = [
    # StVZO 41 (11): 750 kg on the axle and half of 1500 kg are still free.
    (
        "de-01",
        "DE",
        "de-unbraked-axle-load",
        load(
            trailer=trailer(800, brakes="none"),
            tow_vehicle={"unladen_weight": "1500 kg", "front_restoration": "none"},
        ),
        Verdict.MET,
    ),
    (
        "de-01",
        "DE",
        "de-unbraked-to-tow-vehicle",
        load(
            trailer=trailer(800, brakes="none"),
            tow_vehicle={"unladen_weight": "1500 kg", "front_restoration": "none"},
        ),
        Verdict.MET,
    ),
    (
        "de-02",
        "DE",
        "de-unbraked-axle-load",
        load(
            trailer=trailer(801, brakes="none"),
            tow_vehicle={"unladen_weight": "2200 kg", "front_restoration": "none"},
        ),
        Verdict.NOT_MET,
    ),
    (
        "de-04",
        "DE",
        "de-two-axles-need-brakes",
        load(trailer=two_axles("4 m", brakes="none")),
        Verdict.NOT_MET,
    ),
    (
        "de-06",
        "DE",
        "de-overrun-limit",
        load(trailer={"gvwr": "3501 kg", "brakes": "surge"}),
        Verdict.NOT_MET,
    ),
    (
        "de-07",
        "DE",
        "de-least-coupling-load",
        load(trailer=trailer(3500, 25, gvwr="3500 kg")),
        Verdict.MET,
    ),
    (
        "de-08",
        "DE",
        "de-least-coupling-load-heavy",
        load(trailer=trailer(3500, 139, gvwr="3501 kg")),
        Verdict.NOT_MET,
    ),
    (
        "de-11",
        "DE",
        "de-licence",
        load(
            trailer={"gvwr": "750 kg"},
            tow_vehicle={"gvwr": "3500 kg"},
            driver={"licence": "ordinary"},
        ),
        Verdict.MET,
    ),
    # 4.00 + 1.51 - 4.00 = 1.51 m past the deck.
    (
        "de-14",
        "DE",
        "de-rear-projection",
        load(
            trailer={"deck": {"rear": "4 m"}},
            trip={"distance": "101 km"},
            articles=[{"type": "implement", "length": "2 m", "placed": {"x": "3.51 m"}}],
        ),
        Verdict.NOT_MET,
    ),
    (
        "de-15",
        "DE",
        "de-speed-100-ratio",
        load(
            trailer={
                "gvwr": "2201 kg",
                "brakes": "surge",
                "hydraulic_dampers": "yes",
                "stabilised": "no",
            },
            tow_vehicle={
                "unladen_weight": "2000 kg",
                "gvwr": "2800 kg",
                "largest_trailer_weight": "3000 kg",
                "antilock_brakes": "yes",
            },
            trip={"speed": "100 km/h"},
        ),
        Verdict.NOT_MET,
    ),
    # The case says that the rule does not apply; it is met here, which holds no load either.
    (
        "au-21",
        "AU",
        "au-trailer-brakes",
        load(trailer={"gtm": "2000 kg", "built": "1988-06-30", "brakes": "none"}),
        Verdict.MET,
    ),
    (
        "au-22",
        "AU",
        "au-trailer-brakes",
        load(trailer={"gtm": "2000 kg", "built": "1988-07-01", "brakes": "none"}),
        Verdict.NOT_MET,
    ),
    (
        "nsw-25",
        "AU-NSW",
        "au-chain",
        load(
            trailer={"coupling": "ball", "breakaway_fitted": "yes", "safety_chains": {"count": 0}},
            walkaround={"breakaway_connected": "yes"},
        ),
        Verdict.MET,
    ),
    (
        "nsw-26",
        "AU-NSW",
        "au-chains-crossed",
        load(
            trailer={"coupling": "ball", "breakaway_fitted": "no", "safety_chains": {"count": 2}},
            walkaround={"chains_crossed": "no"},
        ),
        Verdict.NOT_MET,
    ),
    (
        "nz-30",
        "NZ",
        "nz-two-chains",
        load(trailer=trailer(2500, breakaway_fitted="yes", safety_chains={"count": 0})),
        Verdict.MET,
    ),
    (
        "nz-30",
        "NZ",
        "nz-chain",
        load(
            trailer=trailer(2500, breakaway_fitted="yes", safety_chains={"count": 0}),
            walkaround={"breakaway_connected": "yes"},
        ),
        Verdict.MET,
    ),
    # 3.5 + 2 - 4 = 1.5 m past the deck.
    (
        "on-33",
        "CA-ON",
        "ca-on-rear-projection-marked",
        load(
            trailer={"deck": {"rear": "4 m"}},
            walkaround={"projection_marked": "no", "flags_fitted": "no"},
            trip={"lamps_required": "no"},
            articles=[{"type": "implement", "length": "2 m", "placed": {"x": "3.5 m"}}],
        ),
        Verdict.NOT_MET,
    ),
    (
        "ab-34",
        "CA-AB",
        "ca-ab-trailer-brakes",
        load(trailer=trailer(1199, brakes="none"), tow_vehicle={"unladen_weight": "2400 kg"}),
        Verdict.MET,
    ),
    (
        "ab-35",
        "CA-AB",
        "ca-ab-trailer-brakes",
        load(trailer=trailer(1200, brakes="none"), tow_vehicle={"unladen_weight": "2400 kg"}),
        Verdict.NOT_MET,
    ),
    (
        "sk-38",
        "CA-SK",
        "ca-sk-licence",
        load(trailer=trailer(4600, gvwr="5000 kg"), driver={"licence": "ordinary"}),
        Verdict.MET,
    ),
    # MVAR 35.02 (3): the national standard binds over 5000 kg licensed weight, for which rating or
    # weight stands; 3000 + 2000 = 5000 kg.
    (
        "bc-36",
        "CA-BC",
        "ca-edge-protection",
        rated("3000 kg", "2000 kg"),
        Verdict.DOES_NOT_APPLY,
    ),
    (
        "bc-36",
        "CA-BC",
        "ca-edge-protection",
        rated("3000 kg", "2001 kg"),
        Verdict.NOT_MET,
    ),
    # Half of 2800 kg; the net weight stands in for the licensed one, which may be more.
    (
        "bc-40",
        "CA-BC",
        "ca-bc-trailer-brakes",
        load(trailer=trailer(1400, brakes="none"), tow_vehicle={"unladen_weight": "2800 kg"}),
        Verdict.MET,
    ),
]


@pytest.mark.parametrize(
    ("place", "rule", "stated", "verdict"),
    [each[1:] for each in CASES],
    ids=[f"{each[0]}-{each[2]}-{each[4]}" for each in CASES],
)
def test_a_boundary_case_has_its_verdict(
    place: str,
    rule: str,
    stated: Stated,
    verdict: Verdict,
    profile: Callable[[str], Load],
    books: Rulebooks,
) -> None:
    trip = {**ROAD, "places": [place], **stated.get("trip", {})}
    text = json.dumps({"kind": "load", **stated, "trip": trip})
    found = check(profile(text), books, date(2026, 6, 1)).findings
    assert [each.verdict for each in found if each.rule.id == rule] == [verdict]


def test_every_case_is_held() -> None:
    assert len({each[0] for each in CASES}) == 20
