"""Loads that state what cannot be are refused at the line, with the line it is held against."""

from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.documents.reader import read_bytes
from checker.load.build import read_profile
from checker.load.plausible.reading import refusals
from checker.load.references import References


def told(tmp_path: Path, text: str) -> list[str]:
    file = tmp_path / "load.yaml"
    file.write_text(f"kind: load\n{text}\n")
    try:
        read_profile(file)
    except ProblemsFoundError as found:
        return [str(problem).replace(f"{tmp_path}/", "") for problem in found.problems]
    return []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "trailer: {deck: {front: 242 in, rear: 50 in}}",
            "load.yaml:2:25: found a deck that ends before it begins; "
            "wanted no more than deck.rear",
        ),
        (
            "trailer: {empty_tongue_weight: 2000 lb, empty_weight: 1900 lb}",
            "load.yaml:2:32: found an empty tongue heavier than the empty trailer; "
            "wanted no more than empty_weight",
        ),
        (
            "articles: [{length: 10 ft, cg: {x: 121 in}}]",
            "load.yaml:2:36: found a centre of gravity behind its rear end; "
            "wanted no more than length",
        ),
        (
            "articles: [{axles: {front: {x: 90 in}, rear: {x: 14 in}}}]",
            "load.yaml:2:32: found a front axle behind the rear one; "
            "wanted no more than axles.rear.x",
        ),
        (
            "articles: [{length: 80 in, axles: {rear: {x: 90 in}}}]",
            "load.yaml:2:46: found a rear axle behind its rear end; wanted no more than length",
        ),
        (
            "articles: [{}]\ntiedowns:\n- marked_working_load_limit: 1200 lb\n"
            "  breaking_strength: 1200 lb",
            "load.yaml:4:30: found a working load limit of 1200 lb on a part that breaks at "
            "1200 lb (load.yaml:5); "
            "wanted a limit well below the breaking strength: read the mark again",
        ),
        (
            "trailer: {safety_chains: {count: 0}}\nwalkaround: {chains_crossed: yes}",
            "load.yaml:3:30: found `walkaround.chains_crossed: yes` beside "
            "`trailer.safety_chains.count: 0` (load.yaml:2); "
            "wanted safety chains, or `no` here: change the one that is wrong",
        ),
        (
            "articles: [{has_boom: no, boom_rests: yes}]",
            "load.yaml:2:39: found `articles.1.boom_rests: yes` beside `articles.1.has_boom: no`; "
            "wanted a boom, or no answer here: change the one that is wrong",
        ),
        (
            "articles: [{friction: 1.2}]",
            "load.yaml:2:23: found a friction coefficient of 1.2; wanted 1 at most; tyres on a dry "
            "deck come to 0.3 to 0.6",
        ),
        (
            "trip: {distance: 200 mi, driving_time: 2 h, speed: 55 mph}",
            "load.yaml:2:18: found 200 mi in 2 h, which takes far more than 55 mph, the highest "
            "speed planned; wanted a longer driving time, a shorter distance or a higher speed",
        ),
        (
            "trip: {interstate: no, places: [US-UT, US-AZ]}",
            "load.yaml:2:20: found `trip.interstate: no` beside `trip.places: [US-UT, US-AZ]`; "
            "wanted `yes`, or the places of one state",
        ),
    ],
)
def test_the_line_and_both_sides(tmp_path: Path, text: str, said: str) -> None:
    assert told(tmp_path, text) == [said]


@pytest.mark.parametrize(
    "text",
    [
        # 10 ft are 120 in: equal is in order, and so is what the tolerances let be.
        "articles: [{length: 10 ft, cg: {x: 120 in}}]",
        "articles: [{length: 10 ft ± 1 in, cg: {x: 121 in}}]",
        "articles: [{length: 10 ft, cg: {x: 121 in ± 1 in}}]",
        "articles: [{length: 10 ft}]",
        "trailer: {deck: {front: 50 in}}",
        "trailer: {deck: {front: 50 in, rear: 242 in}}",
        "trailer: {safety_chains: {count: 0}}\nwalkaround: {chains_crossed: no}",
        "articles: [{has_boom: no, boom_rests: no}]",
        # The tow vehicle's brakes work, and the trailer has none.
        "trailer: {brakes: none}\nwalkaround: {brakes_work: yes}",
        # Half as fast again as 55 mph for 2 h are 165 mi.
        "trip: {distance: 165 mi, driving_time: 2 h, speed: 55 mph}",
        "trip: {interstate: no, places: [US, US-UT]}",
        "trip: {interstate: no, places: [US-UT, CA-ON]}",
        # Half of the placard's pressure to the psi.
        "walkaround: {tyres_sound: yes, lowest_cold_pressure: 30 psi, placard_pressure: 60 psi}",
    ],
)
def test_what_may_be_so_or_is_not_stated(tmp_path: Path, text: str) -> None:
    assert told(tmp_path, text) == []


def test_the_other_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "strap.yaml").write_text("kind: tiedown\nbreaking_strength: 1200 lb\n")
    strap = "{from: strap, marked_working_load_limit: 10000 lb}"
    assert told(tmp_path, f"articles: [{{}}]\ntiedowns: [{strap}]") == [
        "load.yaml:3:53: found a working load limit of 10000 lb on a part that breaks at 1200 lb "
        "(strap.yaml:2); wanted a limit well below the breaking strength: read the mark again"
    ]


# Two axles of 490 lb against 1000 lb are 2 % apart: the edge of the tolerance.
@pytest.mark.parametrize(
    ("weight", "front", "rear", "added"),
    [
        ("1000 lb", "500 lb", "500 lb", None),
        ("1000 lb", "490 lb", "490 lb", None),
        ("1000 lb", "490 lb", "489 lb", "979 lb"),
        ("1000 lb", "510 lb", "510 lb", None),
        ("1000 lb", "510 lb", "511 lb", "1,021 lb"),
        # 98 % of 999 lb are 979.02 lb.
        ("1000 lb ± 1 lb", "490 lb", "489 lb", "979 lb"),
        ("1000 lb ± 2 lb", "490 lb", "489 lb", None),
        ("1000 lb", "490 lb ± 1 lb", "489 lb", None),
        ("1000 lb ± 1 lb", "490 lb ± 1 lb", "489 lb", None),
        ("1000 lb ± 1 lb", "490 lb ± 1 lb", "487 lb", "977 lb"),
    ],
)
def test_axle_weights_against_the_weight(
    tmp_path: Path, weight: str, front: str, rear: str, added: str | None
) -> None:
    axles = f"{{front: {{weight: {front}}}, rear: {{weight: {rear}}}}}"
    expected = f"found axle weights that add to {added}; "
    expected += f"wanted the article's weight, {weight}"
    found = told(tmp_path, f"articles: [{{weight: {weight}, axles: {axles}}}]")
    assert [each.partition(": ")[2] for each in found] == ([expected] if added else [])


def test_axle_weights_are_told_in_the_units_of_the_profile(tmp_path: Path) -> None:
    axles = "{front: {weight: 200 kg}, rear: {weight: 200 kg}}"
    assert told(tmp_path, f"articles: [{{weight: 500 kg, axles: {axles}}}]") == [
        "load.yaml:2:36: found axle weights that add to 400 kg; wanted the article's weight, 500 kg"
    ]


@pytest.mark.parametrize(
    "article",
    [
        "{axles: {front: {weight: 1 lb}, rear: {weight: 1 lb}}}",
        "{weight: 9 lb, axles: {front: {weight: 1 lb}}}",
        "{weight: 9 lb, axles: {front: {weight: 1 lb}, rear: {}}}",
        "{weight: 9 ft, axles: {front: {weight: 1 lb}, rear: {weight: 1 lb}}}",
        "{weight: 9 lb, axles: {front: {weight: x}, rear: {weight: 1 lb}}}",
        "{weight: 9 lb, axles: {front: 3, rear: {weight: 1 lb}}}",
        "{weight: 9 lb, axles: [1 lb]}",
        "{weight: 9 lb, axles: {}}",
        "{axles: {}}",
        "[a]",
        "null",
    ],
)
def test_what_the_schema_refuses_is_not_compared(article: str) -> None:
    document = read_bytes(f"kind: load\narticles: [{article}]\n".encode(), "load.yaml")
    merged = References(Path.cwd(), str).merged(document, "load")
    assert refusals(merged.data, merged.locations) == []


def test_a_bare_number_is_not_also_compared_as_if_in_metres(tmp_path: Path) -> None:
    deck = "trailer: {deck: {front: 46 in, rear: 166 in}}"
    problems = told(tmp_path, f"{deck}\narticles: [{{length: 84 in, placed: {{x: 60}}}}]")
    assert [each.partition(";")[0] for each in problems] == [
        "load.yaml:3:40: found the bare number 60"
    ]
