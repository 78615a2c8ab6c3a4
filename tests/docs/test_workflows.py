"""The two workflows of profiles/README.md, step by step, in a repository of 54 load profiles."""

import os
import re
import shlex
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from pre_commit.clientlib import load_manifest
from ruamel.yaml import YAML

from checker import __version__
from tests.docs.sample_repository import LOADS, commit, git, make
from tests.docs.served_program import ServedProgram
from tests.reports.read_back import READERS
from tests.reports.sarif_consumers import check_for_both

ROOT = Path(__file__).parents[2]
HELD = 21
"""Loads of the repository that stand too far forward or hang on the brush guard."""


def workflow(which: str) -> Any:
    """A workflow as the page about profiles prints it."""
    page = (ROOT / "profiles" / "README.md").read_text()
    found = re.search(rf"<!-- {which} workflow -->\n```yaml\n(.*?)```", page, re.S)
    assert found is not None
    return YAML(typ="safe", pure=True).load(found[1])


@pytest.fixture(scope="module")
def repository(tmp_path_factory: pytest.TempPathFactory, program: ServedProgram) -> Iterator[Path]:
    """The sample repository, with a branch on which one trailer was changed.

    Both events of a workflow have the command for every load. It is run for the first of them; its
    reports stay in place.
    """
    folder = tmp_path_factory.mktemp("crew") / "repository"
    folder.mkdir()
    make(folder)
    git(folder, "update-ref", "refs/remotes/origin/main", "main")
    git(folder, "checkout", "-q", "-b", "new-plate")
    trailer = folder / "profiles" / "trailers" / "tilt-tandem-20.yaml"
    trailer.write_text(trailer.read_text() + "# The plate was read again.\n")
    commit(folder)
    with program.running_nothing_twice():
        yield folder


def run_steps(lines: list[str], folder: Path, **env: str) -> subprocess.CompletedProcess[str]:
    """Run lines of a workflow as a CI server does."""
    done = subprocess.run(
        ["bash", "-e", "-o", "pipefail", "-c", "\n".join(lines)],  # noqa: S607 - as CI does
        cwd=folder,
        env=os.environ | {"CI": "true"} | env,
        capture_output=True,
        text=True,
        check=False,
    )
    assert "Traceback" not in done.stderr
    return done


def steps(lines: list[str], folder: Path, **env: str) -> int:
    """The exit code of lines of a workflow."""
    return run_steps(lines, folder, **env).returncode


def first(repository: Path, event: str, summary: Path) -> list[int]:
    """The exit codes of the first workflow's own steps that count for an event."""
    codes = []
    for step in workflow("first")["jobs"]["gate"]["steps"]:
        wanted = step.get("if", "always()")
        if (
            "run" in step
            and step["name"] != "install"
            and (wanted == "always()" or event in wanted)
        ):
            env = {"GITHUB_BASE_REF": "main", "GITHUB_STEP_SUMMARY": str(summary)}
            code = steps([step["run"]], repository, **env)
            if event not in step.get("continue-on-error", ""):
                codes.append(code)
    return codes


@pytest.mark.parametrize("which", ["first", "second"])
def test_the_program_is_installed_from_its_repository_at_a_tag(which: str) -> None:
    """Not by a name that an index may give to another program."""
    job = workflow(which)
    if which == "first":
        env = job["env"]
        (line,) = [each["run"] for each in job["jobs"]["gate"]["steps"] if "install" in str(each)]
    else:
        env = job["load-profiles"]["variables"]
        (line,) = job["load-profiles"]["before_script"]
    program, verb, word = shlex.split(line.replace("$CINCHBOOK", env["CINCHBOOK"]))
    assert (program, verb) == ("pip", "install")
    wanted = Requirement(word)
    assert wanted.name == "cinchbook"
    # A host that is kept for examples: nobody's repository is named (RFC 2606).
    address = rf"git\+https://git\.example\.org/[\w/-]+@v{re.escape(__version__)}"
    assert re.fullmatch(address, wanted.url or "")


def files(folder: Path) -> dict[str, str]:
    """The reports that a workflow left, by name; the pages for people as one of them."""
    return {"html": "\n".join(sorted(each.name for each in (folder / "pages").glob("*.html")))} | {
        each.name: each.read_text() for each in folder.iterdir() if each.is_file()
    }


@pytest.fixture(scope="module")
def on_main(repository: Path) -> dict[str, str]:
    """What both workflows leave for a push to the main branch, each in its turn."""
    summary = repository.parent / "push.md"
    assert first(repository, "push", summary) == [1, 0]
    assert steps(workflow("second")["load-profiles"]["script"], repository) == 1
    return files(repository / "out") | {"page": summary.read_text()}


@pytest.fixture(scope="module")
def on_a_change(repository: Path, on_main: dict[str, str]) -> dict[str, str]:
    """What both workflows leave for a change that touches eleven loads, all of them in order."""
    assert on_main
    summary = repository.parent / "change.md"
    assert first(repository, "pull_request", summary) == [0, 0]
    job = workflow("second")["load-profiles"]
    done = run_steps(job["script"], repository, CI_MERGE_REQUEST_DIFF_BASE_SHA="main")
    assert done.returncode == 0
    # What the change touches is printed last.
    touched = set(re.findall(r"haul-\d\d", done.stdout.rpartition("LOAD PROFILES")[2]))
    assert len(touched) == 11
    return files(repository / "out") | {"page": summary.read_text()}


def test_every_form_of_both_workflows_says_the_same_findings(on_main: dict[str, str]) -> None:
    first_ones = {"sarif": "loads.sarif", "markdown": "summary.md", "annotations": "lines.txt"}
    second_ones = {"junit": "junit.xml", "codequality": "quality.json", "csv": "loads.csv"}
    found = {
        form: sorted(READERS[form](on_main[name]))
        for form, name in (first_ones | second_ones).items()
    }
    # Each held load breaks one must-rule.
    assert len({file for file, _ in found["csv"]}) == len(found["csv"]) == HELD
    for form, stops in found.items():
        assert stops == found["csv"], form
    assert on_main["html"].count("haul-") == LOADS
    assert on_main["page"].count("| HOLD |") == HELD


def test_a_page_that_compares_gets_the_same_set_on_a_change(
    on_a_change: dict[str, str], on_main: dict[str, str]
) -> None:
    """A finding that is missing there would count as mended."""
    for name in ("loads.sarif", "junit.xml", "quality.json"):
        assert on_a_change[name] == on_main[name]
    # The summary and the annotations are of what the change touches.
    assert "## cinchbook: 11 load profiles" in on_a_change["page"]
    assert len(set(re.findall(r"haul-\d\d", on_a_change["lines.txt"]))) == 11
    assert f"## cinchbook: {LOADS} load profiles" in on_main["page"]


def test_both_services_take_the_log_of_the_repository(on_main: dict[str, str]) -> None:
    results = check_for_both(on_main["loads.sarif"])
    assert sum(each["level"] == "error" for each in results) == HELD
    # Every result is at a load, though the trailers and machines of all are the same few files.
    for each in results:
        file = each["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        assert file == each["properties"]["load"]


def test_the_hook_is_one_that_the_framework_accepts() -> None:
    (hook,) = load_manifest(str(ROOT / ".pre-commit-hooks.yaml"))
    assert hook["entry"].split()[:2] == ["cinchbook", "check"]
    # What to look at it finds out by itself: a changed trailer is no load, but some rest on it, and
    # of a file that was deleted no hook is told.
    assert hook["pass_filenames"] is False
    assert hook["always_run"] is True
    assert hook["entry"].split()[2:] == ["--staged", "--short"]
