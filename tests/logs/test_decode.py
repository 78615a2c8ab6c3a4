"""Cells to arrays: figures in N and m, answers as 1 and 0, blanks as NaN, faults as messages."""

import math
from datetime import date, datetime
from typing import Any

import numpy as np
import pytest

from checker.logs.cells import CellError, stated
from checker.logs.columns import column_of
from checker.logs.decode import FigureDecoder, decode_days, decode_names, decode_words
from checker.logs.model import Cell, Role
from checker.units.parsing import parse

LB = 4.4482216152605  # N, exact by the definitions of pound and standard gravity
KG = 9.80665  # N, by definition of standard gravity
MPH = 0.44704  # m/s, exact
NAN = math.nan


@pytest.mark.parametrize(
    ("header", "cells", "values"),
    [
        ("articles.1.weight", ["1420 lb", None, "700 kg"], [1420 * LB, NAN, 700 * KG]),
        ("articles.1.weight [lb]", ["1,420", "1420 1/2", "9 lb"], [1420 * LB, 1420.5 * LB, 9 * LB]),
        ("articles.1.weight [lb]", ["1420", None, "0.5"], [1420 * LB, NAN, 0.5 * LB]),
        ("articles.1.weight [lb]", [1420, None, 0.5], [1420 * LB, NAN, 0.5 * LB]),
        ("articles.1.weight [lb]", [1420, "1 lb", None], [1420 * LB, LB, NAN]),
        ("trip.speed (mph)", [45.0, "45"], [45 * MPH, 45 * MPH]),
        ("tow_vehicle.seats", [5, 5.0, "5"], [5.0, 5.0, 5.0]),
        ("tow_vehicle.seats", [5, 5.0, None], [5.0, 5.0, NAN]),
        ("walkaround.chains_crossed", ["yes", "no", True, False, None], [1.0, 0.0, 1.0, 0.0, NAN]),
    ],
)
def test_figures_and_answers(header: str, cells: list[Cell], values: list[float]) -> None:
    found = FigureDecoder(column_of(header), {})(cells)
    np.testing.assert_allclose(found.values, values, rtol=1e-12)
    assert not found.halves.any()
    assert not found.faults


@pytest.mark.parametrize(
    ("header", "cell", "half"),
    [
        ("articles.1.weight", "700 kg +/- 5 kg", 5 * KG),
        ("articles.1.weight [lb]", "1420 ± 20", 20 * LB),
        ("articles.1.weight [lb]", "1420 +/- 2 %", 28.4 * LB),  # 2 % of 1420
    ],
)
def test_tolerances(header: str, cell: str, half: float) -> None:
    found = FigureDecoder(column_of(header), {})([cell, None, "9 lb"])
    assert found.halves.tolist() == pytest.approx([half, 0.0, 0.0])


@pytest.mark.parametrize(
    ("header", "cells", "values"),
    [
        ("tiedowns.1.grade", ["70", 70, 70.0, None], ["70", "70", "70", None]),
        ("trip.places", ["US-UT; US-AZ", "[US-UT]"], [["US-UT", "US-AZ"], ["US-UT"]]),
        ("trip.load_checks", ["12 mi, 40 mi", "[]"], [["12 mi", "40 mi"], []]),
    ],
)
def test_words_and_lists_stay_what_they_are(header: str, cells: list[Cell], values: Any) -> None:
    words, faults = decode_words(column_of(header), cells, {})
    assert not faults
    assert [words.names[code] for code in words.codes] == values


@pytest.mark.parametrize(
    ("header", "cell", "said"),
    [
        ("articles.1.weight", "x", "found 'x'; wanted a weight or rating such as '2150 lb'"),
        ("articles.1.weight", "1500", "did you mean '1500 lb'?"),
        ("articles.1.weight", 1500, "found the bare number 1500; wanted a weight or rating"),
        ("articles.1.weight", "0 lb", "found '0 lb'; wanted more than zero"),
        ("articles.1.weight", "5 lb ± 5 lb", "found '5 lb ± 5 lb'; wanted more than zero"),
        ("articles.1.weight", "62 in", "not a length"),
        ("articles.1.weight", True, "found true; wanted text"),
        ("articles.1.weight [lb]", "700 kg", "found '700 kg'; wanted a bare number such as 12, in"),
        ("articles.1.placed.x [in]", "5 ft 2", "found '5 ft 2'; wanted a bare number"),
        ("articles.1.weight [lb]", 0, "found '0 lb'; wanted more than zero"),
        ("articles.1.weight [lb]", math.inf, "found 'inf lb'; wanted a weight or rating"),
        ("articles.1.weight [lb]", 10**400, "wanted at most 80 characters"),
        ("tow_vehicle.seats", 5.5, "found the bare number 5.5; wanted a whole number"),
        ("tow_vehicle.seats", "-1", "at least 0"),
        ("tow_vehicle.seats", "five", "found 'five'; wanted a whole number"),
        ("walkaround.chains_crossed", "Y", "did you mean 'yes'?"),
        ("walkaround.chains_crossed", 1, "did you mean 'yes'?"),
        ("tiedowns.1.grade", "7", "found '7'; wanted one of: none, 30, 43, 70, 80, 100"),
        ("trip.places", "utah", "found 'utah'; wanted a country such as US"),
        ("trip.load_checks", "12", "did you mean '12 in'?"),
    ],
)
def test_faults_name_field_found_and_wanted(header: str, cell: Cell, said: str) -> None:
    column = column_of(header)
    cells = [None, cell, None]
    if column.role in (Role.QUANTITY, Role.ANSWER):
        found = FigureDecoder(column, {})(cells)
        faults = found.faults
        assert np.isnan(found.values).all()
    else:
        words, faults = decode_words(column, cells, {})
        assert not words.codes.any()
    ((place, words),) = faults
    assert place == 1
    assert words.startswith(f"{column.field}: found ")
    assert said in words


def test_names_and_days() -> None:
    cells = [" SxS ", "", "7", 7.0, "side-by-side"]
    names, faults = decode_names(cells, {"SxS": "side-by-side"}, "no name")
    found = [names.names[code] for code in names.codes]
    assert found == ["side-by-side", "", "7", "7", "side-by-side"]
    assert faults == [(1, "no name")]
    days, faults = decode_days(["14.05.2026", " 14.05.2026", "32.05.2026"], {}, "%d.%m.%Y")
    assert days.tolist() == [date(2026, 5, 14).toordinal()] * 2 + [0]
    assert faults == [(2, "found '32.05.2026' in date; wanted a day such as 14.05.2026")]


@pytest.mark.parametrize(
    ("form", "first", "before", "last", "after"),
    [
        (None, "1970-01-01", "1969-12-31", "2099-12-31", "2100-01-01"),
        (None, date(1970, 1, 1), "0026-07-02", datetime(2099, 12, 31, 23, 59), date(9999, 12, 31)),
        ("%d.%m.%Y", "01.01.1970", "31.12.1969", "31.12.2099", "02.07.9999"),
    ],
)
def test_a_day_that_no_haul_can_have_is_told(
    form: str | None, first: Cell, before: Cell, last: Cell, after: Cell
) -> None:
    days, faults = decode_days([first, before, last, after], {}, form)
    assert days.tolist() == [date(1970, 1, 1).toordinal(), 0, date(2099, 12, 31).toordinal(), 0]
    assert faults == [
        (1, f"found '{before}' in date; wanted a day from 1970 to 2099"),
        (3, f"found '{after}' in date; wanted a day from 1970 to 2099"),
    ]


@pytest.mark.parametrize(
    "cell", ["1_000", "\uff11", ".5", "5.", "+.5", "-", "1-2", "1e5", "nan", "inf", "7 "]
)
def test_a_text_that_two_readers_read_in_two_ways_is_read_as_the_profile_would(cell: str) -> None:
    column = column_of("articles.1.weight [lb]")
    found = FigureDecoder(column, {})(["7", cell])
    try:
        text = stated(column, cell.strip())
    except CellError:
        assert [place for place, _ in found.faults] == [1]
    else:
        assert found.values[1] == pytest.approx(parse(text, "load").value, rel=1e-12)


def test_numbers_that_equal_an_answer_are_told_apart() -> None:
    found = FigureDecoder(column_of("walkaround.chains_crossed"), {})([True, 1, 1.0])
    assert found.values[0] == 1.0
    assert [place for place, _ in found.faults] == [1, 2]


def test_faults_among_plain_texts_are_found() -> None:
    found = FigureDecoder(column_of("articles.1.weight [lb]"), {})(
        ["5", "0", None, "-1", "9" * 400]
    )
    assert [place for place, _ in found.faults] == [1, 3, 4]
    assert found.faults[0][1] == "articles.1.weight: found '0 lb'; wanted more than zero"
    assert np.isnan(found.values[1:]).all()
