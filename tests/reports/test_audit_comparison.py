"""What people read of two audits held against each other; the lines were written by hand."""

from dataclasses import replace
from io import StringIO

from msgspec import structs
from rich.console import Console

from checker.reports.pages.comparison import in_one_line, print_comparison
from checker.reports.shared.page import Page
from checker.season.comparing import compare
from checker.season.record import COMPARED_BY, Count, Record, RuleCount
from checker.season.totals import Tally, WorstHaul

THEN = Record(
    version="0.1.0",
    log="hauls.csv",
    digest="1a2b",
    near=0.05,
    rulebooks={"coupling": "1", "placement": "1"},
    tables={"unmarked": "1"},
    amendments={},
    read=5000,
    refused=0,
    refused_rows=frozenset(),
    totals=Tally(hauls=5000, held=1, open=0, near=10, excused=2),
    rules={
        "pin": RuleCount("Pin in place", "must", Count(5000, 1)),
        "flag": RuleCount("Flag on the end", "should", Count(10, 0, 10)),
        "share": RuleCount("Right share", "must", Count(4, 1, 0)),
        "jack": RuleCount("Jack up", "must", Count(8, 2, 0)),
    },
    by={**{kind: {} for kind in COMPARED_BY}, "crew": {"": Count(4, 1), "north": Count(9, 3)}},
    worst=(WorstHaul(7, "mower", "2026-05-14", "", "hold", -0.1, ("pin",), (), (), (), ()),),
)
NOW = replace(
    THEN,
    version="0.2.0",
    near=0.1,
    rulebooks={"coupling": "2", "crew": "1"},
    tables={"unmarked": "2"},
    totals=Tally(hauls=5000, held=0, open=0, near=0, excused=0),
    rules={
        "pin": RuleCount("Pin in place", "must", Count(5000, 0, 5000)),
        "flag": RuleCount("Flag on the end", "should", Count(5000, 1, 3)),
        "jack": RuleCount("Jack up", "must", Count(4, 1, 0)),
    },
    by={**THEN.by, "crew": {"": Count(4, 3), "north": Count(9, 3)}},
    worst=(),
)


def printed(then: Record, now: Record) -> str:
    text = StringIO()
    print_comparison(compare(then, now), Page(Console(file=text, width=95, highlight=False)))
    return text.getvalue()


def test_everything_that_differs_is_told() -> None:
    assert (
        printed(THEN, NOW)
        == """
COMPARED WITH THE EARLIER AUDIT
- the same log (1a2b): what differs comes from what is listed here, from the load profiles, or
  from how the columns are read
- 1 rulebook only now: crew
- 1 rulebook only then: placement
- 1 rulebook changed since: coupling
- 1 table changed since: unmarked
- 1 rule not met then and never applied now: a haul off hold for that reason alone fixed
  nothing
- near a limit means within 10 % now, 5 % then
- checked by cinchbook 0.2.0 now, 0.1.0 then

TOTALS, NOW AND THEN
- hauls checked: 5000; then 5000
- on hold, of decided hauls: 0 of 5000; then 1 of 5000 (under 0.1 %)
- with no rule broken: 5000 (100 %); then 4999 (over 99.9 %)
- with no rule broken and near a limit: 0; then 10 (0.2 %)
- under a variance: 0; then 2 (under 0.1 %)

NOT MET NOW, NEVER DECIDED THEN - it may have been so all along
- Flag on the end (should) [flag]: 1 of 4997 (under 0.1 %), 3 more undecided; then undecided in
  all 10

NOT MET THEN, NEVER DECIDED NOW - nothing shows that it is fixed
- Right share [share]: never applied; then 1 of 4 (25 %)
- Pin in place [pin]: undecided in all 5000; then 1 of 5000 (under 0.1 %)

1 rule not met in the same share of hauls as then

ON HOLD BY CREW, NOW AND THEN
- worse: not named: 3 of 4 (75 %); then 1 of 4 (25 %)

HAULS NO LONGER ON HOLD
- row 7, 2026-05-14, mower: hold -> not on hold; not met then: pin
"""
    )


def test_nothing_is_told_in_one_line() -> None:
    lines = printed(THEN, THEN).splitlines()
    assert lines[2].startswith("- the same log (1a2b), rules and program: what differs comes from")
    assert lines[-3:] == [
        "3 rules not met in the same share of hauls as then",
        "",
        "Nothing is new, worse, better or fixed.",
    ]


def test_hauls_that_cannot_be_compared_are_counted() -> None:
    # One more was on hold then, and is not remembered; of row 7 the present audit tells all.
    then = replace(THEN, totals=structs.replace(THEN.totals, held=2))
    assert " 1 haul on hold could not be compared: " in " ".join(printed(then, NOW).split())


def test_one_line_says_whether_it_is_better_or_worse() -> None:
    # One of 5,000 is less than a tenth of a percent, and not 0 %.
    assert in_one_line(compare(THEN, NOW)) == (
        "Better or worse: on hold, of decided hauls: 0 % now, under 0.1 % then; rules not met: "
        "0 new, 0 worse, 0 better, 0 fixed"
    )
    back = in_one_line(compare(NOW, replace(THEN, totals=Tally(hauls=4, held=1))))
    assert back.startswith(
        "Better or worse: on hold, of decided hauls: 25 % now, 0 % then; rules not met: 0 new,"
    )


def test_shares_are_of_decided_hauls_and_many_open_ones_are_said() -> None:
    """By hand: 614 of 614 decided then; now 3870 of 19700 are 19.64 %. The rule: 3 of 10."""
    then = replace(
        THEN,
        digest="3c4d",
        totals=Tally(hauls=3000, held=614, open=2386),
        rules={"pin": RuleCount("Pin in place", "must", Count(18, 3, 8))},
        by={**THEN.by, "crew": {"north": Count(9, 3, 3)}},
    )
    now = replace(THEN, totals=Tally(hauls=20000, held=3870, open=300))
    assert in_one_line(compare(then, now)) == (
        "Better or worse: on hold, of decided hauls: 19.6 % now with 300 of 20000 open, 100 % then "
        "with 2386 of 3000 open (too many open hauls to compare); rules not met: 0 new, 0 worse, "
        "0 better, 0 fixed, 1 with too many open hauls to compare"
    )
    words = " ".join(printed(then, now).split())
    assert "on hold, of decided hauls: 3870 of 19700 (19.6 %); then 614 of 614 (100 %)" in words
    assert (
        "TOO MANY OPEN HAULS TO COMPARE - undecided in more than 25 % of the hauls then or "
        "now - Pin in place [pin]: 1 of 5000 (under 0.1 %); then 3 of 10 (30 %), 8 more undecided"
    ) in words
    assert (
        "too many open hauls to compare: north: 3 of 9 (33.3 %); then 3 of 6 (50 %), 3 more "
        in words
    )
    same = in_one_line(compare(replace(then, digest=NOW.digest), now))
    assert "with 2386 of 3000 open (too many open hauls to compare);" in same
    none = in_one_line(compare(THEN, replace(THEN, totals=Tally(hauls=4, open=4))))
    assert none.startswith(
        "Better or worse: on hold, of decided hauls: no decided haul now with 4 of 4 open, "
    )
