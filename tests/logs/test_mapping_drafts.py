"""Proposed mapping files: each is valid, says what to decide, and reads the log after few edits."""

import json
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from checker import __version__
from checker.documents.problems import ProblemsFoundError
from checker.logs.drafting.headers import meant_by
from checker.logs.drafting.mapping_text import mapping_text
from checker.logs.mapping import read_mapping
from checker.logs.opening import open_log
from checker.logs.remarks import Remarks
from checker.reports.pages.comparison import sections
from checker.season.comparing import compare
from checker.season.hauls.reading import read_rows
from checker.season.record import read_earlier
from checker.upkeep.drafting.text import faults
from tests.calling import call
from tests.logs.test_layout import read_file, workbook
from tests.logs.ugly_sheets import SHEETS

LOADS = ["loads/side-by-side-in-order", "loads/mower-in-order"]
IGNORE = (r"# ignore:", "ignore:")
SXS = ("SxS: SxS ", "SxS: loads/side-by-side-in-order ")


def drafted(folder: Path, name: str) -> tuple[Path, str]:
    log = folder / name
    SHEETS[name](log)
    text = mapping_text(log, LOADS, LOADS.__contains__)
    assert faults(text, "haul-log") == []
    return log, text


def lines(text: str, *begin: str) -> list[str]:
    """The lines of a text that begin so, with one space before remarks."""
    found = [line for line in text.splitlines() if line.lstrip().startswith(begin)]
    return [re.sub(" +", " ", line).strip() for line in found]


# By log: what an officer changes, then the rows checked, refused and left out.
EDITS: dict[str, tuple[Sequence[tuple[str, str]], tuple[int, int, int]]] = {
    "fleet.csv": ([IGNORE, SXS], (3, 0, 5)),
    "european.csv": ([IGNORE, SXS], (3, 0, 1)),
    "tabs.csv": ([SXS], (2, 0, 0)),
    "checklist.csv": (
        [
            IGNORE,
            SXS,
            ("trip.distance ", "trip.distance [mi] "),
            ("OK:", "X: yes\n  one out: no\n  OK:"),
        ],
        (3, 0, 4),
    ),
    "both-orders.csv": ([('# dates: "%m', 'dates: "%m'), SXS], (2, 0, 0)),
    "pages.csv": ([SXS], (2, 0, 2)),
    "no-load.csv": ([IGNORE, ("ignore: .Weather.", ""), ("Who: crew", "Weather: load")], (2, 0, 0)),
    "lines.jsonl": ([IGNORE, SXS, ("articles.1.weight ", "articles.1.weight [lb] ")], (2, 0, 0)),
    "own.csv": ([], (1, 0, 0)),
    "two-sheets.xlsx": ([SXS, ("Y: yes", "Y: yes\n  n/a: no")], (3, 0, 0)),
    "grouped.xlsx": ([IGNORE, SXS], (2, 0, 4)),
    "frame.parquet": ([IGNORE, SXS], (2, 0, 0)),
}


@pytest.mark.parametrize("name", EDITS)
def test_after_few_edits_the_log_is_read(tmp_path: Path, name: str) -> None:
    log, text = drafted(tmp_path, name)
    changes, expected = EDITS[name]
    for old, new in changes:
        assert re.search(old, text), old
        text = re.sub(old, new, text, count=1)
    if name == "no-load.csv":
        text += "ignore: [Who]\n"
    (tmp_path / "mapping.yaml").write_text(text)
    mapping = read_mapping(tmp_path / "mapping.yaml")
    remarks, checked, refused = Remarks(), 0, 0
    for part in open_log(log, mapping).parts:
        rows = read_rows(part, mapping)
        checked, refused = checked + len(rows.sound), refused + len(rows.refused)
        remarks.merge(rows.remarks)
    remarks.refuse_contradicted(str(log))
    assert (checked, refused, remarks.left_out.total) == expected


HOSTILE = [
    '{"load": "\\ud800", "date": "2026-07-03"}',
    "[" * 5000,
    '{"a":' * 900 + "1" + "}" * 900,
    '{"load": NaN, "date": 1e999, "": {"": [{}]}}',
    "9" * 5000,
]


@pytest.mark.parametrize(
    ("name", "log"),
    [
        ("a.jsonl", "\n".join(HOSTILE)),
        ("quote.csv", 'unit,date\n"a,2026-07-03\nb,2026-07-03\n'),
        ("long.csv", "unit,date," + "h" * 400 + "\n" + "x" * 200_000 + ",2026-07-03,\n"),
        ("signs.csv", '\x00\x01,true,null,#1,a: b,- c,{d},"\'e",\u2028f\n1,2,3,4,5,6,7,8,9\n'),
        ("named.csv", 'yes,no,~,*a,&b,!c,%d,@e,`f,|g,>h,?,: i,[j],"k\nl"\n' + "Total" + 14 * ","),
    ],
)
def test_whatever_a_log_holds_the_proposal_is_valid(tmp_path: Path, name: str, log: str) -> None:
    (tmp_path / name).write_text(log)
    text = mapping_text(tmp_path / name, LOADS, LOADS.__contains__)
    assert faults(text.replace("# ignore:", "ignore:"), "haul-log") == []


def drafted_from(folder: Path, log: str) -> str:
    (folder / "log.csv").write_text(log)
    return mapping_text(folder / "log.csv", LOADS, LOADS.__contains__)


def test_days_written_in_several_ways_are_counted_each_with_its_first_row(tmp_path: Path) -> None:
    days = ["05/01/2026", "5/2/26", "2026-05-03", "05/23/2026", "5/2/26", "", "05/04/2026"]
    rows = "".join(f"loads/mower-in-order,{day},5\n" for day in days)
    text = drafted_from(tmp_path, f"Load,Date,Miles\n{rows}")
    assert (
        "Date: it could be date, but its days are written in 3 ways; write all in one way in the "
        "log: 05/01/2026 (3 cells, first in row 2), 5/2/26 (2 cells, first in row 3), 2026-05-03 "
        "(1 cell, first in row 4)" in " ".join(text.replace("\n## ", " ").split())
    )


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ("ok,,OK,", "its cells are 'ok' and 'OK', or blank: none says no"),
        ("n,n", "its cells are 'n': none says yes"),
        ("y,n,y,", "its cells are yes and no"),
    ],
)
def test_a_column_of_answers_is_described_by_its_words(
    tmp_path: Path, cells: str, said: str
) -> None:
    rows = "".join(f"loads/mower-in-order,2026-05-14,{cell}\n" for cell in cells.split(","))
    assert f"Zzz: {said}\n" in drafted_from(tmp_path, f"Load,Date,Zzz\n{rows}")


@pytest.mark.parametrize("name", ["fleet.csv", "checklist.csv", "both-orders.csv"])
def test_what_is_no_line_to_use_is_marked_as_prose(tmp_path: Path, name: str) -> None:
    _, text = drafted(tmp_path, name)
    usable = {line.split(":")[0] for line in text.splitlines() if line.startswith("# ")}
    assert usable <= {"# ignore", "# dates", "# decimal"}
    assert usable
    assert "take `# ` off it" in text


def test_headers_over_several_lines_are_named_on_one(tmp_path: Path) -> None:
    header = ["Unit\nno.", "Date", "Machine weight\r\n(lb)"]
    file = workbook(tmp_path / "log.xlsx", [header, ["SxS", date(2026, 7, 3), 1500]])
    text = mapping_text(file, ["SxS"], ["SxS"].__contains__)
    assert lines(text, "Unit", "Machine") == [
        "Unit no.: load",
        "Machine weight (lb): articles.1.weight [lb]",
    ]
    ((rows,), _) = read_file(file, text)
    assert (list(rows.table.rows), list(rows.refused)) == ([2], [])


def test_what_is_found_in_a_fleet_systems_export(tmp_path: Path) -> None:
    _, text = drafted(tmp_path, "fleet.csv")
    assert lines(
        text, "header_row", '"', "Date", "Driver", "Wt", "dates", "# ignore:", "##   "
    ) == [
        "header_row: 5 # the row of the headers",
        '"Ticket #": haul',
        '"Unit #": load',
        "Date of haul: date",
        "Driver: crew",
        "Wt (lbs): articles.1.weight [lb]",
        "## Trlr: the load profile says which trailer; make a profile for each pair",
        "## GVW: no rule reads a gross weight of the day; the rating is trailer.gvwr",
        "# ignore: [Trlr, GVW, Remarks]",
        'dates: "%m/%d/%Y"',
        '"Unit #":',
        '"Unit #": [Total]',
    ]
    assert "Mower: loads/mower-in-order" in text


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("european.csv", ["encoding: windows-1252", "separator: semicolon", "decimal: comma"]),
        ("tabs.csv", ["encoding: utf-16", "separator: tab", "MPH: trip.speed [mph]", "Y: yes"]),
        (
            "checklist.csv",
            [
                "as in trip.distance [mi]",
                "words of 'Straps tight' mean yes or no, as rows with others are refused: 'X'",
                "a blank counts as the answer of the load profile, not as no.",
                "ignore: [Truck, Trlr, Breakaway, Init.]",
                "Tire psi: walkaround.lowest_cold_pressure [psi]",
            ],
        ),
        ("both-orders.csv", ["TODO: every day fits both orders", 'dates: "%d/%m/%Y"']),
        ("mixed-orders.csv", ["in two orders, such as 05/23/2026 and 23/05/2026; the log is"]),
        ("pages.csv", ["units_row: yes", "repeated_headers: yes", "lone_texts: yes"]),
        ("no-load.csv", ["TODO: no column is clearly the load, and no haul is checked without"]),
        ("lines.jsonl", ["TODO: the figures have no unit; add it, as in articles.1.weight [lb]"]),
        ("own.csv", ["Every header names its field: the log needs no mapping file."]),
        ("two-sheets.xlsx", ['sheet: "2026"', "hauls also in: 2025", "'n/a'", "N: no"]),
        ("grouped.xlsx", ["header_row: 3", "units_row: yes", 'Unit: ["TOTAL:"]', "ignore: [Not"]),
        ("gaps.xlsx", ["Driver: crew", "TODO: 2 columns have this header: rename one"]),
        ("frame.parquet", ["When: date", "check: the one column of days"]),
    ],
)
def test_what_must_be_decided_is_said(tmp_path: Path, name: str, said: Sequence[str]) -> None:
    _, text = drafted(tmp_path, name)
    flat = " ".join(text.replace("\n## ", " ").split())
    assert [each for each in said if each not in flat] == []


@pytest.mark.parametrize(
    ("header", "field", "unit"),
    [
        ("Unit #", "load", None),
        ("DRIVER NAME", "crew", None),
        ("Machine, lb", "articles.1.weight", "lb"),
        ("Top speed (mph)", "trip.speed", "mph"),
        ("Chains crossed?", "walkaround.chains_crossed", None),
        ("Coupler pin in", "walkaround.coupler_pin_in", None),
        ("Breakaway", None, None),  # connected, charged, or works?
        ("GVW", None, None),
        ("Tire pressure (psi)", "walkaround.lowest_cold_pressure", "psi"),
        ("articles.1.weight [kg]", "articles.1.weight", "kg"),
        ("Weather", None, None),
        ("", None, None),
    ],
)
def test_what_a_header_means(header: str, field: str | None, unit: str | None) -> None:
    assert meant_by(header)[:2] == (field, unit)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("empty.csv", b"", "empty.csv:1:1: found a log without a row of headers"),
        ("log.ods", b"x", "log.ods:1:1: found a log of the form '.ods'; wanted a log with columns"),
        ("bad.xlsx", b"x", "bad.xlsx:1:1: found a file that is no XLSX workbook"),
        ("bad.parquet", b"x", "bad.parquet:1:1: found a file that is no Parquet"),
        (
            "hauls.yaml",
            b"",
            "found hauls in YAML, which name their fields themselves; wanted a log",
        ),
        ("none.csv", None, "none.csv:1:1: found a file that cannot be read"),
    ],
)
def test_a_log_that_cannot_be_read_is_a_problem(
    tmp_path: Path, name: str, content: bytes | None, said: str
) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(ProblemsFoundError, match="found") as caught:
        mapping_text(tmp_path / name, LOADS, LOADS.__contains__)
    assert said in str(caught.value)


def test_an_officer_drafts_a_mapping_edits_it_and_audits(tmp_path: Path) -> None:
    def run(*words: str) -> tuple[int, str]:
        done = call(tmp_path, *words, COLUMNS="200")
        return done.returncode, done.stdout + done.stderr

    SHEETS["european.csv"](tmp_path / "hauls.csv")
    code, shown = run("audit", "hauls.csv")
    assert "next: cinchbook draft mapping hauls.csv mapping.yaml, then audit with --co" in shown
    assert run("draft", "mapping", "hauls.csv", "mapping.yaml") == (
        0,
        "wrote mapping.yaml\nnext: decide what TODO says in mapping.yaml, then cinchbook audit "
        "hauls.csv --columns mapping.yaml\n",
    )
    assert run("draft", "mapping", "hauls.csv")[1] == (tmp_path / "mapping.yaml").read_text()
    assert (
        "found 'mapping.yaml' there already"
        in run("draft", "mapping", "hauls.csv", "mapping.yaml")[1]
    )
    assert "wanted `cinchbook draft mapping LOG MAPPING`" in run("draft", "mapping")[1]
    SHEETS["own.csv"](tmp_path / "own.csv")
    shown = run("draft", "mapping", "own.csv", "own.yaml")[1]
    assert "\nnext: cinchbook audit own.csv --columns own.yaml" in shown
    assert "wanted it for `draft mapping` alone" in run("draft", "load", "a.yaml", "b.yaml")[1]
    text = (tmp_path / "mapping.yaml").read_text()
    text = text.replace("# ignore:", "ignore:").replace(
        "SxS: SxS", "SxS: loads/side-by-side-in-order"
    )
    (tmp_path / "mapping.yaml").write_text(text)
    code, shown = run(
        *("audit", "hauls.csv", "--columns", "mapping.yaml", "--write", "json=a.json,csv=a.csv")
    )
    assert code == 1, shown
    assert "4 rows read: 3 checked, 0 refused, 1 left out" in shown
    assert "! 1 row left out as the mapping file says: row 5 ('Summe' in Nr.)" in shown
    assert "! 1 figure under 'Gewicht [kg]' fits a decimal comma and a decimal point" in shown
    data: Any = json.loads((tmp_path / "a.json").read_text())
    assert data["read"] == data["judged"] + data["refused"] + data["left_out"] == 4
    assert data["left_out_rows"] == [{"reason": "'Summe' in Nr.", "rows": 1, "first": [5]}]
    assert "left out,'Summe' in Nr.," in (tmp_path / "a.csv").read_text()
    then = read_earlier(tmp_path / "a.json", __version__)
    now = replace(then, left_out=3, read=6)
    totals = [line for _, lines in sections(compare(then, now)) for line in lines]
    assert "rows left out: 3 of 6; then 1 of 4" in totals
