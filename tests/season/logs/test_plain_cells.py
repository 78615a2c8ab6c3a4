"""Cells told apart as numbers against the same cells as texts."""

import csv
import io
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from checker.season import reading
from checker.season.logs import csv_log, plain_cells
from checker.season.logs.columns import column_of
from checker.season.logs.model import Column, OwnWords, Role
from checker.season.logs.plain_cells import Distinct, PlainCells, plain_columns
from checker.season.reading import Sheet, read_part, unpacked

# Short and long, with letters of several bytes, and cells that begin alike.
CELLS = st.one_of(
    st.sampled_from(["", "yes", "no", "12345678", "123456789", "é", "loads/x-001", "loads/x-002"]),
    st.text(st.characters(exclude_characters='",\n\r\0', exclude_categories=["Cs"]), max_size=30),
)


def decode_text(rows: list[list[str]]) -> bytes:
    return "".join(",".join(row) + "\n" for row in rows).encode()


def columns_of(rows: list[list[str]]) -> list[PlainCells]:
    found = plain_columns(decode_text(rows), len(rows[0]))
    assert found is not None
    return found


def is_told(row: Sequence[str]) -> bool:
    """Whether some cell of a row is not blank."""
    return "".join(row).strip() != ""


@st.composite
def tables(draw: st.DrawFn) -> list[list[str]]:
    width = draw(st.integers(2, 4))
    row = st.lists(CELLS, min_size=width, max_size=width).filter(is_told)
    return draw(st.lists(row, min_size=1, max_size=12))


@given(tables())
def test_cells_are_those_that_the_csv_module_reads(rows: list[list[str]]) -> None:
    read = list(csv.reader(io.StringIO(decode_text(rows).decode(), newline="")))
    for place, cells in enumerate(columns_of(rows)):
        column = [row[place] for row in read]
        assert list(cells) == column
        assert [cells[row] for row in range(len(cells))] == column
        assert list(cells[1:]) == column[1:]
        assert cells.lines().decode() == "".join(f"{cell}\n" for cell in column)


@given(st.lists(tables(), min_size=1, max_size=4))
def test_like_cells_have_one_place_and_others_another(batches: list[list[list[str]]]) -> None:
    distinct, met = Distinct(), []
    for rows in batches:
        cells = columns_of(rows)[0]
        found = distinct.places(cells)
        assert found is not None
        places, new = found
        met += new
        assert len(set(met)) == len(met)
        assert [met[place] for place in places] == list(cells)


def test_cells_of_one_key_that_differ_are_not_taken_for_each_other(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Without the factors only the first eight bytes of a cell are its key.
    monkeypatch.setattr(plain_cells, "_FACTORS", (np.uint64(1), *[np.uint64(0)] * 15))
    assert Distinct().places(columns_of([["12345678a", ""], ["12345678b", ""]])[0]) is None
    short_and_long = columns_of([["12345678", ""], ["12345678b", ""]])[0]
    assert Distinct().places(short_and_long) is None
    # Also where the longer one was met before, in another batch.
    distinct = Distinct()
    assert distinct.places(columns_of([["12345678b", ""]])[0]) is not None
    assert distinct.places(columns_of([["12345678", ""]])[0]) is None


def test_cells_of_any_length_are_told_apart_in_the_end() -> None:
    assert Distinct().places(columns_of([["x" * 128, ""]])[0]) is not None
    assert Distinct().places(columns_of([["x" * 129, ""]])[0]) is None


@pytest.mark.parametrize(
    "text",
    [
        b",\n",
        b"a,b\n,\nc,d\n",
        b"a,b\n \t,\xc2\xa0\n",
        b"a,b\n,\xe3\x80\x80\nc,d\n",
        b"a,b\nc\n",
        b"a\nb,c,d\n",
        b"a,b\n\nc,d\n",
        b"a,b\nc,d",
        b"a,\0\n",
        b"a,b,c,d\n",
    ],
)
def test_lines_that_are_not_plain_are_left_to_the_csv_module(text: bytes) -> None:
    assert plain_columns(text, 2) is None


def test_a_line_that_says_something_in_any_cell_is_plain() -> None:
    for text in (b",b\n \xc2\xa0,x\n", b"\xc3\xa9,\n", b",\xc3\xa9\n", b"\xe2\x82\xac,\n"):
        assert plain_columns(text, 2) is not None


COLUMNS = [
    Column("load", "load", Role.LOAD),
    Column("date", "date", Role.DATE),
    Column("haul", "haul", Role.HAUL),
    Column("weight", "articles.1.weight", Role.QUANTITY, "lb"),
    Column("pin", "walkaround.coupler_pin_in", Role.ANSWER),
    Column("places", "trip.places", Role.LIST),
]
ROWS = st.tuples(
    st.sampled_from(["one", "two", "", " one "]),
    st.sampled_from(["2026-05-14", "2026-07-01", "soon", "", " "]),
    CELLS,
    st.sampled_from(["", "1420", "1500 kg", "1420 +/- 5 %", "x", "-3", "1e999", "0x10"]),
    st.sampled_from(["", "yes", "no", "maybe"]),
    st.sampled_from(["", "US-UT", "US-UT; US-NV"]),
)


BLANK = ("", "", "", "", "", "")


@settings(max_examples=200)
@given(st.lists(st.one_of(ROWS, st.just(BLANK)), min_size=1, max_size=20))
@example([BLANK])
def test_a_part_says_the_same_whichever_way_it_is_read(rows: list[tuple[str, ...]]) -> None:
    part = part_of(rows)
    quick = read_part(part, OwnWords())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(csv_log, "plain_columns", lambda _text, _width: None)
        slow = read_part(part, OwnWords())
    compare(quick, slow)
    assert slow.read == sum(map(is_told, rows))


def compare(one: Sheet, other: Sheet) -> None:
    assert one.records.dtype == other.records.dtype
    assert one.records.tobytes() == other.records.tobytes()
    for name in ("heading", "loads", "read", "refused", "refusals", "names", "named"):
        assert getattr(one, name) == getattr(other, name), name


def part_of(rows: list[tuple[str, ...]]) -> csv_log._Lines:
    return csv_log._Lines("hauls.csv", COLUMNS, 1, decode_text([list(row) for row in rows]))


FIRST = ("one", "2026-05-14", "", "1420", "yes", "US-UT")
SECOND = ("two", "2026-05-14", "", "1420 +/- 5 %", "no", "US-UT; US-NV")


@example([SECOND], [FIRST, SECOND])
@example([SECOND, FIRST], [FIRST])
@given(st.lists(ROWS, min_size=1, max_size=9), st.lists(ROWS, min_size=1, max_size=9))
def test_what_a_process_has_read_before_changes_nothing(
    before: list[tuple[str, ...]], rows: list[tuple[str, ...]]
) -> None:
    # Else what an audit says would rest on which process took which part.
    reading._decoders.cache_clear()
    alone = read_part(part_of(rows), OwnWords())
    reading._decoders.cache_clear()
    read_part(part_of(before), OwnWords())
    compare(alone, read_part(part_of(rows), OwnWords()))


def test_memory_does_not_grow_with_cells_that_are_never_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rows = [("one", "2026-05-14", "", str(weight), "", "") for weight in range(1000, 1050)]
    for most, kept in ((60, 1), (50, 0)):  # 50 weights, a load, a day and blanks
        monkeypatch.setattr(reading, "_MOST_CELLS", most)
        reading._decoders.cache_clear()
        read_part(part_of(rows), OwnWords())
        assert reading._decoders.cache_info().currsize == kept


def test_parts_with_the_same_columns_may_need_other_fields() -> None:
    weights = (["1420 lb", "1500 lb"], ["1420 lb +/- 5 %"], ["640 kg", ""])
    weight = replace(COLUMNS[3], unit=None)
    columns = [*COLUMNS[:3], weight, *COLUMNS[4:]]
    pieces = []
    for cells in weights:
        rows = [["one", "2026-05-14", "", cell, "", ""] for cell in cells]
        sheet = read_part(csv_log._Lines("hauls.csv", columns, 1, decode_text(rows)), OwnWords())
        # As from the folder of an audit, which keeps one heading for all that say the same.
        pieces.append((sheet.records, pieces[0][1] if pieces else sheet.heading))
    table, load_of = unpacked([pieces[:1], pieces[1:]])
    figures = table.figures[column_of(weight.field)]
    pound = 4.4482216152605  # N, exact
    newtons = [1420 * pound, 1500 * pound, 1420 * pound, 640 * 9.80665, np.nan]
    assert figures.values == pytest.approx(newtons, rel=1e-12, nan_ok=True)
    assert figures.halves.tolist() == pytest.approx([0, 0, 71 * pound, 0, 0], rel=1e-12)
    assert figures.metric.tolist() == [False, False, False, True, False]
    assert load_of.tolist() == [0, 0, 1, 1, 1]


def test_one_row_stands_for_all_where_no_cell_has_a_tolerance_or_all_are_metric() -> None:
    weight = replace(COLUMNS[3], unit="kg")
    columns = [*COLUMNS[:3], weight, *COLUMNS[4:]]
    pieces = []
    for cells in (["640", "641"], ["642"]):
        rows = [["one", "2026-05-14", "", cell, "", ""] for cell in cells]
        sheet = read_part(csv_log._Lines("hauls.csv", columns, 1, decode_text(rows)), OwnWords())
        pieces.append((sheet.records, sheet.heading))
    figures = unpacked([pieces])[0].figures[column_of(weight.field)]
    assert figures.values == pytest.approx([640 * 9.80665, 641 * 9.80665, 642 * 9.80665])
    assert (figures.halves.tolist(), figures.metric.tolist()) == ([0.0], [True])
    assert figures.of([2]).metric.tolist() == [True]
