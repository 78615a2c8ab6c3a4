"""What documents of commands say: figures by hand, as in the tests of their text forms."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.calling import call
from tests.cli.test_rulebooks_and_history import AMENDMENTS, BOOK, SOURCES

LB = 4.4482216152605  # N, exact
IN = 0.0254  # m, exact
LOAD = "kind: load\ntitle: A load\ntrailer: {gvwr: 7001 lb}\ntrip: {date: 2026-05-14}\n"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder of rules that are proved, with a load beside it."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "sources.yaml").write_text(SOURCES)
    (tmp_path / "rules" / "book.yaml").write_text(BOOK)
    (tmp_path / "load.yaml").write_text(LOAD)
    return tmp_path


def said(folder: Path, *words: str, code: int = 0) -> Any:
    done = call(folder, *words, "--as", "json")
    assert done.returncode == code, done.stderr
    return json.loads(done.stdout)


def test_explain_has_the_comparisons_and_the_room_left(tmp_path: Path) -> None:
    """By hand: 272.74 lb on the ball, at least 234 lb and at most 351 lb wanted; it is 234 lb with
    the machine at 55.383 in, as `test_explain.py` derives."""
    found = said(tmp_path, "explain", "loads/side-by-side-in-order", "tongue-share-ball")
    assert found["file"] == "shipped:profiles/loads/side-by-side-in-order.yaml"
    assert (found["verdict"], found["subject"], found["enough"]) == ("met", None, [])
    low, high = found["requires"]["comparisons"]
    assert [low["holds"], low["decides"], high["holds"], high["decides"]] == [
        True,
        True,
        True,
        False,
    ]
    assert low["actual"] == pytest.approx(272.74 * LB, rel=1e-4)
    assert (low["required"], high["required"]) == pytest.approx((234 * LB, 351 * LB))
    assert found["margin"] == pytest.approx(38.742 / 234, rel=1e-4)
    stands = next(each for each in found["room"] if each["kind"] == "place")
    assert stands["today"] == pytest.approx(52 * IN)
    assert stands["most"] == pytest.approx(55.383 * IN, rel=1e-4)
    assert found["facts"][0]["depth"] == 0
    assert "never replaces" in found["cautions"][0]
    weight = next(each for each in found["facts"] if each["name"] == "article.weight")
    assert weight["value"] == pytest.approx(1420 * LB)


def test_explain_of_a_broken_rule_has_its_changes(place: Path) -> None:
    found = said(place, "explain", "load.yaml", "weight", "--rules", "rules", code=1)
    (limit,) = found["requires"]["comparisons"]
    assert (limit["left"], limit["operator"], limit["right"]) == ("trailer.gvwr", "<=", "most")
    assert (limit["actual"], limit["required"]) == pytest.approx((7001 * LB, 7000 * LB))
    assert limit["holds"] is False
    assert found["figures"]["most"]["value"] == "7000 lb"
    (fact,) = found["facts"]
    assert fact["fields"] == [{"field": "trailer.gvwr", "stated": "7001 lb", "at": "load.yaml:3"}]


def stretches(trip: Any) -> list[tuple[str, str | None, str | None]]:
    return [
        (each["days"]["from"], each["days"]["until"], each["figure"] and each["figure"]["value"])
        for each in trip["over_time"]
    ]


def test_history_has_the_figures_of_every_trip_over_time(place: Path) -> None:
    for name, text in AMENDMENTS.items():
        (place / "rules" / f"{name}.yaml").write_text(text)
    rules = ("--rules", "rules")
    found = said(place, "history", "weight", *rules, "--on", "2026-06-01")
    nowhere, utah = found["trips"]
    assert (nowhere["places"], utah["places"]) == ([], ["US-UT"])
    unknown = ("2028-01-01", None, None)
    later = [("2027-01-01", "2028-01-01", "6500 lb"), unknown]
    assert stretches(nowhere) == [("2015-10-01", "2027-01-01", "7000 lb"), *later]
    assert stretches(utah) == [
        ("2015-10-01", "2026-03-01", "7000 lb"),
        ("2026-03-01", "2027-01-01", "6800 lb"),
        *later,
    ]
    (today,) = utah["on_the_day"]
    assert today["figure"]["changed_by"]["amendment"] == "utah-law"
    assert today["figure"]["replaces"]["value"] == "7000 lb"
    assert nowhere["over_time"][-1]["undecided_by"]["by"] == "Ann"
    (elsewhere,) = said(place, "history", "weight", *rules, "--places", "US-ID")["trips"]
    assert (elsewhere["places"], elsewhere["in_force"]) == (["US-ID"], True)
    shown = said(place, "rule", "weight", *rules)
    assert [each["layer"] for each in shown["thresholds"][0]["changes"]] == ["place", "company"]
    assert shown["requires"] == "trailer.gvwr <= most"


def test_vary_has_the_value_at_which_a_verdict_turns(place: Path) -> None:
    words = ("vary", "load.yaml", "trailer.gvwr", "6000 lb..8000 lb", "--rules", "rules")
    found = said(place, *words)
    (turn,) = found["changes"]
    assert turn["value"] == pytest.approx(7000 * LB)
    assert (turn["before"], turn["after"], turn["rule"]["rule"]) == ("met", "not met", "weight")
    assert (found["field"], found["unit"], found["never_met"]) == ("trailer.gvwr", "N", [])
    assert (found["from"], found["to"]) == pytest.approx((6000 * LB, 8000 * LB))


def test_place_has_the_stretch_and_what_is_not_met_today(tmp_path: Path) -> None:
    """The README prints: stop between 78.25 in and 97.5 in, best at 94.25 in, today at 52 in."""
    found = said(tmp_path, "place", "loads/too-far-forward")
    forward = next(each for each in found["ways"] if each["facing"] == "forward")
    (stretch,) = forward["stretches"]
    assert stretch["front"] == pytest.approx(78.25 * IN, abs=0.25 * IN)
    assert stretch["rear"] == pytest.approx(97.5 * IN, abs=0.25 * IN)
    assert [each["rule"] for each in stretch["ended_front"]] == ["tongue-share-ball"]
    assert forward["best"]["position"] == pytest.approx(94.25 * IN, abs=0.25 * IN)
    assert found["cautions"][0].startswith("Hook the tiedowns at the new position")
    assert found["today"]["position"] == pytest.approx(52 * IN)
    assert "tongue-share-ball" in [each["rule"] for each in found["today"]["not_met"]]


def test_proofs_and_faults_of_rule_files(place: Path) -> None:
    assert said(place, "prove", "--rules", "rules")["proved"] is True
    book = place / "rules" / "book.yaml"
    book.write_text(BOOK.replace("7001 lb}, expect: not met", "7001 lb}, expect: met"))
    (failing,) = said(place, "prove", "--rules", "rules", code=1)["failing"]
    assert (failing["proof"], failing["expected"], failing["found"]) == ("over", "met", "not met")
    checked = said(place, "rulebooks", "--rules", "rules", "--on", "2026-07-01", code=1)
    assert checked["faults"][0]["found"].startswith("not met in the proof 'over'")
    (due,) = checked["warnings"]
    assert due["file"] == "rules/sources.yaml"
    assert (checked["rulebooks"], checked["rules"], checked["proofs"]) == (1, 1, 6)


def test_law_of_a_place_without_a_list_of_paragraphs_is_not_known_to_be_complete(
    tmp_path: Path,
) -> None:
    found = said(tmp_path, "coverage", "de", code=3)
    assert (found["complete"], found["lists"], found["place"]) == (None, [], "DE")
    assert found["clauses"]
    (held,) = said(tmp_path, "places", "DE")["places"]
    assert held["subjects_not_read"] == found["subjects_not_read"]
    assert held["name"] == "Germany"
    full = said(tmp_path, "coverage", "us")
    assert full["complete"] is True
    assert full["missing"] == []


def test_variances_by_their_standing_on_the_day(place: Path) -> None:
    register = (
        "kind: variances\nid: crew\ntitle: Crew\nvariances:\n"
        "  - {rule: weight, because: old, conditions: slow, by: Ann, from: 2026-05-01,\n"
        "     until: 2026-06-01, every_load: yes}\n"
    )
    (place / "rules" / "variances.yaml").write_text(register)
    for day, standing, left in (
        ("2026-04-30", "to come", 32),
        ("2026-05-01", "in force", 31),
        ("2026-06-01", "over", 0),
    ):
        (listed,) = said(place, "variances", "--rules", "rules", "--on", day)["variances"]
        assert (listed["standing"], listed["days_left"]) == (standing, left)
        assert (listed["files"], listed["at"]) == ([], "rules/variances.yaml:5")


def test_settings_name_the_line_that_sets_them(place: Path) -> None:
    (place / "cinchbook.yaml").write_text("kind: settings\nnear: 3 %\n")
    found = said(place, "settings")
    assert found["file"] == "cinchbook.yaml"
    stated = {each["name"]: each for each in found["settings"]}
    assert stated["near"] == {"name": "near", "value": "3 %", "at": "cinchbook.yaml:2"}
    assert stated["units"]["at"] is None
