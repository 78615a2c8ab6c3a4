"""`cinchbook audit --write`: the files written, and the messages if one cannot be."""

import csv
import io
import json
import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import load_workbook
from typer.testing import CliRunner, Result

from checker.cli.app import application
from checker.documents.resources import shipped_folder
from checker.season.hauls import digests

Run = Callable[..., Result]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Audit two hauls, one of them on hold, in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    Path("hauls.csv").write_text(
        "load,date,walkaround.chains_crossed\n"
        "loads/side-by-side-in-order,2026-05-14,yes\n"
        "loads/side-by-side-in-order,2026-05-15,no\n"
    )

    def audited(*words: str) -> Result:
        return CliRunner().invoke(
            application(), ["audit", "hauls.csv", "--rules", "north-america-coupling", *words]
        )

    return audited


def test_every_form_is_written_beside_the_text(run: Run) -> None:
    asked = "csv=out/a.csv,xlsx=out/a.xlsx"
    done = run("--write", asked, "--write", "html=out/a.html", "--write", "json=out/a.json")
    assert done.exit_code == 1
    assert "2 rows read" in done.stdout
    out = Path("out")
    assert sorted(file.name for file in out.iterdir()) == ["a.csv", "a.html", "a.json", "a.xlsx"]
    rows = list(csv.DictReader((out / "a.csv").read_text().splitlines()))
    assert (rows[0]["hauls"], rows[0]["on hold"]) == ("2", "1")
    assert json.loads((out / "a.json").read_text())["totals"]["held"] == 1
    assert load_workbook(out / "a.xlsx")["Months"]["C2"].value == 1
    page = (out / "a.html").read_text()
    assert 'id="haul-3"' in page
    assert "chains crossed: no; wanted yes" in page
    assert (out / "a.json").read_text() == run("--as", "json").stdout


@pytest.mark.usefixtures("run")
def test_the_name_of_a_log_that_is_not_utf_8_is_written_escaped() -> None:
    name = os.fsdecode(b"caf\xe9.csv")
    Path("hauls.csv").rename(name)
    files = "csv=a.csv,xlsx=a.xlsx,html=a.html,json=a.json"
    words = ["audit", name, "--rules", "north-america-coupling", "--write", files]
    assert CliRunner().invoke(application(), words).exit_code == 1
    assert json.loads(Path("a.json").read_text())["log"] == r"caf\xe9.csv"
    assert r"caf\xe9.csv" in Path("a.html").read_text()
    assert Path("a.csv").is_file()
    assert Path("a.xlsx").is_file()


def test_a_form_on_standard_output_stands_alone(run: Run) -> None:
    done = run("--write", "csv=-")
    rows = list(csv.DictReader(io.StringIO(done.stdout, newline="")))
    assert rows[0]["kind"] == "all"
    book = load_workbook(io.BytesIO(run("--write", "xlsx=-").stdout_bytes))
    assert book.sheetnames[0] == "Totals"


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("hmtl=a.html", "wanted one of: csv, html, json, statement, xlsx; did you mean 'html'?"),
        ("junit=a.xml", "wanted one of: csv, html, json, statement, xlsx"),
        ("csv", "found 'csv'; wanted csv=FILE"),
        ("csv=-,json=-", "found two reports for standard output; wanted one"),
        ("csv=hauls.csv/a.csv", "cannot be written"),
    ],
)
def test_what_cannot_be_written_is_told(run: Run, asked: str, said: str) -> None:
    done = run("--write", asked)
    assert done.exit_code == 2
    assert said in done.stderr
    assert "Traceback" not in done.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--write", "csv=hauls.csv"], "found 'hauls.csv' to write, which this run reads"),
        (["--write", "csv=./other/../hauls.csv"], "which this run reads; wanted another file"),
        (["--write", "csv=linked.csv"], "found 'linked.csv' to write, which this run reads"),
        (
            ["--columns", "own.yaml", "--write", "json=own.yaml"],
            "'own.yaml' to write, which",
        ),
        (["--compare", "old.json", "--write", "json=old.json"], "'old.json' to write, which this"),
        (
            ["--rules", "mine", "--write", "json=mine/book.yaml"],
            "'mine/book.yaml' to write; wanted",
        ),
        (
            ["--write", "csv=profiles/loads/mine.yaml"],
            "mine.yaml' to write; wanted a name that no",
        ),
        (["--write", "csv=profiles/trailers/utility-single-10.yaml"], "wanted a name that no"),
        (["--write", "csv=a,json=a"], "found 'a' and 'a' to write; wanted a file for each"),
        (
            ["--findings", "./a.jsonl", "--write", "json=a.jsonl"],
            "'a.jsonl' to write; wanted a file",
        ),
    ],
)
def test_nothing_is_written_over_what_is_read_or_written(
    run: Run, words: list[str], said: str
) -> None:
    Path("other").mkdir()
    Path("linked.csv").hardlink_to("hauls.csv")
    Path("own.yaml").write_text("kind: haul-log\ncolumns: {load: load}\n")
    Path("old.json").write_text(run("--as", "json").stdout)
    Path("mine").mkdir()
    rules = Path(str(shipped_folder("rules")))
    shutil.copy(rules / "sources.yaml", "mine")
    shutil.copy(rules / "common-practice" / "placement.yaml", "mine/book.yaml")
    unlike = shutil.ignore_patterns("seasons")
    shutil.copytree(Path(str(shipped_folder("profiles"))), "profiles", ignore=unlike)
    Path("profiles/loads/mower-in-order.yaml").rename("profiles/loads/mine.yaml")
    with Path("hauls.csv").open("a") as log:
        log.write("profiles/loads/mine.yaml,2026-05-16,yes\n")
    before = {file: file.read_bytes() for file in Path().rglob("*") if file.is_file()}
    done = run(*words)
    assert done.exit_code == 2
    assert said in done.stderr
    assert {file: file.read_bytes() for file in Path().rglob("*") if file.is_file()} == before


@pytest.mark.parametrize(
    ("library", "extra", "words"),
    [
        ("openpyxl", "xlsx", ("--write", "xlsx=a.xlsx")),
        ("pyarrow", "arrow", ("--findings", "a.parquet")),
        ("distributed", "cluster", ("--cluster", "tcp://127.0.0.1:8786")),
    ],
)
def test_a_library_that_is_not_there_is_told_before_the_work(
    library: str, extra: str, words: tuple[str, ...], run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def begun(*_given: object, **_named: object) -> None:
        raise AssertionError("the work was begun")

    for name in [name for name in sys.modules if name.partition(".")[0] == library]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, library, None)
    monkeypatch.setattr(digests, "digest_of_log", begun)
    done = run(*words)
    assert (done.exit_code, done.stdout) == (2, "")
    assert f"pip install 'cinchbook[{extra}]'" in done.stderr
    assert f"the library {library}" in done.stderr
    assert list(Path().iterdir()) == [Path("hauls.csv")]


@pytest.mark.parametrize(
    ("log", "library", "extra"),
    [("hauls.xlsx", "openpyxl", "xlsx"), ("hauls.parquet", "pyarrow", "arrow")],
)
def test_a_log_that_needs_a_library_that_is_not_there_is_told(
    log: str, library: str, extra: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / log).write_bytes(b"")
    for name in [name for name in sys.modules if name.partition(".")[0] == library]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, library, None)
    done = CliRunner().invoke(application(), ["audit", str(tmp_path / log)])
    assert (done.exit_code, done.stdout) == (2, "")
    assert f"{log}:1:1: found a log of the form" in done.stderr
    assert f"pip install 'cinchbook[{extra}]'" in done.stderr


def test_a_log_without_a_haul_is_no_pass(run: Run) -> None:
    Path("hauls.csv").write_text("load,date\n")
    done = run("--write", "html=a.html")
    assert done.exit_code == 3
    assert "No haul was checked: that is no verdict on any" in done.stdout
    assert "No haul was checked: that is no verdict on any" in Path("a.html").read_text()


def test_files_tell_what_differs_from_an_earlier_audit(run: Run) -> None:
    Path("then.json").write_text(run("--as", "json").stdout)
    with Path("hauls.csv").open("a") as log:
        log.write("loads/mower-in-order,2026-05-16,no\n")
    done = run("--compare", "then.json", "--write", "html=a.html,json=a.json")
    assert "ON HOLD BY MACHINE, NOW AND THEN" in done.stdout
    told = json.loads(Path("a.json").read_text())["compared"]
    assert told["then"]["totals"]["held"] == 1
    page = Path("a.html").read_text()
    assert '<h2 id="differs">Since the earlier audit</h2>' in page
    assert "<li>on hold, of decided hauls: 2 of 3 (66.7 %); then 1 of 2 (50 %)</li>" in page
