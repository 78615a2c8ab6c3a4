"""Days of changes: every function against a naive look at each single day."""

import itertools
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.rulebooks.days import Days, Season, Stretch

DAY = timedelta(days=1)
FIRST, LAST = date(2026, 1, 1), date(2029, 12, 31)
ALL = [FIRST + n * DAY for n in range((LAST - FIRST).days + 1)]

_day = st.dates(FIRST, LAST)
_of_year = st.dates(date(2027, 1, 1), date(2027, 12, 31)).map(lambda day: (day.month, day.day))
_season = st.tuples(_of_year, _of_year).filter(lambda two: two[0] != two[1])
_days = st.builds(
    lambda starts, ends, season: Days(starts, ends, season and Season(*season)),
    _day,
    st.none() | _day,
    st.none() | _season,
)


def naive(days: Days, day: date) -> bool:
    """By month and day alone."""
    if day < days.starts or (days.ends is not None and day >= days.ends):
        return False
    if days.season is None:
        return True
    first, end, here = days.season.first, days.season.end, (day.month, day.day)
    return first <= here < end if first < end else here >= first or here < end


@given(days=_days)
def test_each_day_is_in_or_out_as_its_month_and_day_say(days: Days) -> None:
    assert [days.holds_on(day) for day in ALL] == [naive(days, day) for day in ALL]


@given(days=_days)
def test_they_change_at_their_turns_alone(days: Days) -> None:
    turns = days.turns(FIRST, LAST)
    changing = {
        later
        for earlier, later in itertools.pairwise(ALL)
        if naive(days, earlier) != naive(days, later)
    }
    assert changing <= turns
    # The last turn before a day is the same, whichever days are asked for.
    for day in ALL[::50]:
        around = {turn for turn in days.turns(day, day) if turn <= day}
        assert max(around, default=None) == max((t for t in turns if t <= day), default=None)


@given(days=_days, day=_day)
def test_the_first_of_them_from_a_day_on(days: Days, day: date) -> None:
    later = [each for each in ALL if each >= day and naive(days, each)]
    found = days.first_from(day)
    assert (found if found and found <= LAST else None) == (later[0] if later else None)


@given(one=_days, two=_days)
def test_two_overlap_where_a_day_is_of_both(one: Days, two: Days) -> None:
    both = any(naive(one, day) and naive(two, day) for day in ALL)
    assert one.overlap(two) or not both
    if one.ends and two.ends:
        assert one.overlap(two) is both


def test_the_end_of_the_calendar_is_no_trap() -> None:
    winter = Days(date(9990, 1, 1), None, Season((11, 1), (5, 1)))
    assert not winter.holds_on(date(9999, 12, 31)) or winter.stretch_on(date(9999, 12, 31))
    assert winter.overlap(winter)
    assert date(9998, 11, 1) in winter.turns(date(9998, 1, 1), date(9999, 12, 31))


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (Days(date(2026, 7, 1)), "from 2026-07-01"),
        (
            Days(date(2026, 7, 1), date(2027, 1, 1), Season((11, 1), (5, 1))),
            "from 2026-07-01 until 2027-01-01, each year from 1 November until 1 May",
        ),
        (Stretch(date.min, date(2027, 1, 1)), "until 2027-01-01"),
    ],
)
def test_in_words(days: Days | Stretch, words: str) -> None:
    assert str(days) == words
