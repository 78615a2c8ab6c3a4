"""Days as quantities: read, refused, written, and compared with days alone."""

import math
from datetime import date

import pytest

from checker.rulebooks.dimensions import FormulaFaults
from checker.rulebooks.formula import compile_formula
from checker.units.formatting import SI, US, show, show_apart
from checker.units.kinds import KINDS, SECONDS_OF_A_DAY
from checker.units.parsing import UnitError, parse, parse_threshold


@pytest.mark.parametrize("text", ["0001-01-01", "1967-07-01", "1970-01-01", "2026-02-28"])
def test_a_day_is_read_and_written_alike(text: str) -> None:
    read = parse(text, "day")
    assert (read.kind, read.unit, read.metric, read.half_width) == ("day", "", None, 0.0)
    # The proleptic ordinal of the calendar: 0001-01-01 is day 1.
    assert read.value == date.fromisoformat(text).toordinal() * SECONDS_OF_A_DAY
    assert show(read.value, "day", US) == show(read.value, "day", SI) == text
    assert parse_threshold(text) == read


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("1970", "a day such as '1988-07-01'"),
        ("1970-5-1", "a day such as '1988-07-01'"),
        ("5 h", "a day such as '1988-07-01'"),
        ("1970-05-01 ± 1 h", "a day such as '1988-07-01'"),
        ("1970-02-31", "a day of the calendar, such as '1988-07-01'"),
        ("0000-01-01", "a day of the calendar, such as '1988-07-01'"),
    ],
)
def test_what_is_no_day_is_refused(text: str, wanted: str) -> None:
    with pytest.raises(UnitError, match="found") as refused:
        parse(text, "day")
    assert refused.value.wanted == wanted


def test_a_day_is_no_length() -> None:
    with pytest.raises(UnitError, match="a length"):
        parse("1970-05-01", "length")


def test_a_day_that_is_not_stated_and_days_beyond_the_calendar_are_written() -> None:
    assert show(math.nan, "day", US) == "not stated"
    assert show(-1e12, "day", US) == "0001-01-01"
    assert show(1e15, "day", US) == "9999-12-31"
    assert show_apart(parse("1970-05-01", "day").value, math.nan, "day", US) == (
        "1970-05-01",
        "not stated",
    )


DAYS = {"built": KINDS["day"].dimension, "cut": KINDS["day"].dimension, "long": (0, 1, 0)}


def test_days_compare_early_or_late_without_a_share() -> None:
    formula = compile_formula("built < cut", DAYS, result="truth")
    early, late = (parse(text, "day").value for text in ("1970-05-01", "1970-05-02"))
    assert formula.margins({"built": early, "cut": late}) == math.inf
    assert formula.margins({"built": late, "cut": late}) == -math.inf


@pytest.mark.parametrize("other", ["long", "2"])
def test_a_day_compares_with_days_alone(other: str) -> None:
    with pytest.raises(FormulaFaults, match="a day"):
        compile_formula(f"built < {other}", DAYS, result="truth")
