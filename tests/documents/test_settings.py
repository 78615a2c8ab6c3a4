"""Settings of a project: found from the working directory upwards, validated, told with origin."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from checker.cli.app import application
from checker.documents.problems import ProblemsFoundError
from checker.documents.settings import FILE, read_settings

AMENDMENT = """
kind: amendment
id: crew
title: Crew policy
layer: company
jurisdiction: any
changes:
  - {rule: tongue-share-ball, threshold: heaviest, was: 15 %, value: 11 %, from: 2026-03-01,
     common_practice: yes}
"""


@pytest.fixture
def project(tmp_path: Path) -> Path:
    (tmp_path / "amendments").mkdir()
    (tmp_path / "amendments" / "crew.yaml").write_text(AMENDMENT)
    (tmp_path / "trips").mkdir()
    return tmp_path


def write(project: Path, text: str) -> None:
    (project / FILE).write_text(f"kind: settings\n{text}")


def test_without_a_file_everything_is_built_in(tmp_path: Path) -> None:
    found = read_settings(tmp_path)
    assert (found.file, found.rules, found.units, found.near) == (
        None,
        ["shipped"],
        "profile",
        0.05,
    )


def test_the_nearest_file_upwards_counts_and_paths_start_from_it(project: Path) -> None:
    write(project, "amendments: [amendments]\nnear: 10 %\n")
    found = read_settings(project / "trips")
    assert found.file == project / FILE
    assert found.amendments == [str(project / "amendments")]
    assert found.near == pytest.approx(0.1)
    assert found.origins == {
        "amendments": f"{project / FILE}:2",
        "near": f"{project / FILE}:3",
    }
    (project / "trips" / FILE).write_text("kind: settings\nunits: si\n")
    assert read_settings(project / "trips").amendments == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("unitz: si\n", f"{FILE}:2:1: found the key 'unitz'"),
        ("units: imperial\n", "2:8: found 'imperial'; wanted one of: profile, us, si, mixed"),
        ("near: 5\n", "did you mean '5 %'?"),
        ("near: -5 %\n", "2:7: found '-5 %'"),
        ("amendments: [amendmnts]\n", "2:14: found no file or folder 'amendmnts'"),
        ("profiles: nowhere\n", "2:11: found no file or folder 'nowhere'"),
        ("columns: nowhere\n", "2:10: found no file or folder 'nowhere'"),
        ("rules: []\n", "2:8: found an empty list"),
        ("own_units: [bale 40 lb]\n", "2:13: found 'bale 40 lb'; wanted a word, ="),
        ("own_units:\n  - box = 5 lb\n  - lb = 1 kg\n", "4:5: found 'lb', which is a unit already"),
        ("own_units: [box = 5 lbz]\n", "did you mean 'box = 5 lb'?"),
        ("own_units: [5]\n", "2:13: found the bare number 5; wanted text"),
    ],
)
def test_faults_stand_at_their_line(project: Path, text: str, said: str) -> None:
    write(project, text)
    with pytest.raises(ProblemsFoundError, match="found") as caught:
        read_settings(project)
    (problem,) = caught.value.problems
    assert said in str(problem)


def test_all_faults_are_told_at_once(project: Path) -> None:
    write(project, "unitz: si\nnear: 5\namendments: [nowhere]\n")
    with pytest.raises(ProblemsFoundError, match="found") as caught:
        read_settings(project)
    assert [problem.mark.line for problem in caught.value.problems] == [2, 3, 4]


def test_a_check_uses_them_and_options_come_before(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """273 lb of 2,340 lb are 11.7 %: within 15 %, not within the crew's 11 %."""
    write(project, "amendments: [amendments]\nunits: si\n")
    monkeypatch.chdir(project / "trips")
    load = "loads/side-by-side-in-order"
    amended = CliRunner().invoke(application(), ["check", load, "--full"])
    assert amended.exit_code == 1
    assert "124 kg" in amended.stdout
    plain = CliRunner().invoke(
        application(), ["check", load, "--rules", "shipped", "--units", "us", "--full"]
    )
    assert plain.exit_code == 0
    assert "273 lb" in plain.stdout


def test_the_command_tells_value_and_origin(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(project, "units: si\n")
    monkeypatch.chdir(project)
    shown = CliRunner().invoke(application(), ["settings"], env={"COLUMNS": "200"}).stdout
    assert f"units: si ({project / FILE}:2)" in shown
    assert "near: 5 % (built in)" in shown


def test_a_faulty_file_ends_the_run(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(project, "unitz: si\n")
    monkeypatch.chdir(project)
    done = CliRunner().invoke(application(), ["check", "loads/side-by-side-in-order"])
    assert done.exit_code == 2
    assert "did you mean 'units'?" in done.stderr
