"""Parts of a log joined into columns."""

from pathlib import Path

import numpy as np
import pytest

from checker.logs.columns import column_of
from checker.logs.model import LogMapping
from checker.logs.opening import open_log
from checker.season.hauls.reading import read_part
from checker.season.hauls.table import Table, stack_tables

POUND = 4.4482216152605  # N, exact by the definitions of pound and standard gravity
KG = 9.80665  # N, by definition of standard gravity
WEIGHT = "articles.1.weight"


def piece(folder: Path, cells: list[str], header: str = WEIGHT) -> Table:
    """A part of a log whose hauls state these weights."""
    file = folder / "hauls.csv"
    rows = "".join(f"one,2026-05-14,{cell}\n" for cell in cells)
    file.write_text(f"load,date,{header}\n{rows}")
    (part,) = open_log(file).parts
    return read_part(part, LogMapping()).hauls


def test_tolerances_and_metric_units_stay_with_their_hauls(tmp_path: Path) -> None:
    weights = (["1420 lb", "1500 lb"], ["1420 lb +/- 5 %"], ["640 kg", ""])
    table = stack_tables([piece(tmp_path, cells) for cells in weights])
    figures = table.figures(column_of(WEIGHT))
    newtons = [1420 * POUND, 1500 * POUND, 1420 * POUND, 640 * KG, np.nan]
    assert figures.values == pytest.approx(newtons, rel=1e-12, nan_ok=True)
    assert figures.halves.tolist() == pytest.approx([0, 0, 71 * POUND, 0, 0], rel=1e-12)  # 5 %
    assert figures.metric.tolist() == [False, False, False, True, False]


def test_one_row_stands_for_all_where_no_cell_has_a_tolerance_or_all_are_metric(
    tmp_path: Path,
) -> None:
    pieces = [piece(tmp_path, cells, f"{WEIGHT} [kg]") for cells in (["640", "641"], ["642"])]
    figures = stack_tables(pieces).figures(column_of(WEIGHT))
    assert figures.values == pytest.approx([640 * KG, 641 * KG, 642 * KG])
    assert (figures.halves.tolist(), figures.metric.tolist()) == ([0.0], [True])
    assert figures.take([2]).metric.tolist() == [True]


def test_a_column_that_some_parts_lack_is_blank_there(tmp_path: Path) -> None:
    bare = tmp_path / "bare.csv"
    bare.write_text("load,date\none,2026-05-14\n")
    (part,) = open_log(bare).parts
    read = read_part(part, LogMapping())
    table = stack_tables([read.hauls, piece(tmp_path, ["1 lb"])])
    assert table.figures(column_of(WEIGHT)).values == pytest.approx([np.nan, POUND], nan_ok=True)
    assert table.rows.tolist() == [2, 2]


def test_a_load_of_refused_rows_alone_is_not_among_the_loads(
    tmp_path: Path,
) -> None:
    file = tmp_path / "hauls.csv"
    file.write_text("load,date,crew\ngone,soon,west\none,2026-05-14,\ntwo,2026-05-14,east\n")
    (part,) = open_log(file).parts
    read = read_part(part, LogMapping())
    assert read.loads == {"one": (0, 1), "two": (1, 2)}
    assert [read.hauls.heading.crews[code] for code in read.hauls.crews.codes] == ["", "east"]
    assert (read.read, [each.row for each in read.refused]) == (3, [2])
