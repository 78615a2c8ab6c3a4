"""`LOG#ROW`: any haul of any log as a load, checked on its day; what is no haul is named."""

import csv
import json
from datetime import date
from pathlib import Path
from subprocess import CompletedProcess
from typing import Any

import openpyxl
import pyarrow
import pyarrow.parquet
import pytest

from checker.cli.haul_load import load_text
from checker.cli.hauls_of_logs import HaulName, haul_name, read_named_hauls
from checker.cli.named_loads import LoadFinder
from checker.documents.reader import read_bytes
from checker.documents.resources import shipped_folder
from checker.load.build import Profile, profile_of
from checker.logs.opening import open_log
from checker.rulebooks.model import Rulebooks
from checker.season.hauls.hauls import Haul, read_hauls
from checker.season.hauls.loads import Loads
from tests.calling import call
from tests.reports.read_back import READERS

RULES = """\
kind: rulebook
id: yard
title: The yard's own
jurisdiction: any
proved_on: 2026-01-01
rules:
  - id: weight-on-deck
    title: At most the yard's limit on the deck
    broken: Too heavy for the yard
    question: limits
    for_each: article
    requires: article.weight <= limit
    thresholds:
      limit:
        stricter: lower
        values:
          - {value: 1500 lb, from: 2020-01-01, until: 2026-06-01, common_practice: yes}
          - {value: 1400 lb, from: 2026-06-01, common_practice: yes}
    common_practice: yes
    basis: common practice
    level: must
    because: The hill is steep.
    fix: Take a lighter machine.
    proofs:
      - {name: at, on: 2026-07-01, given: {article.weight: 1400 lb}, expect: met, origin: by hand}
"""
LOADS = {
    "cart": "kind: load\nnote: It rolls.\narticles:\n  - weight: 1000 lb\n",
    "mower": "kind: load\ntitle: The mower\narticles:\n  - weight: 1450 lb\n",
}
ROWS: list[list[Any]] = [
    ["loads/cart.yaml", date(2026, 5, 14), "north", "T-1", 1501],
    ["loads/mower.yaml", date(2026, 6, 2), "south", "T-2", None],
    ["loads/mower.yaml", date(2026, 5, 2), None, "2", 1400],
    ["loads/lost.yaml", date(2026, 5, 3), "south", "T-4", None],
    ["loads/cart.yaml", date(2026, 5, 4), "north", "T-1", -3],
]
HEADERS = ["load", "date", "crew", "haul", "articles.1.weight [lb]"]
COLUMNS = """\
kind: haul-log
columns: {what: load, when: date, lb: {field: articles.1.weight, unit: lb}, no: haul}
dates: "%m/%d/%Y"
"""


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A rule, two loads, and one log in every form."""
    folder = tmp_path_factory.mktemp("yard")
    files = {
        "cinchbook.yaml": "kind: settings\nrules: [rules]\n",
        "rules/yard.yaml": RULES,
        **{f"loads/{name}.yaml": text for name, text in LOADS.items()},
        "columns.yaml": COLUMNS,
        "own.csv": "no,what,when,lb\n77,loads/mower.yaml,06/02/2026,1401\n",
        "odd#name.csv": "load,date\nloads/mower.yaml,2026-06-02\n",
        "blank.csv": "load,date\n",
    }
    for name, text in files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text)
    with (folder / "hauls.csv").open("w", newline="") as file:
        csv.writer(file).writerows([HEADERS, *ROWS[:2], [], *ROWS[2:]])
    named = [dict(zip(HEADERS, row, strict=True)) for row in ROWS]
    lines = [json.dumps(each, default=str) for each in named]
    (folder / "hauls.jsonl").write_text("\n".join(lines))
    book = openpyxl.Workbook()
    for row in (HEADERS, *ROWS):
        book.worksheets[0].append(row)
    book.save(folder / "hauls.xlsx")
    columns = dict(zip(HEADERS, map(list, zip(*ROWS, strict=True)), strict=True))
    pyarrow.parquet.write_table(pyarrow.table(columns), folder / "hauls.parquet")
    (folder / "hauls").mkdir()
    for load, day, crew, number, weight in ROWS:
        differs = f"differs: {{articles.1.weight: {weight} lb}}\n" if weight else ""
        crew_line = f"crew: {crew}\n" if crew else ""
        file = folder / "hauls" / f"{day}-{number}.yaml"
        file.write_text(f"kind: haul\nload: {load}\ndate: {day}\n{crew_line}{differs}")
    return folder


def run(folder: Path, *words: str) -> CompletedProcess[str]:
    return call(folder, *words, COLUMNS="1000")


@pytest.mark.parametrize(
    ("haul", "row", "at"),
    [
        ("hauls.csv#3", 3, "hauls.csv:3"),
        ("hauls.csv#T-2", 3, "hauls.csv:3"),
        ("hauls.jsonl#2", 2, "hauls.jsonl:2"),
        ("hauls.xlsx#3", 3, "hauls.xlsx:3"),
        ("hauls.parquet#2", 2, "hauls.parquet:2"),
        ("hauls#5", 5, "hauls/2026-06-02-T-2.yaml:1"),
        ("hauls#2026-06-02-T-2", 5, "hauls/2026-06-02-T-2.yaml:1"),
    ],
)
def test_a_row_of_any_log_is_a_load_on_its_day(project: Path, haul: str, row: int, at: str) -> None:
    """1,450 lb is over the 1,400 lb in force from 2026-06-01, and was not over before."""
    done = run(project, "check", haul, "--as", "json")
    (load,) = json.loads(done.stdout)["loads"]
    assert done.returncode == 1
    log = haul.partition("#")[0]
    assert (load["file"], load["on"], load["title"]) == (f"{log}#{row}", "2026-06-02", "The mower")
    assert "laid over the load profile loads/mower.yaml; crew south" in load["notes"][0]
    (finding,) = load["findings"]
    assert (finding["verdict"], finding["found"], finding["wanted"]) == (
        *("not met", "weight 1,450 lb", "at most 1,400 lb"),
    )
    said = run(project, "check", haul, "--write", "annotations=-").stdout
    file, line = at.split(":")
    assert f"file={file},line={line},col=1" in said


def test_several_hauls_and_loads_are_checked_at_once(project: Path) -> None:
    done = run(project, "check", "hauls.csv#2", "loads/cart.yaml", "own.csv#2", "hauls.jsonl#3")
    assert done.returncode == 2, "the columns of own.csv need --columns"
    found = ("hauls.csv#2", "loads/cart.yaml", "hauls.csv#5", "hauls.jsonl#3", "hauls.csv#6")
    done = run(project, "check", *found, "--short")
    assert done.returncode == 2
    outcomes = [line for line in map(str.split, done.stdout.splitlines()) if "#" in str(line)]
    assert [" ".join(words[:4]) for words in outcomes] == [
        "no rule broken hauls.csv#5",
        "no rule broken hauls.jsonl#3",
        # 1,501 of 1,500 lb, as the first row states.
        "HOLD hauls.csv#2: weight-on-deck",
        "NOT CHECKED hauls.csv#6: 1",
    ]


@pytest.mark.parametrize("form", sorted(READERS))
def test_every_form_of_check_shows_a_haul(project: Path, form: str) -> None:
    done = run(project, "check", "hauls.csv#2", "hauls.csv#7", "--write", f"{form}=-")
    stops = READERS[form](done.stdout)
    assert sorted(rule for _, rule in stops) == ["unreadable", "weight-on-deck"]
    assert done.returncode == 2


def test_a_folder_of_pages_has_a_page_for_each_haul(project: Path, tmp_path: Path) -> None:
    run(project, "check", "hauls.csv#2", "hauls.csv#3", "--write", f"html={tmp_path}/pages/")
    found = sorted(file.name for file in (tmp_path / "pages").iterdir())
    assert found == ["hauls.csv-2.html", "hauls.csv-3.html", "index.html"]


def test_one_rule_of_a_haul_is_explained(project: Path) -> None:
    done = run(project, "explain", "own.csv#2", "weight-on-deck", "--columns", "columns.yaml")
    assert done.returncode == 1
    assert "own.csv#2, checked for 2026-06-02" in done.stdout
    assert "1,401 lb" in done.stdout
    assert "own.csv:2" in done.stdout, "where the weight is stated"


@pytest.mark.parametrize(
    ("haul", "message"),
    [
        ("hauls.csv#1", "1:1: found row 1, which is above the first haul, as a header is; wanted"),
        ("hauls.csv#4", "4:1: found row 4, which has no haul; wanted a row from 2 to 7"),
        ("hauls.csv#40", "40:1: found row 40, which is below the last haul; wanted a row from 2"),
        ("hauls.csv#002", "no haul '002'; wanted a row from 2 to 7, or a haul's own number"),
        ("hauls.csv#t-2", "did you mean 'hauls.csv#T-2'?"),
        ("hauls.csv#T-1", "'T-1', the number of 2 hauls; wanted one of: 'hauls.csv#2', 'hauls.csv"),
        ("hauls.csv#", "found no row after 'hauls.csv#'; wanted a row from 2 to 7"),
        ("hauls.csv#6", "hauls.csv:6:1: found no load profile 'loads/lost.yaml'; wanted a file"),
        ("hauls.csv#7", "hauls.csv:7:1: found a row that is refused: articles.1.weight: found "),
        ("own.csv#77", "own.csv:1:1: found the columns no, what, when, lb; wanted load and date"),
        ("blank.csv#2", "found row 2; wanted a log with hauls"),
        ("none.csv#2", "none.csv:1:1: found a file that cannot be read (no such file or directory"),
        ("loads/mower.yaml#1", "found no trip.date; wanted the day of the haul"),
        ("lods/mower.yaml#1", "found no file 'lods/mower.yaml#1'; wanted a load profile"),
    ],
)
def test_what_is_no_haul_is_named(project: Path, haul: str, message: str) -> None:
    done = run(project, "check", haul)
    assert done.returncode == 2
    assert message in done.stderr


def test_digits_are_a_row_and_the_haul_of_that_number_is_named(project: Path) -> None:
    done = run(project, "check", "hauls.csv#2")
    assert done.stderr == (
        "note: 'hauls.csv#2' is row 2; the haul whose own number is 2 is 'hauls.csv#5'\n"
    )
    lost = run(project, "check", "own.csv#77", "--columns", "columns.yaml")
    assert "found row 77, which is below the last haul" in lost.stderr
    assert "did you mean 'own.csv#2', whose own number is 77?" in lost.stderr


def test_a_sign_in_a_name_is_no_row(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(project)
    assert haul_name("odd#name.csv") is None
    assert haul_name("odd#name.csv#2") == HaulName("odd#name.csv", "2")
    assert haul_name("hauls.csv#A#1") == HaulName("hauls.csv", "A#1")
    assert haul_name("loads/#old/*.yaml") is None
    assert haul_name("#") is None


@pytest.mark.parametrize("option", [["--staged"], ["--changed-since", "main"]])
def test_changes_are_of_files(project: Path, option: list[str]) -> None:
    done = run(project, "check", "hauls.csv#2", *option)
    assert done.returncode == 2
    assert f"a haul of a log, and {option[0]}; wanted load profiles" in done.stderr


@pytest.mark.parametrize("command", ["place", "vary", "arrange"])
def test_a_command_about_a_file_says_how_to_get_one(project: Path, command: str) -> None:
    field = ["trip.speed", "1 mph..2 mph"] if command == "vary" else []
    done = run(project, command, "hauls.csv#2", *field)
    assert done.returncode == 2
    assert "check 'hauls.csv#2' --write-load FILE.yaml saves the haul as one" in done.stderr


def test_the_forms_of_a_log_give_the_same_loads(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(project)
    logs = {"hauls.csv": "3", "hauls.jsonl": "2", "hauls.xlsx": "3", "hauls.parquet": "2"}
    names = [HaulName(log, row) for log, row in {**logs, "hauls": "5"}.items()]
    found = [haul for _, haul in read_named_hauls(names, None, None, Rulebooks((), ()))]
    assert len(found) == len(names)
    assert all(isinstance(each, Haul) for each in found)
    data = [each.profile.merged.data for each in found if isinstance(each, Haul)]
    assert all(each == data[0] for each in data)


LOAD_TEXT = """\
# A comment that stays.
kind: load
title: The cart  # as it is called
trailer: trailers/flat
articles:
  - machines/cart
  - from: machines/cart
    name: second
    weight: 900 lb  # weighed
walkaround: {chains_crossed: yes}
"""
HAUL_TEXT = """\
# Row 2 of hauls.csv, laid over the load profile loads/cart; crew Anna.
# A comment that stays.
kind: load
title: "No: 7 # 'x'"  # as it is called
trailer: {from: trailers/flat, deck: {width: 80 in}}
articles:
  - {from: machines/cart, weight: 1500 lb}
  - from: machines/cart
    name: second
    weight: 950 lb +/- 10 lb  # weighed
    placed: {x: 4 ft}
walkaround: {chains_crossed: no, view_clear: yes}
trip: {places: [US-UT, US-AZ], date: 2026-05-14}
"""
STATED = {
    "load": "loads/cart",
    "date": "2026-05-14",
    "crew": "Anna",
    "title": "\"No: 7 # 'x'\"",
    "trailer.deck.width [in]": "80",
    "articles.1.weight [lb]": "1500",
    "articles.2.weight": "950 lb +/- 10 lb",
    "articles.2.placed.x": "4 ft",
    "walkaround.chains_crossed": "no",
    "walkaround.view_clear": "yes",
    "trip.places": "US-UT; US-AZ",
}


@pytest.fixture
def profiles(tmp_path: Path) -> Path:
    """A load that refers to a trailer and a machine, which a row states otherwise."""
    files = {
        "cinchbook.yaml": "kind: settings\nrules: [rules]\nprofiles: profiles\n",
        "rules/yard.yaml": RULES,
        "profiles/trailers/flat.yaml": "kind: trailer\ntitle: Flat\ndeck: {height: 20 in}\n",
        "profiles/machines/cart.yaml": "kind: machine\ntitle: Cart\nweight: 1000 lb\n",
        "profiles/loads/cart.yaml": LOAD_TEXT,
        "hauls.csv": f"{','.join(STATED)}\n{','.join(STATED.values())}\n",
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    return tmp_path


def test_a_haul_is_saved_as_a_load_that_checks_the_same(profiles: Path) -> None:
    asked = ("check", "hauls.csv#2", "--as", "json")
    done = run(profiles, *asked, "--write-load", "profiles/loads/new.yaml")
    assert (done.returncode, done.stderr) == (0, "wrote profiles/loads/new.yaml\n")
    assert (profiles / "profiles/loads/new.yaml").read_text() == HAUL_TEXT
    again = run(profiles, "check", "profiles/loads/new.yaml", "--as", "json")
    (haul,), (load,) = (json.loads(each.stdout)["loads"] for each in (done, again))
    same = ("on", "title", "outcome")
    assert [load[key] for key in same] == [haul[key] for key in same]
    figures = [
        [(found["rule"], found["verdict"], found["margin"]) for found in each["findings"]]
        for each in (haul, load)
    ]
    # By hand: 1,500 lb of at most 1,500 lb, and 940 to 960 lb.
    assert figures == [[("weight-on-deck", "met", 0.0)]] * 2


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ("hauls.csv#2", "hauls.csv#3"),
            "found --write-load without one haul alone; wanted",
        ),
        (
            ("profiles/loads/cart.yaml",),
            "found --write-load without one haul alone; wanted",
        ),
        (("hauls.csv#9",), "hauls.csv:9:1: found row 9, which is below the last haul"),
    ],
)
def test_only_one_haul_is_saved(profiles: Path, words: tuple[str, ...], message: str) -> None:
    done = run(profiles, "check", *words, "--write-load", "profiles/loads/new.yaml")
    assert done.returncode == 2
    assert message in done.stderr
    assert not (profiles / "profiles/loads/new.yaml").exists()


@pytest.mark.parametrize(
    ("target", "message"),
    [
        (
            "profiles/loads/cart.yaml",
            "found 'profiles/loads/cart.yaml' there already",
        ),
        ("profiles/loads/new.yml", "did you mean 'profiles/loads/new.yaml'?"),
        ("nowhere/new.yaml", "found no folder 'nowhere'; wanted one to write the file in"),
    ],
)
def test_a_haul_is_saved_where_no_file_is(profiles: Path, target: str, message: str) -> None:
    done = run(profiles, "check", "hauls.csv#2", "--write-load", target)
    assert done.returncode == 2
    assert message in done.stderr
    assert (profiles / "profiles/loads/cart.yaml").read_text() == LOAD_TEXT


def test_a_load_whose_parts_share_text_is_not_saved(profiles: Path) -> None:
    file = profiles / "profiles/loads/cart.yaml"
    file.write_text("kind: load\narticles:\n  - &one {weight: 900 lb}\n  - *one\n")
    (profiles / "hauls.csv").write_text("load,date,articles.1.weight\nloads/cart,2026-05-14,1 lb\n")
    done = run(profiles, "check", "hauls.csv#2", "--write-load", "profiles/loads/new.yaml")
    assert done.returncode == 2
    assert "found a load that shares text between its parts" in done.stderr


def test_a_variance_of_the_crew_alone_is_noted(profiles: Path) -> None:
    (profiles / "rules/variances.yaml").write_text(
        "kind: variances\nid: own\ntitle: Own\nvariances:\n"
        "  - {rule: weight-on-deck, because: no other, conditions: below 25 mph, by: M. Quill, "
        "from: 2026-05-01, until: 2026-06-01, crews: [Anna]}\n"
    )
    (profiles / "hauls.csv").write_text(
        "load,date,crew,articles.1.weight\nloads/cart,2026-05-14,Anna,2000 lb\n"
    )
    done = run(profiles, "check", "hauls.csv#2", "--write-load", "profiles/loads/new.yaml")
    assert done.returncode == 3, "the one rule is excused, so that none was met"
    assert "note: a variance from weight-on-deck counts for the haul and not for" in done.stderr
    assert run(profiles, "check", "profiles/loads/new.yaml").returncode == 1


def test_hauls_of_a_season_can_be_saved() -> None:
    """The load read back has the data of the haul, so that every fact of it is the same."""
    season = shipped_folder("profiles") / "seasons" / "2026" / "hauls.csv"
    loads = Loads(LoadFinder(), None, [Rulebooks((), ())])
    hauls = read_hauls(open_log(season), loads, range(2, 150, 15))
    assert len(hauls) == 10
    for haul in hauls:
        assert isinstance(haul, Haul)
        document = read_bytes(load_text(haul).encode(), "new.yaml")
        written = profile_of(document, haul.load.file)
        assert without_references(written) == without_references(haul.profile)


def without_references(profile: Profile) -> dict[str, Any]:
    """The data of a load; where a file is named beside other fields, the name is left out."""
    data: Any = profile.merged.data
    parts = {key: data[key] for key in ("trailer", "tow_vehicle", "carrier") if key in data}
    return {**data, **{key: {**part, "from": ""} for key, part in parts.items()}}


def test_the_settings_say_how_logs_are_read(profiles: Path) -> None:
    """By the setting, or by the option that wins over it; in every command that reads a log."""
    (profiles / "own.csv").write_text("no,what,when,lb\nA,loads/cart,05/14/2026,1460\n")
    (profiles / "own.yaml").write_text(COLUMNS)
    (profiles / "other.yaml").write_text(COLUMNS.replace("lb: {", "pounds: {"))
    (profiles / "less.yaml").write_text(
        "kind: amendment\nid: more\ntitle: More\nlayer: company\njurisdiction: any\nchanges:\n"
        "  - {rule: weight-on-deck, threshold: limit, was: 1500 lb, value: 1450 lb, "
        "from: 2026-01-01, until: 2026-06-01, common_practice: yes}\n"
    )
    with (profiles / "cinchbook.yaml").open("a") as file:
        file.write("columns: own.yaml\n")
    assert run(profiles, "check", "own.csv#A").returncode == 0
    assert run(profiles, "explain", "own.csv#2", "weight-on-deck").returncode == 0
    assert run(profiles, "audit", "own.csv").returncode == 0
    moved = run(profiles, "impact", "less.yaml", "--over", "own.csv")
    assert "own.csv:2, 2026-05-14" in moved.stdout
    assert "no rule broken -> hold" in moved.stdout
    other = run(profiles, "check", "own.csv#A", "--columns", "other.yaml")
    assert "own.csv:1:14: found the column 'lb'" in other.stderr
