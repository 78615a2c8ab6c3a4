"""Drafts of rule files work where they are put, and a new project runs at once."""

import errno
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from tests.calling import call

ROOT = Path(__file__).parents[2]
SETTINGS = "kind: settings\nrules: [shipped, ours]\n"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A project with a folder for rules of its own, and a load in it."""
    (tmp_path / "ours").mkdir()
    (tmp_path / "cinchbook.yaml").write_text(SETTINGS)
    return tmp_path


def run(place: Path, *words: str, code: int = 0) -> str:
    done = call(place, *words, COLUMNS="200")
    assert done.returncode == code, done.stdout + done.stderr
    return done.stdout + done.stderr


@pytest.mark.parametrize("kind", ["amendment", "variances", "sources", "ratings", "coverage"])
def test_a_draft_of_a_rule_file_is_in_order_beside_the_shipped_rules(
    place: Path, kind: str
) -> None:
    run(place, "draft", kind, "ours/new.yaml")
    shown = run(place, "rules")
    assert "problem" not in shown


def test_the_draft_of_an_amendment_changes_no_figure(place: Path) -> None:
    run(place, "draft", "amendment", "ours/new.yaml")
    shown = run(place, "history", "tongue-share-ball")
    # The rulebook's own value, set once more by the company from today on.
    assert "heaviest = 15 %, set by company, Changes by the company" in shown
    assert shown.count("15 %") >= 2


def test_the_draft_of_a_table_proves_and_its_limit_is_the_bundled_one(place: Path) -> None:
    run(place, "draft", "ratings", "ours/new.yaml")
    # One limit up and down, one first day later and earlier.
    assert "1 rules and tables, 2 proofs, 0 failing; 4 nudges, 4 noticed" in run(
        place, "prove", "--rules", "ours"
    )


def test_the_draft_of_a_coverage_is_printed_by_its_command(place: Path) -> None:
    run(place, "draft", "coverage", "ours/new.yaml")
    assert "A county's code, chapter 12" in run(place, "coverage", "us-ut-basin")


def test_a_coverage_that_cites_no_known_document_is_a_problem(place: Path) -> None:
    run(place, "draft", "coverage", "ours/new.yaml")
    file = place / "ours" / "new.yaml"
    file.write_text(file.read_text().replace("source: makers-labels", "source: makers-label"))
    said = run(place, "rules", code=2)
    assert re.search(r"ours/new.yaml:\d+:9: found the source 'makers-label'; wanted ", said)
    assert "did you mean 'makers-labels'?" in said


@pytest.mark.parametrize("there", [".", "../crew", "crew"])
def test_a_new_project_goes_into_a_folder_that_is_there_and_empty(
    tmp_path: Path, there: str
) -> None:
    (tmp_path / "crew").mkdir()
    here = tmp_path if there == "crew" else tmp_path / "crew"
    entry = (tmp_path / "crew").stat().st_ino
    said = run(here, "draft", "project", there)
    step = "" if there == "." else f"cd {there} && "
    assert f"next: {step}cinchbook check profiles" in said
    # The folder itself, in which a shell may stand, and nothing half-written in it.
    assert (tmp_path / "crew").stat().st_ino == entry
    assert {".github", "amendments", "cinchbook.yaml", "profiles"} == {
        each.name for each in (tmp_path / "crew").iterdir()
    }


def test_of_a_project_that_cannot_be_finished_nothing_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "crew").mkdir()

    def full(part: Path, to: Path, rename: Callable[[Path, Path], Path] = Path.rename) -> Path:
        if part.name == "profiles":
            raise OSError(errno.ENOSPC, "no space left")
        return rename(part, to)

    monkeypatch.setattr(Path, "rename", full)
    assert "found 'crew', which cannot be written" in run(
        tmp_path, "draft", "project", "crew", code=2
    )
    assert list((tmp_path / "crew").iterdir()) == []


def test_a_new_project_runs_at_once(tmp_path: Path) -> None:
    said = run(tmp_path, "draft", "project", "crew")
    sample = "profiles/loads/mower-in-order.yaml"
    assert f"next: cd crew && cinchbook check {sample}" in said
    crew = tmp_path / "crew"
    assert "NO RULE BROKEN" in run(crew, "check", sample)
    shown = run(crew, "check", "profiles/loads", "--short")
    loads = len(list((crew / "profiles" / "loads").iterdir()))
    assert f"{loads} no rule broken; 0 OPEN; 0 HOLD" in shown
    settings = run(crew, "settings")
    for line in ("rules: shipped (", "amendments: amendments (", "profiles: profiles ("):
        assert line in settings
    noted = run(crew, "sources", "our-policy", "--read-on", date.today().isoformat(), "--by", "A")
    assert "amendments/sources.yaml: written" in noted
    assert "tongue-share-ball" in run(
        *(crew, "amend", "tongue-share-ball", "heaviest", "14 %", "--from", "2026-07-01"),
        "--common-practice",
    )


def test_the_workflow_of_a_project_is_that_of_the_guide(tmp_path: Path) -> None:
    run(tmp_path, "draft", "project", "crew")
    page = (ROOT / "profiles" / "README.md").read_text()
    found = re.search(r"<!-- first workflow -->\n```yaml\n(.*?)```", page, re.DOTALL)
    assert found is not None
    workflow = tmp_path / "crew" / ".github" / "workflows" / "cinchbook.yml"
    assert workflow.read_text() == found[1]


@pytest.mark.parametrize("name", ["there", "deep/er", "file", ""])
def test_a_project_goes_into_a_new_folder_only(tmp_path: Path, name: str) -> None:
    (tmp_path / "there").mkdir()
    (tmp_path / "there" / "own.txt").write_text("mine")
    (tmp_path / "file").write_text("mine")
    said = {
        "there": "found 'there' with files in it; wanted a new folder, or an empty one",
        "deep/er": "found no folder 'deep'; wanted one to make the project in",
        "file": "found 'file', which is no folder; wanted a new folder",
        "": "wanted `cinchbook draft project FOLDER`",
    }[name]
    assert said in run(tmp_path, "draft", "project", *([name] if name else []), code=2)
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["file", "own.txt", "there"]


def test_an_empty_folder_becomes_a_project(tmp_path: Path) -> None:
    (tmp_path / "crew").mkdir()
    run(tmp_path, "draft", "project", "crew")
    assert (tmp_path / "crew" / "cinchbook.yaml").is_file()


def test_words_that_no_project_takes_are_refused(tmp_path: Path) -> None:
    assert "wanted the new folder alone" in run(
        tmp_path, "draft", "project", "crew", "--force", code=2
    )
    assert "did you mean 'project'?" in run(tmp_path, "draft", "projct", "crew", code=2)
