"""What a check says first where no single change mends a load, by the loads' own comments."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from checker.cli.app import application
from checker.documents.resources import shipped_folder


def checked(name: str, *options: str) -> str:
    file = Path(str(shipped_folder("profiles") / "loads" / f"{name}.yaml"))
    return " ".join(
        CliRunner().invoke(application(), ["check", str(file), *options]).output.split()
    )


def test_a_load_that_takes_several_changes_gets_them_together() -> None:
    # The load's comment: tyres against the rail, two straps behind.
    said = checked("rear-straps-only")
    assert "No single change is enough. 3 changes together break no must-rule" in said
    assert "5 in further back" in said
    assert "anchor front-left" in said
    assert "cinchbook arrange" in said


@pytest.mark.parametrize("name", ["under-rated-straps", "side-by-side-in-order"])
def test_one_change_that_is_enough_stays_alone(name: str) -> None:
    assert "No single change" not in checked(name)


def test_a_folder_is_told_how_to_ask() -> None:
    said = checked("rear-straps-only", "--as", "json")
    assert "No single change is enough: cinchbook arrange" in said
    assert "changes together" not in said
