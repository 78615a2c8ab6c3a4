"""Text to numbers.

Origins of expected values: "exact" means a defined size (1 in = 25.4 mm, 1 lb = 0.45359237 kg,
standard gravity 9.80665 m/s2), worked out by hand where it is a product of these; "pint" means
computed by that independent library.
"""

import math
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.units import kinds as unit_kinds
from checker.units import parsing as units
from checker.units import table as unit_table
from checker.units.parsing import (
    KINDS,
    Quantity,
    UnitError,
    parse,
    parse_threshold,
)
from checker.units.table import FACTORS
from checker.units.table_from_pint import IN_PINT, table_text

LB = 0.45359237 * 9.80665  # N, exact
IN = 0.0254  # m, exact
FT = 0.3048  # m, exact

LOAD = "a weight or rating such as '2150 lb' (in lb, kg, t, kN, daN, lbf or N)"
LENGTH = "a length such as '62.5 in' (in ft, in, m, mm, cm, yd, mi or km)"
OTHER_SIZE = "a number of a size that can occur"
COMMA = "because many write a comma before decimals"


def approx(value: float) -> object:
    return pytest.approx(value, rel=1e-12, abs=0.0)


# -- the table -------------------------------------------------------------------------------


def test_table_is_what_pint_prints() -> None:
    assert Path(unit_table.__file__).read_text(encoding="utf-8") == table_text()


@pytest.fixture(scope="module")
def registry() -> "pint.UnitRegistry[float]":
    return pint.UnitRegistry()


@pytest.mark.parametrize("unit", sorted(FACTORS))
def test_factor_agrees_with_floating_point_pint(
    unit: str, registry: "pint.UnitRegistry[float]"
) -> None:
    # pint with ordinary floats is a second path to the same number: no fractions, base units.
    one = registry.Quantity(1.0) * registry.parse_expression(IN_PINT[unit])
    top, bottom = FACTORS[unit]
    assert top / bottom == pytest.approx(one.to_base_units().magnitude, rel=1e-14)


@pytest.mark.parametrize(
    ("unit", "exact"),
    [
        # exact: published definitions
        ("lb", Fraction("0.45359237") * Fraction("9.80665")),
        ("lbf", Fraction("4.4482216152605")),
        ("kg", Fraction("9.80665")),
        ("t", Fraction("9806.65")),
        ("daN", Fraction(10)),
        ("in", Fraction("0.0254")),
        ("ft", Fraction("0.3048")),
        ("mi", Fraction("1609.344")),
        ("psi", Fraction("4.4482216152605") / Fraction("0.0254") ** 2),
        ("lb/in", Fraction("4.4482216152605") / Fraction("0.0254")),
        ("lbf*ft", Fraction("4.4482216152605") * Fraction("0.3048")),
        ("mph", Fraction("0.44704")),
        ("ft3", Fraction("0.028316846592")),
    ],
)
def test_factor_is_the_published_one(unit: str, exact: Fraction) -> None:
    assert Fraction(*FACTORS[unit]) == exact


def test_table_holds_the_units_of_the_kinds_and_no_other() -> None:
    listed = [unit for kind in KINDS.values() for unit in kind.units]
    assert sorted(listed) == sorted(FACTORS)
    assert len(set(listed)) == len(listed)  # so a unit alone tells the kind of a threshold


def test_every_spelling_stands_for_one_unit() -> None:
    spellings = [s for others in unit_kinds.OTHER_SPELLINGS.values() for s in others.split()]
    assert len(set(spellings) | set(FACTORS)) == len(spellings) + len(FACTORS)


def test_reading_and_writing_units_loads_neither_pint_nor_numpy() -> None:
    code = (
        "import sys, checker.units.parsing, checker.units.formatting; "
        "print({'pint', 'numpy', 'fractions'} & set(sys.modules))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(units.__file__).parents[2],
    )
    assert ran.stdout.strip() == "set()"


# -- numbers ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0.4", 0.4),
        (".4", 0.4),
        ("+0.4", 0.4),
        ("-0.4", -0.4),
        ("\N{MINUS SIGN}0.4", -0.4),
        ("1e3", 1000.0),
        ("2.5E-1", 0.25),
        ("1e+2", 100.0),
        ("2,150", 2150.0),
        ("12,345,678.5", 12345678.5),
        ("5/16", 0.3125),
        ("-5/16", -0.3125),
        ("62 1/2", 62.5),
        ("62  1/2", 62.5),
        ("2-5/16", 2.3125),
        ("-2-5/16", -2.3125),
        ("1,000 1/2", 1000.5),
        ("½", 0.5),
        ("62½", 62.5),
        ("62 ½", 62.5),
        ("-62½", -62.5),
        ("1¼", 1.25),
        ("1¾", 1.75),
        ("1⅛", 1.125),
        ("1⅜", 1.375),
        ("1⅝", 1.625),
        ("1⅞", 1.875),
        (" 7 ", 7.0),
        ("007", 7.0),
        ("0", 0.0),
        ("15/16", 0.9375),  # just below 1
    ],
)
def test_forms_of_a_number(text: str, expected: float) -> None:
    assert parse(text, "number") == Quantity(expected, 0.0, "number", "", None)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "-",
        "x",
        "nan",
        "inf",
        "-inf",
        "Infinity",
        "1_000",
        "0x10",
        "5.",
        "1.2.3",
        "1,00",
        "1,0000",
        "1,000,00",
        "12,34,567",
        ",5",
        "1 2",
        "2.5 1/2",
        "1/2 1/2",
        "1/2/3",
        "1e3 1/2",
        "--4",
        "+-4",
        "- 4",
        "4 -",
        "3*4",
        "9**9**9**9",
        "2150(50)",
        "٣",  # a digit, but not an ASCII one
        "\N{FULLWIDTH DIGIT FIVE}",
        "5²",  # not 52
        "½½",
        "4\n",
        "4\t",
        "0.4 ±",
        "± 0.4",
        "1 ± 2 ± 3",
        "0.4 lb",
    ],
)
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(UnitError, match=r"^found '"):
        parse(text, "number")


@pytest.mark.parametrize("text", ["16/16 in", "17/16 in", "21/2 in", "621/2 in", "62 3/2 in"])
def test_a_fraction_of_one_or_more_is_refused(text: str) -> None:
    with pytest.raises(UnitError, match="a fraction below 1"):
        parse(text, "length")


@pytest.mark.parametrize("text", ["1/0 in", "0/0 in", "5 1/0 in"])
def test_a_fraction_by_nought_is_refused(text: str) -> None:
    with pytest.raises(UnitError, match="a fraction below 1"):
        parse(text, "length")


@pytest.mark.parametrize(
    "text",
    [
        *("1e400 N", "1e401 N", "1e309 N", "1e-330 N", "1e999999999 N", "1e-999999999 N"),
        # Floats hold these, but not their products with figures of the same size.
        *("1e308 N", "-1e308 N", "1e100 N", "5 N +/- 1e100 N"),
    ],
)
def test_a_number_that_no_load_has_is_refused(text: str) -> None:
    with pytest.raises(UnitError, match=OTHER_SIZE):
        parse(text, "load")


def test_the_largest_and_smallest_sizes_are_read() -> None:
    assert parse("1e99 N", "load").value == 1e99
    assert parse("1e-308 N", "load").value == 1e-308
    assert parse("0 N", "load").value == 0


def test_eighty_characters_are_read_and_one_more_is_not() -> None:
    number = "1" + "0" * 77
    assert parse(f"{number} N", "load").value == 1e77
    with pytest.raises(UnitError, match=r"0 \.\.\.', wanted at most 80 characters$"):
        parse(f"{number}0 N", "load")


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        # exact, by hand; in each the comma can only part groups of three
        ("1570 m", 1570),
        ("1.570 m", 1.57),
        ("1,570.5 m", 1570.5),
        ("1,570 1/2 m", 1570.5),
        ("1,234,567 mm", 1234.567),
        ("1,570 ft", 1570 * FT),
        ("1,570 mi", 1570 * 1609.344),
    ],
)
def test_a_length_with_a_comma_that_means_one_thing_is_read(text: str, metres: float) -> None:
    assert parse(text, "length").value == approx(metres)


def test_a_threshold_in_metres_with_one_group_of_three_is_refused() -> None:
    with pytest.raises(UnitError, match=r"wanted '1570 m' or '1\.570 m', because"):
        parse_threshold("1,570 m")


# -- units -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "expected", "unit", "metric"),
    [
        # exact: products of the definitions named at the top
        ("2150 lb", "load", 2150 * LB, "lb", False),
        ("2150lb", "load", 2150 * LB, "lb", False),
        ("2150\N{NO-BREAK SPACE}lb", "load", 2150 * LB, "lb", False),
        ("2150\N{NARROW NO-BREAK SPACE}lb", "load", 2150 * LB, "lb", False),
        ("2,150 lbs", "load", 2150 * LB, "lb", False),
        ("2150 pounds", "load", 2150 * LB, "lb", False),
        ("1 pound", "load", LB, "lb", False),
        ("2150 lbf", "load", 2150 * LB, "lbf", False),
        ("975 kg", "load", 975 * 9.80665, "kg", True),
        ("3.5 t", "load", 3500 * 9.80665, "t", True),
        ("3.5 tonnes", "load", 3500 * 9.80665, "t", True),
        ("12 kN", "load", 12000.0, "kN", True),
        ("2500 daN", "load", 25000.0, "daN", True),
        ("25 N", "load", 25.0, "N", True),
        ("-5 lb", "load", -5 * LB, "lb", False),
        ("16 ft", "length", 16 * FT, "ft", False),
        ("16'", "length", 16 * FT, "ft", False),
        ("16\N{PRIME}", "length", 16 * FT, "ft", False),
        ("16\N{RIGHT SINGLE QUOTATION MARK}", "length", 16 * FT, "ft", False),
        ("1 foot", "length", FT, "ft", False),
        ("16 feet", "length", 16 * FT, "ft", False),
        ('62"', "length", 62 * IN, "in", False),
        ("62\N{DOUBLE PRIME}", "length", 62 * IN, "in", False),
        ("62\N{RIGHT DOUBLE QUOTATION MARK}", "length", 62 * IN, "in", False),
        ("1 inch", "length", IN, "in", False),
        ("62 inches", "length", 62 * IN, "in", False),
        ("1.57 m", "length", 1.57, "m", True),
        ("1570 mm", "length", 1.57, "mm", True),
        ("157 cm", "length", 1.57, "cm", True),
        ("2 yd", "length", 6 * FT, "yd", False),
        ("40 mi", "length", 64373.76, "mi", False),
        ("1 mile", "length", 1609.344, "mi", False),
        ("64 km", "length", 64000.0, "km", True),
        ("180 deg", "angle", math.pi, "deg", None),
        ("45°", "angle", math.pi / 4, "deg", None),
        ("0.5 rad", "angle", 0.5, "rad", None),
        ("12 %", "ratio", 0.12, "%", None),
        ("12%", "ratio", 0.12, "%", None),
        ("0.8 g", "gravities", 0.8, "g", None),
        ("1.5 h", "duration", 5400.0, "h", None),
        ("90 min", "duration", 5400.0, "min", None),
        ("5 s", "duration", 5.0, "s", None),
        ("2 hours", "duration", 7200.0, "h", None),
        ("55 mph", "speed", 55 * 0.44704, "mph", False),
        ("90 km/h", "speed", 25.0, "km/h", True),
        ("10 ft/s", "speed", 10 * FT, "ft/s", False),
        ("10 m/s", "speed", 10.0, "m/s", True),
        ("65 psi", "pressure", 65 * LB / IN**2, "psi", False),
        ("450 kPa", "pressure", 450e3, "kPa", True),
        ("4.5 bar", "pressure", 450e3, "bar", True),
        ("1200 lbf*in", "moment", 1200 * LB * IN, "lbf*in", False),
        ("1200 lb*in", "moment", 1200 * LB * IN, "lb*in", False),
        ("100 lbf*ft", "moment", 100 * LB * FT, "lbf*ft", False),
        ("100 lb·ft", "moment", 100 * LB * FT, "lb*ft", False),
        ("135 N·m", "moment", 135.0, "N*m", True),
        ("1.35 kN*m", "moment", 1350.0, "kN*m", True),
        ("550 lb/in", "spring_rate", 550 * LB / IN, "lb/in", False),
        ("550 lbf/in", "spring_rate", 550 * LB / IN, "lbf/in", False),
        ("96 N/mm", "spring_rate", 96e3, "N/mm", True),
        ("96 kN/m", "spring_rate", 96e3, "kN/m", True),
        ("96 N/m", "spring_rate", 96.0, "N/m", True),
        ("16 ft/s2", "acceleration", 16 * FT, "ft/s2", False),
        ("4.9 m/s²", "acceleration", 4.9, "m/s2", True),
        ("40 ft3", "volume", 40 * FT**3, "ft3", False),
        ("40 ft^3", "volume", 40 * FT**3, "ft3", False),
        ("1.2 m³", "volume", 1.2, "m3", True),
    ],
)
def test_units(text: str, kind: str, expected: float, unit: str, metric: bool | None) -> None:
    read = parse(text, kind)
    assert read == Quantity(read.value, 0.0, kind, unit, metric)
    assert read.value == approx(expected)


def test_every_unit_belongs_to_a_system_or_is_named_as_neither() -> None:
    neither = {"deg", "rad", "%", "g", "h", "min", "s"}
    seen = {unit for kind in KINDS.values() for unit in kind.units if unit not in neither}
    assert seen == unit_kinds.US_UNITS | unit_kinds.SI_UNITS
    assert not unit_kinds.US_UNITS & unit_kinds.SI_UNITS


@given(
    st.sampled_from([kind for kind in KINDS.values() if len(kind.units) > 1]),
    st.data(),
    st.decimals("0.001", "100000", places=3),
)
def test_the_unit_does_not_matter(kind: units.Kind, data: st.DataObject, number: object) -> None:
    one, other = (data.draw(st.sampled_from(kind.units)) for _ in range(2))
    first = parse(f"{number} {one}", kind.name).value
    factor = Fraction(*FACTORS[one]) / Fraction(*FACTORS[other])
    second = parse(f"{float(Fraction(str(number)) * factor)!r} {other}", kind.name).value
    assert second == approx(first)


@pytest.mark.parametrize(
    ("one", "other", "kind"),
    [
        # exact, by hand: equal by definition, so equal to the last bit
        ("16 ft", "4.8768 m", "length"),
        ("5 ft 2 1/2 in", "62.5 in", "length"),
        ("62.5 in", "1587.5 mm", "length"),
        ("2150 lb", "2150 lbf", "load"),
        ("3 h 30 min", "210 min", "duration"),
        ("1 t", "1000 kg", "load"),
        ("1000 daN", "10 kN", "load"),
    ],
)
def test_equal_quantities_are_equal_to_the_last_bit(one: str, other: str, kind: str) -> None:
    assert parse(one, kind).value == parse(other, kind).value


# -- sums ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        # exact, by hand: 12 x feet + inches
        ("5 ft 2 in", 62),
        ("8 ft 6 in", 102),
        ("5' 2\"", 62),
        ("5'2 1/2\"", 62.5),
        ("5\N{PRIME} 2½\N{DOUBLE PRIME}", 62.5),
        ("5ft2in", 62),
        ("5ft3in", 63),  # three inches, not cubic feet
        ("5 feet 2 inches", 62),
        ("1,000 ft 1 in", 12001),
        ("0 ft 6 in", 6),
        ("5 ft 0 in", 60),
        ("5 ft 11.99 in", 71.99),  # just below the limit
        ("-5 ft 2 in", -62),
    ],
)
def test_feet_and_inches_are_a_sum(text: str, inches: float) -> None:
    read = parse(text, "length")
    assert read.value == approx(inches * IN)
    assert read.unit == "ft"


@pytest.mark.parametrize("text", ["5 ft 12 in", "5 ft 12.01 in"])
def test_twelve_inches_or_more_after_feet_are_refused(text: str) -> None:
    with pytest.raises(UnitError, match=r"wanted fewer than 12 inches after the feet$"):
        parse(text, "length")


def test_minutes_after_hours_end_at_sixty() -> None:
    assert parse("3 h 30 min", "duration").value == 12600.0  # 3 x 3600 + 30 x 60
    assert parse("3h 59min", "duration").value == 14340.0
    with pytest.raises(UnitError, match=r"wanted fewer than 60 minutes after the hours$"):
        parse("3 h 60 min", "duration")


@pytest.mark.parametrize(
    "text",
    [
        "5 ft -2 in",
        "5 ft +2 in",
        "5'-2\"",
        "2 in 5 ft",
        "5 m 20 cm",
        "5 ft 2 cm",
        "5 ft 2 ft",
        "5.5 ft 2 in",
        "5 1/2 ft 2 in",
        "5½ ft 2 in",
        "5e0 ft 2 in",
        "5 ft 2e0 in",
        "5 ft 2 in 3",
        "5 ft 2 in 1/2 in",
        "1 mi 5 ft 2 in",
        "5 ft 2 in in",
        "5 ft, 2 in",
    ],
)
def test_other_sums_are_refused(text: str) -> None:
    with pytest.raises(UnitError, match=r"^found "):
        parse(text, "length")


# -- tolerance -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "value", "half_width"),
    [
        # by hand
        ("2150 lb +/- 50 lb", "load", 2150 * LB, 50 * LB),
        ("2150 lb±50 lb", "load", 2150 * LB, 50 * LB),
        ("2150 ± 50 lb", "load", 2150 * LB, 50 * LB),
        ("2150 lb ± 2 %", "load", 2150 * LB, 43 * LB),
        ("-100 lb ± 2 %", "load", -100 * LB, 2 * LB),
        ("975 kg ± 50 lb", "load", 975 * 9.80665, 50 * LB),
        ("2150 lb ± 0 lb", "load", 2150 * LB, 0.0),
        ("5 ft 2 in ± 1/2 in", "length", 62 * IN, 0.5 * IN),
        ("16 ft ± 1 ft 2 in", "length", 192 * IN, 14 * IN),
        ("62 ± ½ in", "length", 62 * IN, 0.5 * IN),
        ("40 ft3 ± 2 ft3", "volume", 40 * FT**3, 2 * FT**3),
        ("0.4 ± 0.05", "number", 0.4, 0.05),
        ("0.4 ± 10 %", "number", 0.4, 0.04),
        # for a share the tolerance is in percentage points, not 1 % of 12 %
        ("12 % ± 1 %", "ratio", 0.12, 0.01),
        ("12 ± 1 %", "ratio", 0.12, 0.01),
        ("0.8 g ± 0.05 g", "gravities", 0.8, 0.05),
        ("0.8 g ± 5 %", "gravities", 0.8, 0.04),
    ],
)
def test_tolerance(text: str, kind: str, value: float, half_width: float) -> None:
    read = parse(text, kind)
    assert read.value == approx(value)
    assert read.half_width == pytest.approx(half_width, rel=1e-12, abs=0.0)


def test_a_shared_unit_is_the_unit_of_the_value() -> None:
    assert parse("2150 ± 50 lb", "load") == parse("2150 lb ± 50 lb", "load")
    assert parse("2150 ± 50 lb", "load").unit == "lb"


@pytest.mark.parametrize(
    ("text", "kind", "wanted"),
    [
        ("2150 lb ± -50 lb", "load", "a tolerance without a sign of its own"),
        ("2150 lb ± +50 lb", "load", "a tolerance without a sign of its own"),
        ("5 ft 2 in ± 1/2", "length", "a tolerance with its own unit"),
        ("12 % ± 0.01 g", "ratio", "a share such as '12 %' (in %), not a multiple of gravity"),
        ("4 ± 1", "count", "a whole number without a tolerance"),
        ("2150 lb ± 1 ft", "load", f"{LOAD}, not a length"),
        ("2150 ± 2 %", "load", LOAD),
        ("2150 ± 50", "load", LOAD),
        ("60 ± 1 ft 2 in", "length", LENGTH),
        ("2150 lb ± 5 lb ± 4 lb", "load", LOAD),
        ("2150 lb ±", "load", LOAD),
        ("± 50 lb", "load", LOAD),
        ("2150 lb + 50 lb", "load", LOAD),
        ("2150 lb - 50 lb", "load", LOAD),
        ("0.4 ± 10 lb", "number", "a bare number such as '0.4', not a weight or rating"),
    ],
)
def test_tolerances_refused(text: str, kind: str, wanted: str) -> None:
    with pytest.raises(UnitError, match=r"^found ") as caught:
        parse(text, kind)
    assert caught.value.wanted == wanted
    assert caught.value.suggestion is None


# -- counts and thresholds -------------------------------------------------------------------


@pytest.mark.parametrize(("text", "expected"), [("0", 0), ("4", 4), ("1,000", 1000), ("4.0", 4)])
def test_count(text: str, expected: float) -> None:
    assert parse(text, "count") == Quantity(expected, 0.0, "count", "", None)


@pytest.mark.parametrize("text", ["-1", "0.5", "3.99", "1/2", "4 lb", "four"])
def test_what_is_no_count_is_refused(text: str) -> None:
    with pytest.raises(UnitError, match="wanted a whole number, 0 or more, such as '4'"):
        parse(text, "count")


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("50 %", "ratio", 0.5),
        ("0.8 g", "gravities", 0.8),
        ("2150 lb", "load", 2150 * LB),
        ("5 ft 2 in", "length", 62 * IN),
        ("40 mi", "length", 64373.76),
        ("30 min", "duration", 1800.0),
        ("55 mph", "speed", 55 * 0.44704),
        ("20 deg", "angle", math.pi / 9),
        ("0.4", "number", 0.4),
        (0.4, "number", 0.4),
        (4, "number", 4.0),
        (-0.0, "number", 0.0),
        (1e22, "number", 1e22),
        (5e-324, "number", 5e-324),
    ],
)
def test_threshold(text: str | float, kind: str, value: float) -> None:
    read = parse_threshold(text)
    assert read.kind == kind
    assert read.value == approx(value)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (True, "found 'yes', wanted {}"),
        (False, "found 'no', wanted {}"),
        (math.nan, "found 'nan', wanted {}"),
        (math.inf, "found 'inf', wanted {}"),
        (10**400, "found 'a number too large to hold', wanted {}"),
        pytest.param(
            10**5000, "found 'a number too large to hold', wanted {}", id="beyond printing"
        ),
        ("half", "found 'half', wanted {}"),
        ("5 lbz", "found '5 lbz', wanted {}; did you mean '5 lb'?"),
        ("5 lb ± 1 lb", "found '5 lb ± 1 lb', wanted a threshold without a tolerance"),
        ("12 ± 1 %", "found '12 ± 1 %', wanted a threshold without a tolerance"),
    ],
)
def test_thresholds_refused(text: str | float, message: str) -> None:
    with pytest.raises(UnitError, match=r"^found ") as caught:
        parse_threshold(text)
    assert str(caught.value) == message.format(
        "a threshold such as '50 %', '2150 lb', '16 ft' or '0.4'"
    )


# -- messages --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        ("16 ft", "load", f"found '16 ft', wanted {LOAD}, not a length"),
        ("2150", "load", f"found '2150', wanted {LOAD}; did you mean '2150 lb'?"),
        ("62", "length", f"found '62', wanted {LENGTH}; did you mean '62 in'?"),
        (
            "12",
            "ratio",
            "found '12', wanted a share such as '12 %' (in %); did you mean '12 %'?",
        ),
        # 1 and below may be a fraction or a percentage
        ("1", "ratio", "found '1', wanted a share such as '12 %' (in %)"),
        ("0.5", "ratio", "found '0.5', wanted a share such as '12 %' (in %)"),
        ("2150 lbz", "load", f"found '2150 lbz', wanted {LOAD}; did you mean '2150 lb'?"),
        ("62 in.", "length", f"found '62 in.', wanted {LENGTH}; did you mean '62 in'?"),
        ("5' 2", "length", f"found '5' 2', wanted {LENGTH}; did you mean '5' 2 in'?"),
        (
            "1500 Kg",
            "load",
            "found '1500 Kg', wanted the unit written 'kg' (capitals and small letters count); "
            "did you mean '1500 kg'?",
        ),
        (
            "2150LB ± 2 %",
            "load",
            "found '2150LB ± 2 %', wanted the unit written 'lb' (capitals and small letters "
            "count); did you mean '2150 lb ± 2 %'?",
        ),
        (
            "2150 lb ± 50",
            "load",
            "found '2150 lb ± 50', wanted a tolerance with its own unit; "
            "did you mean '2150 lb ± 50 lb'?",
        ),
        (
            "1,57 m",
            "length",
            "found '1,57 m', wanted a point before decimals, or commas between groups of three "
            "digits; did you mean '1.57 m'?",
        ),
        (
            "0,157 m",
            "length",
            "found '0,157 m', wanted a point before decimals, or commas between groups of three "
            "digits; did you mean '0.157 m'?",
        ),
        (
            "1,5703 m",
            "length",
            "found '1,5703 m', wanted a point before decimals, or commas between groups of three "
            "digits; did you mean '1.5703 m'?",
        ),
        ("1.570,5 m", "length", f"found '1.570,5 m', wanted {LENGTH}"),
        # one group of three may as well be decimals
        ("1,570 m", "length", f"found '1,570 m', wanted '1570 m' or '1.570 m', {COMMA}"),
        ("-1,570mm", "length", f"found '-1,570mm', wanted '-1570mm' or '-1.570mm', {COMMA}"),
        ("12,500 km", "length", f"found '12,500 km', wanted '12500 km' or '12.500 km', {COMMA}"),
        (
            "1,570 ± 5 mm",
            "length",
            f"found '1,570 ± 5 mm', wanted '1570 ± 5 mm' or '1.570 ± 5 mm', {COMMA}",
        ),
        (
            "5 m ± 1,570 mm",
            "length",
            f"found '5 m ± 1,570 mm', wanted '5 m ± 1570 mm' or '5 m ± 1.570 mm', {COMMA}",
        ),
        (
            "2 ton",
            "load",
            "found '2 ton', wanted 't' (1000 kg), 'short_ton' (2000 lb) or 'long_ton' (2240 lb), "
            "because a 'ton' has more than one size",
        ),
        (
            "2 short tons",
            "load",
            "found '2 short tons', wanted 't' (1000 kg), 'short_ton' (2000 lb) or 'long_ton' "
            "(2240 lb), because a 'ton' has more than one size",
        ),
        ("5 ft 14 in", "length", "found '5 ft 14 in', wanted fewer than 12 inches after the feet"),
        (
            "21/2 in",
            "length",
            "found '21/2 in', wanted a fraction below 1, or a whole number and a fraction as in "
            "'2 5/16'",
        ),
        ("", "load", f"found '', wanted {LOAD}"),
        ("lb", "load", f"found 'lb', wanted {LOAD}"),
        ("nan lb", "load", f"found 'nan lb', wanted {LOAD}"),
        ("inf lb", "load", f"found 'inf lb', wanted {LOAD}"),
        ("1e400 lb", "load", f"found '1e400 lb', wanted {OTHER_SIZE}"),
        ("9**9**9**9 lb", "load", f"found '9**9**9**9 lb', wanted {LOAD}"),
        ("2150(50) lb", "load", f"found '2150(50) lb', wanted {LOAD}"),
        ("0.8 g", "load", f"found '0.8 g', wanted {LOAD}, not a multiple of gravity"),
        (
            "3 M",
            "length",
            "found '3 M', wanted the unit written 'm' (capitals and small letters count); "
            "did you mean '3 m'?",
        ),
        ("61 degF", "angle", "found '61 degF', wanted an angle such as '12 deg' (in deg or rad); "
         "did you mean '61 deg'?"),
        ("5 \x1b[31m", "length", f"found '5 ?[31m', wanted {LENGTH}"),
        # nothing unprintable by way of a suggestion either
        (
            "1,5\x1b[31m",
            "length",
            "found '1,5?[31m', wanted a point before decimals, or commas between groups of three "
            "digits",
        ),
        (
            "4 lb",
            "count",
            "found '4 lb', wanted a whole number, 0 or more, such as '4', not a weight or rating",
        ),
    ],
)  # fmt: skip
def test_messages(text: str, kind: str, message: str) -> None:
    with pytest.raises(UnitError, match=r"^found ") as caught:
        parse(text, kind)
    assert str(caught.value) == message


@pytest.mark.parametrize("kind", [kind for kind in KINDS.values() if kind.example])
def test_the_example_of_a_message_is_accepted(kind: units.Kind) -> None:
    assert parse(kind.example, kind.name).kind == kind.name


def read_or_refused(text: str, kind: str) -> Quantity | UnitError:
    try:
        return parse(text, kind)
    except UnitError as error:
        return error


# The characters quantities are made of, so that more than nonsense is tried.
LIKELY_TEXT = st.text("0123456789 ,./-+±eE½'\"%inftlbkgmhs", max_size=14)


@given(st.text(max_size=30) | LIKELY_TEXT, st.sampled_from(sorted(KINDS)))
def test_any_text_is_read_or_refused_in_one_line(text: str, kind: str) -> None:
    result = read_or_refused(text, kind)
    if isinstance(result, UnitError):
        assert str(result).isprintable()
    else:
        assert math.isfinite(result.value)
        assert result.half_width >= 0


@given(LIKELY_TEXT, st.sampled_from(sorted(KINDS)))
def test_a_suggestion_is_accepted_or_has_another_fault(text: str, kind: str) -> None:
    first = read_or_refused(text, kind)
    if isinstance(first, UnitError) and first.suggestion is not None:
        again = read_or_refused(first.suggestion, kind)
        if isinstance(again, UnitError):
            assert again.suggestion != first.suggestion
