"""An audit against a deliberately naive loop over the same hauls, and what people see of it."""

import json
import os
import random
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from subprocess import CompletedProcess
from typing import TYPE_CHECKING

import pytest

from checker.documents.resources import shipped_folder
from checker.evaluation.gate import is_near
from checker.evaluation.outcome import Outcome
from checker.evaluation.tolerances import check_profile
from checker.logs import csv_log
from checker.logs.model import Refused
from checker.logs.opening import open_log
from checker.reports.audit_forms.json import audit_json
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from checker.season.audit import Audit, audit
from checker.season.hauls.days import turning_days
from checker.season.hauls.digests import digest_of_log
from checker.season.hauls.loads import HaulsOfLoad
from checker.season.running import tasks
from checker.season.running.executors import processes
from checker.season.running.worker import Plan, Worker
from checker.season.totals import Totals
from tests.calling import call
from tests.season.one_by_one import Haul, read_hauls
from tests.season.quick import quick_rules

if TYPE_CHECKING:
    from checker.evaluation.check import Check

NEAR = 0.05
HEADER = (
    "load,date,crew,articles.1.weight [lb],articles.1.placed.x,trip.speed,trip.places,"
    "walkaround.chains_crossed,trailer.gvwr,driver.licence"
)
BUNDLED = (
    "side-by-side-in-order",
    "scale-tolerances",
    "missing-information",
    "variance-late-first-stop",
    "gooseneck-two-articles-in-order",
    "too-far-back",
)
# The same with the figures of two other fleets: loads of one shape, evaluated together.
LOADS = [f"{name}{fleet}" for name in BUNDLED for fleet in ("", "-000", "-001")]


def quick(rules: tuple[str, ...]) -> Rulebooks:
    """The shipped rules without those that ask for a linear programme, which take long."""
    assert rules == ("shipped",)
    return quick_rules()


def found(name: str) -> Path:
    fleets = Path(os.environ["FLEETS_OF_TESTS"], "profiles")
    folder = fleets if name[-1].isdigit() else shipped_folder("profiles")
    file = folder / "loads" / f"{name}.yaml"
    if not file.is_file():
        message = f"found no load profile '{name}'"
        raise FileNotFoundError(message)
    return file


PLAN = Plan(quick, ("shipped",), found, None, NEAR)


def season(rows: int, seed: int) -> str:
    """Hauls at and about the limits, with blanks, metric cells, tolerances and faults."""
    draw = random.Random(seed)  # noqa: S311 - a test's own hauls
    lines = [HEADER]
    for _ in range(rows):
        cells = (
            draw.choice([*LOADS, "no-such-load"]),
            # Before and after the bundled variance begins and ends.
            draw.choice(["2026-02-03", "2026-05-14", "2026-08-09", "2027-01-01", "soon"][:4]),
            draw.choice(["north", "south", ""]),
            draw.choice(["", "1420", "1700", "2600 +/- 2 %", "-3"]),
            draw.choice(["", "40 in", "52 in", "1.4 m", "90 in"]),
            draw.choice(["", "55 mph", "70 mph", "110 km/h"]),
            draw.choice(["", "", "US-UT", "US-UT; US-NV", "CA-BC"]),
            draw.choice(["yes", "no", "", " yes "]),
            draw.choice(["", "2990 lb", "10001 lb", "3 t"]),
            draw.choice(["", "", "ordinary"]),
        )
        lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def naive(log: Path, rulebooks: Rulebooks) -> dict[str, object]:
    """One haul after the other through the check of a single load, counted with plain loops."""
    outcomes: Counter[str] = Counter()
    verdicts: dict[str, Counter[Verdict]] = defaultdict(Counter)
    near: Counter[str] = Counter()
    excused: Counter[str] = Counter()
    by_crew: dict[str, Counter[str]] = defaultdict(Counter)
    by_month: dict[str, Counter[str]] = defaultdict(Counter)
    broken_by_trailer: dict[str, Counter[str]] = defaultdict(Counter)
    broken_by_crew: dict[str, Counter[str]] = defaultdict(Counter)
    refused = []
    crews, cells = [], []
    for line in log.read_text().splitlines():
        load, day, crew, *stated = line.split(",")
        crews.append(crew)
        cells.append((load, day, *stated))
    # A check of a load knows no crew, so hauls that differ in nothing else are checked once.
    checks: dict[tuple[str, ...], Check] = {}
    for haul in read_hauls(log, found):
        if isinstance(haul, Refused):
            refused.append(haul.row)
            continue
        assert isinstance(haul, Haul)
        same = cells[haul.row - 1]
        if same not in checks:
            checks[same] = check_profile(haul.profile, rulebooks, haul.on)
        check = checks[same]
        outcome = str(check.outcome)
        outcomes[outcome] += 1
        by_crew[crews[haul.row - 1]][outcome] += 1
        by_month[haul.on.isoformat()[:7]][outcome] += 1
        for finding in check.findings:
            rule = finding.rule.id
            verdicts[rule][finding.verdict] += 1
            near[rule] += is_near(finding, NEAR)
            if finding.verdict is Verdict.NOT_MET:
                excused[rule] += finding.variance is not None
                if finding.variance is None:
                    broken_by_trailer[rule][haul.keys["trailer"][0]] += 1
                    broken_by_crew[rule][crews[haul.row - 1]] += 1
    return {
        "outcomes": outcomes,
        "verdicts": verdicts,
        "near": near,
        "excused": excused,
        "by_crew": by_crew,
        "by_month": by_month,
        "broken_by_trailer": broken_by_trailer,
        "broken_by_crew": broken_by_crew,
        "refused": refused,
    }


def held_and_open(tallies: dict[str, object]) -> dict[str, tuple[int, int]]:
    return {name: (tally.held, tally.open) for name, tally in tallies.items()}  # type: ignore[attr-defined]


def audited(log: Path, **more: object) -> Audit:
    return audit(open_log(log), PLAN, digest_of_log(log), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(4))
def test_every_count_is_that_of_a_naive_loop(tmp_path: Path, seed: int) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text(season(45, seed))
    hold_against_naive(log)


@pytest.mark.parametrize("name", ["side-by-side-in-order", "too-far-back", "scale-tolerances"])
def test_counts_of_kin_are_those_of_a_naive_loop(tmp_path: Path, name: str) -> None:
    draw = random.Random(5)  # noqa: S311 - a test's own hauls
    lines = ["load,date,crew,walkaround.chains_crossed"]
    for _ in range(45):
        fleet = draw.choice(["", "-000", "-000", "-001"])
        crew, answer = draw.choice(["north", "south"]), draw.choice(["yes", "no"])
        lines.append(f"{name}{fleet},2026-05-14,{crew},{answer}")
    log = tmp_path / "hauls.csv"
    log.write_text("\n".join(lines) + "\n")
    hold_against_naive(log)


def hold_against_naive(log: Path) -> None:
    done = audited(log)
    expected = naive(log, quick(("shipped",)))
    assert [each.row for each in done.refusals] == expected["refused"]
    rows = len(log.read_text().splitlines()) - 1
    assert done.read == rows == done.checked + done.refused
    totals = done.totals
    outcomes = expected["outcomes"]
    assert (totals.all.held, totals.all.open) == (outcomes[Outcome.HOLD], outcomes[Outcome.OPEN])  # type: ignore[index]
    verdicts = expected["verdicts"]
    assert set(totals.rules) == set(verdicts)  # type: ignore[call-overload]
    for rule, tally in totals.rules.items():
        assert tally.verdicts == [verdicts[rule][each] for each in WORST_FIRST], rule  # type: ignore[index]
        assert tally.near == expected["near"][rule], rule  # type: ignore[index]
        assert tally.excused == expected["excused"][rule], rule  # type: ignore[index]
        for kind in ("trailer", "crew"):
            counted = dict(expected[f"broken_by_{kind}"].get(rule, {}))  # type: ignore[attr-defined]
            assert tally.broken_by.get(kind, {}) == counted, rule
    for kind in ("crew", "month"):
        counted = {
            name: (counts[Outcome.HOLD], counts[Outcome.OPEN])
            for name, counts in expected[f"by_{kind}"].items()  # type: ignore[attr-defined]
        }
        assert held_and_open(totals.by[kind]) == counted  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("fields", "cells", "rule"),
    [
        # 3.045 m is less than 10 ft and more than the 3.04 m printed beside that.
        ("articles.1.length", ("3.045 m", "3.03 m", "3.06 m"), "us-count-over-ten-feet"),
        # Whether a rulebook is in force rests on what differs.
        (
            "trip.places,trailer.gvwr",
            ("DE,2990 lb", "DE,3500 kg", "DE,3501 kg", "DE,10001 lb"),
            "eu-sliding-forward",
        ),
    ],
)
def test_metric_print_and_scopes_count_haul_by_haul(
    tmp_path: Path, fields: str, cells: Sequence[str], rule: str
) -> None:
    log = tmp_path / "hauls.csv"
    rows = [f"side-by-side-in-order,2026-05-14,north,{cell}" for cell in cells]
    log.write_text("\n".join([f"load,date,crew,{fields}", *rows]) + "\n")
    hold_against_naive(log)
    told = audited(log).totals.rules[rule]
    assert 0 < told.of(Verdict.DOES_NOT_APPLY) < len(cells)


def test_processes_and_small_batches_change_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text(season(60, 9))
    # So few that what is remembered of one task hides what is found in the next.
    for module in ("totals", "worst_hauls"):
        monkeypatch.setattr(f"checker.season.{module}.MOST_REMEMBERED", 4)
        monkeypatch.setattr(f"checker.season.{module}.MOST_CLOSE", 2)
    alone = audit_json(audited(log))
    monkeypatch.setattr(tasks, "_HAULS_OF_A_TASK", 7)
    monkeypatch.setattr(tasks, "LOADS_AT_ONCE", 2)
    monkeypatch.setattr("checker.season.hauls.chunk._ROWS_AT_ONCE", 3)
    monkeypatch.setattr(csv_log, "PART_BYTES", 700)
    assert len(list(open_log(log).parts)) > 3
    in_processes = audited(log, executor=processes)
    assert audit_json(in_processes) == alone
    assert audit_json(audited(log)) == alone


def test_what_was_never_stated_is_named_with_the_column_that_would_decide(tmp_path: Path) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\nmissing-information,2026-06-30\nmissing-information,2026-07-01\n")
    done = audited(log)
    asked = done.totals.rules["ball-rated-for-trailer"]
    assert asked.of(Verdict.NOT_STATED) == 2
    assert asked.gap == {"tow_vehicle.ball.rating": 2}
    assert done.totals.missing_fields["tow_vehicle.ball.rating"] == 2
    document = json.loads(audit_json(done))
    assert document["never_decided"]["ball-rated-for-trailer"] == ["tow_vehicle.ball.rating"]


def test_the_document_tells_every_rule_file_that_was_judged_by(tmp_path: Path) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\nmower-in-order,2026-06-30\n")
    done = audited(log)
    document = json.loads(audit_json(done))
    for kind, files in (("rulebooks", done.rulebooks.books), ("tables", done.rulebooks.tables)):
        assert files
        assert document[kind] == [{"id": each.id, "digest": each.digest} for each in files]


def test_a_blank_that_another_haul_states_is_wanting_only_there(tmp_path: Path) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text(
        "load,date,walkaround.coupler_pin_in\n"
        "missing-information,2026-06-30,yes\n"
        "missing-information,2026-06-30,\n"
        "missing-information,2026-06-30,no\n"
    )
    rule = audited(log).totals.rules["coupler-pin-in"]
    assert [rule.of(each) for each in (Verdict.MET, Verdict.NOT_STATED, Verdict.NOT_MET)] == [1] * 3
    assert rule.gap == {"walkaround.coupler_pin_in": 1}


@pytest.mark.parametrize(
    ("jurisdictions", "counts"),
    [(None, True), (["US-LA"], True), (["US"], True), (["US-TX"], False), ([], False)],
)
def test_days_on_which_rules_change_where_no_trip_goes_do_not_count(
    jurisdictions: list[str] | None, counts: bool
) -> None:
    """Louisiana's rule for light trailers changes on 2026-08-01."""
    days = turning_days(quick_rules(), jurisdictions=jurisdictions)
    assert (date(2026, 8, 1) in days) is counts
    assert date(2026, 1, 1) in days


def test_a_number_that_changes_in_the_season_is_that_of_each_day(
    tmp_path: Path, rulebook: Callable[..., Rulebooks]
) -> None:
    books = rulebook(
        """
        - id: gross
          title: Gross rating within the limit
          question: limits
          requires: trailer.gvwr <= limit
          thresholds:
            limit:
              stricter: lower
              values:
                - {value: 8000 lb, from: 2026-01-01, until: 2026-06-01, source: print, at: p. 1}
                - {value: 7000 lb, from: 2026-06-01, source: print, at: p. 2}
          source: print
          at: p. 1
          basis: guidance
          level: must
          because: it is so
          fix: mend it
          proofs:
            - {name: at, given: {trailer.gvwr: 7000 lb}, expect: met, origin: hand}
        """
    )
    days = turning_days(books)
    assert [day.isoformat() for day in days] == ["2026-01-01", "2026-06-01"]
    log = tmp_path / "hauls.csv"
    log.write_text(
        "load,date,trailer.gvwr\n"
        + "".join(
            f"side-by-side-in-order,{day},7500 lb\n"
            for day in ("2025-12-31", "2026-05-31", "2026-06-01")
        )
    )
    plan = Plan(lambda _rules: books, ("these",), found, None, NEAR)
    done = audit(open_log(log), plan, digest_of_log(log))
    gross = done.totals.rules["gross"]
    assert [gross.of(each) for each in (Verdict.NOT_STATED, Verdict.MET, Verdict.NOT_MET)] == [
        1
    ] * 3


def run(*words: str) -> CompletedProcess[str]:
    """What the command prints, in lines of 60 characters."""
    return call(Path.cwd(), "audit", *words, COLUMNS="60")


def test_the_command_tells_people_and_programs(tmp_path: Path) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text(
        "load,date,crew,walkaround.chains_crossed\n"
        "loads/side-by-side-in-order,2026-05-14,north,yes\n"
        "loads/side-by-side-in-order,2026-05-15,south,no\n"
    )
    done = run(str(log), "--rules", "north-america-coupling")
    assert done.returncode == 1
    assert "2 rows read: 2 checked, 0 refused" in done.stdout
    assert "Chains do not cross under the tongue" in done.stdout
    assert "south: 1 haul: 1 on hold" in done.stdout
    assert "1. row 3, 2026-05-15" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 60
    assert "\x1b" not in done.stdout
    as_json = run(str(log), "--rules", "north-america-coupling", "--as", "json")
    document = json.loads(as_json.stdout)
    assert document["totals"]["held"] == 1
    assert document["by"]["crew"]["south"]["held"] == 1
    assert [each["row"] for each in document["worst"] if each["outcome"] == "hold"] == [3]


def test_an_officers_own_columns_are_named_in_a_file(tmp_path: Path) -> None:
    log, names = tmp_path / "own.csv", tmp_path / "names.yaml"
    log.write_text("Unit,Day,Wt\nSxS,05/14/2026,1420\nSxS,05/15/2026,9000\n")
    names.write_text(
        "kind: haul-log\n"
        "columns: {Unit: load, Day: date, Wt: {field: articles.1.weight, unit: lb}}\n"
        'dates: "%m/%d/%Y"\n'
        "words: {load: {SxS: loads/side-by-side-in-order}}\n"
    )
    done = run(str(log), "--columns", str(names), "--rules", "makers-ratings")
    assert done.returncode == 1, done.stderr
    assert "Loaded trailer heavier than its gross rating" in done.stdout


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("load,date,weigth\n", "wanted load, date, crew, haul, or a field of a load"),
        ("load\n", "date"),
    ],
)
def test_a_log_that_is_none_is_told(tmp_path: Path, text: str, said: str) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text(text)
    done = run(str(log), "--rules", "north-america-coupling")
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_near_misses_are_remembered_beside_any_number_of_worse_hauls(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.totals.MOST_REMEMBERED", 5)
    monkeypatch.setattr("checker.season.worst_hauls.MOST_REMEMBERED", 5)
    log = tmp_path / "hauls.csv"
    rows = ["side-by-side-in-order,2026-05-14,no,"] * 12
    rows += ["side-by-side-in-order,2026-05-14,yes,2/32 in"] * 3
    log.write_text(
        "load,date,walkaround.chains_crossed,walkaround.tread_depth\n" + "\n".join(rows) + "\n"
    )
    totals = audited(log).totals
    assert (totals.all.held, totals.all.near) == (12, 3)
    assert [each.outcome for each in totals.worst_hauls] == ["hold"] * 5 + ["no rule broken"] * 3
    assert [each.row for each in totals.worst_hauls[5:]] == [14, 15, 16]


def test_the_hauls_own_names_are_told(tmp_path: Path) -> None:
    log = tmp_path / "hauls.jsonl"
    haul = {"load": "side-by-side-in-order", "date": "2026-05-14"}
    late = haul | {"walkaround.chains_crossed": "no"}
    lines = [late | {"haul": "H-7"}, late, late | {"haul": None}, late | {"haul": " H 9\n"}]
    log.write_text("\n".join(map(json.dumps, lines)) + "\n")
    assert audited(log).names == {1: "H-7", 4: "H 9"}


def test_half_a_character_is_refused_with_its_row_and_stops_nothing(tmp_path: Path) -> None:
    log = tmp_path / "hauls.jsonl"
    sound = r'{"load": "side-by-side-in-order", "date": "2026-05-14", "haul": "H\ud83d\ude9c"}'
    lines = [sound, sound.replace(r"\ude9c", ""), sound.replace('"haul"', '"\\ud800"')]
    log.write_text("\n".join(lines) + "\n")
    done = audited(log)
    assert (done.read, done.checked) == (3, 1)
    assert [each.row for each in done.refusals] == [2, 3]
    assert "half a character" in done.refusals[0].reason
    assert audit_json(done).encode()


def test_a_name_over_several_lines_names_no_other_haul(tmp_path: Path) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text(
        "load,date,walkaround.chains_crossed,haul\n"
        'side-by-side-in-order,2026-05-14,no,"A\n5\tforged"\n'
        "side-by-side-in-order,2026-05-14,no,\n"
        "side-by-side-in-order,2026-05-14,no,B\n"
    )
    assert audited(log).names == {2: "A 5 forged", 5: "B"}


def test_nothing_in_a_log_is_obeyed_by_a_terminal(tmp_path: Path) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text(
        "load,date,crew,haul,walkaround.chains_crossed\n"
        "loads/side-by-side-in-order,2026-05-14,no\x1b[31mrth,H\x1b[2J,no\n"
        "loads/no-such\x1b[31m,2026-05-14,north,H,no\n"
    )
    done = run(str(log), "--rules", "north-america-coupling")
    assert "no [31mrth: 1 haul" in done.stdout
    assert "found no load profile 'loads/no-such [31m'" in done.stdout
    assert "\x1b" not in done.stdout + done.stderr


def test_no_more_hauls_are_judged_at_once_than_memory_should_grow_by(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = tmp_path / "hauls.csv"
    same = [f"side-by-side-in-order-{fleet},2026-05-14\n" for fleet in ("000", "001")]
    log.write_text("load,date\n" + "".join(same) * 12)
    monkeypatch.setattr(tasks, "_HAULS_OF_A_TASK", 10)
    monkeypatch.setattr(csv_log, "PART_BYTES", 300)
    slices: list[list[tuple[str, int]]] = []
    whole = Worker.totals

    def watched(self: Worker, hauls: Sequence[HaulsOfLoad], findings: None) -> Totals:
        slices.append([(each.load, each.hauls) for each in hauls])
        return whole(self, hauls, findings)

    monkeypatch.setattr(Worker, "totals", watched)
    assert audited(log).checked == 24
    # Loads that differ in a figure alone go together, and some of each are in every slice.
    assert [sum(hauls for _, hauls in each) for each in slices] == [10, 10, 4]
    assert all(len(each) == 2 for each in slices)


def test_whoever_watches_hears_of_every_round(tmp_path: Path) -> None:
    class Seen:
        def __init__(self) -> None:
            self.told: list[tuple[str, int, int | None]] = []

        def reading(self, done: int, size: int | None) -> None:
            self.told.append(("reading", done, size))

        def sorting(self, done: int, loads: int) -> None:
            self.told.append(("sorting", done, loads))

        def checking(self, done: int, hauls: int) -> None:
            self.told.append(("judging", done, hauls))

    log, seen = tmp_path / "hauls.csv", Seen()
    rows = [f"{name},2026-05-14\n" for name in ("side-by-side-in-order", "no-such-load") * 2]
    log.write_text("load,date\n" + "".join(rows))
    audited(log, watch=seen)
    size = log.stat().st_size
    header = len("load,date\n")
    assert seen.told == [
        ("reading", size - header, size),
        ("sorting", 2, 2),
        ("judging", 0, 4),
        ("judging", 4, 4),
    ]
