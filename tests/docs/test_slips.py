"""No slip gets by: each is planted in the crew's repository and met by both workflows and the hook.

The hook is run by the real client, as git calls it for a commit.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from pre_commit.clientlib import load_manifest

from tests.docs.sample_repository import commit, git, make
from tests.docs.test_workflows import ROOT, first, run_steps, steps, workflow
from tests.reports.read_back import of_junit

pytestmark = pytest.mark.usefixtures("program")


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample repository on a branch of its own, with the hook of this project in place."""
    folder = tmp_path_factory.mktemp("slips") / "repository"
    folder.mkdir()
    make(folder)
    (hook,) = load_manifest(str(ROOT / ".pre-commit-hooks.yaml"))
    # The program under test, in place of one that the client would install.
    own = {
        **hook,
        "language": "system",
        "args": ["profiles/loads"],
        "minimum_pre_commit_version": "0",
    }
    for name in ("additional_dependencies", "language_version", "minimum_pre_commit_version"):
        del own[name]
    config = {"repos": [{"repo": "local", "hooks": [own]}]}
    (folder / ".pre-commit-config.yaml").write_text(json.dumps(config))
    commit(folder)
    git(folder, "update-ref", "refs/remotes/origin/main", "main")
    git(folder, "checkout", "-q", "-b", "work")
    assert client(folder, "install").returncode == 0
    return folder


@pytest.fixture
def repository(original: Path, tmp_path: Path) -> Path:
    """A copy of it to plant a slip in."""
    folder = tmp_path / "repository"
    shutil.copytree(original, folder, symlinks=True)
    return folder


@pytest.fixture
def installed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The installed command is called, in a process of its own."""
    monkeypatch.setenv("PATH", str(Path(sys.executable).parent), prepend=os.pathsep)


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    env = {
        **os.environ,
        "PRE_COMMIT_HOME": str(folder.parent / "client"),
        "GIT_CONFIG_GLOBAL": os.devnull,
        "COLUMNS": "100",
    }
    return subprocess.run(words, cwd=folder, env=env, capture_output=True, text=True, check=False)


def client(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return run(folder, sys.executable, "-m", "pre_commit", *words)


def try_to_commit(folder: Path) -> subprocess.CompletedProcess[str]:
    return run(folder, "git", "commit", "-q", "-m", "A slip")


def load(folder: Path, number: int) -> Path:
    return folder / "profiles" / "loads" / f"haul-{number:02}.yaml"


def misspelt(file: Path) -> None:
    file.write_text(file.read_text().replace("kind: load", "kind: laod"))


def capital(file: Path) -> None:
    file.write_text(file.read_text().replace("kind: load", "Kind: load"))


def utf_16(file: Path) -> None:
    file.write_bytes(file.read_text().encode("utf-16"))


def emptied(file: Path) -> None:
    file.write_text("")


def dangling(file: Path) -> None:
    file.unlink()
    file.symlink_to("gone.yaml")


def other_ending(file: Path) -> None:
    file.rename(file.with_suffix(".yml"))


def large_ending(file: Path) -> None:
    file.rename(file.with_suffix(".YAML"))


def quoted_key(file: Path) -> None:
    file.write_text(file.read_text().replace("kind: load", '"kind" : load') + "# moved\n")


def byte_order_mark(file: Path) -> None:
    file.write_text("\ufeff" + file.read_text())


def old_line_ends(file: Path) -> None:
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r"))


def with_few_loads(folder: Path, *numbers: int) -> None:
    """The same repository with those loads alone, else with the first."""
    for number in {*range(1, 55)} - {*(numbers or (1,))}:
        load(folder, number).unlink()
    commit(folder)
    git(folder, "update-ref", "refs/remotes/origin/main", "work")


# Five loads take turns: the first is in order, and the third stands too far forward.
PROBLEMS = {1: misspelt, 6: capital, 11: utf_16, 16: emptied, 21: dangling}
HELD = {3: other_ending, 8: large_ending, 13: quoted_key, 18: byte_order_mark, 23: old_line_ends}


@pytest.mark.parametrize(("slips", "code"), [(PROBLEMS, 2), (HELD, 1)])
def test_slips_in_loads_stop_both_workflows_and_the_hook(
    slips: dict[int, Callable[[Path], None]], code: int, repository: Path, tmp_path: Path
) -> None:
    """Each of them is named by each of the three, and two others by none."""
    with_few_loads(repository, *slips, 2, 7)
    for number, plant in slips.items():
        plant(load(repository, number))
    git(repository, "add", "-A")
    done = try_to_commit(repository)
    assert done.returncode == 1
    named = {f"haul-{number:02}" for number in slips}
    assert named == set(re.findall(r"haul-\d\d", done.stderr))
    commit(repository)
    summary = tmp_path / "summary.md"
    assert first(repository, "pull_request", summary) == [code, 0]
    assert named == set(re.findall(r"haul-\d\d", summary.read_text().replace("\\", "")))
    job = workflow("second")["load-profiles"]
    done = run_steps(job["script"], repository, CI_MERGE_REQUEST_DIFF_BASE_SHA="origin/main")
    assert done.returncode == code
    # What the change touches is printed last; the reports are of every load.
    assert named == set(re.findall(r"haul-\d\d", done.stdout.rpartition("LOAD PROFILES")[2]))
    stopped = {file for file, _ in of_junit((repository / "out" / "junit.xml").read_text())}
    assert named <= {found for file in stopped for found in re.findall(r"haul-\d\d", file)}


def test_a_deleted_trailer_stops_the_hook_and_the_workflows(
    repository: Path, tmp_path: Path
) -> None:
    with_few_loads(repository, 1, 4)  # the fourth is on that trailer
    (repository / "profiles" / "trailers" / "tilt-tandem-20.yaml").unlink()
    git(repository, "add", "-A")
    done = try_to_commit(repository)
    assert done.returncode == 1
    assert "found 'trailers/tilt-tandem-20'" in done.stderr
    commit(repository)
    assert first(repository, "pull_request", tmp_path / "summary.md") == [2, 0]


def test_a_trailer_that_is_in_no_commit_stops_the_hook(repository: Path) -> None:
    (repository / ".gitignore").write_text("tilt-tandem-20.yaml\n")
    git(repository, "rm", "-q", "--cached", "profiles/trailers/tilt-tandem-20.yaml")
    git(repository, "add", "-A")
    done = try_to_commit(repository)
    assert done.returncode == 1
    assert "found 'trailers/tilt-tandem-20'" in done.stderr


def test_deleted_settings_touch_every_load(repository: Path, tmp_path: Path) -> None:
    with_few_loads(repository)
    (repository / "cinchbook.yaml").unlink()
    git(repository, "add", "-A")
    done = client(repository, "run", "--verbose", "cinchbook-check")
    assert "1 no rule broken" in done.stdout
    commit(repository)
    assert first(repository, "pull_request", tmp_path / "summary.md") == [0, 0]
    assert "## cinchbook: 1 load profile\n" in (tmp_path / "summary.md").read_text()


def test_an_amendment_by_another_ending_counts(repository: Path, tmp_path: Path) -> None:
    with_few_loads(repository)
    crew = repository / "amendments" / "crew.yaml"
    crew.write_text(crew.read_text().replace("14.9 %", "9 %"))
    crew.rename(crew.with_suffix(".yml"))
    git(repository, "add", "-A")
    assert try_to_commit(repository).returncode == 1
    commit(repository)
    assert first(repository, "pull_request", tmp_path / "summary.md") == [1, 0]


def test_a_scratch_file_and_an_edit_that_is_not_staged_block_no_commit(repository: Path) -> None:
    (repository / "profiles" / "loads" / "scratch.yaml").write_text("kind: laod\n")
    load(repository, 2).write_text("kind: load\nnothing\n")
    file = load(repository, 1)
    file.write_text(file.read_text() + "# looked at\n")
    git(repository, "add", str(file))
    done = try_to_commit(repository)
    assert done.returncode == 0, done.stderr
    assert load(repository, 2).read_text() == "kind: load\nnothing\n"


def test_a_commit_of_some_files_is_judged_without_the_others(repository: Path) -> None:
    """`git commit FILE` makes an index of its own."""
    misspelt(load(repository, 1))
    git(repository, "add", "-A")
    file = load(repository, 2)
    file.write_text(file.read_text() + "# looked at\n")
    words = ("git", "commit", "-q", "-m", "One file", str(file.relative_to(repository)))
    assert run(repository, *words).returncode == 0
    assert try_to_commit(repository).returncode == 1


@pytest.mark.usefixtures("installed")
def test_the_first_commit_is_judged_whole(repository: Path) -> None:
    with_few_loads(repository)
    shutil.rmtree(repository / ".git")
    git(repository, "init", "-q", "-b", "main")
    git(repository, "config", "user.email", "crew@example.org")
    git(repository, "config", "user.name", "Crew")
    assert client(repository, "install").returncode == 0
    misspelt(load(repository, 1))
    git(repository, "add", "-A")
    done = try_to_commit(repository)
    assert done.returncode == 1
    assert "haul-01.yaml:" in done.stderr


def test_all_files_and_two_revisions(repository: Path) -> None:
    with_few_loads(repository)
    done = client(repository, "run", "--all-files", "--verbose", "cinchbook-check")
    assert done.returncode == 0
    assert "1 no rule broken; 0 OPEN; 0 HOLD" in done.stdout
    misspelt(load(repository, 1))
    commit(repository)
    assert client(repository, "run", "--all-files").returncode == 1
    words = ("--from-ref", "origin/main", "--to-ref", "HEAD")
    done = client(repository, "run", *words)
    assert done.returncode == 1
    assert "haul-01.yaml:" in done.stdout
    # What is on the disk meanwhile is not what lies between the two.
    git(repository, "reset", "-q", "--hard", "HEAD~1")
    assert client(repository, "run", "--from-ref", "HEAD", "--to-ref", "HEAD").returncode == 0


@pytest.mark.usefixtures("installed")
def test_a_shallow_clone_stops_the_first_workflow(repository: Path, tmp_path: Path) -> None:
    with_few_loads(repository)
    clone = tmp_path / "clone"
    git(tmp_path, "clone", "-q", "--depth", "1", "-b", "work", f"file://{repository}", "clone")
    assert first(clone, "pull_request", tmp_path / "summary.md")[0] == 2


def test_a_submodule_that_is_not_checked_out_stops_every_check(
    repository: Path, tmp_path: Path
) -> None:
    with_few_loads(repository, 1, 2)
    shared = tmp_path / "shared"
    shared.mkdir()
    shutil.move(load(repository, 1), shared)
    git(shared, "init", "-q", "-b", "main")
    git(shared, "config", "user.email", "crew@example.org")
    git(shared, "config", "user.name", "Crew")
    commit(shared)
    url = ["-c", "protocol.file.allow=always"]
    git(repository, *url, "submodule", "add", "-q", str(shared), "profiles/loads/shared")
    git(repository, "add", "-A")
    assert try_to_commit(repository).returncode == 0  # the load is there, and in order
    git(repository, "submodule", "deinit", "-q", "-f", "--all")
    job = workflow("second")["load-profiles"]
    assert steps(job["script"], repository, CI_MERGE_REQUEST_DIFF_BASE_SHA="HEAD") == 2
    (repository / "notes.txt").write_text("x")
    git(repository, "add", "-A")
    done = try_to_commit(repository)
    assert done.returncode == 1
    assert "found a submodule that is not checked out" in done.stderr
