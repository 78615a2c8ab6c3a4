"""Invented logs of the Juniper Basin Trail District as people keep them: none is of this form."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

import openpyxl
import pyarrow
import pyarrow.parquet


def text(lines: str, codec: str = "utf-8", end: str = "\n") -> Callable[[Path], None]:
    def write(file: Path) -> None:
        file.write_bytes(lines.strip("\n").replace("\n", end).encode(codec))

    return write


def book(
    sheets: Mapping[str, Sequence[Sequence[Any]]], merged: Mapping[str, Sequence[str]] | None = None
) -> Callable[[Path], None]:
    def write(file: Path) -> None:
        made = openpyxl.Workbook()
        made.remove(made.worksheets[0])
        for name, rows in sheets.items():
            sheet = made.create_sheet(name)
            for row in rows:
                sheet.append(list(row))
            for cells in (merged or {}).get(name, ()):
                sheet.merge_cells(cells)
        made.save(file)

    return write


def parquet(columns: Mapping[str, Sequence[Any]]) -> Callable[[Path], None]:
    def write(file: Path) -> None:
        pyarrow.parquet.write_table(pyarrow.table(dict(columns)), file)

    return write


FLEET: Final = """
"Juniper Basin Trail District - fleet system, movements"
"Printed 08/01/2026 06:12 by depot 4"
"Filter: towed equipment"

Ticket #,Unit #,Trlr,Date of haul,Driver,GVW,Wt (lbs),Remarks
1001,SxS,T-12,07/03/2026,Dow,"9,900","1,420",
1002,SxS,T-12,07/23/2026,Roe,"9,950","1,435",late
1003,Mower,T-07,07/24/2026,Dow,"8,100",,
,Total,,,,"27,950","2,855",
"Notes: GVW as weighed at the yard"
"""
EUROPEAN: Final = """
Nr.;Maschine;Datum;Fahrer;Gewicht [kg];Tempo (km/h);Licht;Bemerkung
1;SxS;03.07.2026;Süd;650,5;72,5;ja;
2;SxS;23.07.2026;Süd;1.200;;nein;zu schwer
3;SxS;24.07.2026;Nord;;;ja;
Summe;;;;1.850,5;;;
"""
TABS: Final = """
Day\tCrew\tMachine\tMPH\tChains crossed?\tPin in?
7/3/26\tnorth\tSxS\t45\tY\tY
7/23/26\tsouth\tSxS\t\tN\tY
"""
BOTH_ORDERS: Final = """
Unit,Date,Operator,Weight
SxS,05/06/2026,Dow,1420 lb
SxS,07/08/2026,Roe,1430 lb
"""
MIXED_ORDERS: Final = """
Unit,Date,Operator,Weight
SxS,05/23/2026,Dow,1420 lb
SxS,23/05/2026,Roe,1430 lb
SxS,04/05/2026,Roe,1430 lb
"""
PAGES: Final = """
Equipment,Haul date,Weight,Speed,Jack up
,,lb,mph,
SxS,2026-07-03,1420,45,yes
JULY SO FAR,,,,
Equipment,Haul date,Weight,Speed,Jack up
SxS,2026-07-23,1430,,no
,,,,
"""
NO_LOAD: Final = """
Day,Who,Miles,Weather
2026-07-03,Dow,21,fair
2026-07-04,Roe,35,rain
"""
CHECKLIST: Final = """
JUNIPER BASIN TRAIL DISTRICT,,,,,,,,,,,
Equipment movement checklist FY26,,,,,,,,,,,
,,,,,,,,,,,
Date,Unit #,Driver,Truck,Trlr,Straps tight,Chains X'd?,Lights,Breakaway,Tire psi,Mileage,Init.
6/1/2026,SxS,R. Dow,2214,T-07,X,X,OK,OK,65,21.4,rd
6/2/2026,SxS,A. Roe,2214,T-12,X,,OK,N/A,60,12,ar
6/15/2026,SxS,A. Roe,2214,T-12,X,X,one out,OK,60,12,ar
,,,,,,,,,,,
Total miles,,,,,,,,,,45.4,
Supervisor: ______________,,,,,,,,,,,
"""
JSON_LINES: Final = """
{"unit": "SxS", "day": "2026-07-03", "driver": "Dow", "scale": {"weight": 1420}, "ok": true}
{"unit": "SxS", "day": "2026-07-04", "driver": "Roe", "scale": {"weight": null}, "ok": true}
"""
OWN: Final = """
load,date,crew,articles.1.weight [lb],walkaround.chains_crossed
loads/side-by-side-in-order,2026-07-03,Dow,1420,yes
"""
DAY: Final = date(2026, 7, 3)
TWO_SHEETS: Final = {
    "Read me": [["How to fill in this book"], ["Ask the yard"]],
    "2025": [["Unit", "Date", "Weight (lb)"], ["SxS", date(2025, 7, 3), 1400]],
    "2026": [
        ["Unit", "Date", "Weight (lb)", "Lights ok"],
        ["SxS", DAY, 1420, "Y"],
        ["SxS", datetime(2026, 7, 4, 6, 30), 1430, "N"],
        ["SxS", datetime(2026, 7, 5, 6, 30), 1430, "n/a"],
    ],
}
GROUPED: Final = {
    "Hauls": [
        ["District hauls 2026", None, None, None, None],
        ["Unit", "Date", "Figures", None, "Notes"],
        [None, None, "Weight", "Speed", None],
        [None, None, "lb", "mph", None],
        ["SxS", DAY, 1500, 45, None],
        ["JULY", None, None, None, None],
        ["SxS", date(2026, 7, 4), 1420, None, "wet"],
        ["TOTAL:", None, 2920, None, None],
    ]
}
GAPS: Final = {
    "Sheet1": [
        [None, "Unit", None, "Date", "Driver", None, "Driver"],
        [None, "SxS", None, "03-Jul-2026", "Dow", None, "Roe"],
        [None, "SxS", None, "04-Jul-2026", "Roe", None, None],
    ]
}

SHEETS: Final[Mapping[str, Callable[[Path], None]]] = {
    "fleet.csv": text(FLEET, "utf-8-sig", "\r\n"),
    "european.csv": text(EUROPEAN, "cp1252", "\r\n"),
    "tabs.csv": text(TABS, "utf-16"),
    "checklist.csv": text(CHECKLIST),
    "both-orders.csv": text(BOTH_ORDERS),
    "mixed-orders.csv": text(MIXED_ORDERS),
    "pages.csv": text(PAGES),
    "no-load.csv": text(NO_LOAD),
    "lines.jsonl": text(JSON_LINES),
    "own.csv": text(OWN),
    "two-sheets.xlsx": book(TWO_SHEETS),
    "grouped.xlsx": book(
        GROUPED, {"Hauls": ["A1:E1", "A2:A4", "B2:B4", "C2:D2", "E2:E4", "A6:E6"]}
    ),
    "gaps.xlsx": book(GAPS),
    "frame.parquet": parquet(
        {"Machine": ["SxS", "SxS"], "When": [DAY, DAY], "Weight lb": [1420.0, None], "x": [1, 2]}
    ),
}
"""What writes each log."""
