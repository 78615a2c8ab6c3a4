"""Seven stories of a safety officer's year, with calendar and impact worked out by hand.

On the flat trailer of 6,800 lb a load goes 60 mph, on the tilt trailer of 6,400 lb 50 mph, both in
Utah on 2026-06-01. The rules allow 7,000 lb (law) and 65 mph (practice).
"""

from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.cli.officer_desk import PROJECT, Desk, write

PRACTICE = "--common-practice"
BY = ("--by", "M. Quill")


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path)


def test_set_up(tmp_path: Path) -> None:
    """A new project runs, gates its own loads, and has one document to read in a year."""
    desk = Desk(tmp_path, {})
    desk.run("draft", "project", "desk")
    desk = Desk(tmp_path / "desk", {})
    assert "NO RULE BROKEN" in desk.run("check", "loads/mower-in-order")
    assert "6 no rule broken" in desk.run(
        "check", "profiles/loads", "--short", "--fail-on", "should"
    )
    # Safety chains that are not connected hold a load: a must-rule of the bundled practice and law.
    load = desk.folder / "profiles" / "loads" / "mower-in-order.yaml"
    load.write_text(load.read_text().replace("chains_connected: yes", "chains_connected: no"))
    assert "HOLD" in desk.run("check", "loads/mower-in-order", code=1)
    assert "1 HOLD" in desk.run("check", "profiles/loads", "--short", code=1)
    # Nothing of its own changes yet, and nothing rests yet on the document that the draft lists.
    due = str(date.today() + timedelta(days=365))
    assert desk.calendar(due, due, "--rule", "tongue-share-ball") == []
    assert "our-policy" not in [each[2] for each in desk.calendar(due, due)]


def test_a_law_changes_from_a_day(desk: Desk) -> None:
    """Utah allows 6,500 lb from 2027 on: the flat trailer of 6,800 lb is over, the tilt is not."""
    new = ["weight", "most", "6500 lb", "--from", "2027-01-01", "--place", "US-UT"]
    shown = desk.run("amend", *new, "--source", "utah", "--at", "1-1")
    assert "before 2027-01-01: most = 7000 lb, the rulebook's own" in shown
    assert desk.verdict("weight", "flat", "2026-12-31", "2027-01-01") == ["met", "not met"]
    assert desk.verdict("weight", "tilt", "2026-12-31", "2027-01-01") == ["met", "met"]
    told = desk.run("history", "weight", "--places", "US-UT", "--on", "2027-01-01")
    assert "from 2027-01-01 on: most = 6500 lb, set by law of US-UT" in told
    # Elsewhere the law of the US stands.
    assert desk.calendar("2026-07-01", "2027-06-30", "--place", "US-UT", "--rule", "weight") == [
        ("2027-01-01", "figure", "weight", "most = 6500 lb")
    ]
    assert desk.calendar("2026-07-01", "2027-06-30", "--place", "US-NV", "--rule", "weight") == []
    assert desk.impact("amendments/us-ut.yaml", code=1) == (
        [("tightened", "figure", "weight")],
        [("flat", "2027-01-01", "weight", "met", "not met")],
    )


def test_a_season_is_corrected_and_withdrawn(desk: Desk) -> None:
    """In winter 45 mph, typed wrong for 55 mph, until the winter of 2027 is over."""
    winter = ["--from", "2026-11-01", "--each-year", "11-01", "05-01"]
    desk.run(
        "amend", "speed", "fastest", "45 mph", *winter, PRACTICE, "--because", "Ice on the pass."
    )
    # 50 and 60 mph: both over 45 mph.
    assert desk.verdict("speed", "tilt", "2026-12-01") == ["not met"]
    why = ("--because", "Typed wrong.")
    desk.run("amend", "speed", "fastest", "55 mph", "--correct", "2026-11-01", *BY, *why)
    assert desk.verdict("speed", "tilt", "2026-12-01") == ["met"]
    why = ("--because", "The pass is closed in winter.")
    taken = ["--withdraw", "2026-11-01", "--from", "2028-05-01"]
    desk.run("amend", "speed", "fastest", *taken, *BY, *why)
    days = ["2026-10-31", "2026-11-01", "2027-04-30", "2027-05-01", "2028-04-30", "2028-11-01"]
    expected = ["met", "not met", "not met", "met", "not met", "met"]
    assert desk.verdict("speed", "flat", *days) == expected
    told = desk.run("history", "speed")
    assert "corrected by M. Quill: Typed wrong. (never counts)" in told
    assert "by M. Quill: The pass is closed in winter. (counts until then)" in told
    assert desk.calendar("2026-10-01", "2029-12-31", "--rule", "speed") == [
        ("2026-11-01", "figure", "speed", "fastest = 55 mph"),
        ("2027-05-01", "figure", "speed", "fastest = 65 mph"),
        ("2027-11-01", "figure", "speed", "fastest = 55 mph"),
        ("2028-05-01", "figure", "speed", "fastest = 65 mph"),
    ]
    differing = [("tightened", "figure", "speed")]
    turned = ("flat", "2028-01-15", "speed", "met", "not met")
    company = "amendments/company.yaml"
    assert desk.impact(company, "--on", "2028-01-15", code=1) == (differing, [turned])
    for day in ("2026-10-31", "2027-06-01", "2028-11-01"):
        assert desk.impact(company, "--on", day) == (differing, [])


REGISTER = """\
kind: variances
id: basin-variances
title: Variances
variances:
  - rule: speed
    uses: [trailers/flat]
    crews: [canyon crew]
    because: The pass closes at dusk.
    conditions: By day alone.
    by: M. Quill
    from: 2026-11-02
    until: 2026-11-16
"""
LOG = """\
load,date,crew,trip.speed
loads/flat,2026-11-01,canyon crew,70 mph
loads/flat,2026-11-02,canyon crew,70 mph
loads/flat,2026-11-15,canyon crew,70 mph
loads/flat,2026-11-16,canyon crew,70 mph
loads/flat,2026-11-02,mesa crew,70 mph
loads/tilt,2026-11-02,canyon crew,70 mph
"""


def test_a_variance_for_two_weeks_for_one_trailer_and_crew(desk: Desk) -> None:
    """At 70 mph, over 65 mph: only rows 3 and 4 have the trailer, the crew and one of its days."""
    load = PROJECT["profiles/loads/flat.yaml"].replace("60 mph", "70 mph")
    write(desk.folder, {"profiles/loads/fast.yaml": load, "hauls.csv": LOG})
    desk.commit()
    write(desk.folder, {"amendments/variances.yaml": REGISTER})
    for day, told in {
        "2026-11-01": "begins only on 2026-11-02: haul from that day on, or meet the rule.",
        # A check does not know who hauls: it holds the load, and says for whom it need not.
        "2026-11-02": "counts for crew canyon crew only, and a check does not know who hauls",
        "2026-11-16": "expired on 2026-11-16: have it renewed, or meet the rule.",
    }.items():
        assert told in desk.run("check", "loads/fast", "--on", day, code=1)
    audited = desk.run("audit", "hauls.csv", code=1)
    assert "6 hauls: 4 on hold, 0 open, 2 with no rule broken" in audited
    assert "- canyon crew: 5 hauls: 3 on hold, 0 open, 2 with no rule broken" in audited
    assert "; 2 under a variance" in audited
    listed = desk.run("variances", "--on", "2026-11-05")
    assert "On 2026-11-05: 1 variance in force, 0 to come, 0 over" in listed
    assert "ENDS SOON, 11 days left" in listed
    assert desk.calendar("2026-11-01", "2026-11-30", "--rule", "speed") == [
        ("2026-11-02", "variance", "speed", "may go against it until 2026-11-16 by M. Quill: The "
         "pass closes at dusk. On condition: By day alone."),
        ("2026-11-16", "variance", "speed", "the rule holds for them again; the variance was by "
         "M. Quill"),
    ]  # fmt: skip
    against = ("impact", "--against", "HEAD", "--over", "hauls.csv", "--fail-on", "loosened")
    found = desk.document(*against, code=1)
    assert [(each["effect"], each["kind"]) for each in found["differences"]] == [
        ("loosened", "variance")
    ]
    turned = {(each["on"], each["before"], each["after"]) for each in found["outcomes"]}
    assert turned == {
        ("2026-11-02", "hold", "no rule broken"),
        ("2026-11-15", "hold", "no rule broken"),
    }


OWN_RULE = """\
kind: rulebook
id: own-rules
title: Own rules
jurisdiction: any
proved_on: 2026-12-15
rules:
  - id: strong-chains
    title: Each chain is rated for {least}
    question: tiedowns
    for_each: tiedown
    requires: tiedown.device_rating >= least
    thresholds:
      least:
        stricter: higher
        values: [{value: 3000 lb, from: 2026-12-01, common_practice: yes}]
    common_practice: yes
    basis: common practice
    level: must
    because: After the near miss on gravel.
    fix: Use a stronger chain.
    proofs:
      - {name: at, given: {tiedown.device_rating: 3000 lb}, expect: met, origin: ours}
      - {name: below, given: {tiedown.device_rating: 2999 lb}, expect: not met,
         origin: ours}
      - {name: first day, on: 2026-12-01, given: {tiedown.device_rating: 3001 lb},
         expect: met, origin: ours}
"""
EARLY = """\
      - {name: early, on: 2026-11-30, given: {tiedown.device_rating: 3001 lb},
         expect: not stated, origin: none yet}
"""
OWN_TABLE = """\
kind: ratings
id: own-limits
title: Our old chains
jurisdiction: any
source: makers-labels
at: list of the maker
from: 2027-01-01
proved_on: 2027-01-01
goes_before: us-working-load-limits
rows:
  - {device: chain, grade: "70", size: 3/8 in, working_load_limit: 2500 lb}
proofs:
  - {name: first day, device: chain, grade: "70", size: 3/8 in, expect: 2500 lb, origin: the list}
  - {name: early, on: 2026-12-31, device: chain, grade: "70", size: 3/8 in, expect: no value,
     origin: none yet}
"""
CHAINED = PROJECT["profiles/loads/flat.yaml"] + (
    "articles: [{title: Mower, weight: 1000 lb}]\n"
    'tiedowns: [{device: chain, unmarked: yes, grade: "70", size: 3/8 in}]\n'
)


def test_a_rule_and_a_table_of_their_own(tmp_path: Path) -> None:
    """3,000 lb is asked from December on; a chain counts as 6,600 lb, from January 2,500 lb."""
    # With a shipped rulebook comes the federal table: 6,600 lb for this chain without a mark.
    settings = PROJECT["cinchbook.yaml"].replace("[rules]", "[rules, us-size, own]")
    desk = Desk(tmp_path, PROJECT | {"cinchbook.yaml": settings})
    own = PROJECT["amendments/sources.yaml"].replace("utah", "list")
    write(desk.folder, {"profiles/loads/flat.yaml": CHAINED, "own/sources.yaml": own})
    desk.commit()
    write(desk.folder, {"own/rules.yaml": OWN_RULE, "own/table.yaml": OWN_TABLE})
    # A day too early would change no case.
    told = desk.run("prove", "--rules", "own", code=1)
    assert "strong-chains: no proof notices: least 3000 lb from 2026-11-30 in place of" in told
    write(desk.folder, {"own/rules.yaml": OWN_RULE + EARLY})
    assert "(100.0%)" in desk.run("prove", "--rules", "own")
    days = ("2026-11-30", "2026-12-01", "2026-12-31", "2027-01-01")
    expected = ["not stated", "met", "met", "not met"]
    assert desk.verdict("strong-chains", "flat", *days) == expected
    assert "us-working-load-limits" in desk.run(
        "explain", "loads/flat", "strong-chains", "--on", "2026-12-31"
    )
    assert "own-limits" in desk.run(
        "explain", "loads/flat", "strong-chains", "--on", "2027-01-01", code=1
    )
    found = desk.calendar("2026-11-01", "2027-05-01", "--place", "US-UT")
    assert [each for each in found if each[2] in ("strong-chains", "own-limits")] == [
        ("2026-12-01", "figure", "strong-chains", "least = 3000 lb"),
        ("2027-01-01", "table", "own-limits", "Our old chains"),
    ]
    # A new table may give a limit where there was none. The tilt load states no tiedowns.
    assert desk.impact("--against", "HEAD", "--on", "2027-01-01", code=1) == (
        [("may be loosened", "table", "own-limits"), ("tightened", "rulebook", "own-rules")],
        [
            ("flat", "2027-01-01", "strong-chains", None, "not met"),
            ("tilt", "2027-01-01", "strong-chains", None, "not stated"),
        ],
    )


def test_a_new_edition_is_noted(tmp_path: Path) -> None:
    """The Print was to be read again by June 2024; its edition of July 2024 says the same."""
    old = {
        name: PROJECT[name].replace("look_again: 2026-06-01", f"look_again: {day}")
        for name, day in (
            ("rules/sources.yaml", "2024-06-01"),
            ("amendments/sources.yaml", "2030-01-01"),
        )
    }
    desk = Desk(tmp_path, PROJECT | old)
    desk.commit()
    strict = ("rulebooks", "--strict", "--on", "2024-06-15")
    told = desk.run(*strict, code=1)
    assert "found the source 'print', to be reviewed by 2024-06-01" in told
    edition = ("--edition", "second", "--from", "2024-07-01")
    desk.run("sources", "print", "--read-on", "2024-06-10", *BY, *edition)
    assert "nothing wrong" in desk.run(*strict)
    assert "most = 7000 lb, the rulebook's own, as before, second" in desk.run(
        "history", "weight", "--on", "2024-07-01"
    )
    # 365 days after 10 June 2024 is 10 June 2025.
    assert desk.calendar("2024-06-15", "2025-12-31") == [
        ("2024-07-01", "edition", "print", "The Print"),
        ("2025-06-10", "reading due", "print", "The Print"),
    ]
    assert desk.impact("--against", "HEAD") == ([], [])


COMPANY = """\
kind: amendment
id: company
title: Company
layer: company
jurisdiction: any
changes:
  - {rule: speed, threshold: fastest, was: 65 mph, value: 55 mph, from: 2026-01-01,
     common_practice: yes, by: M. Quill}
"""


def test_a_change_of_somebody_else_is_reviewed(tmp_path: Path) -> None:
    """55 mph becomes 62 mph: the flat load at 60 mph turns from not met to met."""
    desk = Desk(tmp_path, PROJECT | {"amendments/company.yaml": COMPANY})
    desk.commit()
    desk.git("checkout", "-q", "-b", "faster")
    write(desk.folder, {"amendments/company.yaml": COMPANY.replace("55 mph", "62 mph")})
    desk.commit()
    loosened = (
        [("loosened", "figure", "speed")],
        [("flat", "2026-06-01", "speed", "not met", "met")],
    )
    assert desk.impact("--against", "main") == loosened
    assert desk.impact("--against", "main", "--fail-on", "loosened", code=1) == loosened
    # Both figures hold from 2026-01-01 on.
    assert desk.calendar("2026-02-01", "2027-01-31", "--rule", "speed") == []
    # Another one rewords a reason alone.
    desk.git("checkout", "-q", "main")
    desk.git("checkout", "-q", "-b", "words")
    text = PROJECT["rules/basin.yaml"].replace("The roads of the basin.", "Gravel.")
    write(desk.folder, {"rules/basin.yaml": text})
    words = ("--against", "main", "--fail-on", "loosened")
    assert desk.impact(*words) == ([("texts only", "texts", "speed")], [])
