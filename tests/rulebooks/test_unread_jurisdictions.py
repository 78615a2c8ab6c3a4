"""Places whose law nobody read, and counties that no rulebook names."""

import math
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from checker.cli.chosen_rules import read_rules
from checker.documents.problems import Mark
from checker.documents.resources import shipped_folder
from checker.evaluation.outcome import Outcome
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.load.references import Merged
from checker.rulebooks.jurisdictions import has_law, touches
from checker.rulebooks.model import Amendment, Rulebooks
from checker.rulebooks.unread_jurisdictions import county_problems, unread_jurisdictions


@pytest.fixture(scope="module")
def shipped_rules() -> Rulebooks:
    return read_rules(["shipped"])


@pytest.mark.parametrize(
    ("places", "unread"),
    [
        (None, ()),
        (["US-UT"], ()),
        (["US"], ()),
        (["FR"], ()),  # of the European Union
        (["CH"], ("CH",)),
        (["US-UT", "MX", "CH", "MX"], ("MX", "CH")),
        (["US-UT-BASIN"], ()),
    ],
)
def test_places_without_a_rulebook(
    places: list[str] | None, unread: tuple[str, ...], shipped_rules: Rulebooks
) -> None:
    assert unread_jurisdictions(places, shipped_rules) == unread


@pytest.mark.parametrize(
    ("places", "chosen", "outcome"),
    [
        (["US-UT"], ["shipped"], Outcome.NO_RULE_BROKEN),
        (["US-UT", "CH"], ["shipped"], Outcome.OPEN),
        (["CH"], ["shipped"], Outcome.OPEN),
        # Whoever chooses a crew's own practice asks for no law.
        (["CH"], ["placement"], Outcome.NO_RULE_BROKEN),
    ],
)
def test_a_trip_to_a_place_whose_law_nobody_read_is_no_pass(
    places: list[str], chosen: list[str], outcome: Outcome
) -> None:
    file = Path(str(shipped_folder("profiles") / "loads" / "side-by-side-in-order.yaml"))
    profile = read_profile(file).replaced({("trip", "places"): places})
    rules = read_rules(chosen)
    found = check_profile(profile, rules, date(2026, 6, 1))
    assert found.outcome is outcome


def amended(rules: Rulebooks, layer: str, jurisdiction: str) -> Rulebooks:
    amendment = Amendment("a", "A", layer, jurisdiction, "", "a.yaml")
    return replace(rules, amendments=(amendment,))


def test_an_amendment_by_law_is_read_law_and_a_companys_is_not(shipped_rules: Rulebooks) -> None:
    assert unread_jurisdictions(["CH"], amended(shipped_rules, "place", "CH")) == ()
    assert unread_jurisdictions(["CH"], amended(shipped_rules, "company", "CH")) == ("CH",)


def told(rules: Rulebooks, *places: str) -> list[str]:
    data: dict[str, Any] = {"trip": {"places": list(places)}}
    marks = {("trip", "places", number): ("load.yaml", Mark(2, 18)) for number in range(9)}
    return [str(each) for each in county_problems(Merged(data, {**marks}), rules)]


def test_counties(shipped_rules: Rulebooks) -> None:
    wanted = "US-UT alone, or a county behind it that a rulebook or amendment names"
    assert told(shipped_rules, "US-UT", "CH") == []
    assert told(shipped_rules, "US-UT-BASIN") == [
        f"load.yaml:2:18: found the county 'US-UT-BASIN'; wanted {wanted}"
    ]
    rules = amended(shipped_rules, "company", "US-UT-BASIN")
    assert told(rules, "US-UT-BASIN") == []
    assert told(rules, "US-UT-BASN") == [
        f"load.yaml:2:18: found the county 'US-UT-BASN'; wanted {wanted}: US-UT-BASIN; "
        "did you mean 'US-UT-BASIN'?"
    ]
    assert told(rules, "US-NV-BASIN")[0].startswith(
        "load.yaml:2:18: found the county 'US-NV-BASIN'"
    )


@pytest.mark.parametrize(
    ("places", "found"), [(["CA-ON"], 1.0), (["MX"], 1.0), (["DE", "US-UT"], 1.0), (["DE"], 0.0)]
)
def test_a_region_is_touched_through_its_countries(places: list[str], found: float) -> None:
    assert touches("North America", places) == found


def test_without_places_it_is_not_known_whether_a_region_is_touched() -> None:
    assert math.isnan(touches("North America", None))
    assert not has_law("North America")
