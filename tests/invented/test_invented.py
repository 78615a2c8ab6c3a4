"""Invented hauls: the same for a seed, in season, and readable in every form."""

import csv
import importlib.util
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date
from functools import cache
from itertools import chain
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.documents.files import NotWrittenError
from checker.documents.resources import shipped_folder
from checker.evaluation.evaluator import evaluate
from checker.evaluation.rule_rows import MET
from checker.invented.calendar import Calendar
from checker.invented.chance import Chance
from checker.invented.district import CREWS, HAULS_BY_MONTH, HAULS_BY_WEEKDAY, USUAL_LOADS
from checker.invented.drawing import invent_hauls
from checker.invented.forms import FORMS
from checker.invented.pool import Pool
from checker.invented.writing import check_target, write_log
from checker.load.build import read_profile
from checker.logs.columns import column_of
from checker.logs.decode import Faults, FigureDecoder, decode_words
from checker.logs.mapping import read_mapping
from checker.logs.model import OF_THE_HAUL, Batch, Cell, Column, Refused, Role
from checker.logs.opening import open_log
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.selection import combine_rulebooks
from checker.season.hauls.hauls import Haul, read_hauls
from checker.season.hauls.loads import Loads
from tests.calling import call
from tests.season.one_by_one import settled
from tests.shipped import shipped_rules

NO_RULES = Rulebooks((), ())
SUFFIXES = (*FORMS, "")
"""Of files, and none for a folder."""
FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)
SEASON = shipped_folder("profiles") / "seasons" / "2026"


def found(name: str) -> Path:
    file = shipped_folder("profiles") / f"{name}.yaml"
    if not file.is_file():
        message = f"found no load profile '{name}'"
        raise FileNotFoundError(message)
    return file


@cache
def pool() -> Pool:
    files = sorted((shipped_folder("profiles") / "loads").glob("*.yaml"))
    return Pool({f"loads/{file.stem}": read_profile(file) for file in files})


def drawn(
    hauls: int, seed: int = 1, first: date = FIRST, last: date = LAST
) -> dict[str, list[Cell]]:
    """Every column of a whole log."""
    batches = list(invent_hauls(pool(), hauls, seed, first, last))
    return {
        field: list(chain.from_iterable(batch.cells[field] for batch in batches))
        for field in batches[0].cells
    }


def test_raw_bits_become_shares_as_worked_out_by_hand() -> None:
    # PCG64's first number for a seed, cut to 53 bits and put behind the point.
    raw = int(np.random.PCG64(7).random_raw())
    assert Chance(7).shares(1)[0] == (raw >> 11) / 2**53


def test_the_same_seed_gives_the_same_hauls_and_another_others() -> None:
    assert drawn(300, seed=4) == drawn(300, seed=4)
    assert drawn(300, seed=4)["trip.distance"] != drawn(300, seed=5)["trip.distance"]


def faults(column: Column, cells: Sequence[Cell]) -> Faults:
    if column.role in (Role.QUANTITY, Role.ANSWER):
        return FigureDecoder(column, {})(cells).faults
    return decode_words(column, cells, {})[1]


@given(hauls=st.integers(1, 40), seed=st.integers(0, 2**40), slips=st.integers(0, 40))
def test_any_seed_gives_as_many_hauls_as_asked_in_the_order_of_their_days(
    hauls: int, seed: int, slips: int
) -> None:
    slips = min(slips, hauls)
    (batch,) = invent_hauls(pool(), hauls, seed, FIRST, LAST, slips)
    assert list(batch.numbers) == list(range(1, hauls + 1))
    assert {len(cells) for cells in batch.cells.values()} == {hauls}
    days = [day for day in batch.cells["date"] if isinstance(day, date)]
    assert days == sorted(days)
    assert all(FIRST <= day <= LAST for day in days)
    misspelt = sum(name not in pool().names for name in batch.cells["load"])
    assert (misspelt, hauls - len(days)) == ((slips + 1) // 2, slips // 2)
    for column in batch.columns:
        assert column_of(column.header) == column
        if column.role not in OF_THE_HAUL:
            assert list(faults(column, batch.cells[column.field])) == []


def test_the_busy_months_have_the_hauls() -> None:
    days = [day for day in drawn(60_000)["date"] if isinstance(day, date)]
    by_month = Counter(day.month for day in days)
    by_weekday = Counter(day.weekday() for day in days)
    calendar = [date.fromordinal(each) for each in range(FIRST.toordinal(), LAST.toordinal() + 1)]
    busy = [HAULS_BY_MONTH[day.month - 1] * HAULS_BY_WEEKDAY[day.weekday()] for day in calendar]
    for month in range(1, 13):
        share = sum(at for at, day in zip(busy, calendar, strict=True) if day.month == month)
        # Each haul falls into its own share of the work, so only the ends of a month waver.
        assert by_month[month] == pytest.approx(60_000 * share / sum(busy), abs=2)
    assert by_month[1] * 5 < by_month[6]
    assert by_weekday[6] * 5 < by_weekday[0]


def test_a_season_of_one_day_is_that_day() -> None:
    assert set(drawn(20, first=LAST, last=LAST)["date"]) == {LAST}
    assert Calendar(LAST, LAST).elapsed.tolist() == [0.0]


def test_loads_and_crews_come_as_often_as_the_district_says() -> None:
    cells = drawn(60_000)
    often = Counter(cells["load"])
    all_shares = sum(USUAL_LOADS.get(name, 1) for name in pool().names)
    for name in pool().names:
        expected = 60_000 * USUAL_LOADS.get(name, 1) / all_shares
        # Five standard deviations of so many draws.
        assert often[name] == pytest.approx(expected, abs=5 * expected**0.5)
    months = {
        crew.name: {
            day.month
            for day, who in zip(cells["date"], cells["crew"], strict=True)
            if who == crew.name and isinstance(day, date)
        }
        for crew in CREWS
    }
    assert months == {crew.name: set(crew.months) for crew in CREWS}


def test_crews_have_their_habits() -> None:
    cells = drawn(60_000)
    misses: Counter[object] = Counter()
    hauls = Counter(cells["crew"])
    for who, crossed in zip(cells["crew"], cells["walkaround.chains_crossed"], strict=True):
        misses[who] += crossed == "no"
    careless = {crew: misses[crew] / hauls[crew] for crew in hauls}
    assert max(careless, key=lambda crew: careless[crew]) == "Dry Fork"
    stated = dict(
        zip(pool().names, pool().figures(column_of("articles.1.placed.x [in]")), strict=True)
    )
    back = {
        crew: np.mean(
            [
                place - stated[str(load)]
                for who, load, place in zip(
                    cells["crew"], cells["load"], cells["articles.1.placed.x"], strict=True
                )
                if who == crew and isinstance(place, float)
            ]
        )
        for crew in ("Sage Bench", "Cinder Rim")
    }
    # Habit 5 in and none; the mean of thousands of hauls that scatter by 1.5 in.
    assert back == pytest.approx({"Sage Bench": 5.0, "Cinder Rim": 0.0}, abs=0.1)


def test_tyres_wear_and_machines_gain_weight_over_the_season() -> None:
    cells = drawn(60_000)

    def mean(field: str, months: tuple[int, ...], load: str) -> float:
        rows = zip(cells["date"], cells["load"], cells[field], strict=True)
        values = [
            float(str(cell).partition("/")[0])
            for day, name, cell in rows
            if isinstance(day, date) and day.month in months and name == load and cell is not None
        ]
        return float(np.mean(values))

    load = "loads/mower-in-order"
    tread = "walkaround.tread_depth"
    assert mean(tread, (10, 11), load) < mean(tread, (2, 3), load) - 0.5
    # July and December are as dry as each other, and half a season apart.
    weight = "articles.1.weight"
    assert mean(weight, (9,), load) > mean(weight, (6, 7), load)


def test_what_a_load_does_not_state_stays_blank_and_tolerances_are_left_alone() -> None:
    cells = drawn(20_000)
    rows = list(
        zip(
            cells["load"],
            cells["articles.1.weight"],
            cells["articles.1.placed.x"],
            cells["walkaround.breakaway_connected"],
            strict=True,
        )
    )
    new_mower = {row[2:] for row in rows if row[0] == "loads/missing-information"}
    assert new_mower == {(None, None)}
    old_scale = [row for row in rows if row[0] == "loads/scale-tolerances"]
    assert {row[1] for row in old_scale} == {None}
    assert any(row[2] for row in old_scale)


def told(log: Path) -> list[tuple[object, ...]]:
    """What each row of a log says, in numbers where they are numbers."""
    rows: list[tuple[object, ...]] = []
    fields = [column.field for column in next(invent_hauls(pool(), 1, 1, FIRST, LAST)).columns]
    for batch in settled(open_log(log)):
        columns = {column.field: column for column in batch.columns}
        cells: list[list[object]] = []
        for field in fields:
            if field == "haul":
                continue
            if field not in columns:
                cells.append([None] * len(batch.numbers))
            elif field in ("load", "date", "crew"):
                cells.append(list(batch.cells[field]))
            else:
                decoded = FigureDecoder(columns[field], {})(batch.cells[field]).values.tolist()
                cells.append([None if each != each else round(each, 6) for each in decoded])
        rows += zip(*cells, strict=True)
    return rows


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_every_form_reads_back_alike(suffix: str, tmp_path: Path) -> None:
    logs = [tmp_path / "one.csv", tmp_path / f"two{suffix}"]
    for log in logs:
        write_log(log, invent_hauls(pool(), 60, 3, FIRST, LAST))
    assert len(told(logs[0])) == 60
    assert told(logs[1]) == told(logs[0])
    assert {path.name for path in tmp_path.iterdir()} == {log.name for log in logs}


def test_a_log_of_several_batches_is_written_whole(tmp_path: Path) -> None:
    log = tmp_path / "hauls.csv"
    write_log(log, invent_hauls(pool(), 20_000, 3, FIRST, LAST))
    with log.open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["haul"] for row in rows] == [f"invented-{number}" for number in range(1, 20_001)]
    cells = drawn(20_000, seed=3)
    assert [row["trip.distance [mi]"] for row in rows] == [
        "" if cell is None else str(cell) for cell in cells["trip.distance"]
    ]


def test_names_with_commas_and_quotes_are_read_back(tmp_path: Path) -> None:
    name = 'north, "old"/first.yaml'
    only = Pool({name: read_profile(found("loads/mower-in-order"))})
    for suffix in SUFFIXES:
        log = tmp_path / f"log{suffix}"
        write_log(log, invent_hauls(only, 3, 1, FIRST, LAST))
        (batch,) = settled(open_log(log))
        assert list(batch.cells["load"]) == [name] * 3


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_nothing_is_left_where_writing_breaks_off(suffix: str, tmp_path: Path) -> None:
    def broken() -> Iterator[Batch]:
        yield next(invent_hauls(pool(), 5, 1, FIRST, LAST))
        raise KeyboardInterrupt("by hand")

    with pytest.raises(KeyboardInterrupt, match="by hand"):
        write_log(tmp_path / f"log{suffix}", broken())
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "hauls", "said"),
    [
        ("log.xls", 1, r"wanted one that ends in \.csv, \.jsonl, \.ndjson, \.xlsx, \.parquet"),
        ("there.csv", 1, "there already; wanted a new name"),
        ("there", 1, "there already; wanted a new name"),
        ("nowhere/log.csv", 1, "found no folder"),
        (f"{'long' * 100}/log.csv", 1, r"which cannot be written \(file name too long\)"),
        ("log.xlsx", 1_048_576, "found 1,048,576 hauls for a sheet; wanted at most 1,048,575"),
    ],
)
def test_places_where_no_log_can_go(name: str, hauls: int, said: str, tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    (tmp_path / "there.csv").write_text("a real season\n")
    with pytest.raises(NotWrittenError, match=said):
        check_target(tmp_path / name, hauls)
    check_target(tmp_path / "log.xlsx", 1_048_575)


def test_the_bundled_season_is_what_the_command_invents(tmp_path: Path) -> None:
    done = call(
        tmp_path,
        *("invent", "hauls.csv", "--hauls", "150", "--seed", "2026"),
        *("--to", "2026-11-20", "--slips", "2"),
    )
    assert done.stdout == "wrote 150 invented hauls over 18 load profiles to hauls.csv\n"
    assert (tmp_path / "hauls.csv").read_bytes() == (SEASON / "hauls.csv").read_bytes()


def test_a_folder_of_profiles_is_hauled_by_its_own_names(tmp_path: Path) -> None:
    benchmarks = _benchmarks()
    benchmarks.write_profiles(tmp_path, 3, 1)
    done = call(tmp_path, "invent", "log", "--over", "profiles/loads", "--hauls", "9")
    assert done.returncode == 0, done.stderr
    hauls = read_hauls(open_log(tmp_path / "log"), Loads(tmp_path.joinpath, None, [NO_RULES]))
    assert len([each for each in hauls if isinstance(each, Haul)]) == 9


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--from", "2026-05-02", "--to", "2026-05-01"), "wanted --to on or after --from"),
        (("--slips", "4"), "found 4 slips in 3 hauls"),
        (("--over", "nowhere"), "found no load profile under 'nowhere'"),
        (("--over", "broken"), "1 problem to fix"),
    ],
)
def test_calls_that_cannot_be_carried_out(
    words: tuple[str, ...], said: str, tmp_path: Path
) -> None:
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "load.yaml").write_text("kind: load\ntitle: Broken\ntrailr: ours\n")
    done = call(tmp_path, "invent", "log.csv", "--hauls", "3", *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert not (tmp_path / "log.csv").exists()


def test_all_of_the_bundled_season_is_judged_but_the_two_slips() -> None:
    rows = read_hauls(open_log(SEASON / "hauls.csv"), Loads(found, None, [shipped_rules()]))
    assert len(rows) == 150
    assert [each for each in rows if isinstance(each, Refused)] == [
        Refused(24, "found no load profile 'loads/variance-late-first-stopp'"),
        Refused(149, "found '2026-11-31' in date; wanted a day such as 2026-05-14"),
    ]


def test_the_officers_own_table_says_what_the_bundled_season_says() -> None:
    own = read_mapping(SEASON / "officers-columns.yaml")
    (theirs,) = settled(open_log(SEASON / "officers-log.csv", own))
    (ours,) = settled(open_log(SEASON / "hauls.csv"))
    place = {haul: row for row, haul in enumerate(ours.cells["haul"])}
    rows = [place[haul] for haul in theirs.cells["haul"]]
    assert len(rows) == 22
    our_columns = {column.field: column for column in ours.columns}
    for column in theirs.columns:
        written = [ours.cells[column.field][row] for row in rows]
        if column.role in OF_THE_HAUL:
            assert list(theirs.cells[column.field]) == written
        else:
            np.testing.assert_array_equal(
                FigureDecoder(column, {})(theirs.cells[column.field]).values,
                FigureDecoder(our_columns[column.field], {})(written).values,
            )


@pytest.mark.parametrize(
    ("day", "tread", "speed", "tread_met", "speed_met"),
    [
        # The law's 2/32 in and the guidance's 65 mph, until the board asked for more.
        (date(2026, 6, 30), "2/32 in", "65 mph", True, True),
        (date(2026, 7, 1), "4/32 in", "55 mph", True, True),
        (date(2026, 7, 1), "0.124 in", "55.1 mph", False, False),
    ],
)
def test_the_districts_policy_holds_from_the_middle_of_the_season(
    day: date, tread: str, speed: str, tread_met: bool, speed_met: bool
) -> None:
    shipped = shipped_rules()
    policy = load_rulebooks(SEASON / "policy", known=shipped)
    rulebooks = combine_rulebooks([shipped, policy])
    stated = {("walkaround", "tread_depth"): tread, ("trip", "speed"): speed}
    load = read_profile(found("loads/mower-in-order")).replaced(stated).load({})
    rules = {"us-tread": tread_met, "speed-within-trailer-tyres": speed_met}
    judged = evaluate(load, rulebooks, day, wanted=lambda rule: rule.id in rules)
    assert {each.rule.id: each.verdicts[0] == MET for each in judged} == rules


def _benchmarks() -> ModuleType:
    file = Path(__file__).resolve().parents[1] / "benchmarks" / "many_profiles.py"
    spec = importlib.util.spec_from_file_location("many_profiles", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_profiles_to_measure_with_are_all_readable_and_the_same_for_a_seed(tmp_path: Path) -> None:
    write = _benchmarks().write_profiles
    files = write(tmp_path / "one", 40, 3)
    assert len({read_profile(file).load({}).title for file in files}) == 40
    write(tmp_path / "two", 40, 3)
    for file in (tmp_path / "one").rglob("*.yaml"):
        other = tmp_path / "two" / file.relative_to(tmp_path / "one")
        assert file.read_bytes() == other.read_bytes()
