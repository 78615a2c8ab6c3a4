"""From a profile to a `Load`: every field of the schema arrives, converted, with its place.

Conversions are by hand from defined sizes: 1 in = 0.0254 m, 1 lb = 0.45359237 kg under standard
gravity 9.80665 m/s2.
"""

import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from msgspec import Struct
from ruamel.yaml import YAML

from checker.documents.problems import Mark, ProblemsFoundError
from checker.documents.reader import read_bytes
from checker.documents.resources import shipped_folder
from checker.documents.schemas import definition, resolved
from checker.documents.validate import validate
from checker.load.build import (
    Library,
    Profile,
    field_path,
    profile_root,
    read_load,
    read_profile,
    shown_path,
)
from checker.load.convert import quantities
from checker.load.model import Load, Origin, Tiedown
from checker.load.references import References
from checker.units.arithmetic import NONE

LB = 0.45359237 * 9.80665  # N, exact
IN = 0.0254  # m, exact


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def load_of(text: str) -> Load:
    file = Path("load.yaml")
    file.write_text(f"kind: load\n{text}", "utf-8")
    return read_load(file)


def told(text: str) -> list[str]:
    with pytest.raises(ProblemsFoundError, match=r"load\.yaml") as caught:
        load_of(text)
    return [str(problem) for problem in caught.value.problems]


# -- every field ------------------------------------------------------------------------------

NAMES = {
    "article": "mower",
    **dict.fromkeys(["anchor", "far_anchor", "attachment", "over"], "d ring"),
}


def filled(node: Mapping[str, Any], key: str = "") -> Any:
    """A value for a schema node with everything in it that can be."""
    if "else" in node:
        node = node["else"]
    node = resolved(node)
    if node.get("type") == "array":
        return [filled(node["items"], key)]
    if key in NAMES:
        return NAMES[key]
    if "enum" in node:
        return node["enum"][-1]
    if node["type"] == "object":
        inside = {name: filled(child, name) for name, child in node.get("properties", {}).items()}
        others = node["additionalProperties"]
        if others:
            inside["d ring"] = filled(others)
        references = [name for name, child in node.get("properties", {}).items() if "$ref" in child]
        left_out = {"kind", *({"from"} & set(references))}
        return {name: value for name, value in inside.items() if name not in left_out}
    if node["type"] == "integer":
        return 4
    if node.get("format") == "date":
        return "2026-05-14"
    return node.get("examples", ["mower"])[0]


@pytest.fixture
def full() -> Load:
    """A load that states everything at once, which no load that is read can do: it contradicts."""
    file = Path("load.yaml")
    YAML(typ="safe", pure=True).dump({"kind": "load", **filled(definition("load"))}, file)
    document = read_bytes(file.read_bytes(), "load.yaml")
    assert document.problems + validate(document, wanted_kind="load") == []
    return Profile(References(Path.cwd(), str).merged(document, "load"), file).stated


def leaves(value: object, at: str) -> Iterator[tuple[str, object]]:
    if isinstance(value, Struct) and not isinstance(value, Origin):
        for name in value.__struct_fields__:
            yield from leaves(getattr(value, name), f"{at}.{name}")
    elif isinstance(value, tuple):
        assert value, f"{at} is empty"
        for entry in value:
            yield from leaves(entry, at)
    else:
        yield at, value


def test_every_field_of_the_model_is_filled_from_the_schema(full: Load) -> None:
    empty = {
        at
        for at, value in leaves(full, "load")
        if value is None or (isinstance(value, float) and math.isnan(value))
    }
    # `Load.gear` is that of the carrier where the load names none, and no row of a log states this.
    assert empty == {"load.carrier.gear", "load.log_row"}


def test_every_field_of_the_schema_has_an_origin(full: Load) -> None:
    def fields(data: object, path: tuple[str | int, ...] = ()) -> Iterator[str]:
        if isinstance(data, dict):
            for key, value in data.items():
                if key not in ("kind", "note", "gear"):
                    yield from fields(value, (*path, key))
            return
        yield field_path(path)
        if isinstance(data, list):
            for index, value in enumerate(data):
                yield from fields(value, (*path, index))

    stated = YAML(typ="safe", pure=True).load(Path("load.yaml"))
    assert set(fields(stated)) == set(full.origins)
    assert len(full.origins) > 150


# -- values -----------------------------------------------------------------------------------

DAY = """\
title: Mower to the north trailhead
trailer:
  title: Flat 16
  gvwr: 7000 lb
  full_trailer: no
  coupling: ball
  axles:
    rear: {x: 15 ft, tyres: 2}
  anchors:
    note: {x: 5 ft}
    front left: {x: 1.5 m, encloses_hook: yes}
tow_vehicle:
  receiver: {rating: 8000 lb}
articles:
  - name: mower
    weight: 1200 lb
    placed: {x: 8 ft, facing: rearward}
    attachments:
      hook: {x: 0 in}
  - title: Roller
tiedowns:
  - {article: mower, anchor: note, attachment: hook, grade: '70', pulls: [left, down]}
  - {article: Roller, far_anchor: front left}
walkaround: {gate_locked: yes, ramps_locked: no, tread_depth: 4/32 in, rear_flags: 2}
trip: {date: 2026-05-14, places: [US-UT, US-CO], load_checks: [45 mi, 100 km], speed: 55 mph}
carrier: {government: yes}
driver: {licence: ordinary}
"""


def test_counts_and_friction_are_listed_among_the_quantities(tmp_path: Path) -> None:
    file = tmp_path / "load.yaml"
    file.write_text("kind: load\n" + DAY.replace("weight: 1200 lb", "friction: 0.4"))
    profile = read_profile(file)
    found = {
        field_path(path): (text, kind)
        for path, text, kind in quantities(profile.merged.data, definition("load"), ())
    }
    assert found["trailer.axles.rear.tyres"] == ("2", "count")
    assert found["walkaround.rear_flags"] == ("2", "count")
    assert found["articles.1.friction"] == ("0.4", "number")
    assert found["trip.load_checks.2"] == ("100 km", "length")
    assert not found.keys() & {"title", "tiedowns.1.grade", "trip.date", "walkaround.gate_locked"}
    assert profile.tolerances == {}


def test_values_are_si_numbers_answers_or_words() -> None:
    load = load_of(DAY)
    assert load.title == "Mower to the north trailhead"
    assert load.file == Path("load.yaml")
    assert load.rows == 1
    trailer = load.trailer
    assert trailer.gvwr == pytest.approx(7000 * LB)
    assert (trailer.full_trailer, trailer.coupling) == (0.0, "ball")
    assert trailer.axles[0].name == "rear"
    assert trailer.axles[0].x == pytest.approx(180 * IN)
    assert trailer.axles[0].tyres == 2.0
    assert load.tow_vehicle.receiver.rating == pytest.approx(8000 * LB)
    mower, roller = load.articles
    assert (mower.name, mower.title) == ("mower", "mower")
    assert (roller.name, roller.title) == ("Roller", "Roller")
    assert mower.placed.facing == "rearward"
    assert mower.attachments[0].x == 0.0
    walked = load.walkaround
    assert (walked.gate_locked, walked.ramps_locked, walked.rear_flags) == (1.0, 0.0, 2.0)
    assert walked.tread_depth == pytest.approx(IN / 8)
    assert math.isnan(walked.ball_seated)
    assert load.trip.places == ("US-UT", "US-CO")
    assert load.trip.load_checks == pytest.approx((45 * 1609.344, 100_000.0))
    assert load.trip.date == "2026-05-14"
    assert load.carrier.government == 1.0
    assert load.driver.licence == "ordinary"


def test_tiedowns_hold_the_very_articles_anchors_and_attachments() -> None:
    load = load_of(DAY)
    assert load.tiedowns is not None
    first, second = load.tiedowns
    assert first.article is load.articles[0]
    assert first.anchor is load.trailer.anchors[0]
    assert first.attachment is load.articles[0].attachments[0]
    assert first.far_anchor is None
    assert first.pulls == ("left", "down")
    assert first.grade == "70"
    assert second.article is load.articles[1]
    assert second.far_anchor is load.trailer.anchors[1]
    assert second.pulls is None


def test_an_anchor_may_have_the_name_of_a_field_that_is_left_out() -> None:
    trailer = load_of(DAY).trailer
    assert [anchor.name for anchor in trailer.anchors] == ["note", "front left"]
    assert trailer.anchors[0].x == pytest.approx(60 * IN)


def test_a_lone_article_needs_no_name_in_its_tiedowns() -> None:
    load = load_of("articles: [{weight: 900 lb}]\ntiedowns: [{grade: '70'}]\n")
    assert load.tiedowns is not None
    assert load.tiedowns[0].article is load.articles[0]
    assert load.articles[0].name == "article 1"


def test_what_is_not_stated_is_not_a_number_and_not_a_no() -> None:
    load = load_of("")
    assert load.title == "load"
    assert load.articles == ()
    assert load.tiedowns is None
    assert load.trip.load_checks is None
    assert math.isnan(load.trailer.gvwr)
    assert load.origins.keys() == set()


def test_no_tiedowns_is_a_statement() -> None:
    load = load_of("tiedowns: []\ntrip: {load_checks: []}\n")
    assert load.tiedowns == ()
    assert load.trip.load_checks == ()
    assert load.origins["tiedowns"].text == "[]"


def test_the_model_default_of_a_tiedown_states_nothing() -> None:
    load = load_of("articles: [{}]\ntiedowns: [{}]\n")
    assert load.tiedowns == (Tiedown(article=load.articles[0]),)


# -- origins ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "line", "column", "text", "metric"),
    [
        ("trailer.gvwr", 5, 9, "7000 lb", False),
        ("trailer.axles.rear.tyres", 9, 29, "2", None),
        ("trailer.full_trailer", 6, 17, "no", None),
        ("trailer.anchors.front left.x", 12, 21, "1.5 m", True),
        ("articles.1.weight", 17, 13, "1200 lb", False),
        ("tiedowns.1.pulls", 23, 74, "[left, down]", None),
        ("tiedowns.1.pulls.2", 23, 81, "down", None),
        ("tiedowns", 23, 3, "a list of 2", None),
        ("walkaround.tread_depth", 25, 63, "4/32 in", False),
        ("trip.load_checks.2", 26, 71, "100 km", True),
        ("trip.places", 26, 34, "[US-UT, US-CO]", None),
    ],
)
def test_origin_of_a_field(
    field: str, line: int, column: int, text: str, metric: bool | None
) -> None:
    origin = load_of(DAY).origins[field]
    assert origin == Origin("load.yaml", Mark(line, column), text, metric)
    assert str(origin) == f"load.yaml:{line}"


def test_origins_name_the_file_a_value_came_from() -> None:
    Path("mower.yaml").write_text("kind: machine\nweight: 1200 lb\nlength: 8 ft\n", "utf-8")
    load = load_of("articles: [{from: mower, length: 9 ft}]\n")
    assert str(load.origins["articles.1.weight"]) == "mower.yaml:2"
    assert str(load.origins["articles.1.length"]) == "load.yaml:2"
    assert load.articles[0].length == pytest.approx(108 * IN)


def test_fields_are_counted_from_one() -> None:
    assert field_path(("articles", 0, "weight")) == "articles.1.weight"
    assert field_path(()) == ""


# -- tolerances -------------------------------------------------------------------------------


def test_one_tolerance_gives_the_stated_value_and_both_ends() -> None:
    load = load_of("articles: [{weight: 2150 lb +/- 50 lb, length: 8 ft}]\n")
    assert load.rows == 3
    assert np.array(load.articles[0].weight) == pytest.approx(np.array([2150, 2100, 2200]) * LB)
    assert load.articles[0].length == pytest.approx(96 * IN), "no tolerance, no rows"


def test_two_tolerances_give_all_four_corners() -> None:
    load = load_of("articles: [{weight: 100 lb ± 1 lb}, {weight: 100 lb ± 2 %}]\n")
    assert load.rows == 5
    first, second = (np.array(article.weight) / LB for article in load.articles)
    assert (first[0], second[0]) == pytest.approx((100, 100))
    corners = {(round(a, 6), round(b, 6)) for a, b in zip(first[1:], second[1:], strict=True)}
    assert corners == {(99, 98), (99, 102), (101, 98), (101, 102)}


def test_a_tolerance_in_a_file_used_twice_moves_each_use_by_itself() -> None:
    Path("mower.yaml").write_text("kind: machine\nweight: 100 lb ± 1 lb\n", "utf-8")
    load = load_of("articles: [mower, {from: mower, name: second}]\n")
    assert load.rows == 5


def tolerant(number: int) -> str:
    entries = "".join(f"- {{name: a{index}, weight: 9 lb ± 1 lb}}\n" for index in range(number))
    return f"articles:\n{entries}"


def test_ten_tolerances_give_all_their_corners() -> None:
    load = load_of(tolerant(10))
    assert load.rows == 1 + 2**10
    assert all(np.shape(article.weight) == (1025,) for article in load.articles)


def test_more_than_ten_tolerances_are_moved_one_at_a_time() -> None:
    load = load_of(tolerant(11))
    assert load.rows == 1 + 2 * 11
    first = np.array(load.articles[0].weight) / LB
    assert first == pytest.approx([9, 10, *[9] * 10, 8, *[9] * 10])


# -- faults and folders -----------------------------------------------------------------------


def test_a_name_is_not_missed_in_a_file_that_is_not_there() -> None:
    text = "trailer: flat\narticles: [{}]\ntiedowns: [{anchor: d ring}]\n"
    assert told(text) == ["load.yaml:2:10: found 'flat'; wanted a file flat.yaml under ."]


def test_names_and_schema_faults_are_told_together() -> None:
    text = "trailer: {gvwr: 5}\narticles: [{}]\ntiedowns: [{anchor: d ring}]\n"
    assert [line[:18] for line in told(text)] == ["load.yaml:2:17: fo", "load.yaml:4:21: fo"]


def test_a_file_of_another_kind_is_not_looked_into() -> None:
    Path("load.yaml").write_text("kind: trailer\ntiedowns: [{}]\n", "utf-8")
    expected = r"^load\.yaml:1:7: found 'trailer' as the kind; wanted `kind: load`$"
    with pytest.raises(ProblemsFoundError, match=expected):
        read_load(Path("load.yaml"))


@pytest.mark.parametrize("name", ["none.yaml", ".", "loop.yaml"])
def test_what_is_no_file_is_one_problem(name: str) -> None:
    Path("loop.yaml").symlink_to("loop.yaml")
    expected = r":1:1: found a file that cannot be read \([a-z ]+\)$"
    with pytest.raises(ProblemsFoundError, match=expected):
        read_load(Path(name))


def test_references_start_from_the_nearest_folder_called_profiles() -> None:
    folder = Path("profiles/day/profiles/north")
    folder.mkdir(parents=True)
    assert profile_root(folder / "load.yaml") == Path("profiles/day/profiles").resolve()
    assert profile_root(Path("load.yaml")) == Path.cwd()


def test_a_root_may_be_given() -> None:
    Path("yard").mkdir()
    Path("yard/mower.yaml").write_text("kind: machine\nweight: 1 lb\n", "utf-8")
    Path("load.yaml").write_text("kind: load\narticles: [mower]\n", "utf-8")
    load = read_load(Path("load.yaml"), Path("yard"))
    assert load.origins["articles.1.weight"].file == "yard/mower.yaml"


def test_paths_are_shown_from_the_working_directory(tmp_path: Path) -> None:
    assert shown_path(tmp_path / "a" / "load.yaml") == "a/load.yaml"
    assert shown_path(Path("a/load.yaml")) == "a/load.yaml"
    elsewhere = tmp_path.parent / "load.yaml"
    assert shown_path(elsewhere) == str(elsewhere)


def test_a_list_may_grow_when_it_is_replaced(tmp_path: Path) -> None:
    file = tmp_path / "load.yaml"
    file.write_text("kind: load\ntrip: {places: [US-UT]}\n")
    longer = read_profile(file).replaced({("trip", "places"): ["US-UT", "US-NV", "CA-BC"]})
    assert longer.load().trip.places == ("US-UT", "US-NV", "CA-BC")


def test_what_loads_and_articles_share_stays_when_one_is_replaced() -> None:
    Path("mower.yaml").write_text("kind: machine\nweight: 1 lb\ncg: {x: 5 ft}\n", "utf-8")
    text = "kind: load\narticles: [mower, {from: mower, name: second}]\n"
    for name in ("one.yaml", "other.yaml"):
        Path(name).write_text(text, "utf-8")
    library = Library()
    one, other = (read_profile(Path(name), library=library) for name in ("one.yaml", "other.yaml"))
    changed = one.replaced({("articles", 1, "cg", "x"): "7 ft", ("trip", "speed"): "9 mph"})
    for profile, places in ((changed, (5, 7)), (one, (5, 5)), (other, (5, 5))):
        found = [article.cg.x for article in profile.load().articles]
        assert found == pytest.approx([feet * 12 * IN for feet in places])
    assert "trip" not in one.merged.data


def test_a_word_for_none_is_infinite_and_what_is_left_out_unknown() -> None:
    """A point that nobody rated limits nothing; one of which nothing is said is not known."""
    load = load_of(
        "tow_vehicle: {front_restoration: none}\narticles: [{attachments: "
        "{frame: {working_load_limit: no rating exists}, ring: {}}}]\n"
    )
    frame, ring = load.articles[0].attachments
    assert load.tow_vehicle.front_restoration == NONE
    assert frame.working_load_limit == NONE
    assert np.isnan(ring.working_load_limit)
    assert load.origins["tow_vehicle.front_restoration"].text == "none"


def shown_again(load: Load) -> str:
    """All that a load holds, as text, in which numbers that are not stated are equal."""
    return repr([getattr(load, name) for name in load.__struct_fields__])


@pytest.mark.parametrize("name", ["gooseneck-two-articles-in-order", "scale-tolerances"])
def test_no_load_of_a_profile_hangs_on_those_made_before(name: str) -> None:
    """They share what their values leave as it is."""
    profile = read_profile(shipped_folder("profiles") / "loads" / f"{name}.yaml")
    values = dict.fromkeys(profile.figures, 0.625)
    some = [{path: values[path]} for path in [*values][::5]]
    for chosen in ({}, *some, values, {}):
        alone = profile.replaced({})  # shares nothing with the others
        assert shown_again(profile.load(chosen)) == shown_again(alone.load(chosen))
