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
- on hold: 0; then 1 (under 0.1 %)
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
        "Better or worse: on hold 0 % now, under 0.1 % then; rules not met: 0 new, 0 worse, "
        "0 better, 0 fixed"
    )
    back = in_one_line(compare(NOW, replace(THEN, totals=Tally(hauls=4, held=1))))
    assert back.startswith("Better or worse: on hold 25 % now, 0 % then; rules not met: 0 new,")
