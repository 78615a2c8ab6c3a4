"""The folder of a crew that every input starts from: whole, in order, and known by its outcomes."""

import io
import json
import re
import zipfile
from functools import cache
from pathlib import Path

import openpyxl
import pyarrow
import pyarrow.parquet

from checker.documents.resources import shipped_folder
from tests.equipment import EQUIPMENT

HELD = "profiles/loads/held.yaml"
"""Its straps are too weak, by the crew's rule `crew-strength`; everything else is in order."""
GOOD = "profiles/loads/good.yaml"
TRIALS = ("rear-straps-only", "too-far-back", "too-far-forward", "accessory-hook")
"""Bundled loads that a rule of the two bundled books holds, each for another reason."""
TRAILER = "profiles/trailers/flat-tandem-16.yaml"
TOW_VEHICLE = "profiles/tow-vehicles/half-ton.yaml"
MACHINE = "profiles/machines/crew-side-by-side.yaml"
TIEDOWN = "profiles/tiedowns/light-strap-1in.yaml"
CARRIER = "profiles/carriers/juniper-basin.yaml"
GEAR = "profiles/gear/juniper-basin.yaml"
SETTINGS = "cinchbook.yaml"
BOOK = "crew-rules/book.yaml"
SOURCES = "crew-rules/sources.yaml"
TABLE = "crew-rules/table.yaml"
COVERAGE = "crew-rules/coverage.yaml"
LAW = "crew-rules/law.yaml"
SHAPES = "crew-rules/shapes.yaml"
POLICY = "policy/speed.yaml"
MAPPING = "columns.yaml"
EARLIER = "earlier.json"
LOGS = {
    ".csv": "hauls.csv",
    ".jsonl": "hauls.jsonl",
    ".xlsx": "hauls.xlsx",
    ".parquet": "hauls.parquet",
}
OFFICERS_LOG = "officers.csv"
HAULS = "hauls"
A_HAUL = "hauls/first.yaml"

_SETTINGS = """\
# The crew's own rules, and two bundled books.
kind: settings
rules: [crew-rules, placement, north-america-placement, four-point-tiedown]
profiles: profiles
units: us
near: 5 %
"""
_SOURCES = """\
kind: sources
sources:
  - {id: crew-handbook, title: Handbook, issuer: the crew, edition: first, jurisdiction: any,
     read_as: text seen, look_again: 2040-01-01}
"""
_BOOK = """\
kind: rulebook
id: crew
title: The crew's own rules
jurisdiction: any
proved_on: 2026-06-01
rules:
  - id: crew-strength
    title: Straps together rated for half the weight
    question: tiedowns
    for_each: article
    requires: article.aggregate_working_load_limit >= share * article.weight
    thresholds:
      share:
        stricter: higher
        values:
          - {value: 50 %, from: 2020-01-01, source: crew-handbook, at: p. 1}
    source: crew-handbook
    at: p. 1
    basis: guidance
    level: must
    because: Straps of half the weight hold a hard stop.
    fix: Use stronger straps.
    proofs:
      - {name: at, on: 2020-01-01, given: {article.aggregate_working_load_limit: 1000 lb,
         article.weight: 2000 lb}, expect: met, origin: "0.5 x 2,000"}
      - {name: below, given: {article.aggregate_working_load_limit: 999 lb,
         article.weight: 2000 lb}, expect: not met, origin: "999 < 1,000"}
      - {name: early, on: 2019-12-31, given: {article.aggregate_working_load_limit: 1000 lb,
         article.weight: 2000 lb}, expect: not stated, origin: no figure yet}
  - id: crew-speed
    title: Not faster than the crew allows
    question: trip
    requires: trip.speed <= most
    thresholds:
      most:
        stricter: lower
        values:
          - {value: 65 mph, from: 2020-01-01, common_practice: yes}
    common_practice: yes
    basis: common practice
    level: must
    because: Sway grows with speed.
    fix: Plan the trip slower.
    proofs:
      - {name: at, on: 2020-01-01, given: {trip.speed: 65 mph}, expect: met, origin: hand}
      - {name: over, given: {trip.speed: 65.05 mph}, expect: not met, origin: hand}
      - {name: early, on: 2019-12-31, given: {trip.speed: 5 mph}, expect: not stated, origin: hand}
"""
_TABLE = """\
kind: ratings
id: crew-table
title: Straps without a mark
jurisdiction: CA
source: crew-handbook
at: table 1
from: 2020-01-01
proved_on: 2026-06-01
counts_as:
  - {device: chain, reads_device: webbing, at: note 1}
rows:
  - {device: webbing, size: 1 in, working_load_limit: 500 lb}
  - {device: webbing, size: 2 in, working_load_limit: 2000 lb}
proofs:
  - {device: webbing, size: 1 in, expect: 500 lb, origin: table 1}
  - {on: 2020-01-01, device: webbing, size: 2 in, expect: 2000 lb, origin: first day}
  - {on: 2019-12-31, device: webbing, size: 2 in, expect: no value, origin: none yet}
  - {device: webbing, size: 2 in, expect: 2000 lb, origin: table 1}
  - {device: chain, size: 2 in, expect: 2000 lb, origin: note 1}
"""
_COVERAGE = """\
kind: coverage
jurisdiction: FR
title: The handbook
source: crew-handbook
paragraphs:
  - {id: "p. 1", home: computed rule, rules: [crew-strength]}
"""
_LAW = """\
kind: law-table
id: crew-law
title: Brakes by place
jurisdiction: FR
subject: trailer brakes
from: 2020-01-01
look_again: 2027-01-01
proved_on: 2026-06-01
places:
  - place: FR
    read: text seen
    law: Code
    section: art. 1
    edition: copy of 2026
    cells:
      - {shape: crew-brakes, comparison: from, weight: 750 kg}
  - {place: FR-75C, read: not found, note: "Asked for, not had."}
"""
_SHAPES = """\
kind: law-shapes
choices:
  comparison:
    over: {within: "<=", beyond: over, at_limit: met}
    from: {within: "<", beyond: from, at_limit: not met}
shapes:
  - id: crew-brakes
    rule: trailer-brakes
    title: "[place]: brakes [beyond] {weight}"
    question: limits
    requires: "trailer.has_brakes or trailer.gross_weight [within] weight"
    limits: {weight: {kind: load, stricter: lower}}
    choices: [comparison]
    because: It is the law there.
    fix: Take a trailer with brakes.
    given: {trailer.has_brakes: no}
    proofs:
      - {name: at, given: {trailer.gross_weight: "{weight}"}, expect: "[at_limit]"}
      - {name: more, given: {trailer.gross_weight: "{weight} + 0.1 kg"}, expect: not met}
      - {name: less, given: {trailer.gross_weight: "{weight} - 0.1 kg"}, expect: met}
      - {name: braked, given: {trailer.gross_weight: 9 t, trailer.has_brakes: yes}, expect: met}
      - {name: first, on: first day, given: {trailer.gross_weight: 9 t}, expect: not met}
      - {name: early, on: day before, given: {trailer.gross_weight: 1 kg}, expect: not stated}
"""
_POLICY = """\
kind: amendment
id: crew-policy
title: The board's speed
layer: company
jurisdiction: any
changes:
  - rule: crew-speed
    threshold: most
    was: 65 mph
    value: 50 mph
    from: 2026-01-01
    common_practice: yes
    because: Two blown tyres.
    by: M. Quill
"""
_MAPPING = """\
kind: haul-log
title: The officer's table
columns:
  No.: haul
  Day: date
  Who: crew
  Plan: load
  "Machine, lb": {field: articles.1.weight, unit: lb}
  Chains crossed?: walkaround.chains_crossed
ignore: [Remarks]
dates: "%m/%d/%Y"
answers: {Y: yes, N: no}
words:
  Plan: {Light straps: profiles/loads/held.yaml, Mower: profiles/loads/good.yaml}
"""
_OFFICERS_LOG = """\
No.,Day,Who,Plan,"Machine, lb",Chains crossed?,Remarks
a-1,07/01/2026,Dry Fork,Mower,1160,Y,
a-2,07/03/2026,Cinder Rim,Light straps,2060,Y,late
"""
_HEADERS = ["load", "date", "crew", "haul", "articles.1.weight [lb]", "walkaround.chains_crossed"]
_ROWS: list[list[object]] = [
    [HELD, "2026-07-02", "Dry Fork", "a-1", 2060, "yes"],
    [GOOD, "2026-07-03", "Cinder Rim", "a-2", 1160, "yes"],
    [GOOD, "2026-07-04", "", "a-3", None, ""],
]

ROWS = len(_ROWS)
"""Hauls of each log but the officer's and the folder's."""


def trial(name: str) -> str:
    """Where one of the trials stands, away from the loads that are checked as a folder."""
    return f"trials/{name}.yaml"


def read_shipped(name: str) -> bytes:
    """One of the profiles that come with the program."""
    return Path(str(shipped_folder("profiles") / name)).read_bytes()


@cache
def base_files() -> dict[str, bytes]:
    """Every file of the project but the policy, by its path."""
    files = {
        SETTINGS: _SETTINGS,
        BOOK: _BOOK,
        SOURCES: _SOURCES,
        TABLE: _TABLE,
        COVERAGE: _COVERAGE,
        LAW: _LAW,
        SHAPES: _SHAPES,
        MAPPING: _MAPPING,
        OFFICERS_LOG: _OFFICERS_LOG,
        A_HAUL: f"kind: haul\nload: {HELD}\ndate: 2026-07-02\ncrew: Dry Fork\n"
        "differs: {articles.1.weight: 2060 lb, trip.speed: 55 mph}\n",
        "hauls/second.yaml": f"kind: haul\nload: {GOOD}\ndate: 2026-07-03\n",
        LOGS[".csv"]: _csv(),
        LOGS[".jsonl"]: "".join(f"{json.dumps(_stated(row))}\n" for row in _ROWS),
    }
    tables = {LOGS[".xlsx"]: _workbook(), LOGS[".parquet"]: _parquet()}
    return {
        HELD: read_shipped("loads/under-rated-straps.yaml"),
        GOOD: read_shipped("loads/mower-in-order.yaml"),
        **{name: text.encode() for name, text in files.items()},
        **{trial(name): read_shipped(f"loads/{name}.yaml") for name in TRIALS},
        **tables,
        **{f"profiles/{name}": read_shipped(name) for name in _rested_on()},
    }


def policy() -> dict[str, bytes]:
    """The amendment under which no load of the project may leave, and settings that name it."""
    return {
        POLICY: _POLICY.encode(),
        SETTINGS: f"{_SETTINGS}amendments: [policy]\n".encode(),
    }


def _rested_on() -> list[str]:
    """All trailers, machines and so on that come with the program."""
    inside = Path(str(shipped_folder("profiles")))
    return [
        f"{each}/{file.name}"
        for each in EQUIPMENT
        for file in sorted((inside / each).glob("*.yaml"))
    ]


def _stated(row: list[object]) -> dict[str, object]:
    pairs = zip(_HEADERS, row, strict=True)
    return {name: value for name, value in pairs if value not in (None, "")}


def _csv() -> str:
    rows = [_HEADERS, *_ROWS]
    return "".join(
        ",".join("" if cell is None else str(cell) for cell in row) + "\n" for row in rows
    )


def _workbook() -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (_HEADERS, *_ROWS):
        sheet.append(row)
    return saved(book)


def saved(book: openpyxl.Workbook) -> bytes:
    """The bytes of a workbook, the same on any day."""
    file = io.BytesIO()
    book.save(file)
    with zipfile.ZipFile(file) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    core = "docProps/core.xml"
    parts[core] = re.sub(rb"\d{4}-\d\d-\d\dT[\d:]+Z", b"2026-01-01T00:00:00Z", parts[core])
    return packed(parts)


def packed(parts: dict[str, bytes]) -> bytes:
    """A package of these parts, none of them of any particular time."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as package:
        for name, part in parts.items():
            package.writestr(zipfile.ZipInfo(name), part, zipfile.ZIP_DEFLATED)
    return file.getvalue()


def _parquet() -> bytes:
    columns = [list(column) for column in zip(*_ROWS, strict=True)]
    table = pyarrow.table(dict(zip(_HEADERS, columns, strict=True)))
    file = io.BytesIO()
    pyarrow.parquet.write_table(table, file)
    return file.getvalue()
