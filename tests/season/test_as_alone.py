"""Hauls whose columns are unlike each other: each has the same result in the log as alone."""

import json
import math
import re
from collections import Counter
from collections.abc import Sequence
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

import numpy as np
import pytest

from checker.documents.resources import shipped_folder
from checker.evaluation.gate import is_near
from checker.evaluation.tolerances import check_profile
from checker.load.plausible.reading import ENTRIES
from checker.logs.model import Refused
from checker.logs.opening import open_log
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import audit
from checker.season.hauls.digests import digest_of_log
from checker.season.hauls.loads import Loads
from checker.season.hauls.reading import read_rows
from checker.season.running.checkpoint import Checkpoint
from checker.season.running.worker import Plan
from tests.season.one_by_one import Haul, read_hauls
from tests.season.quick import quick_rules

LOADS = shipped_folder("profiles") / "loads"
SIDE_BY_SIDE = "side-by-side-in-order"
OF_PROFILES_ALONE = {entry.name for entry in ENTRIES if not entry.of_hauls}
TWO_ARTICLES = "gooseneck-two-articles-in-order"


@cache
def rules(_names: tuple[str, ...]) -> Rulebooks:
    return quick_rules()


class Found(NamedTuple):
    """What a check of a haul by itself finds of a rule."""

    rule: str
    verdict: Verdict
    margin: float | None
    near: bool
    missing: tuple[str, ...]


class Alone(NamedTuple):
    """What a check of a haul by itself finds."""

    findings: list[Found]
    doubtful: set[str]
    unread: tuple[str, ...]


_ALONE: dict[tuple[str, date], Alone] = {}


def check_alone(haul: Haul) -> Alone:
    """What a check of a haul by itself finds; hauls that state the same are checked once."""
    same = json.dumps(haul.profile.merged.data, default=repr), haul.on
    if same not in _ALONE:
        check = check_profile(haul.profile, rules(()), haul.on)
        findings = [
            Found(each.rule.id, each.verdict, each.margin, is_near(each, 0.05), each.missing)
            for each in check.findings
        ]
        doubtful = {each.name for each in check.doubts} - OF_PROFILES_ALONE
        _ALONE[same] = Alone(findings, doubtful, check.unread)
    return _ALONE[same]


def held_as_alone(log: Path) -> tuple[int, int]:
    """How many hauls of the log are on hold, and how many rows refused; each as if it were alone.

    Compares every verdict of every haul with a check of that haul by itself.
    """

    def found(name: str) -> Path:
        file = log.with_name(f"{name}.yaml")
        return file if file.is_file() else Path(str(LOADS / f"{name}.yaml"))

    root = Path(str(shipped_folder("profiles")))
    plan = Plan(rules, (), found, root, 0.05, findings=".jsonl", run=str(log))
    with TemporaryDirectory() as folder:
        work = Checkpoint(Path(folder))
        done = audit(open_log(log), plan, digest_of_log(log), work=work)
        lines = [line for file in work.findings() for line in file.read_text().splitlines()]
    verdicts: dict[tuple[int, str], tuple[str, float | None, bool]] = {}
    for line in (each for each in map(json.loads, lines) if each["kind"] == "finding"):
        verdicts[line["row"], line["rule"]] = (line["verdict"], line["margin"], line["near"])
    refused = {}
    doubtful: Counter[str] = Counter()
    unread: Counter[str] = Counter()
    missing: dict[str, Counter[str]] = {}
    wanting: Counter[str] = Counter()
    for haul in read_hauls(log, found, root=root):
        if isinstance(haul, Refused):
            refused[haul.row] = haul.reason
            continue
        assert isinstance(haul, Haul)
        alone = check_alone(haul)
        doubtful.update(alone.doubtful)
        unread.update(alone.unread)
        wanting.update({field for each in alone.findings for field in each.missing})
        for finding in alone.findings:
            if finding.missing:
                missing.setdefault(finding.rule, Counter()).update(finding.missing)
            if finding.verdict is Verdict.DOES_NOT_APPLY:
                assert (haul.row, finding.rule) not in verdicts
                continue
            verdict, margin, near = verdicts.pop((haul.row, finding.rule))
            assert (haul.row, finding.rule, verdict, near) == (
                haul.row,
                finding.rule,
                finding.verdict.value,
                finding.near,
            )
            if finding.verdict is not Verdict.NOT_STATED:
                told, wanted = (
                    math.nan if each is None else each for each in (margin, finding.margin)
                )
                assert told == pytest.approx(wanted, rel=1e-9, abs=1e-12, nan_ok=True)
    assert verdicts == {}
    # A log's figures are told as the program writes them, a profile's as they are written.
    assert {each.row: each.reason.replace(",", "") for each in done.refusals} == {
        row: said.replace(",", "") for row, said in refused.items()
    }
    assert (done.totals.doubtful, done.totals.unread) == (doubtful, unread)
    assert {rule: tally.gap for rule, tally in done.totals.rules.items() if tally.gap} == missing
    assert done.totals.missing_fields == wanting
    return done.totals.all.held, done.refused


def log_of(folder: Path, header: str, *rows: str) -> Path:
    log = folder / "hauls.csv"
    log.write_text("\n".join([header, *rows]) + "\n")
    return log


def load_of(folder: Path, name: str, like: str, *changes: tuple[str, str]) -> None:
    """A load profile like a bundled one but for some of its text."""
    text = (LOADS / f"{like}.yaml").read_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    (folder / f"{name}.yaml").write_text(text)


@pytest.mark.parametrize("header", ["articles.1.weight", "articles.1.weight (lb)"])
def test_one_row_with_another_header_for_a_field_changes_no_other_haul(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, header: str
) -> None:
    monkeypatch.setattr("checker.logs.json_lines.PART_ROWS", 3)
    row = {"load": SIDE_BY_SIDE, "date": "2026-05-14"}
    heavy = json.dumps(row | {"articles.1.weight [lb]": 9000})
    light = json.dumps(row | {header: 1400 if header.endswith(")") else "1400 lb"})
    log = tmp_path / "hauls.jsonl"
    log.write_text("\n".join([heavy, heavy, heavy, light]) + "\n")
    assert held_as_alone(log) == (3, 0)


def test_figures_of_any_size_leak_no_warning(tmp_path: Path) -> None:
    """A warning fails the test, as all do."""
    fields = ["articles.1.weight", "trip.speed", "tiedowns.1.stretch_at_limit"]
    units = ["kg", "km/h", "%"]
    rows = []
    for size in ("1e308", "1e98", "1e-306", "1 +/- 1e308"):
        for index, unit in enumerate(units):
            cells = [f"{size} {unit}" if index == at else "" for at in range(len(units))]
            rows.append(",".join([SIDE_BY_SIDE, "2026-05-14", *cells]))
    log = log_of(tmp_path, ",".join(["load", "date", *fields]), *rows)
    assert held_as_alone(log)[1] >= 2 * len(units)  # those with 1e308


def test_a_day_may_differ_from_that_of_the_load(tmp_path: Path) -> None:
    header = "load,date,trailer.built"
    rows = [f"{SIDE_BY_SIDE},2026-05-14,{built}" for built in ("", "1990-06-01", "2015-06-01")]
    assert held_as_alone(log_of(tmp_path, header, *rows)) == (0, 0)


@pytest.fixture
def many(tmp_path: Path) -> str:
    """A load with too many tolerances to check all corners; it leaves two fields unstated."""
    trailer = {
        "from": "trailers/utility-single-10",
        "gvwr": "2990 lb +/- 1 %",
        "empty_weight": "920 lb +/- 1 %",
        "empty_tongue_weight": "105 lb +/- 1 %",
        "empty_cg_height": "20 in +/- 1 %",
        "ball_height": "17 in +/- 1 %",
        "track": "86 in +/- 1 %",
        "overall_width": "97 in +/- 1 %",
        "coupler": {"rating": "3500 lb +/- 1 %", "tongue_rating": "525 lb +/- 1 %"},
        "deck": {"width": "76 in +/- 1 %"},
        "safety_chains": {"breaking_strength": "5000 lb +/- 1 %"},
    }
    load_of(
        tmp_path,
        "many",
        SIDE_BY_SIDE,
        ("trailer: trailers/utility-single-10\n", f"trailer: {json.dumps(trailer)}\n"),
        ("  chains_crossed: yes\n", ""),
        ("  tread_depth: 5/32 in\n", ""),
    )
    return "many"


@pytest.mark.parametrize(
    ("column", "cell"),
    [("walkaround.chains_crossed", "yes"), ("walkaround.tread_depth", "5/32 in")],
)
def test_a_blank_beside_many_tolerances_is_not_stated(
    tmp_path: Path, many: str, column: str, cell: str
) -> None:
    rows = [f"{many},2026-05-14,{each}" for each in (cell, "", cell)]
    held_as_alone(log_of(tmp_path, f"load,date,{column}", *rows))


def test_a_list_of_a_haul_takes_the_place_of_those_of_kin(tmp_path: Path) -> None:
    for name, first in (("a", "20 mi"), ("b", "21 mi")):
        load_of(tmp_path, name, SIDE_BY_SIDE, ("load_checks: [12 mi]", f"load_checks: [{first}]"))
    rows = [f"{name},2026-05-14,{cell}" for name in "ab" for cell in ("[90 mi]", "")]
    assert held_as_alone(log_of(tmp_path, "load,date,trip.load_checks", *rows)) == (2, 0)


@pytest.mark.parametrize(
    ("load", "column", "cells", "refused"),
    [
        (TWO_ARTICLES, "tiedowns.5.article", ("palet", "", "pallet"), 1),
        (SIDE_BY_SIDE, "tiedowns.1.anchor", ("no-such-anchor", ""), 1),
        (TWO_ARTICLES, "articles.1.name", ("dozer", ""), 1),
        (SIDE_BY_SIDE, "trailer.anchors.frontleft.working_load_limit", ("100 lb", ""), 1),
        (SIDE_BY_SIDE, "trailer.axles.mian.rating", ("2600 lb", ""), 1),
        (SIDE_BY_SIDE, "trip.load_checks.1", ("90 mi", ""), 0),
        (SIDE_BY_SIDE, "trip.load_checks.9", ("90 mi", ""), 1),
    ],
)
def test_what_leads_nowhere_is_refused(
    tmp_path: Path, load: str, column: str, cells: Sequence[str], refused: int
) -> None:
    rows = [f"{load},2026-05-14,{cell}" for cell in cells]
    assert held_as_alone(log_of(tmp_path, f"load,date,{column}", *rows))[1] == refused


def test_a_title_names_the_article_of_its_own_load_alone(tmp_path: Path) -> None:
    machine = "  - from: machines/side-by-side\n"
    for name, title in (("a", "Red one"), ("b", "Blue one")):
        load_of(tmp_path, name, SIDE_BY_SIDE, (machine, f"{machine}    title: {title}\n"))
    rows = [f"{name},2026-05-14,{title}" for name in "ab" for title in ("Red one", "Blue one", "")]
    assert held_as_alone(log_of(tmp_path, "load,date,tiedowns.1.article", *rows)) == (0, 2)
    rows = [f"{name},2026-05-14,{name} machine,{name} machine" for name in "ab"]
    log = log_of(tmp_path, "load,date,tiedowns.1.article,articles.1.title", *rows)
    assert held_as_alone(log) == (0, 0)


@pytest.mark.parametrize(
    ("column", "cells", "refused"),
    [
        # The machine is 104 in long.
        ("articles.1.cg.x", ("400 in", "104.1 in", "104 in", "103.9 in", "", "2.6416 m"), 2),
        ("articles.1.cg.x [in]", ("400", "104.1", "104", "103.9", ""), 2),
        ("articles.1.cg.x", ("105 in +/- 2 in", "107 in +/- 2 in"), 1),
        ("articles.1.length", ("20 in", "104 in", ""), 1),
    ],
)
def test_figures_the_wrong_way_round_are_refused(
    tmp_path: Path, column: str, cells: Sequence[str], refused: int
) -> None:
    load_of(tmp_path, "other", SIDE_BY_SIDE, ("date: 2026-05-14", "date: 2026-05-15"))
    rows = [f"{load},2026-05-14,{cell}" for load in (SIDE_BY_SIDE, "other") for cell in cells]
    log = log_of(tmp_path, f"load,date,{column}", *rows)
    assert held_as_alone(log)[1] == 2 * refused


@pytest.mark.parametrize(
    ("columns", "cells", "refused"),
    [
        # Its straps break at 10000 lb; a third is 3,333 lb, and the table gives 2,000 lb for 2 in.
        (
            "tiedowns.1.marked_working_load_limit",
            ("10000 lb", "9999 lb", "4001 lb", "3999 lb", "3401 lb", "3333 lb", "", "5000 kg"),
            2,
        ),
        ("tiedowns.1.marked_working_load_limit [lb]", ("10000 +/- 1", "10002 +/- 1", "3000"), 1),
        ("articles.1.mower_deck_rests", ("yes", "no", ""), 1),
        (
            "walkaround.chains_crossed,trailer.safety_chains.count",
            ("yes,0", "no,2", ",1", "yes,"),
            2,
        ),
        ("trailer.brakes", ("none", "electric", ""), 0),
        ("trip.places", ("US-UT; US-NV", "US-UT; CH", "MX", "US-UT", ""), 1),
        ("articles.1.friction", ("1.01", "1", "0.3", ""), 1),
        ("articles.1.weight", ("20 lb", "90 lb", "1400 lb", "26000 kg", ""), 0),
        ("articles.1.placed.y", ("10 in", "-20 in", "20 in", "100 in", ""), 1),
    ],
)
def test_what_cannot_be_is_refused_and_what_is_doubtful_is_counted(
    tmp_path: Path, columns: str, cells: Sequence[str], refused: int
) -> None:
    # The two loads are of one shape and differ in a figure.
    load_of(tmp_path, "other", SIDE_BY_SIDE, ("date: 2026-05-14", "date: 2026-05-15"))
    rows = [f"{load},2026-05-14,{cell}" for load in (SIDE_BY_SIDE, "other") for cell in cells]
    log = log_of(tmp_path, f"load,date,{columns}", *rows)
    assert held_as_alone(log)[1] == 2 * refused


@pytest.mark.parametrize("place", ["", "US-UT", "US-LA", "US-UT; US-LA", "US"])
def test_the_rules_of_the_day_count_where_a_haul_states_where_it_goes(
    tmp_path: Path, place: str
) -> None:
    """Louisiana's rule for light trailers changes on 2026-08-01; the profile goes through Utah."""
    days = ("2026-07-31", "2026-08-01")
    cells = [(day, where) for day in days for where in (place, "US-LA")]
    rows = [f"{SIDE_BY_SIDE},{day},{where}" for day, where in cells]
    held_as_alone(log_of(tmp_path, "load,date,trip.places", *rows))


def test_days_on_which_rules_change_elsewhere_divide_no_hauls(tmp_path: Path) -> None:
    """The profile goes through Utah; Louisiana changes a rule on 2026-08-01."""
    grouping = Loads(lambda name: LOADS / f"{name}.yaml", None, [quick_rules()]).grouping(
        (SIDE_BY_SIDE,)
    )
    rows = [f"{SIDE_BY_SIDE},{day},1400 lb" for day in ("2026-07-31", "2026-08-01")]
    for columns, more, count in (("", "", 1), (",trip.places", ",US-LA", 2)):
        header = f"load,date,articles.1.weight{columns}"
        log = open_log(log_of(tmp_path, header, *(f"{row}{more}" for row in rows)))
        (part,) = log.parts
        table = read_rows(part, log.mapping).table
        assert len(list(grouping.chunks(table, np.zeros(2, dtype=np.intp)))) == count


def test_a_county_that_no_rulebook_names_is_refused(tmp_path: Path) -> None:
    rows = [f"{SIDE_BY_SIDE},2026-05-14,{place}" for place in ("US-UT-BASIN", "US-UT", "US-CL")]
    load_of(tmp_path, "mine", SIDE_BY_SIDE, ("places: [US-UT]", "places: [US-UT-BASIN]"))
    rows += [f"mine,2026-05-14,{place}" for place in ("", "US-UT")]
    log = log_of(tmp_path, "load,date,trip.places", *rows)

    def found(name: str) -> Path:
        return tmp_path / "mine.yaml" if name == "mine" else Path(str(LOADS / f"{name}.yaml"))

    root = Path(str(shipped_folder("profiles")))
    plan = Plan(rules, (), found, root, 0.05, run=str(log))
    done = audit(open_log(log), plan, digest_of_log(log))
    assert [(each.row, each.reason.partition(";")[0]) for each in done.refusals] == [
        (2, "found the county 'US-UT-BASIN'"),
        (4, "trip.places: found 'US-CL'"),
        (5, f"{tmp_path / 'mine.yaml'}: found the county 'US-UT-BASIN'"),
    ]
    # Where a haul goes elsewhere, it does not matter what its profile says.
    assert done.checked == 2


def test_a_haul_that_says_a_tiedown_pulls_a_way_it_does_not_is_refused(tmp_path: Path) -> None:
    """The first strap goes forward; profiles that say otherwise are refused as well."""
    rows = [f"{SIDE_BY_SIDE},2026-05-14,{ways}" for ways in ("forward", "rearward", "")]
    log = log_of(tmp_path, "load,date,tiedowns.1.pulls", *rows)
    root = Path(str(shipped_folder("profiles")))
    plan = Plan(rules, (), lambda name: LOADS / f"{name}.yaml", root, 0.05, run=str(log))
    done = audit(open_log(log), plan, digest_of_log(log))
    (refused,) = done.refusals
    assert refused.row == 3
    assert refused.reason == (
        "found 'rearward' among the pulls of tiedown 1 at front-left; "
        "wanted the ways given by its two ends, forward, left, down, or no `pulls`"
    )


def test_a_very_large_number_spoils_no_other_haul(tmp_path: Path) -> None:
    rows = [f"{SIDE_BY_SIDE},2026-05-14,{cell}" for cell in ("1e300", "1400", "")]
    held_as_alone(log_of(tmp_path, "load,date,articles.1.weight [lb]", *rows))


def test_each_haul_waits_for_the_fields_that_it_does_not_state(tmp_path: Path) -> None:
    text = (LOADS / "missing-information.yaml").read_text("utf-8")
    nowhere = text.replace("  places: [US-UT]\n", "")
    empty = re.sub(r"articles:.*(?=walkaround:)", "", text, flags=re.DOTALL)
    for name, content in (("some", text), ("nowhere", nowhere), ("empty", empty)):
        (tmp_path / f"{name}.yaml").write_text(content, "utf-8")
        # Of the same shape, so that they are evaluated together.
        (tmp_path / f"{name}-too.yaml").write_text(content.replace("size: 2 in", "size: 3 in"))
    rows = []
    for name in ("some", "nowhere", "empty"):
        answer = "" if name == "empty" else "yes"
        rows += [
            f"{name},2026-05-14,,,,",
            f"{name},2026-05-14,55 mph,,9000 lb,{answer}",
            f"{name}-too,2026-05-14,,,9000 lb +/- 2 %,",
            f"{name}-too,2026-05-14,,12000 lb,,{answer}",
        ]
    columns = "trip.speed,trailer.gvwr,tow_vehicle.gcwr,tiedowns.4.adjustable"
    assert held_as_alone(log_of(tmp_path, f"load,date,{columns}", *rows))[1] == 0
