"""The timeline of a threshold, against a naive look at each day: who counts, and who is covered."""

import itertools
from collections.abc import Sequence
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.documents.problems import Mark
from checker.rulebooks.days import Days, Season
from checker.rulebooks.model import (
    Amendment,
    Change,
    Citation,
    DatedValue,
    Location,
    Threshold,
)
from checker.rulebooks.timeline import COMPANY, PLACE, applied, stretches, value_on
from checker.units.parsing import parse_threshold

FIRST, LAST = date(2026, 1, 1), date(2028, 12, 31)
AT = Location("book.yaml", Mark(1, 1))


def dated(pounds: int, starts: date, ends: date | None = None, line: int = 1) -> DatedValue:
    return DatedValue(
        quantity=parse_threshold(f"{pounds} lb"),
        text=f"{pounds} lb",
        metric_print=None,
        metric_text=None,
        starts=starts,
        ends=ends,
        citation=Citation(None),
        note=None,
        location=Location("book.yaml", Mark(line, 1)),
    )


def threshold() -> Threshold:
    """At most 7,000 lb, and 6,000 lb from July 2027 on."""
    turn = date(2027, 7, 1)
    return Threshold("most", "lower", (dated(7000, FIRST, turn), dated(6000, turn, line=2)))


def change(number: int, layer: str, pounds: int | None, days: Days) -> Change:
    where = "any" if layer == COMPANY else "US-UT"
    return Change(
        amendment=Amendment(layer, layer, layer, where, "", f"{layer}.yaml"),
        rule_id="weight",
        threshold="most",
        was=None,
        value=None if pounds is None else dated(pounds, days.starts, days.ends, line=10 + number),
        stated=days,
        withdrawal=None,
        citation=Citation(None),
        because=None,
        by=None,
        locations={"": AT},
    )


def naive(changes: Sequence[Change], day: date) -> int | None:
    """Pounds on a day in Utah: the rulebook's, else Utah's last, else the company's if stricter."""
    found: int | None = 6000 if day >= date(2027, 7, 1) else 7000
    by_law = False
    for layer in (PLACE, COMPANY):
        here = [each for each in changes if each.amendment.layer == layer]
        counting = [each for each in here if each.days.holds_on(day)]
        if not counting:
            continue
        value = counting[-1].value
        if value is None:
            return None
        new = int(value.text.removesuffix(" lb"))
        if not by_law or (found is not None and new < found):
            found = new
        by_law = layer == PLACE
    return found


_day = st.dates(FIRST, LAST)
_season = st.sampled_from([None, Season((11, 1), (5, 1)), Season((3, 1), (9, 15))])
_days = st.builds(Days, _day, st.none() | _day, _season)
_changes = st.lists(
    st.tuples(
        st.sampled_from([PLACE, COMPANY]), st.none() | st.integers(40, 80).map(lambda n: n * 100)
    ),
    max_size=4,
)


@given(stated=_changes, data=st.data())
def test_every_day_has_the_value_of_its_stretch(
    stated: list[tuple[str, int | None]], data: st.DataObject
) -> None:
    changes = [
        change(number, layer, pounds, data.draw(_days))
        for number, (layer, pounds) in enumerate(stated)
    ]
    here = applied(changes, "US", ["US-UT"])
    found = list(stretches(threshold(), here, FIRST, LAST))
    assert found[0].days.starts == FIRST
    for earlier, later in itertools.pairwise(found):
        assert earlier.days.ends == later.days.starts
    assert found[-1].days.ends is None or found[-1].days.ends > LAST
    for step in range(0, (LAST - FIRST).days, 17):
        day = FIRST + timedelta(days=step)
        (stretch,) = [each for each in found if each.days.holds_on(day)]
        alone = value_on(threshold(), here, day)
        pounds = naive(changes, day)
        for each in (stretch, alone):
            assert (each.value and each.value.text) == (pounds and f"{pounds} lb")
            assert (each.undecided is None) == (pounds is not None)


def test_a_value_knows_the_one_beneath_it() -> None:
    """The company's 5,000 lb stand on its own 5,500 lb, those on Utah's 6,500 lb."""
    always = Days(FIRST)
    changes = [
        change(0, COMPANY, 5500, always),
        change(1, COMPANY, 5000, Days(date(2026, 3, 1), date(2026, 4, 1))),
        change(2, PLACE, 6500, always),
    ]
    found = value_on(threshold(), applied(changes, "US", ["US-UT"]), date(2026, 3, 1)).value
    chain = []
    while found:
        chain.append(found.text)
        found = found.replaces
    assert chain == ["5000 lb", "5500 lb", "6500 lb", "7000 lb"]


@pytest.mark.parametrize(
    ("jurisdiction", "trip", "everywhere"),
    [
        ("US", ["US-UT"], True),
        ("US", ["US-UT-BASIN"], True),
        ("US", ["US-UT", "CA-AB"], True),
        ("US", ["US-UT", "US-NV"], False),
        ("any", ["US-UT", "CA-AB"], False),
        ("North America", ["US-UT", "CA-AB"], False),
        ("North America", ["US-UT", "GB"], True),
    ],
)
def test_a_change_counts_everywhere_if_no_place_that_has_the_rule_is_left_out(
    jurisdiction: str, trip: list[str], *, everywhere: bool
) -> None:
    (found,) = applied([change(0, PLACE, 6500, Days(FIRST))], jurisdiction, trip)
    assert (found.surely, found.everywhere) == (True, everywhere)
