"""Sheets as people keep them: title lines, units, totals, decimal commas, two orders of a day."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from checker.documents.problems import ProblemsFoundError
from checker.logs.mapping import read_mapping
from checker.logs.model import LogMapping
from checker.logs.opening import open_log
from checker.logs.remarks import Remarks
from checker.season.hauls.reading import Rows, read_rows

COLUMNS = """\
kind: haul-log
columns: {Unit: load, Tag: date, Fahrer: crew, Gewicht: articles.1.weight, Tempo: trip.speed}
ignore: [Notiz]
words: {Unit: {SxS: side-by-side}}
"""
EUROPEAN = f"""{COLUMNS}
separator: semicolon
decimal: comma
dates: "%d.%m.%Y"
header_row: find
units_row: yes
leave_out:
  words: {{Unit: [total, "Note*"]}}
  repeated_headers: yes
  lone_texts: yes
"""
UGLY = """\
Fleet export;;;;;
Depot: Dry Fork

Unit;Tag;Fahrer;Gewicht;Tempo;Notiz
;TT.MM.JJJJ;;kg;[km/h];
SxS;03.07.2026;Nord;650,5;72,5;
JULI;;;;;
Unit;Tag;Fahrer;Gewicht;Tempo;Notiz
SxS;23.07.2026;Süd;1.200;;ok
Total;24.07.2026;;1.850,5;;
Notes: all weighed
SxS;;;;;
"""


def mapping_of(folder: Path, text: str) -> LogMapping:
    (folder / "mapping.yaml").write_text(text)
    return read_mapping(folder / "mapping.yaml")


def read(folder: Path, mapping: str, log: str | bytes) -> tuple[list[Rows], Remarks]:
    """The rows of a CSV text, and the remarks about it, which contradict nothing."""
    file = folder / "log.csv"
    file.write_bytes(log.encode() if isinstance(log, str) else log)
    return read_file(file, mapping)


def read_file(file: Path, mapping: str) -> tuple[list[Rows], Remarks]:
    own = mapping_of(file.parent, mapping)
    rows, remarks = [], Remarks()
    for part in open_log(file, own).parts:
        rows.append(read_rows(part, own))
        remarks.merge(rows[-1].remarks)
    remarks.refuse_contradicted(str(file))
    return rows, remarks


def workbook(file: Path, *sheets: Sequence[Sequence[Any]], merged: Sequence[str] = ()) -> Path:
    """A workbook with sheets of these rows; cells of the first are merged."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for number, rows in enumerate(sheets, start=1):
        sheet = book.create_sheet(f"Sheet {number}")
        for row in rows:
            sheet.append(list(row))
    for cells in merged:
        book.worksheets[0].merge_cells(cells)
    book.save(file)
    return file


def test_every_row_is_checked_refused_or_left_out(tmp_path: Path) -> None:
    ((rows,), remarks) = read(tmp_path, EUROPEAN, UGLY)
    assert list(rows.table.rows) == [6, 9, 12]
    # A load alone is a haul that somebody forgot to fill in, and no heading.
    assert [(each.row, each.reason) for each in rows.refused] == [
        (12, "found nothing in date; wanted a day such as 14.05.2026")
    ]
    assert dict(remarks.left_out.words()) == {
        "above the headers": "rows 1, 2",
        "a text in one cell alone": "row 7",
        "the headers again": "row 8",
        "'total' in Unit": "row 10",
        "'Note*' in Unit": "row 11",
    }
    assert rows.read == 9 == len(rows.sound) + len(rows.refused) + remarks.left_out.total
    # The totals row has a day too: the report says that it may be a haul.
    assert remarks.left_out.hauls == 1
    weight, speed = rows.table.heading.figures
    # 650.5 kg and 1,200 kg under standard gravity, 72.5 km/h
    assert rows.table.figures(weight).values[:2] == pytest.approx([650.5 * 9.80665, 1200 * 9.80665])
    assert rows.table.figures(speed).values[0] == pytest.approx(72.5 / 3.6)


def test_what_fits_two_readings_is_counted(tmp_path: Path) -> None:
    _, remarks = read(tmp_path, EUROPEAN, UGLY)
    counts = {name: (each.only, each.both) for name, each in remarks.readings.items()}
    assert counts == {
        ("dates", "Tag"): (1, 1),  # 23.07. alone; 03.07. fits both
        ("decimal", "Gewicht"): (1, 1),  # 650,5 alone; 1.200 fits both
        ("decimal", "Tempo"): (1, 0),
    }


ROW = "SxS;{day};Nord;{weight};;\n"


@pytest.mark.parametrize(
    ("change", "row", "said"),
    [
        (("", ""), {"day": "05/23/2026"}, None),
        (("%d.%m.%Y", "%d/%m/%Y"), {"day": "05/23/2026"}, r":4:1: found '05/23/2026' in row 4, "),
        (("%d.%m.%Y", "%m/%d/%Y"), {"day": "23/5/2026"}, "which `dates: %m/%d/%Y` cannot read"),
        (("%d.%m.%Y", "%d/%m/%Y"), {"day": "13/13/2026"}, None),  # fits no order: a slip
        (("", ""), {"weight": "12.75"}, "under 'Gewicht', which `decimal: comma` cannot read"),
        (("", ""), {"weight": "1,234,567"}, "which `decimal: comma` cannot read"),
        (("comma", "point"), {"weight": "12,75"}, "which `decimal: point` cannot read"),
        (("decimal: comma", ""), {"weight": "1,200"}, "wanted `decimal: comma` or `decimal: po"),
        (("decimal: comma", ""), {"weight": "1200.5"}, None),
    ],
)
def test_cells_that_contradict_the_mapping_refuse_the_log(
    tmp_path: Path, change: tuple[str, str], row: dict[str, str], said: str | None
) -> None:
    header = "Unit;Tag;Fahrer;Gewicht;Tempo;Notiz\n;;;kg;;\n"
    form = change[1] if change[0].startswith("%") else "%d.%m.%Y"
    day = date(2026, 7, 3).strftime(form)
    good = ROW.format(day=day, weight="650")
    log = header + good + ROW.format(**{"day": day, "weight": "", **row})
    log += ROW.format(**{"day": day, "weight": "", **row})
    mapping = EUROPEAN.replace(*change) if change[0] else EUROPEAN
    if said is None:
        ((rows,), _) = read(tmp_path, mapping, log)
        assert len(rows.refused) == (0 if row == {"weight": "1200.5"} else 2)
        return
    with pytest.raises(ProblemsFoundError, match=said) as caught:
        read(tmp_path, mapping, log)
    assert "in row 4, " in str(caught.value)


def test_a_comma_between_cells_leaves_figures_as_they_were(tmp_path: Path) -> None:
    log = 'load,date,articles.1.weight [lb]\na,2026-07-03,"1,200"\nb,2026-07-03,"1,5"\n'
    ((rows,), remarks) = read(tmp_path, "kind: haul-log\nignore: [x]\n", log)
    assert remarks.readings == {}
    assert [each.row for each in rows.refused] == [3]


@pytest.mark.parametrize(
    ("word", "codec"), [("windows-1252", "cp1252"), ("utf-16", "utf-16"), ("utf-8", "utf-8-sig")]
)
def test_an_encoding_is_stated_and_never_guessed(tmp_path: Path, word: str, codec: str) -> None:
    log = "load\tdate\tcrew\na\t2026-07-03\tSüd\n"
    mapping = f"kind: haul-log\nseparator: tab\nencoding: {word}\n"
    ((rows,), _) = read(tmp_path, mapping, log.encode(codec))
    assert list(rows.table.crews.names) == ["", "Süd"]
    other = {"utf-8": "utf-16", "utf-16": "utf-8", "windows-1252": "utf-8"}[word]
    with pytest.raises(ProblemsFoundError, match=r"log\.csv:"):
        read(tmp_path, mapping.replace(word, other), log.encode(codec))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("find", "4", None),
        ("find", "3", "log.csv:3:1: found no cell in row 3; wanted the headers"),
        ("find", "2", "log.csv:2:1: found the column 'Depot: Dry Fork'"),
        ("find", "99", "log.csv:99:1: found no cell in row 99"),
        ("Fahrer", "Farer", "(row 4 lacks 'Farer'); wanted all headers of `columns:`"),
        ("[total", "[total", None),
        ("leave_out:", "leave_out:\n  rows: [7, 9-6]", "found '9-6'; wanted the number of a row"),
        ("leave_out:", "leave_out:\n  after_row: 11", None),
        ("{Unit: [total", "{Unti: [total", "found 'Unti' under `words:`, which is no header"),
        ("semicolon", "comma", "log.csv:4:1: found columns parted by ';'; wanted commas, or `sep"),
        ("units_row", "sheet: 2\nunits_row", "found `sheet:` for a log of the form '.csv'"),
        ("[km/h]", "kmh2", "log.csv:5:17: found the unit 'kmh2' in 'Tempo'; wanted a speed"),
    ],
)
def test_what_a_layout_says_and_the_log_lacks_is_a_problem(
    tmp_path: Path, old: str, new: str, said: str | None
) -> None:
    mapping = EUROPEAN.replace(old, new)
    log = UGLY.replace(old, new) if old == "[km/h]" else UGLY
    if new == "comma":
        mapping = mapping.replace("find", "4")
    if said is None:
        ((rows,), _) = read(tmp_path, mapping, log)
        assert list(rows.table.rows) == [6, 9, 12] if "after" not in new else [6, 9]
        return
    with pytest.raises(ProblemsFoundError, match="found") as caught:
        read(tmp_path, mapping, log)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("header", "rows", "refused"),
    [
        ("load,date,", ["a,2026-07-03,", "b,2026-07-03,x"], [3]),
        ("load,,date", ["a,,2026-07-03", "b,x,2026-07-03"], [3]),
    ],
)
def test_a_column_without_a_header_may_have_no_cell(
    tmp_path: Path, header: str, rows: list[str], refused: list[int]
) -> None:
    ((read_as,), _) = read(tmp_path, "kind: haul-log\n", "\n".join([header, *rows]) + "\n")
    assert [each.row for each in read_as.refused] == refused


SHEET = [
    ["District hauls", None, None, None],
    ["Unit", "Tag", "Figures", None],
    [None, None, "Gewicht", "Tempo"],
    [None, None, "lb", "mph"],
    ["SxS", date(2026, 7, 3), 1500, 45],
    ["JULY", None, None, None],
    ["SxS", "03.08.2026", "1,500", None],
    ["Total", None, 3000, None],
]
OF_SHEET = """\
kind: haul-log
columns: {Unit: load, Tag: date, Gewicht: articles.1.weight, Tempo: trip.speed}
dates: "%d.%m.%Y"
sheet: Sheet 1
header_row: 3
units_row: yes
leave_out: {words: {Unit: [Total]}, lone_texts: yes}
"""


def test_a_sheet_with_merged_headings(tmp_path: Path) -> None:
    """Headers in cells merged with those above; a month across the table; a day as a day."""
    other = [["load", "date"], ["SxS", date(2026, 7, 3)]]
    merged = ["A1:D1", "A2:A3", "B2:B4", "C2:D2", "A6:D6"]
    file = workbook(tmp_path / "log.xlsx", SHEET, other, merged=merged)
    ((rows,), remarks) = read_file(file, OF_SHEET)
    assert (list(rows.table.rows), list(rows.refused)) == ([5, 7], [])
    assert dict(remarks.left_out.words()) == {
        "above the headers": "rows 1, 2",
        "a text in one cell alone": "row 6",
        "'Total' in Unit": "row 8",
    }
    weight, _ = rows.table.heading.figures
    # 1,500 lb: a US text in a cell is read as ever, 4.4482216152605 N a pound
    assert rows.table.figures(weight).values == pytest.approx([1500 * 4.4482216152605] * 2)


@pytest.mark.parametrize(
    ("sheet", "said"),
    [
        ("2", None),
        ("3", "found no sheet 3 of those that are visible; wanted one of 'Sheet 1', 'Sheet 2'"),
        ("Sheet 4", "found no sheet 'Sheet 4'; wanted one of 'Sheet 1', 'Sheet 2'; did you mean"),
        (None, "found headers of hauls in the sheets 'Sheet 1' and 'Sheet 2'; wanted all hauls"),
    ],
)
def test_a_sheet_is_named_or_numbered(tmp_path: Path, sheet: str | None, said: str | None) -> None:
    table = [["load", "date"], ["SxS", date(2026, 7, 3)]]
    file = workbook(tmp_path / "log.xlsx", table, [*table, table[1]])
    mapping = "kind: haul-log\n" + (f"sheet: {sheet}\n" if sheet else "")
    if said is None:
        ((rows,), _) = read_file(file, mapping)
        assert rows.read == 2
        return
    with pytest.raises(ProblemsFoundError, match="found") as caught:
        read_file(file, mapping)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("days", "swapped"),
    [
        # 03/07/2026 was read as the 7th of March; 23/07/2026 has no 23rd month and stayed a text.
        ([date(2026, 3, 7), "23/07/2026"], True),
        ([date(2026, 3, 7), date(2026, 7, 23), "24/07/2026"], False),
        ([date(2026, 3, 7), "03/07/2026"], False),
        ([date(2026, 3, 7)], False),
    ],
)
def test_days_that_a_program_read_in_the_other_order(
    tmp_path: Path, days: list[Any], swapped: bool
) -> None:
    rows = [["load", "date"], *(["SxS", day] for day in days)]
    file = workbook(tmp_path / "log.xlsx", rows)
    _, remarks = read_file(file, 'kind: haul-log\ndates: "%d/%m/%Y"\n')
    (found,) = remarks.readings.values()
    assert found.may_be_swapped is swapped


def test_no_mapping_says_anything_about_hauls_in_yaml(tmp_path: Path) -> None:
    own = mapping_of(tmp_path, "kind: haul-log\n")
    with pytest.raises(ProblemsFoundError, match="found a mapping file for hauls in YAML"):
        open_log(tmp_path, own)
    with pytest.raises(ProblemsFoundError, match=r"`units_row:` for a log of the form '.jsonl'"):
        open_log(tmp_path / "a.jsonl", mapping_of(tmp_path, "kind: haul-log\nunits_row: yes\n"))
