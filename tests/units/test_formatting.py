"""Numbers to text, and that what is written reads back."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.units.formatting import MIXED, SI, US, System, show, show_apart, show_stated
from checker.units.kinds import SECONDS_OF_A_DAY
from checker.units.parsing import KINDS, parse
from checker.units.table import FACTORS


@pytest.mark.parametrize(
    ("text", "kind", "us", "si"),
    [
        # by hand: 1 lb = 0.45359237 kg, 1 in = 25.4 mm
        ("3680 lb", "load", "3,680 lb", "1,669 kg"),
        ("36812 lb", "load", "36,812 lb", "16,698 kg"),
        ("412.25 lb", "load", "412.3 lb", "187 kg"),
        ("-5 lb", "load", "-5 lb", "-2.268 kg"),
        ("0 lb", "load", "0 lb", "0 kg"),
        ("11.2 %", "ratio", "11.2 %", "11.2 %"),
        ("0.8 g", "gravities", "0.8 g", "0.8 g"),
        ("62 1/2 in", "length", "62.5 in", "1.588 m"),
        ("9 ft 11 in", "length", "119 in", "3.023 m"),
        ("10 ft", "length", "10 ft", "3.048 m"),
        ("16 ft 2 in", "length", "16 ft 2 in", "4.928 m"),
        ("16 ft 2 1/2 in", "length", "16 ft 2.5 in", "4.94 m"),
        ("16 ft 11.99 in", "length", "17 ft", "5.181 m"),
        ("-16 ft 2 in", "length", "-16 ft 2 in", "-4.928 m"),
        ("99 ft 11 in", "length", "99 ft 11 in", "30.45 m"),
        ("100 ft", "length", "100 ft", "30.48 m"),
        ("5279 ft", "length", "5,279 ft", "1.609 km"),
        ("1 mi", "length", "1 mi", "1.609 km"),
        # no comma in metric lengths: many would read 1,234 km as 1.234 km
        ("1234 km", "length", "766.8 mi", "1234 km"),  # 1234 / 1.609344 = 766.77
        ("999.99 m", "length", "3,281 ft", "1000 m"),  # 999.99 / 0.3048 = 3280.8
        ("8 mm", "length", "0.315 in", "8 mm"),
        ("0 mm", "length", "0 in", "0 m"),
        ("12 deg", "angle", "12 deg", "12 deg"),
        ("0.4", "number", "0.4", "0.4"),
        ("4", "count", "4", "4"),
        ("3 h 30 min", "duration", "3.5 h", "3.5 h"),
        ("59 min", "duration", "59 min", "59 min"),
        ("59 s", "duration", "59 s", "59 s"),
        ("0 s", "duration", "0 h", "0 h"),
        ("55 mph", "speed", "55 mph", "88.51 km/h"),
        ("65 psi", "pressure", "65 psi", "448.2 kPa"),
        ("100 lbf*ft", "moment", "100 lbf*ft", "135.6 N*m"),
        ("550 lb/in", "spring_rate", "550 lb/in", "96.32 N/mm"),
        ("16 ft/s2", "acceleration", "16 ft/s2", "4.877 m/s2"),
        ("40 ft3", "volume", "40 ft3", "1.133 m3"),
        ("0.000123456", "number", "0.000123", "0.000123"),
        ("1e-9", "number", "0", "0"),
        ("1e15", "number", "1,000,000,000,000,000", "1,000,000,000,000,000"),
    ],
)
def test_show(text: str, kind: str, us: str, si: str) -> None:
    value = parse(text, kind).value
    assert show(value, kind, US) == us
    assert show(value, kind, SI) == si


def test_show_what_is_no_number() -> None:
    assert show(math.nan, "load", US) == "not stated"
    assert show(math.inf, "load", SI) == "infinite"
    assert show(-math.inf, "ratio", US) == "minus infinite"


def test_rounding_noise_is_shown_as_nought() -> None:
    assert show(-1e-14, "length", US) == "0 in"
    assert show(-1e-14, "load", SI) == "0 kg"


@pytest.mark.parametrize(
    ("text", "kind", "us", "si"),
    [
        ("1e-300 lb", "load", "1e-300 lb", "4.536e-301 kg"),  # 0.45359237 kg a pound
        ("1e-30 in", "length", "1e-30 in", "2.54e-32 m"),
        ("0 lb", "load", "0 lb", "0 kg"),
        ("3680 lb", "load", "3,680 lb", "1,669 kg"),
    ],
)
def test_a_stated_figure_that_is_not_nought_does_not_read_as_nought(
    text: str, kind: str, us: str, si: str
) -> None:
    value = parse(text, kind).value
    assert (show_stated(value, kind, US), show_stated(value, kind, SI)) == (us, si)


def test_more_digits_are_shown_when_asked_for() -> None:
    assert show(parse("2 5/16 in", "length").value, "length", US, digits=5) == "2.3125 in"


@pytest.mark.parametrize(
    ("actual", "limit", "kind", "expected"),
    [
        ("412 lb", "368 lb", "load", ("412 lb", "368 lb")),
        ("2200.04 lb", "2200 lb", "load", ("2,200.04 lb", "2,200 lb")),
        ("119.9999 in", "10 ft", "length", ("9 ft 11.9999 in", "10 ft")),
        ("118 in", "10 ft", "length", ("9 ft 10 in", "10 ft")),  # one unit for both
        ("9.9999 %", "10 %", "ratio", ("9.9999 %", "10 %")),
        ("2200 lb", "2200 lb", "load", ("2,200 lb", "2,200 lb")),
    ],
)
def test_two_values_at_a_limit_are_shown_apart(
    actual: str, limit: str, kind: str, expected: tuple[str, str]
) -> None:
    values = parse(actual, kind).value, parse(limit, kind).value
    assert show_apart(*values, kind, US) == expected


def test_values_that_count_as_equal_are_shown_alike() -> None:
    limit = parse("2200 lb", "load").value
    assert show_apart(limit * (1 - 1e-11), limit, "load", US) == ("2,200 lb", "2,200 lb")


def test_a_missing_value_is_shown_beside_its_limit() -> None:
    limit = parse("10 ft", "length").value
    assert show_apart(math.nan, limit, "length", US) == ("not stated", "10 ft")
    assert show_apart(math.nan, math.nan, "length", US) == ("not stated", "not stated")


@given(
    st.sampled_from(sorted(KINDS)),
    st.sampled_from([US, SI, MIXED]),
    st.floats(1e-2, 1e9),
    st.booleans(),
    st.integers(4, 10),
)
def test_what_is_shown_reads_back(
    kind: str,
    system: System,
    size: float,
    negative: bool,
    digits: int,
) -> None:
    if kind == "count":
        size, negative = float(round(size)), False
    if kind == "day":
        size, negative = max(1, round(size / SECONDS_OF_A_DAY)) * SECONDS_OF_A_DAY, False
    value = -size if negative else size
    read = parse(show(value, kind, system, digits=digits), kind)
    # Rounded to `digits` figures, but at most digits + 2 decimals of the unit shown.
    smallest = 0.5 * 10.0 ** -(digits + 2) * Fraction(*FACTORS.get(read.unit, (1, 1)))
    assert read.value == pytest.approx(value, rel=0.51 * 10 ** (1 - digits), abs=float(smallest))
