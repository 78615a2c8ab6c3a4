"""Reports are printed in the units of their profile, else in those of the place of the trip."""

from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from checker.cli.app import application
from checker.facts.catalogue import catalogue
from checker.facts.printed_kind import printed_kind
from checker.load.build import read_load
from checker.reports.shared.written_units import system_of
from checker.units.formatting import DISTANCE, FORCE, MIXED, SI, US, System, Units, show
from checker.units.parsing import parse

ALL = {"load", "length", "speed", DISTANCE, "pressure", "moment", "spring_rate", "volume"}
BUT_ROADS = ALL - {"speed", DISTANCE}
BY_LOAD = {"load", "moment", "spring_rate"}


@dataclass
class Folder:
    """Writes a load profile and tells the units of its reports."""

    path: Path

    def system(self, text: str, units: Units = Units.PROFILE) -> System:
        file = self.path / "load.yaml"
        file.write_text(f"kind: load\ntitle: units\n{text}", encoding="utf-8")
        return system_of(read_load(file), units)


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    return Folder(tmp_path)


@pytest.mark.parametrize(
    ("text", "metric"),
    [
        # each kind goes by its own texts
        ("articles: [{weight: 900 kg, length: 8 ft}]", BY_LOAD),
        ("articles: [{weight: 2000 lb, length: 3 m}]", {"length", "volume"}),
        ("articles: [{weight: 2000 lb, length: 3 m, width: 60 in, height: 70 in}]", set()),
        # a tie, and kinds that nothing is stated of: the place of the trip
        ("articles: [{length: 3 m, width: 60 in}]\ntrip: {places: [DE]}", ALL),
        ("articles: [{length: 3 m, width: 60 in}]\ntrip: {places: [US-UT]}", set()),
        ("trip: {places: [GB]}", BUT_ROADS),
        ("trip: {places: [AU-NSW]}", ALL),
        ("trip: {places: [US-UT, CA-AB]}", set()),
        # no place: what most texts have; nothing at all: US
        ("articles: [{weight: 900 kg, width: 2 m}]", ALL),
        ("articles: []", set()),
        # the road by itself: a deck in metres and a trip in miles
        (
            "articles: [{weight: 900 kg, width: 2 m}]\ntrip: {distance: 40 mi}",
            BUT_ROADS,
        ),
        (
            "articles: [{weight: 900 kg, width: 2 m}]\ntrip: {speed: 50 mph}",
            BUT_ROADS,
        ),
        # a tolerance, a sum and an exponent are one figure each
        (
            "articles: [{weight: 9e2 kg +/- 5 kg, length: 5 ft 2 in}]",
            {"load", "moment", "spring_rate"},
        ),
    ],
)
def test_each_kind_goes_by_its_own_texts(folder: Folder, text: str, metric: set[str]) -> None:
    found = folder.system(text).metric
    assert found & ALL == metric


@pytest.mark.parametrize(
    ("label", "units", "force"),
    [
        ("lashing_capacity: 2500 daN, standard_tension: 350 daN", Units.PROFILE, "daN"),
        ("lashing_capacity: 25 kN", Units.PROFILE, "kN"),
        ("lashing_capacity: 2500 kg", Units.PROFILE, "kg"),
        ("marked_working_load_limit: 3333 lb", Units.PROFILE, "lb"),
        ("lashing_capacity: 2.5 t", Units.PROFILE, "kg"),
        # how hard it is drawn is measured, not marked
        ("lashing_capacity: 25 kN, pretension: 300 daN", Units.PROFILE, "kN"),
        # other systems than the label's have their own units
        ("lashing_capacity: 2500 daN", Units.SI, "daN"),
        ("lashing_capacity: 2500 daN", Units.MIXED, "daN"),
        ("lashing_capacity: 2500 daN", Units.US, None),
        ("marked_working_load_limit: 3333 lb", Units.SI, None),
    ],
)
def test_forces_on_tiedowns_are_in_the_unit_of_their_labels(
    folder: Folder, label: str, units: Units, force: str | None
) -> None:
    text = f"articles: [{{weight: 900 kg}}]\ntiedowns: [{{device: webbing, {label}}}]"
    assert folder.system(text, units).force == force


def test_rings_of_the_deck_count_as_labels(folder: Folder) -> None:
    ring = "lashing_capacity: 400 daN"
    tiedown = "{device: webbing, anchor: a, lashing_capacity: 9 kN}"
    anchors = f"{{a: {{x: 1 m, {ring}}}, b: {{x: 2 m, {ring}}}}}"
    text = f"trailer: {{anchors: {anchors}}}\narticles: [{{weight: 9 kg}}]\ntiedowns: [{tiedown}]"
    assert folder.system(text).force == "daN"


@pytest.mark.parametrize(
    ("units", "system"), [(Units.US, US), (Units.SI, SI), (Units.MIXED, MIXED)]
)
def test_units_asked_for_win(folder: Folder, units: Units, system: System) -> None:
    assert folder.system("articles: [{weight: 900 kg, length: 9 ft}]", units) == system


def test_strengths_of_tiedowns_are_forces_and_weights_are_not() -> None:
    known = catalogue()
    forces = {name for name, fact in known.items() if printed_kind(fact) == FORCE}
    assert {"tiedown.working_load_limit", "tiedown.lashing_capacity"} <= forces
    assert {"article.aggregate_working_load_limit", "article.rated_sum"} <= forces
    assert not {"article.weight", "hitch.tongue_weight", "hitch.chain_strength"} & forces
    assert all(known[name].kind == "load" for name in forces)


@given(
    kind=st.sampled_from([*sorted(ALL - {DISTANCE}), FORCE]),
    value=st.floats(1e-2, 1e9),
    metric=st.frozensets(st.sampled_from(sorted(ALL))),
    force=st.sampled_from([None, "kg", "lb", "N", "daN", "kN", "lbf"]),
)
def test_figures_in_any_units_are_the_same_quantity(
    kind: str, value: float, metric: frozenset[str], force: str | None
) -> None:
    base = "load" if kind == FORCE else kind
    texts = [show(value, kind, system, digits=8) for system in (US, System(metric, force))]
    first, second = (parse(text, base).value for text in texts)
    # 8 figures, or 10 decimals of the unit shown, of which the largest is a mile
    assert first == pytest.approx(value, rel=1e-7, abs=1e-6)
    assert second == pytest.approx(first, rel=2e-7, abs=1e-6)


OVER = """\
articles: [{weight: 1500 kg, placed: {x: 2 m}, cg: {x: 1 m}, length: 2 m}]
trailer: {gvwr: 2000 kg, empty_weight: 700 kg, empty_tongue_weight: 60 kg}
trip: {places: [GB], speed: 50 mph, distance: 40 mi}
"""


@pytest.mark.parametrize("form", ["text", "json", "html", "markdown", "junit", "csv", "sarif"])
def test_every_form_prints_in_the_units_of_the_profile(folder: Folder, form: str) -> None:
    folder.system(OVER)
    asked = ["check", str(folder.path / "load.yaml"), "--rules", "makers-ratings"]
    target = str(folder.path / "pages") if form == "html" else "-"
    asked += {"text": [], "json": ["--as", "json"]}.get(form, ["--write", f"{form}={target}"])
    page = CliRunner().invoke(application(), asked).output
    if form == "html":
        page = (folder.path / "pages").read_text("utf-8")
    # 1500 + 700 = 2200
    assert "2,200 kg; wanted at most 2,000 kg" in " ".join(page.split()) or (
        "2,200 kg" in page and "at most 2,000 kg" in page
    )
