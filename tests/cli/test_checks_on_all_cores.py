"""Loads that several processes check come out as those that one process checks, or not at all."""

import os
import sys
from pathlib import Path

import pytest

from checker.cli import checked_loads
from checker.documents.resources import shipped_folder
from tests.calling import call

ROOT = shipped_folder("profiles").parent
FEW = ("profiles/loads/too-far-forward.yaml", "profiles/loads/rear-straps-only.yaml")
OTHERS = ("variance-late-first-stop", "scale-tolerances", "missing-information")
SEVERAL = (*FEW, *(f"profiles/loads/{name}.yaml" for name in OTHERS))

pytestmark = pytest.mark.skipif(
    sys.platform == "darwin" or not hasattr(os, "fork"), reason="checks in one process there"
)


@pytest.fixture
def on_all_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checked_loads, "FEWEST_LOADS", 2)
    monkeypatch.setattr(checked_loads, "FEWEST_CORES", 1)


def test_every_report_is_the_same_to_the_byte(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def written(name: str) -> dict[str, bytes]:
        folder = tmp_path / name
        forms = ",".join(f"{form}={folder / form}" for form in ("json", "csv", "markdown"))
        done = call(ROOT, "check", *SEVERAL, "--full", "--write", forms)
        assert done.returncode == 1, done.stderr
        return {each.name: each.read_bytes() for each in folder.iterdir()}

    alone = written("alone")
    monkeypatch.setattr(checked_loads, "FEWEST_LOADS", 2)
    monkeypatch.setattr(checked_loads, "FEWEST_CORES", 1)
    assert written("together") == alone


@pytest.mark.usefixtures("on_all_cores")
def test_an_error_in_another_process_is_no_verdict(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_task: object) -> None:
        message = "boom"
        raise RuntimeError(message)

    monkeypatch.setattr(checked_loads, "_check", fail)
    done = call(ROOT, "check", *FEW)
    assert done.returncode == 2
    assert "error in the program (RuntimeError: boom)" in done.stderr


@pytest.mark.usefixtures("on_all_cores")
def test_a_process_that_is_ended_from_outside_is_no_verdict(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(checked_loads, "_check", lambda _task: os._exit(0))
    done = call(ROOT, "check", *FEW)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("a process of this run was ended from outside")


def test_few_loads_start_no_process(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checked_loads, "_on_all_cores", pytest.fail)
    monkeypatch.setattr(checked_loads, "FEWEST_CORES", 1)
    assert call(ROOT, "check", *FEW, "--short").returncode == 1
