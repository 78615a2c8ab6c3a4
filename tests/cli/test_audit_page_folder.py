"""The page of an audit with its data in a folder beside it: written, replaced, refused."""

from collections.abc import Callable
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner, Result

from checker.cli.app import application
from checker.cli.page_folder import write_page

Run = Callable[[], Result]
PAGE, FOLDER = Path("out/season.html"), Path("out/season-hauls")
FILES = {"0001.js": "cinchbookHauls(1);\n", "0002.js": "cinchbookHauls(2);\n"}


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Audit a haul that is on hold, with no room for its list in the page."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("checker.reports.audit_forms.html.MOST_IN_PAGE", 1000)
    Path("hauls.csv").write_text(
        "load,date,walkaround.chains_crossed\nloads/side-by-side-in-order,2026-05-15,no\n"
    )

    def audited() -> Result:
        words = ["hauls.csv", "--rules", "north-america-coupling", "--write", f"html={PAGE}"]
        return CliRunner().invoke(application(), ["audit", *words])

    return audited


def names(folder: Path) -> list[str]:
    """What is in a folder, also if it is hidden."""
    return sorted(each.name for each in folder.iterdir())


def test_files_beside_the_page_are_named_and_replaced_with_it(run: Run) -> None:
    done = run()
    assert done.exit_code == 1
    assert (
        f"the list of hauls on hold or open is beside '{PAGE}': {FOLDER / '0001.js'}" in done.stderr
    )
    assert names(FOLDER) == ["0001.js"]
    (FOLDER / "0002.js").write_text("cinchbookHauls(of a longer list);")
    assert run().exit_code == 1
    assert names(FOLDER) == ["0001.js"]
    assert names(PAGE.parent) == ["season-hauls", "season.html"]


def test_a_page_with_room_for_its_list_has_no_folder(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    run()
    monkeypatch.setattr("checker.reports.audit_forms.html.MOST_IN_PAGE", 5_000_000)
    assert "beside" not in run().stderr
    assert names(PAGE.parent) == ["season.html"]


@pytest.mark.parametrize("name", ["notes.txt", "0001.js"])
def test_a_folder_with_other_files_is_refused_before_the_work(run: Run, name: str) -> None:
    FOLDER.mkdir(parents=True)
    (FOLDER / name).write_text("ours")
    done = run()
    assert (done.exit_code, done.stdout) == (2, "")
    assert f"with other files in it ('{name}'); wanted that name free" in done.stderr
    assert (FOLDER / name).read_text() == "ours"
    assert not PAGE.exists()


def test_where_the_page_cannot_be_written_nothing_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    PAGE.parent.mkdir()
    write_page("the first", {"0001.js": FILES["0001.js"]}, PAGE)

    def full(*_given: object, **_named: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(Path, "write_text", full)
        with pytest.raises(typer.Exit, match="2"):
            write_page("the second", FILES, PAGE)
    assert names(PAGE.parent) == ["season-hauls", "season.html"]
    assert PAGE.read_text() == "the first"
    assert names(FOLDER) == ["0001.js"]
