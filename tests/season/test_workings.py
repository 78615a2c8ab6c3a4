"""Workings of some hauls of a log: only the requested rows, each with the origin of its values."""

import json
import re
from collections.abc import Collection
from pathlib import Path

import pytest

from checker.cli.chosen_rules import read_rules
from checker.cli.named_loads import LoadFinder
from checker.evaluation.tolerances import check_profile
from checker.logs.model import Refused
from checker.logs.opening import open_log
from checker.season.hauls.hauls import Haul, read_hauls
from checker.season.hauls.loads import Loads
from checker.season.records import workings
from tests.season import one_by_one

LOG = """\
load,date,crew,articles.1.weight [lb],trip.places
loads/side-by-side-in-order,2026-05-14,north,1500,US-UT; MX
loads/nowhere,2026-05-14,north,,
loads/mower-in-order,2026-05-15,south,,
loads/side-by-side-in-order,2026-05-16,,-3,
loads/side-by-side-in-order,2026-05-17,,1900,
"""


@pytest.fixture
def log(tmp_path: Path) -> Path:
    file = tmp_path / "hauls.csv"
    file.write_text(LOG)
    return file


def hauls(log: Path, wanted: Collection[int] | None = None) -> list[Haul | Refused]:
    return read_hauls(open_log(log), Loads(LoadFinder(), None, [read_rules(["coupling"])]), wanted)


def test_only_the_rows_wanted_are_built(log: Path) -> None:
    assert [each.row for each in hauls(log)] == [2, 3, 4, 5, 6]
    some = hauls(log, {2, 3, 5})
    assert [(type(each), each.row) for each in some] == [(Haul, 2), (Refused, 3), (Refused, 5)]


@pytest.mark.parametrize("wanted", [None, {2, 6}])
def test_hauls_are_those_that_are_written_out_by_hand(log: Path, wanted: set[int] | None) -> None:
    ours = [each for each in hauls(log, wanted) if isinstance(each, Haul)]
    by_hand = [
        each
        for each in one_by_one.read_hauls(log, LoadFinder())
        if isinstance(each, one_by_one.Haul) and (wanted is None or each.row in wanted)
    ]
    assert [(each.row, each.on, each.profile.file) for each in ours] == [
        (each.row, each.on, each.profile.file) for each in by_hand
    ]
    written, expected = (
        re.sub(r"[0-9]+\.[0-9]{6,}", lambda number: f"{float(number[0]):.9g}", json.dumps(data))
        for data in ([each.profile.merged.data for each in hauls] for hauls in (ours, by_hand))
    )
    assert written == expected


def test_a_working_is_the_check_of_that_haul_alone(log: Path) -> None:
    rules = read_rules(["coupling", "makers-ratings"])
    found = list(workings.workings(log, [6, 2, 4, 5], rules, LoadFinder()))
    # The fifth row can no longer be read.
    assert [each.row for each in found] == [2, 4, 6]
    alone = {
        each.row: check_profile(each.profile, rules, each.on)
        for each in hauls(log)
        if isinstance(each, Haul)
    }
    for each in found:
        assert each.check is not None
        assert [finding.verdict for finding in each.check.findings] == [
            finding.verdict for finding in alone[each.row].findings
        ]
    first, second, _ = found
    assert first.labels.trailer == "trailers/utility-single-10"
    assert dict(first.stated) == {
        "articles.1.weight": "1500 lb",
        "trip.places": "[US-UT, MX]",
    }
    assert second.stated == []


def test_a_cell_stands_in_its_row_of_the_log(log: Path) -> None:
    (haul,) = hauls(log, {2})
    assert isinstance(haul, Haul)
    origins = haul.profile.load({}).origins
    assert str(origins["articles.1.weight"]) == f"{log}:2"
    assert str(origins["trip.places"]) == f"{log}:2"
    assert origins["articles.1.placed.x"].file.endswith("side-by-side-in-order.yaml")
    axle = origins["articles.1.axles.front.weight"]
    # 610 lb of 1,420 lb, and 1,500 lb that day.
    assert axle.text == "644.366197183 lb"
    assert str(axle).endswith("side-by-side.yaml:14, scaled with the weight in row 2")


def test_only_the_worst_are_worked_out(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workings, "MOST_WORKED", 1)
    found = workings.workings(log, [6, 2, 4], read_rules(["coupling"]), LoadFinder())
    assert [(each.row, each.check is not None) for each in found] == [
        (2, False),
        (4, False),
        (6, True),
    ]


def test_references_start_from_the_folder_asked_for(tmp_path: Path) -> None:
    ours = tmp_path / "ours"
    (ours / "trailers").mkdir(parents=True)
    (ours / "trailers" / "small.yaml").write_text(
        "kind: trailer\ntitle: Small one\ngvwr: 1000 lb\n"
    )
    load = tmp_path / "load.yaml"
    load.write_text(
        "kind: load\ntitle: A load\ntrailer: trailers/small\narticles: [{weight: 100 lb}]\n"
    )
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\nload,2026-05-14\n")
    (away,) = workings.workings(log, [2], read_rules(["coupling"]), lambda _: load, root=ours)
    assert away.labels.titles["trailer"] == {"trailers/small": "Small one"}
    assert list(workings.workings(log, [2], read_rules(["coupling"]), lambda _: load)) == []
