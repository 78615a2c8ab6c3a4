"""`--changed-since` and `--staged` cannot be fooled: what they cannot know is judged, and said."""

import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import Result
from typer.testing import CliRunner

from checker.cli import options
from checker.cli.app import application

LOAD = "kind: load\ntitle: {}\ntrailer: trailers/{}\n"


def git(place: Path, *words: str, **env: str) -> str:
    # Files of this machine say nothing about the tests.
    alone = {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull}
    done = subprocess.run(
        ["git", "-c", "user.name=Crew", "-c", "user.email=crew@example.org", *words],  # noqa: S607
        cwd=place,
        env={**os.environ, **alone, **env},
        check=True,
        capture_output=True,
        text=True,
    )
    return done.stdout


def commit(place: Path) -> None:
    git(place, "add", "-A")
    git(place, "commit", "-q", "-m", "As it stands", "--allow-empty")


@pytest.fixture(autouse=True)
def alone(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Without what the environment says of another commit, and with settings read anew."""
    for name in ("GIT_INDEX_FILE", "GIT_DIR", "PRE_COMMIT_FROM_REF", "PRE_COMMIT_TO_REF"):
        monkeypatch.delenv(name, raising=False)
    yield
    options._settings_above.cache_clear()


@pytest.fixture
def crew(tmp_path: Path, rulebook_text: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A repository of two loads, each on a trailer of its own."""
    place = tmp_path / "crew"
    for folder in ("rules", "profiles/trailers", "profiles/loads"):
        (place / folder).mkdir(parents=True)
    (place / "rules" / "book.yaml").write_text(rulebook_text)
    for name, title in (("small", "One"), ("large", "Two")):
        (place / "profiles" / "trailers" / f"{name}.yaml").write_text(
            "kind: trailer\ngvwr: 2990 lb\n"
        )
        load = place / "profiles" / "loads" / f"{title.lower()}.yaml"
        load.write_text(LOAD.format(title, name))
    (place / "cinchbook.yaml").write_text("kind: settings\nrules: [rules]\n")
    git(place, "init", "-q", "-b", "main")
    commit(place)
    monkeypatch.chdir(place)
    return place


def check(*words: str) -> Result:
    options._settings_above.cache_clear()
    return CliRunner().invoke(application(["check"]), ["check", *words])


def titles(done: Result) -> list[str]:
    assert done.stdout, done.stderr
    return [each["title"] for each in json.loads(done.stdout)["loads"]]


def since(revision: str = "HEAD", *words: str) -> list[str]:
    return titles(check("profiles", "--changed-since", revision, "--as", "json", *words))


def append(file: Path, text: str = "# looked at\n") -> None:
    file.write_text(file.read_text() + text)


@pytest.mark.usefixtures("crew")
def test_nothing_changed() -> None:
    done = check("profiles", "--changed-since", "HEAD")
    assert done.exit_code == 0
    assert "0 of 2 load profiles depend on files changed since HEAD." in done.stderr
    assert "Nothing was checked: that is no verdict on any load." in done.stderr


def test_line_ends_alone_are_no_change(crew: Path) -> None:
    file = crew / "profiles" / "loads" / "one.yaml"
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    assert since() == []


def test_gear_that_a_load_or_its_carrier_names(crew: Path) -> None:
    profiles = crew / "profiles"
    (profiles / "strap.yaml").write_text("kind: tiedown\n")
    (profiles / "box.yaml").write_text("kind: gear\ntiedowns: [{from: strap, count: 4}]\n")
    (profiles / "spare.yaml").write_text("kind: gear\nblocks: [{count: 4}]\n")
    (profiles / "ours.yaml").write_text("kind: carrier\ngear: box\n")
    append(profiles / "loads" / "one.yaml", "carrier: ours\n")
    append(profiles / "loads" / "two.yaml", "carrier: ours\ngear: spare\n")
    commit(crew)
    append(profiles / "spare.yaml")
    assert since() == ["Two"]
    append(profiles / "strap.yaml")
    assert since() == ["One", "Two"]


@pytest.mark.parametrize("flag", ["--assume-unchanged", "--skip-worktree"])
def test_a_file_that_git_is_told_not_to_look_at(crew: Path, flag: str) -> None:
    git(crew, "update-index", flag, "profiles/trailers/small.yaml")
    append(crew / "profiles" / "trailers" / "small.yaml")
    assert since() == ["One"]


def test_a_file_that_git_ignores(crew: Path) -> None:
    """A trailer that never was in any commit: what it was before nobody knows."""
    (crew / ".gitignore").write_text("small.yaml\n")
    git(crew, "rm", "-q", "--cached", "profiles/trailers/small.yaml")
    commit(crew)
    assert since() == ["One"]


def test_names_that_are_not_utf_8(crew: Path) -> None:
    name = os.fsdecode(b"caf\xe9.yaml")
    (crew / "profiles" / "loads" / name).write_text(LOAD.format("Three", "small"))
    commit(crew)
    assert since() == []
    append(crew / "profiles" / "loads" / name)
    assert since() == ["Three"]


def test_a_name_in_other_letters_is_another_file(crew: Path) -> None:
    git(crew, "mv", "profiles/loads/one.yaml", "profiles/loads/One.yaml")
    assert since() == ["One"]


@pytest.mark.parametrize("how", ["changed", "deleted", "renamed", "ignored", "nearer"])
def test_other_settings_touch_every_load(crew: Path, how: str) -> None:
    file = crew / "cinchbook.yaml"
    words = ["--rules", "rules"]
    if how == "changed":
        append(file)
    elif how == "deleted":
        file.unlink()
    elif how == "renamed":
        git(crew, "mv", "cinchbook.yaml", "old-settings.yaml")
    elif how == "ignored":
        (crew / ".gitignore").write_text("cinchbook.yaml\n")
        git(crew, "rm", "-q", "--cached", "cinchbook.yaml")
        commit(crew)
    else:
        (crew / "profiles" / "cinchbook.yaml").write_text("kind: settings\nrules: [../rules]\n")
        os.chdir(crew / "profiles")
        words = []
    assert titles(
        check(str(crew / "profiles"), "--changed-since", "HEAD", "--as", "json", *words)
    ) == ["One", "Two"]


@pytest.mark.parametrize("how", ["changed", "deleted", "renamed", "added"])
def test_other_rules_touch_every_load(crew: Path, how: str) -> None:
    shutil.copy(crew / "rules" / "book.yaml", crew / "book.txt")
    (crew / "rules" / "more.yml").write_text("kind: sources\nsources: []\n".replace("[]", SOURCE))
    commit(crew)
    more = crew / "rules" / "more.yml"
    if how == "changed":
        append(more)
    elif how == "deleted":
        more.unlink()
    elif how == "renamed":
        git(crew, "mv", "rules/more.yml", "rules/other.yml")
    else:
        (crew / "rules" / "new.YAML").write_text(more.read_text().replace("print", "other"))
    done = check("profiles", "--changed-since", "HEAD", "--as", "json")
    assert titles(done) == ["One", "Two"]
    assert "all of them, because rule files changed in rules" in done.stderr


SOURCE = """
  - {id: print, title: The Print, issuer: a test, edition: first, jurisdiction: any,
     read_as: text seen, look_again: 2030-01-01}
"""


def test_rules_and_settings_outside_the_repository_cannot_be_known(
    crew: Path, tmp_path: Path
) -> None:
    shutil.copytree(crew / "rules", tmp_path / "company")
    done = check(
        *("profiles", "--rules", str(tmp_path / "company"), "--changed-since", "HEAD"),
        *("--as", "json"),
    )
    assert titles(done) == ["One", "Two"]
    assert "are outside this repository" in done.stderr
    git(crew, "rm", "-q", "cinchbook.yaml")
    commit(crew)
    (tmp_path / "cinchbook.yaml").write_text("kind: settings\nunits: si\n")
    done = check("profiles", "--rules", "rules", "--changed-since", "HEAD", "--as", "json")
    assert titles(done) == ["One", "Two"]
    assert "the settings" in done.stderr


def test_a_load_outside_the_repository_is_judged_and_said(crew: Path, tmp_path: Path) -> None:
    shutil.copytree(crew / "profiles", tmp_path / "elsewhere" / "profiles")
    done = check(
        *("profiles", "../elsewhere/profiles/loads/one.yaml", "--changed-since", "HEAD"),
        *("--as", "json"),
    )
    assert titles(done) == ["One"]
    assert "1 of 3 load profiles depend on files changed since HEAD; for 1 that is not known" in (
        done.stderr
    )


@pytest.mark.parametrize("what", ["profiles/trailers", "profiles"])
def test_a_link_that_leads_elsewhere_is_a_change(crew: Path, what: str) -> None:
    place = crew / what
    place.rename(place.with_name("first"))
    shutil.copytree(place.with_name("first"), place.with_name("second"))
    place.symlink_to("first")
    commit(crew)
    loads = crew / "profiles" / "loads" / "one.yaml"
    words = (str(loads), "--changed-since", "HEAD", "--as", "json", "--profiles", "profiles")
    assert titles(check(*words)) == []
    place.unlink()
    place.symlink_to("second")
    assert titles(check(*words)) == ["One"]


def test_a_deleted_file_that_loads_refer_to_is_a_problem(crew: Path) -> None:
    (crew / "profiles" / "trailers" / "small.yaml").unlink()
    done = check("profiles", "--changed-since", "HEAD")
    assert done.exit_code == 2
    assert "one.yaml:3:10: found 'trailers/small'" in done.stderr


def test_a_branch_counts_from_where_it_left(crew: Path) -> None:
    git(crew, "checkout", "-q", "-b", "work")
    append(crew / "profiles" / "trailers" / "small.yaml")
    commit(crew)
    git(crew, "checkout", "-q", "main")
    append(crew / "profiles" / "trailers" / "large.yaml")
    # The same change as on the branch: between the two nothing differs, and yet it was not checked.
    append(crew / "profiles" / "trailers" / "small.yaml")
    commit(crew)
    git(crew, "checkout", "-q", "work")
    assert since("main") == ["One"]
    append(crew / "profiles" / "loads" / "two.yaml")
    assert since("main") == ["One", "Two"]


def test_histories_that_share_nothing_cannot_be_held_against_each_other(crew: Path) -> None:
    git(crew, "checkout", "-q", "--orphan", "other")
    append(crew / "profiles" / "loads" / "one.yaml")
    commit(crew)
    done = check("profiles", "--changed-since", "main", "--as", "json")
    assert titles(done) == ["One", "Two"]
    assert "all of them, because where this branch left main is not known" in done.stderr


def test_before_the_first_commit_everything_is_new(crew: Path) -> None:
    shutil.rmtree(crew / ".git")
    git(crew, "init", "-q", "-b", "main")
    done = check("profiles", "--changed-since", "HEAD", "--as", "json")
    assert titles(done) == ["One", "Two"]
    assert "all of them, because there is no commit yet" in done.stderr
    done = check("profiles", "--changed-since", "main~1")
    assert done.exit_code == 2
    assert "found no revision 'main~1'" in done.stderr
    assert "there is no commit yet" in done.stderr


def test_in_a_shallow_clone_what_is_missing_is_said_with_the_remedy(
    crew: Path, tmp_path: Path
) -> None:
    first = git(crew, "rev-parse", "HEAD").strip()
    git(crew, "checkout", "-q", "-b", "work")
    append(crew / "profiles" / "trailers" / "small.yaml")
    commit(crew)
    git(crew, "checkout", "-q", "main")
    append(crew / "profiles" / "trailers" / "large.yaml")
    commit(crew)
    clone = tmp_path / "clone"
    git(tmp_path, "clone", "-q", "--depth", "1", "-b", "work", f"file://{crew}", "clone")
    os.chdir(clone)
    done = check("profiles", "--changed-since", first)
    assert done.exit_code == 2
    assert "`git fetch --unshallow` brings it" in done.stderr
    git(clone, "fetch", "-q", "--depth", "1", "origin", "main:other")
    done = check("profiles", "--changed-since", "other", "--as", "json")
    assert titles(done) == ["One", "Two"]
    assert "in a shallow clone (`git fetch --unshallow` helps)" in done.stderr


def test_a_submodule_counts_file_by_file(crew: Path, tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    for name in ("first", "second"):
        (shared / f"{name}.yaml").write_text("kind: trailer\ngvwr: 2990 lb\n")
    git(shared, "init", "-q", "-b", "main")
    commit(shared)
    git(
        crew, "-c", "protocol.file.allow=always",
        "submodule", "add", "-q", str(shared), "profiles/trailers/shared",
    )  # fmt: skip
    for title, name in (("Three", "first"), ("Four", "second")):
        (crew / "profiles" / "loads" / f"{title}.yaml").write_text(
            LOAD.format(title, f"shared/{name}")
        )
    commit(crew)
    assert since() == []
    inside = crew / "profiles" / "trailers" / "shared"
    append(inside / "first.yaml")
    assert since() == ["Three"]
    commit(inside)
    assert since() == ["Three"]
    git(crew, "add", "-A")
    assert titles(check("profiles", "--staged", "--changed-since", "HEAD", "--as", "json")) == [
        "Three"
    ]
    commit(crew)
    assert since() == []
    assert since("HEAD~1") == ["Three"]
    # A commit of the submodule that is not here: all its files count as changed.
    git(crew, "update-index", "--cacheinfo", f"160000,{'1' * 40},profiles/trailers/shared")
    git(crew, "commit", "-q", "-m", "gone")
    assert since() == ["Four", "Three"]


def staged(*words: str) -> Result:
    return check("profiles", "--staged", "--as", "json", *words)


@pytest.fixture
def committing(crew: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The crew's repository while git makes a commit."""
    monkeypatch.setenv("GIT_INDEX_FILE", ".git/index")
    return crew


def test_only_what_is_staged_is_judged(committing: Path) -> None:
    loads = committing / "profiles" / "loads"
    (loads / "scratch.yaml").write_text("kind: laod\n")
    append(loads / "two.yaml")
    assert titles(staged()) == []
    (loads / "one.yaml").write_text(LOAD.format("One as staged", "small"))
    git(committing, "add", "profiles/loads/one.yaml")
    (loads / "one.yaml").write_text("nothing\n")
    done = staged()
    assert done.exit_code == 0
    assert titles(done) == ["One as staged"]
    assert json.loads(done.stdout)["loads"][0]["file"] == "profiles/loads/one.yaml"
    assert Path.cwd() == committing


def test_a_deletion_that_is_staged_counts(committing: Path) -> None:
    trailer = committing / "profiles" / "trailers" / "small.yaml"
    text = trailer.read_text()
    git(committing, "rm", "-q", "profiles/trailers/small.yaml")
    trailer.write_text(text)  # there again, and not in the commit
    done = staged()
    assert done.exit_code == 2
    assert "profiles/loads/one.yaml:3:10: found 'trailers/small'" in done.stderr


def test_settings_that_are_staged_count(committing: Path) -> None:
    (committing / "cinchbook.yaml").write_text("kind: settings\nrules: [rules]\nunits: si\n")
    assert titles(staged()) == []
    git(committing, "add", "cinchbook.yaml")
    assert titles(staged()) == ["One", "Two"]
    (committing / "cinchbook.yaml").write_text("kind: settings\nruls: [rules]\n")
    git(committing, "add", "cinchbook.yaml")
    done = staged()
    assert done.exit_code == 2
    assert done.stderr.startswith("cinchbook.yaml:2:1: found the key 'ruls'")


def test_called_by_hand_every_load_that_is_staged_is_judged(crew: Path) -> None:
    (crew / "profiles" / "loads" / "scratch.yaml").write_text("kind: laod\n")
    assert titles(staged()) == ["One", "Two"]


def test_between_two_revisions(crew: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As the framework of hooks calls it before a push."""
    append(crew / "profiles" / "trailers" / "small.yaml")
    commit(crew)
    (crew / "profiles" / "trailers" / "large.yaml").write_text("nothing\n")
    git(crew, "add", "-A")
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", "HEAD~1")
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD")
    assert titles(staged()) == ["One"]


def test_absolute_paths_mean_what_is_staged_too(committing: Path) -> None:
    append(committing / "profiles" / "loads" / "one.yaml")
    git(committing, "add", "-A")
    (committing / "profiles" / "loads" / "one.yaml").write_text("nothing\n")
    done = check(str(committing / "profiles"), "--staged", "--as", "json")
    assert titles(done) == ["One"]


def test_reports_go_where_they_were_meant_to(committing: Path) -> None:
    append(committing / "profiles" / "loads" / "one.yaml")
    git(committing, "add", "-A")
    done = staged("--write", "csv=out/a.csv,html=out/pages/")
    assert done.exit_code == 0
    assert (committing / "out" / "a.csv").is_file()
    assert (committing / "out" / "pages" / "one.html").is_file()


def test_what_is_only_meant_to_be_added_is_not_staged(committing: Path) -> None:
    (committing / "profiles" / "loads" / "three.yaml").write_text("kind: laod\n")
    git(committing, "add", "-N", "profiles/loads/three.yaml")
    assert staged().exit_code == 0


@pytest.mark.usefixtures("crew")
def test_settings_above_the_repository_are_no_part_of_a_commit(tmp_path: Path) -> None:
    (tmp_path / "cinchbook.yaml").write_text("kind: settings\nunits: si\n")
    done = staged()
    assert done.exit_code == 2
    assert "found settings outside the repository" in done.stderr


def test_outside_a_repository_nothing_is_staged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = staged()
    assert done.exit_code == 2
    assert "not a git repository" in done.stderr


def test_the_short_report_has_a_line_for_each_load(crew: Path) -> None:
    (crew / "profiles" / "trailers" / "large.yaml").write_text("kind: trailer\ngvwr: 7001 lb\n")
    done = check("profiles", "--short")
    assert done.exit_code == 1
    assert done.stdout.splitlines() == [
        "",
        "2 LOAD PROFILES",
        "no rule broken  profiles/loads/one.yaml",
        "HOLD            profiles/loads/two.yaml: gross",
        "",
        "1 no rule broken; 0 OPEN; 1 HOLD",
    ]
    assert check("profiles/loads/one.yaml", "--short").stdout.count("\n") == 5
    assert check("profiles", "--short", "--full").exit_code == 2


def test_files_that_a_sparse_checkout_leaves_out_are_counted(crew: Path) -> None:
    git(crew, "sparse-checkout", "set", "--no-cone", "/*", "!/profiles/loads/two.yaml")
    assert not (crew / "profiles" / "loads" / "two.yaml").exists()
    done = check("profiles", "--changed-since", "HEAD")
    assert "note: 1 YAML file left out of this work tree is not read" in done.stderr
    assert titles(staged()) == ["One", "Two"]


def test_rule_files_of_every_ending_stood_at_a_revision(crew: Path) -> None:
    """What an amendment asked for yesterday counts in an impact, whatever its file is called."""
    file = crew / "rules" / "crew.yml"
    file.write_text(AMENDMENT)
    commit(crew)
    file.unlink()
    words = ["impact", "--against", "HEAD", "--over", "profiles", "--rules", "rules"]
    done = CliRunner().invoke(application(["impact"]), words)
    assert "2 verdicts in 2 loads change" in done.stdout


AMENDMENT = """
kind: amendment
id: crew
title: Crew policy
layer: company
jurisdiction: any
changes:
  - {rule: gross, threshold: limit, was: 7000 lb, value: 2000 lb, from: 2026-03-01,
     common_practice: yes}
"""
