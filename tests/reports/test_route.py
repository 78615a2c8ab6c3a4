"""The borders of a trip in every form that shows them, for a bundled load taken elsewhere.

California: 55 mph with a trailer (Veh. Code 22406), and four tiedowns on each machine. Washington:
two chains, crossed. Their figures are those of the law tables; the load is driven at 60 mph.
"""

import io
import json
import re
from datetime import date
from functools import cache
from pathlib import Path

import jsonschema_rs
import pytest
from rich.console import Console

from checker.documents.resources import shipped_folder
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.reports.check_forms import json as json_report
from checker.reports.check_forms import markdown
from checker.reports.check_forms.html import page
from checker.reports.pages.check.page import print_check
from checker.reports.shared.check_results import CheckedLoad
from checker.reports.shared.route_words import borders_in_words, not_everywhere, places_in_words
from checker.reports.shared.words import number_of
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import US
from tests.reports.conftest import Runs
from tests.rules.conftest import DAY
from tests.shipped import shipped_rules
from tests.written_documents import closed_schema

ROOT = Path(__file__).resolve().parents[2]


@cache
def through(*places: str, speed: str = "60 mph", **more: str) -> CheckedLoad:
    """The side-by-side load through some places; `more` has further fields of its trip."""
    profile = read_profile(shipped_folder("profiles") / "loads/side-by-side-in-order.yaml")
    trip = {"places": list(places), "speed": speed, "interstate": "yes", **more}
    changed = profile.replaced({("trip", field): value for field, value in trip.items()})
    return CheckedLoad(check_profile(changed, shipped_rules(), DAY), {}, US)


def printed(load: CheckedLoad, width: int = 100, *, full: bool = False) -> str:
    text = io.StringIO()
    console = Console(file=text, width=width)
    print_check(load.check, console, US, load.fixes, 0.05, full=full)
    return text.getvalue()


def test_the_head_says_from_where_on_a_must_rule_is_not_met() -> None:
    check = through("US-AZ", "US-CA").check
    assert not_everywhere(check) == [
        "Not met from California on: with a trailer faster than 55 mph."
    ]
    assert places_in_words(check) == (
        "Place by place: Arizona: no rule broken, of those looked at; California: HOLD."
    )
    head = printed(through("US-AZ", "US-CA")).partition("\n\nDO FIRST")[0]
    assert "! Not met from California on: with a trailer faster than 55 mph." in head


@pytest.mark.parametrize(
    ("places", "where"),
    [
        (("US-CA", "US-AZ"), "up to the border of Arizona"),
        (("US-AZ", "US-CA", "US-UT"), "in California"),
        (("US-CA", "US-AZ", "US-CA"), "in California"),
        (("US-AZ", "US-CA", "US-CA"), "from California on"),
    ],
)
def test_where_a_rule_is_not_met(places: tuple[str, ...], where: str) -> None:
    assert not_everywhere(through(*places).check) == [
        f"Not met {where}: with a trailer faster than 55 mph."
    ]


def test_what_is_undecided_in_one_place_alone_is_said_too() -> None:
    """Washington asks where the chains hook on, which the load does not state."""
    (words,) = not_everywhere(through("US-UT", "US-WA", speed="55 mph").check)
    assert words == (
        "Not decided from Washington on: chain points equally far from the centre line; "
        "chains not on the ball, its mount or its fasteners."
    )


def test_a_load_that_is_alike_everywhere_has_no_line_at_the_head() -> None:
    check = through("US-UT", "US-WY", speed="55 mph").check
    assert (places_in_words(check), not_everywhere(check)) == (None, [])
    assert [each.heading for each in borders_in_words(check)] == ["From Utah into Wyoming"]


def test_a_trip_through_one_place_says_nothing_of_borders(runs: Runs) -> None:
    load = through("US-UT", "US-UT", speed="55 mph")
    run = runs(loads=[load])
    assert load.check.route is None
    assert "BORDERS" not in printed(load, full=True)
    assert "border" not in page.load_page(load, run).partition("<main>")[2].partition("<script")[0]
    assert "route" not in json.loads(json_report.report(run))["loads"][0]


def test_the_profiles_page_shows_what_is_printed() -> None:
    text = (ROOT / "profiles/README.md").read_text()
    (shown,) = re.findall(r"```text shown across\n(.*?)```", text, re.DOTALL)
    lines = printed(through("US-AZ", "US-CA")).splitlines()
    assert [line for line in shown.splitlines() if line not in ("...", *lines)] == []


def test_a_rule_under_a_variance_holds_nobody_and_says_so() -> None:
    profile = read_profile(shipped_folder("profiles") / "loads/variance-late-first-stop.yaml")
    trip = {("trip", "places"): ["CH", "US-UT"], ("trip", "interstate"): "yes"}
    check = check_profile(profile.replaced(trip), shipped_rules(), date(2026, 5, 18))
    (excused,) = (each for each in check.findings if each.variance)
    (border,) = borders_in_words(check)
    (words,) = (e.words for e in border.entries if e.finding.rule.id == excused.rule.id)
    assert "(under a variance)" in words
    assert not any(line.startswith("Not met") for line in not_everywhere(check))


ACROSS = ("US-AZ", "US-CA", "US-WA", "CA-BC", "CH")


def test_nothing_that_is_not_met_is_left_out_of_a_short_report() -> None:
    check = through(*ACROSS).check
    for border in borders_in_words(check):
        shown, more = border.in_short()
        assert len(shown) + more == len(border.entries)
        assert not any(each.is_open for each in border.entries[len(shown) :])
        verdicts = [each.finding.verdict for each in border.entries]
        assert Verdict.DOES_NOT_APPLY not in verdicts
    text = printed(through(*ACROSS), width=80)
    assert max(map(len, text.splitlines())) <= 80
    longer = printed(through(*ACROSS), width=80, full=True).partition("BORDERS")[2]
    assert "--full lists them" not in longer
    for border in borders_in_words(check):
        for entry in border.entries:
            assert f"[{entry.finding.rule.id}]" in longer


def test_what_ends_where_nobody_read_on_is_called_unread() -> None:
    *_, last = borders_in_words(through(*ACROSS).check)
    assert last.notes == ["Not read: nothing of the law of Switzerland was checked."]
    of_law = {each.ends for each in last.entries if each.finding.rule.basis == "law"}
    assert of_law == {"unread"}
    out_of_utah = borders_in_words(through("US-UT", "US-MT", speed="55 mph").check)[0]
    ends = {each.finding.rule.id: each.ends for each in out_of_utah.entries}
    # Montana's licence law was not found; its chain law was read and does not ask for slack.
    assert (ends["us-ut-licence"], ends["us-ut-chain-slack"]) == ("unread", "ends")


def test_parts_of_a_place_have_borders_of_their_own() -> None:
    headings = [each.heading for each in borders_in_words(through("US", "US-ID", "US").check)]
    assert headings == [
        "From United States into its part Idaho",
        "From Idaho into the rest of United States",
    ]
    *_, last = borders_in_words(through("US-ID", "US").check)
    assert any(note.startswith("United States is stated without its part") for note in last.notes)


def test_rulebooks_that_may_begin_are_named() -> None:
    (border,) = borders_in_words(through("CH", "DE").check)
    assert any(note.startswith("Not known whether it applies from here: ") for note in border.notes)


def test_each_form_shows_the_borders(runs: Runs) -> None:
    load = through(*ACROSS)
    run = runs(loads=[load])
    html, text = page.load_page(load, run), markdown.report(run)
    head, _, body = html.partition("<main>")
    assert "Not met in California: with a trailer faster than 55 mph." in head
    plain = re.sub(r"\\", "", text)
    for border in borders_in_words(load.check):
        shown, more = border.in_short()
        assert f"<h3>{border.heading}</h3>" in body
        assert f"#### {border.heading}" in text
        assert not more or f"{number_of(more, 'more rule')} met or at an end here" in text
        for entry in border.entries:
            assert body.count(f"{entry.finding.rule.id}</code></li>") >= 1
        for entry in shown:
            assert f"`{entry.finding.rule.id}`" in text
    assert "**ends**" in plain


def test_the_json_document_has_the_whole_route(runs: Runs) -> None:
    load = through(*ACROSS)
    document = json.loads(json_report.report(runs(loads=[load])))
    jsonschema_rs.Draft202012Validator(closed_schema("report")).validate(document)
    stated = document["loads"][0]["route"]
    route = load.check.route
    assert route is not None
    assert [each["place"] for each in stated["places"]] == [*ACROSS]
    assert stated["places"][1]["not_met"] == ["us-ca-towing-speed"]
    for border, record in zip(route.borders, stated["borders"], strict=True):
        assert len(record["changes"]) == len(border.changes)
    (speed,) = (
        each
        for each in stated["borders"][1]["changes"]
        if each["before"] and each["before"]["rule"] == "us-ca-towing-speed"
    )
    # California 55 mph, Washington 60 mph (RCW 46.61.410).
    assert speed["difference"] == "other figures"
    (figure,) = speed["figures"]
    assert (figure["before"], figure["after"], figure["stricter_after"]) == (
        *("55 mph", "60 mph"),
        False,
    )
