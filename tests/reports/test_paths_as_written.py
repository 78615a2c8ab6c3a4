"""What a CI server compares is the same however the path of a load was written.

It compares fingerprints, classes of tests and paths of two runs; a job that starts the program in
another folder, or with absolute paths, must not make every finding a new one.
"""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from checker.cli.app import application
from checker.documents.resources import shipped_folder
from tests.equipment import copy_equipment

LOAD = "side-by-side-in-order.yaml"
FORMS = ("annotations", "codequality", "csv", "junit", "sarif")


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A repository of one load that breaks some rules, and one that cannot be read."""
    (tmp_path / ".git").mkdir()
    loads = tmp_path / "profiles" / "loads"
    copy_equipment(loads.parent)
    loads.mkdir()
    good = (shipped_folder("profiles") / "loads" / LOAD).read_text()
    (loads / LOAD).write_text(good.replace("x: 52 in", "x: 60 in"))
    (loads / "bad.yaml").write_text("kind: load\ntitle: Bad\ntrailer: {gwr: 1 lb}\n")
    return tmp_path


def written(here: Path, folder: str, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """The report of each form, made in a folder with a path of the loads."""
    monkeypatch.chdir(here)
    out = here / "out"
    to = ",".join(f"{form}={out / form}" for form in FORMS)
    done = CliRunner().invoke(application(), ["check", folder, "--short", "--write", to])
    assert done.exit_code == 2  # one file cannot be read
    return {form: (out / form).read_text() for form in FORMS}


@pytest.mark.parametrize(
    ("start", "folder"),
    [("", "./profiles/../profiles/loads"), ("profiles", "loads"), ("profiles/trailers", "{top}")],
)
def test_reports_are_the_same_however_a_path_is_written(
    project: Path, start: str, folder: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = written(project, "profiles/loads", monkeypatch)
    named = folder.format(top=project / "profiles" / "loads")
    assert written(project / start, named, monkeypatch) == plain
    for form, text in plain.items():
        assert f"profiles/loads/{LOAD}" in text, form
        assert str(project) not in text, form
