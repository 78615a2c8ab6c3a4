"""Unit words outside the table, which pint resolves, and units that an organisation defines.

Origins of expected values: "H44" means NIST Handbook 44 (2024), appendix C, and "SP 811" NIST
Special Publication 811 (2008), appendix B.8; "exact" is a defined size worked out by hand (1 lb =
0.45359237 kg, 1 ft = 0.3048 m, standard gravity 9.80665 m/s2).
"""

import subprocess
import sys
import time
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from checker.units import table_from_pint
from checker.units.definitions import read_definitions
from checker.units.from_pint import words_of
from checker.units.kinds import KINDS
from checker.units.parsing import UnitError, parse, parse_threshold
from checker.units.words import (
    AMBIGUOUS,
    Unit,
    call_with_own_units,
    find_unit,
    with_own_units,
)

LB = Fraction("0.45359237") * Fraction("9.80665")  # N, exact
FT = Fraction("0.3048")  # m, exact


@pytest.fixture
def bales() -> Iterator[tuple[Unit, ...]]:
    units, faults = read_definitions(["bale = 40 lb", "pallet = 48 bales = skid"])
    assert not faults
    with with_own_units(units):
        yield units


@pytest.mark.parametrize(
    ("word", "kind", "size", "metric"),
    [
        ("stone", "load", 14 * LB, False),  # H44: 14 pounds, exact
        ("ounces", "load", LB / 16, False),  # H44
        ("short_hundredweight", "load", 100 * LB, False),  # H44
        ("long_hundredweight", "load", 112 * LB, False),  # H44: gross or long hundredweight
        ("short_ton", "load", 2000 * LB, False),  # H44
        ("long_tons", "load", 2240 * LB, False),  # H44
        ("kips", "load", 1000 * LB, False),  # SP 811: kip (1000 lbf)
        ("slug", "load", LB / FT * Fraction("9.80665"), False),  # exact: 1 lbf s2/ft
        ("kgf", "load", Fraction("9.80665"), True),  # SP 811
        ("kilonewtons", "load", Fraction(1000), True),  # exact
        ("MN", "load", Fraction(10**6), True),  # exact
        ("fathom", "length", 6 * Fraction(1200, 3937), False),  # SP 811: of the US survey foot
        ("furlong", "length", 660 * Fraction(1200, 3937), False),  # SP 811: of the US survey foot
        ("hands", "length", Fraction("0.1016"), False),  # exact: 4 in
        ("decimetre", "length", Fraction("0.1"), True),  # exact
        ("knot", "speed", Fraction(1852, 3600), False),  # SP 811: nautical mile per hour
        ("day", "duration", Fraction(86400), None),  # exact
        ("MPa", "pressure", Fraction(10**6), True),  # exact
        ("atmosphere", "pressure", Fraction(101325), False),  # SP 811
        ("US_liquid_gallon", "volume", Fraction("0.003785411784"), False),  # H44: 231 in3
        ("imperial_gallon", "volume", Fraction("0.00454609"), False),  # SP 811
        ("L", "volume", Fraction("0.001"), True),  # exact
    ],
)
def test_words_of_pint(word: str, kind: str, size: Fraction, metric: bool | None) -> None:
    found = find_unit(word)
    assert found is not None
    assert (found.kind, Fraction(found.top, found.bottom), found.metric) == (kind, size, metric)
    assert parse(f"3 {word}", kind).value == float(3 * size)
    assert parse_threshold(f"3 {word}").kind == kind


def test_a_word_of_pint_has_a_tolerance_and_is_of_one_kind() -> None:
    read = parse("2 1/2 stone ± 1 lb", "load")
    assert (read.value, read.half_width) == (float(35 * LB), float(LB))  # exact: 2.5 x 14 lb
    with pytest.raises(UnitError, match=r"wanted a length such as .*, not a weight or rating$"):
        parse("3 stone", "length")


# What pint alone would make of each: a millitonne, a hundredth of a foot, a parsec, and so on.
@pytest.mark.parametrize(
    "word",
    ["mt", "cft", "pin", "pc", "kt", "klb", "fur", "cp", "bps", "lbss", "degC", "joule", "Stone"],
)
def test_symbols_and_prefixes_that_make_units_of_typing_errors_are_refused(word: str) -> None:
    assert find_unit(word) is None


@pytest.mark.parametrize("word", sorted(AMBIGUOUS))
def test_a_word_of_more_than_one_size_is_refused_and_told_what_to_write(word: str) -> None:
    for form in (word, f"{word}s", f"kilo{word}"):
        assert find_unit(form) is None
    with pytest.raises(UnitError, match=f"because a '{word}' has more than one size$") as caught:
        parse(f"2 {word}s", "load")
    told = caught.value.wanted.split(", because")[0]
    for each in told.replace(" or ", ", ").split(", "):
        unit = each.split("'")[1]
        assert find_unit(unit) is not None


def test_every_word_taken_from_pint_has_a_size_of_its_kind() -> None:
    for kind in KINDS.values():
        for word in words_of(kind.name):
            assert parse(f"2 {word}", kind.name).value > 0


@pytest.mark.parametrize(
    ("text", "kind", "suggestion"),
    [
        ("40 stnoe", "load", "40 stone"),
        ("40 Stone", "load", "40 stone"),
        ("3 frulongs", "length", "3 furlong"),
        ("2150 lbz", "load", "2150 lb"),
        ("2150 zzzz", "load", None),
    ],
)
def test_near_words(text: str, kind: str, suggestion: str | None) -> None:
    with pytest.raises(UnitError, match=r"^found ") as caught:
        parse(text, kind)
    assert caught.value.suggestion == suggestion


@pytest.mark.parametrize("text", ["9**9**9 lb", "2*5 stone", "stone", "3 stone stone", "3 kip.x"])
def test_pint_sees_single_words_only(text: str) -> None:
    with pytest.raises(UnitError, match=r"^found "):
        parse(text, "load")


def test_many_wrong_words_and_long_ones_are_refused_quickly() -> None:
    assert find_unit("a" * 10_000) is None
    parse("1 stone", "load")  # pint is there
    started = time.perf_counter()
    for number in range(1000):
        word = "".join(chr(97 + int(digit)) for digit in f"{number:04}")
        with pytest.raises(UnitError, match=r"^found "):
            parse(f"5 x{word}", "load")
    # A fiftieth of a second each would make a log of 60,000 wrong cells last for 20 minutes.
    assert time.perf_counter() - started < 20


def test_the_words_of_pint_are_those_in_the_file() -> None:
    file = Path(table_from_pint.__file__).with_name("pint_words.txt")
    assert file.read_text("utf-8") == table_from_pint.words_text()


# -- units of an organisation ----------------------------------------------------------------


@pytest.mark.usefixtures("bales")
def test_own_units_are_read_exactly() -> None:
    # exact: 40 lb, and 48 x 40 lb
    for text in ("12 bale", "12 bales"):
        assert parse(text, "load").value == parse("480 lb", "load").value
    for text in ("1 pallet", "1 skid", "1 skids"):
        assert parse(text, "load").value == parse("1920 lb", "load").value
    assert parse("12 bales", "load").unit == "bale"
    assert parse("12 bales", "load").metric is False
    with pytest.raises(UnitError, match="did you mean '5 bale'"):
        parse("5 bael", "load")


def test_own_units_hold_only_while_they_are_in_force(bales: tuple[Unit, ...]) -> None:
    assert parse("1 bale", "load").value == float(40 * LB)
    others, _ = read_definitions(["bale = 50 lb"])
    with with_own_units(others):
        assert parse("1 bale", "load").value == float(50 * LB)
    with with_own_units(()), pytest.raises(UnitError, match="wanted a weight or rating"):
        parse("1 bale", "load")
    assert parse("1 bale", "load").value == float(40 * LB)
    with with_own_units(()):
        assert call_with_own_units(bales, parse, "1 bale", "load").value == float(40 * LB)


@pytest.mark.parametrize(
    ("lines", "found", "wanted"),
    [
        (["bale 40 lb"], "'bale 40 lb'", "a word, = and its size"),
        (["lb = 1 kg"], "'lb', which is a unit already", "a word of your own"),
        (["pounds = 1 kg"], "'pounds', which is a unit already", "a word of your own"),
        (["LB = 1 kg"], "'LB', which is a unit already", "a word of your own"),
        (["stones = 6 kg"], "'stones', which is a unit already", "a word of your own"),
        (["cwt = 112 lb"], "'cwt', which is a unit already", "a word of your own"),
        (["ton = 2000 lb"], "'ton', which is a unit already", "a word of your own"),
        (["joule = 2000 lb"], "'joule', which is a unit already", "a word of your own"),
        (["kilopound = 9 lb"], "'kilopound', which is a unit already", "a word of your own"),
        (["bale = 40 lb = kip"], "'kip', which is a unit already", "a word of your own"),
        (["bale = 40 lb", "bale = 50 lb"], "'bale', which an earlier", "each word once"),
        (["bale = 40 lb", "bales = 50 lb"], "'bales', which an earlier", "each word once"),
        (["bale = 40 lb", "box = 5 lb = Bale"], "'Bale', which an earlier", "each word once"),
        (["bale = 40"], "'40'", "the size of one bale"),
        (["bale = "], "''", "the size of one bale"),
        (["bale = 40 lb ± 1 lb"], "'40 lb ± 1 lb'", "the size of one bale"),
        (["bale = 9**9**9 lb"], "'9**9**9 lb'", "the size of one bale"),
        (["bale = 2 * pound"], "'2 * pound'", "the size of one bale"),
        (["bale = 2 bale"], "'2 bale'", "the size of one bale"),
        (["pallet = 2 bale", "bale = 40 lb"], "'2 bale'", "the size of one pallet"),
        (["bale = -40 lb"], "'-40 lb'", "more than zero"),
        (["bale = 0 lb"], "'0 lb'", "more than zero"),
        (["2x = 40 lb"], "'2x'", "a word of at most 40 letters"),
        (["b" * 41 + " = 40 lb"], "'" + "b" * 41 + "'", "a word of at most 40 letters"),
        (["= 40 lb"], "''", "a word of at most 40 letters"),
        (["[currency] = 40 lb"], "'[currency]'", "a word of at most 40 letters"),
        (["@alias lb = pd"], "'@alias lb'", "a word of at most 40 letters"),
    ],
)
def test_definitions_refused(lines: list[str], found: str, wanted: str) -> None:
    units, faults = read_definitions(lines)
    assert faults
    assert faults[0].found.startswith(found)
    assert faults[0].wanted.startswith((wanted, "a size of " + wanted))
    assert len(units) + len(faults) == len(lines)


@pytest.mark.parametrize(
    "line", ["bale = 40 lb = _ = ballot", "bale=40lb", "span = 4 ft 2 in", "tyre = 2.5 stone"]
)
def test_definitions_in_the_form_of_pint(line: str) -> None:
    units, faults = read_definitions([line])
    assert (len(units), faults) == (1, [])


def test_reading_own_units_and_the_table_loads_no_pint() -> None:
    code = (
        "import sys; from checker.units.definitions import read_definitions; "
        "from checker.units.words import use_own_units; from checker.units.parsing import parse; "
        "use_own_units(read_definitions(['bale = 40 lb'])[0]); parse('3 bales', 'load'); "
        "parse('5 ft 2 in', 'length'); print('pint' in sys.modules)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(table_from_pint.__file__).parents[2],
    )
    assert ran.stdout.strip() == "False"
