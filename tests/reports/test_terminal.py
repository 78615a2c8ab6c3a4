"""The text report: nothing is lost by folding, nothing is wider than the page, colour adds nothing.

Expected counts come from the findings themselves, and from running the same report in full.
"""

import io
import os
import re
import subprocess
import sys
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from rich.cells import cell_len
from rich.console import Console
from typer.testing import CliRunner

from checker.cli.app import application
from checker.documents.resources import shipped_folder
from checker.evaluation.check import Check
from checker.evaluation.tolerances import check_profile
from checker.facts.restraint import WAYS
from checker.load.build import read_profile
from checker.reports.pages.check.page import print_check
from checker.reports.shared.scene_building import build_scene
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import US
from tests.shipped import shipped_rules

NEAR = 0.05
LOADS = (
    "missing-information",
    "rear-straps-only",
    "gooseneck-two-articles-in-order",
    "scale-tolerances",
)


@cache
def checked(name: str) -> Check:
    file = shipped_folder("profiles") / "loads" / f"{name}.yaml"
    return check_profile(read_profile(file), shipped_rules(), date(2026, 6, 1))


@cache
def report(name: str, *, full: bool = False, width: int = 100, encoding: str = "utf-8") -> str:
    raw = io.BytesIO()
    console = Console(file=io.TextIOWrapper(raw, encoding=encoding), width=width, highlight=False)
    print_check(checked(name), console, US, {}, NEAR, full=full)
    console.file.flush()
    return raw.getvalue().decode(encoding)


def shown(name: str) -> dict[Verdict, set[str]]:
    """Ids of the rules that a report tells one by one or counts, by verdict."""
    done = checked(name)
    undecided = {each.book.id for each in done.in_force if each.verdict is Verdict.NOT_STATED}
    found: dict[Verdict, set[str]] = {verdict: set() for verdict in Verdict}
    for finding in done.findings:
        if finding.book.id not in undecided:
            found[finding.verdict].add(finding.rule.id)
    return found


@pytest.mark.parametrize("name", LOADS)
@pytest.mark.parametrize("width", [60, 72, 80, 100])
@pytest.mark.parametrize("full", [False, True])
def test_no_line_is_wider_than_the_page(name: str, width: int, full: bool) -> None:
    lines = report(name, full=full, width=width).splitlines()
    assert max(map(cell_len, lines)) <= width


@pytest.mark.parametrize("name", LOADS)
def test_folding_keeps_every_rule_that_is_not_met(name: str) -> None:
    folded, ids = report(name, width=2000), shown(name)
    for verdict in (Verdict.NOT_MET, Verdict.TOO_CLOSE):
        for rule in ids[verdict]:
            assert f"[{rule}]" in folded
    undecided = [each for each in checked(name).findings if each.verdict is Verdict.NOT_STATED]
    musts = [each for each in undecided if each.rule.level == "must"]
    for finding in musts:
        if finding.rule.id in ids[Verdict.NOT_STATED]:
            assert f"[{finding.rule.id}]" in folded


@pytest.mark.parametrize("name", LOADS)
def test_a_full_report_tells_every_rule_with_its_source(name: str) -> None:
    full, ids = report(name, full=True, width=2000), shown(name)
    for verdict in (Verdict.MET, Verdict.NOT_MET, Verdict.TOO_CLOSE, Verdict.NOT_STATED):
        for rule in ids[verdict]:
            assert re.search(rf"^ +\[{re.escape(rule)}\] \S", full, re.MULTILINE), rule
    assert "FROM ITS LEFT SIDE" in full
    assert "FROM ITS LEFT SIDE" not in report(name)


def test_rules_near_their_limit_are_named_at_the_top() -> None:
    """341 lb of at most 351 lb: 2.7 % inside."""
    (near,) = [line for line in report("rear-straps-only").splitlines() if "by no more" in line]
    assert "tongue-share-ball" in near
    full = report("rear-straps-only", full=True)
    assert "tongue weight 341 lb; wanted at most 351 lb" in full


def test_a_number_that_somebody_changed_is_never_folded(tmp_path: Path) -> None:
    """273 lb are 11.7 %, far from the crew's 14 %: met with room, and still reported by itself."""
    (tmp_path / "crew.yaml").write_text(
        "kind: amendment\nid: crew\ntitle: Crew policy\nlayer: company\njurisdiction: any\n"
        "changes:\n  - {rule: tongue-share-ball, threshold: heaviest, was: 15 %, value: 14 %,\n"
        "     from: 2026-03-01, common_practice: yes}\n"
    )
    words = ["check", "loads/side-by-side-in-order", "--rules", "shipped", "--rules", str(tmp_path)]
    reported = CliRunner().invoke(application(), words, env={"COLUMNS": "100"}).stdout
    assert "Changed: heaviest 14 % since 2026-03-01 by Crew policy in place of 15 %" in reported


def test_rules_that_wait_for_the_same_name_it_once() -> None:
    folded = report("missing-information", width=2000)
    waits = [line for line in folded.splitlines() if line.startswith("        not stated: ")]
    assert waits
    assert len(waits) == len(set(waits))
    assert "decided: --full lists them." in folded


def test_the_drawing_says_what_is_left_out() -> None:
    assert "Left out of the drawing, because it is not stated: articles.1.length" in report(
        "missing-information"
    )


def test_a_console_without_other_letters_gets_plain_ones() -> None:
    plain = report("rear-straps-only", encoding="ascii", full=True)
    assert "@--------------<" in plain
    assert "15 % x gross weight" in plain
    assert "?" not in re.sub(r"\w\?$", "", plain, flags=re.MULTILINE)


def test_the_worst_way_of_each_tiedown_is_told() -> None:
    """The worst of each tiedown's ways, and those that carry the same are listed together."""
    (first, _, third, _) = build_scene(checked("side-by-side-in-order")).tiedowns
    assert max(first.carries, key=lambda way: first.carries[way]) == "rearward"
    assert max(third.carries, key=lambda way: third.carries[way]) == "forward"
    reported = report("side-by-side-in-order", width=2000, full=True)
    for names, tiedown, way in (
        ("tiedown 1 at front-left and tiedown 2 at front-right", first, "rearward with 0.5"),
        ("tiedown 3 at rear-left and tiedown 4 at rear-right", third, "forward with 0.8"),
    ):
        share = round(100 * max(tiedown.carries.values()))
        assert (
            f"{names}: each carries {share} % of its 3,333 lb when the load is pushed {way}"
            in reported
        )


def test_what_tiedowns_alone_do_not_hold_is_told() -> None:
    """Two straps at the rear pull rearward: they hold it from going forward, and no other way."""
    reported = report("rear-straps-only", width=2000, full=True)
    assert "each carries 25 % of its 3,333 lb when the load is pushed forward" in reported
    assert "do not keep it in place when it is pushed rearward, left or right\n" in reported


def test_what_is_held_is_told_for_every_way() -> None:
    reported = report("gooseneck-two-articles-in-order", width=2000, full=True)
    for way in WAYS:
        assert re.search(rf"^- skid-steer, {way}: \d+(\.\d+)? g", reported, re.MULTILINE)


@pytest.mark.parametrize(
    "settings", [{"NO_COLOR": "1"}, {"TERM": "dumb"}, {"TERM": "xterm-256color"}]
)
def test_a_pipe_gets_no_colour_and_the_same_words(settings: dict[str, str]) -> None:
    words = [sys.executable, "-m", "checker", "check", "loads/side-by-side-in-order"]
    done = subprocess.run(
        words,
        env={**os.environ, "COLUMNS": "80", **settings},
        capture_output=True,
        text=True,
        check=True,
    )
    assert "\x1b" not in done.stdout
    assert "NO RULE BROKEN" in done.stdout
    assert "THE LOAD FROM ABOVE" in done.stdout


def test_colour_only_repeats_the_words() -> None:
    reported = io.StringIO()
    console = Console(
        file=reported, width=100, highlight=False, force_terminal=True, color_system="standard"
    )
    print_check(checked("rear-straps-only"), console, US, {}, NEAR)
    without = re.sub(r"\x1b\[[0-9;]*m", "", reported.getvalue())
    assert without != reported.getvalue()
    assert without == report("rear-straps-only")


def test_a_load_that_does_not_come_to_rest_on_its_springs_is_reported() -> None:
    """Held by the limits at 0.00 g; no tiedown has a share that could be reported."""
    profile = read_profile(
        Path(str(shipped_folder("profiles") / "loads" / "under-rated-straps.yaml"))
    )
    far = ("articles", 0, "attachments", "rear-right", "x")
    rules = shipped_rules()
    check = check_profile(profile.replaced({far: "147000 in"}), rules, date(2026, 6, 1))
    text = io.StringIO()
    print_check(check, Console(file=text, width=100), US, {}, 0.05, full=True)
    assert "- forward: 0.42 g, on a slick deck 0.00 g" in text.getvalue()


def test_a_tiedown_as_good_as_none_ends_no_check() -> None:
    """A limit of 1e-98 lb makes springs too soft for any sum: nothing is held by them."""
    profile = read_profile(
        Path(str(shipped_folder("profiles") / "loads" / "under-rated-straps.yaml"))
    )
    fields = {("tiedowns", n, "hooks_working_load_limit"): "1e-98 lb" for n in range(4)}
    rules = shipped_rules()
    check = check_profile(profile.replaced(fields), rules, date(2026, 6, 1))
    text = io.StringIO()
    print_check(check, Console(file=text, width=100), US, {}, 0.05, full=True)
    assert "on a slick deck 0.00 g" in text.getvalue()
