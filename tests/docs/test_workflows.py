"""The two workflows of profiles/README.md, step by step, in a repository of 54 load profiles."""

import csv
import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft7Validator
from lxml import etree
from pre_commit.clientlib import load_manifest
from referencing import Registry
from ruamel.yaml import YAML

from tests.docs.sample_repository import LOADS, commit, git, make

ROOT = Path(__file__).parents[2]
SCHEMAS = ROOT / "tests" / "reference" / "schemas"


def workflow(which: str) -> Any:
    """A workflow as the page about profiles prints it."""
    page = (ROOT / "profiles" / "README.md").read_text()
    found = re.search(rf"<!-- {which} workflow -->\n```yaml\n(.*?)```", page, re.S)
    assert found is not None
    return YAML(typ="safe", pure=True).load(found[1])


@pytest.fixture(scope="module")
def repository(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample repository, with a branch on which one trailer was changed."""
    folder = tmp_path_factory.mktemp("crew") / "repository"
    folder.mkdir()
    make(folder)
    git(folder, "update-ref", "refs/remotes/origin/main", "main")
    git(folder, "checkout", "-q", "-b", "new-plate")
    trailer = folder / "profiles" / "trailers" / "tilt-tandem-20.yaml"
    trailer.write_text(trailer.read_text() + "# The plate was read again.\n")
    commit(folder)
    return folder


def steps(lines: list[str], folder: Path, **env: str) -> int:
    """Run lines of a workflow as a CI server does; gives the exit code."""
    program = Path(sys.executable).parent
    done = subprocess.run(
        ["bash", "-e", "-o", "pipefail", "-c", "\n".join(lines)],  # noqa: S607 - as CI does
        cwd=folder,
        env=os.environ | {"PATH": f"{program}{os.pathsep}{os.environ['PATH']}", "CI": "true"} | env,
        capture_output=True,
        text=True,
        check=False,
    )
    assert "Traceback" not in done.stderr
    return done.returncode


def first(repository: Path, event: str, summary: Path) -> list[int]:
    """The first workflow's own steps for an event, each with its exit code."""
    codes = []
    for step in workflow("first")["jobs"]["gate"]["steps"]:
        wanted = step.get("if", "always()")
        if (
            "run" in step
            and step["name"] != "install"
            and (wanted == "always()" or event in wanted)
        ):
            env = {"GITHUB_BASE_REF": "main", "GITHUB_STEP_SUMMARY": str(summary)}
            codes.append(steps([step["run"]], repository, **env))
    return codes


def check_sarif(file: Path) -> list[Any]:
    log = json.loads(file.read_text())
    schema = json.loads((SCHEMAS / "sarif-schema-2.1.0.json").read_text())
    Draft7Validator(schema, registry=Registry()).validate(log)
    return log["runs"][0]["results"]


def test_the_first_workflow_on_a_pull_request(repository: Path, tmp_path: Path) -> None:
    summary = tmp_path / "summary.md"
    # Only the eleven loads on the changed trailer, and all of those are in order.
    assert first(repository, "pull_request", summary) == [0, 0]
    assert "## cinchbook: 11 load profiles" in summary.read_text()
    assert check_sarif(repository / "out" / "loads.sarif") == []  # nothing broken, nothing near
    assert len(list((repository / "out" / "pages").glob("haul-*.html"))) == 11


def test_the_first_workflow_on_a_push(repository: Path, tmp_path: Path) -> None:
    summary = tmp_path / "summary.md"
    assert first(repository, "push", summary) == [1, 0]
    text = summary.read_text()
    assert f"## cinchbook: {LOADS} load profiles" in text
    # 21 stand too far forward or hang on the brush guard.
    assert text.count("| HOLD |") == 21
    held = {
        each["properties"]["load"]
        for each in check_sarif(repository / "out" / "loads.sarif")
        if each["kind"] == "fail" and each["level"] == "error"
    }
    assert len(held) == 21
    lines = (repository / "out" / "lines.txt").read_text().splitlines()
    assert sum(line.startswith("::error ") for line in lines) >= 21
    assert len(list((repository / "out" / "pages").glob("*.html"))) == LOADS + 1


@pytest.mark.parametrize(("base", "code", "loads"), [("main", 0, 11), ("", 1, LOADS)])
def test_the_second_workflow(repository: Path, base: str, code: int, loads: int) -> None:
    job = workflow("second")["load-profiles"]
    env = {"CI_MERGE_REQUEST_DIFF_BASE_SHA": base} if base else {}
    assert steps(job["script"], repository, **env) == code
    reports = job["artifacts"]["reports"]
    text = (repository / reports["junit"]).read_bytes()
    etree.XMLSchema(etree.parse(SCHEMAS / "junit-10.xsd")).assertValid(etree.fromstring(text))
    assert len(etree.fromstring(text)) == loads
    issues = json.loads((repository / reports["codequality"]).read_text())
    assert all(issue["location"]["path"].startswith("profiles/") for issue in issues)
    rows = list(csv.DictReader(io.StringIO((repository / "out" / "loads.csv").read_text())))
    assert len({row["file"] for row in rows}) == loads


def test_the_hook_is_one_that_the_framework_accepts() -> None:
    (hook,) = load_manifest(str(ROOT / ".pre-commit-hooks.yaml"))
    assert hook["entry"].split()[:2] == ["cinchbook", "check"]
    # What to look at it finds out by itself: a changed trailer is no load, but some rest on it, and
    # of a file that was deleted no hook is told.
    assert hook["pass_filenames"] is False
    assert hook["always_run"] is True
    assert hook["entry"].split()[2:] == ["--staged", "--short"]
