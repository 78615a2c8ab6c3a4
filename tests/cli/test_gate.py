"""The gate as CI uses it: which loads, how strict, what changed, and what is written."""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from checker.documents.files import NotWrittenError, write_file
from tests.calling import call

SHOULD_RULE = """\
  - id: width
    title: Not wider than the yard's gate
    question: limits
    requires: trailer.overall_width <= limit
    thresholds:
      limit: {stricter: lower, values: [{value: 96 in, from: 2015-10-01, common_practice: yes}]}
    common_practice: yes
    basis: common practice
    level: should
    because: It is so.
    fix: Take the other road.
    proofs:
      - {name: at, on: 2015-10-01, given: {trailer.overall_width: 96 in}, expect: met, origin: hand}
      - {name: over, given: {trailer.overall_width: 97 in}, expect: not met, origin: hand}
      - {name: early, on: 2015-09-30, given: {trailer.overall_width: 1 in}, expect: not stated,
         origin: hand}
"""


def run(place: Path, *words: str, **env: str) -> subprocess.CompletedProcess[str]:
    return call(place, *words, **({"COLUMNS": "100"} | env))


def load(title: str, trailer: str) -> str:
    return f"kind: load\ntitle: {title}\ntrailer: {trailer}\n"


@pytest.fixture
def place(tmp_path: Path, rulebook_text: str) -> Path:
    """A crew's folder: three loads on two trailers, one of them by a reference of a reference."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "book.yaml").write_text(rulebook_text + SHOULD_RULE)
    profiles = tmp_path / "profiles"
    for folder in ("trailers", "loads/more"):
        (profiles / folder).mkdir(parents=True)
    (profiles / "trailers" / "small.yaml").write_text(
        "kind: trailer\ngvwr: 2990 lb\noverall_width: 80 in\n"
    )
    (profiles / "trailers" / "large.yaml").write_text(
        "kind: trailer\ngvwr: 7000 lb\noverall_width: 90 in\n"
    )
    (profiles / "trailers" / "long.yaml").write_text(
        "kind: trailer\nfrom: trailers/large\noverall_length: 30 ft\n"
    )
    (profiles / "loads" / "one.yaml").write_text(load("One", "trailers/small"))
    (profiles / "loads" / "two.yaml").write_text(load("Two", "trailers/large"))
    (profiles / "loads" / "more" / "three.yaml").write_text(load("Three", "trailers/long"))
    return tmp_path


@pytest.fixture
def repository(place: Path) -> Path:
    """The same folder under git, all of it committed."""
    git(place, "init", "-q")
    git(place, "config", "user.email", "crew@example.org")
    git(place, "config", "user.name", "Crew")
    commit(place)
    return place


def git(folder: Path, *words: str) -> None:
    subprocess.run(["git", *words], cwd=folder, check=True)  # noqa: S607 - the user's own git


def commit(folder: Path) -> None:
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "As it stands")


def judged(done: subprocess.CompletedProcess[str]) -> list[str]:
    """The titles of the loads in a JSON report on standard output."""
    return sorted(each["title"] for each in json.loads(done.stdout)["loads"])


JSON = ("--rules", "rules", "--write", "json=-")


@pytest.mark.parametrize(
    ("named", "titles"),
    [
        (["profiles"], ["One", "Three", "Two"]),
        (["profiles/loads/*.yaml"], ["One", "Two"]),
        (["profiles/**/t*.yaml"], ["Three", "Two"]),
        (
            ["profiles/loads/one.yaml", "profiles/loads", "./profiles/loads/one.yaml"],
            ["One", "Three", "Two"],
        ),
        (["profiles/loads/more"], ["Three"]),
    ],
)
def test_files_folders_and_patterns_each_once(
    place: Path, named: list[str], titles: list[str]
) -> None:
    assert judged(run(place, "check", *named, *JSON)) == titles


def test_odd_names_are_names(place: Path) -> None:
    loads = place / "profiles" / "loads"
    for name in ("with space.yaml", "Grünwald.yaml", "-dash.yaml"):
        (loads / name).write_text(load(name[:-5], "{gvwr: 1 lb}"))
    (loads / "folder.yaml").mkdir()
    (loads / "link.yaml").symlink_to("one.yaml")
    titles = judged(run(place, "check", "profiles/loads", *JSON))
    assert titles == ["-dash", "Grünwald", "One", "Three", "Two", "with space"]


def test_without_a_profile_the_folder_of_the_settings_is_meant(place: Path) -> None:
    (place / "cinchbook.yaml").write_text("kind: settings\nrules: [rules]\nprofiles: profiles\n")
    assert judged(run(place, "check", "--write", "json=-")) == ["One", "Three", "Two"]


def test_a_pattern_that_matches_nothing_ends_with_2(place: Path) -> None:
    done = run(place, "check", "profiles/x*.yaml", *JSON)
    assert done.returncode == 2
    assert "found no load profile under 'profiles/x*.yaml'" in done.stderr


def since(repository: Path, *words: str) -> list[str]:
    done = run(repository, "check", "profiles", "--changed-since", "HEAD", *JSON, *words)
    return judged(done) if done.stdout else []


def test_a_changed_profile_is_judged_alone(repository: Path) -> None:
    file = repository / "profiles" / "loads" / "one.yaml"
    file.write_text(file.read_text() + "# looked at\n")
    assert since(repository) == ["One"]


def test_a_changed_trailer_re_checks_every_load_that_uses_it(repository: Path) -> None:
    # Three stands on it by way of another trailer that starts from it.
    file = repository / "profiles" / "trailers" / "large.yaml"
    file.write_text("kind: trailer\ngvwr: 6990 lb\noverall_width: 90 in\n")
    assert since(repository) == ["Three", "Two"]


def test_a_committed_change_counts_against_an_older_revision(repository: Path) -> None:
    file = repository / "profiles" / "trailers" / "small.yaml"
    file.write_text(file.read_text() + "# again\n")
    commit(repository)
    assert since(repository) == []
    done = run(repository, "check", "profiles", "--changed-since", "HEAD~1", *JSON)
    assert judged(done) == ["One"]
    assert "1 of 3 load profiles depend on files changed since HEAD~1" in done.stderr


@pytest.mark.parametrize("name", ["rules/book.yaml", "cinchbook.yaml"])
def test_changed_rules_and_settings_re_check_everything(repository: Path, name: str) -> None:
    (repository / "cinchbook.yaml").write_text("kind: settings\nrules: [rules]\n")
    commit(repository)
    file = repository / name
    file.write_text(file.read_text() + "# looked at\n")
    assert since(repository) == ["One", "Three", "Two"]


def test_new_and_renamed_profiles_are_judged(repository: Path) -> None:
    loads = repository / "profiles" / "loads"
    (loads / "new.yaml").write_text(load("New", "trailers/small"))
    git(loads, "mv", "two.yaml", "second.yaml")
    assert since(repository) == ["New", "Two"]


def test_nothing_changed_is_no_verdict(repository: Path) -> None:
    done = run(repository, "check", "profiles", "--rules", "rules", "--changed-since", "HEAD")
    assert done.returncode == 0
    assert done.stdout == ""
    assert "0 of 3" in done.stderr
    assert "Nothing was checked: that is no verdict on any load." in done.stderr


def test_reports_are_written_where_nothing_changed_too(repository: Path) -> None:
    words = ("--rules", "rules", "--changed-since", "HEAD", "--write", "junit=a.xml,html=pages/")
    assert run(repository, "check", "profiles", *words).returncode == 0
    assert 'tests="0"' in (repository / "a.xml").read_text()
    assert (repository / "pages" / "index.html").is_file()


def test_a_profile_with_problems_is_told_whatever_changed(repository: Path) -> None:
    file = repository / "profiles" / "loads" / "bad.yaml"
    file.write_text(load("Bad", "{gvwr: 7000}"))
    commit(repository)
    done = run(repository, "check", "profiles", "--rules", "rules", "--changed-since", "HEAD")
    assert done.returncode == 2
    assert "bad.yaml:3:17: found the bare number 7000" in done.stderr


def test_no_revision_and_no_repository_end_with_2(repository: Path) -> None:
    done = run(repository, "check", "profiles", "--rules", "rules", "--changed-since", "nowhere")
    assert done.returncode == 2
    assert "found no revision 'nowhere'" in done.stderr
    shutil.rmtree(repository / ".git")
    done = run(repository, "check", "profiles", "--rules", "rules", "--changed-since", "HEAD")
    assert done.returncode == 2
    assert "git says: fatal: not a git repository" in done.stderr


def gate(place: Path, trailer: str, grade: str) -> int:
    (place / "load.yaml").write_text(load("Load", trailer))
    return run(place, "check", "load.yaml", "--rules", "rules", "--fail-on", grade).returncode


# A should-rule wants at most 96 in, a must-rule at most 7,000 lb; near is 5 %: 91.2 in, 6,650 lb.
@pytest.mark.parametrize(
    ("trailer", "codes"),
    [
        ("{gvwr: 6649 lb, overall_width: 91.1 in}", [0, 0, 0, 0]),
        ("{gvwr: 6650 lb, overall_width: 91.1 in}", [0, 0, 0, 1]),
        ("{gvwr: 6649 lb, overall_width: 91.2 in}", [0, 0, 0, 1]),
        ("{gvwr: 7000 lb, overall_width: 80 in}", [0, 0, 0, 1]),
        ("{gvwr: 6000 lb}", [0, 0, 3, 3]),
        ("{gvwr: 6000 lb, overall_width: 96 in +/- 1 in}", [0, 0, 3, 3]),
        ("{gvwr: 6000 lb, overall_width: 97 in}", [0, 1, 1, 1]),
        ("{overall_width: 97 in}", [3, 1, 1, 1]),
        ("{gvwr: 7001 lb, overall_width: 80 in}", [1, 1, 1, 1]),
        ("{overall_width: 80 in}", [3, 3, 3, 3]),
    ],
)
def test_each_grade_stops_what_the_one_before_it_stops(
    place: Path, trailer: str, codes: list[int]
) -> None:
    assert [gate(place, trailer, grade) for grade in ("must", "should", "open", "near")] == codes


VARIANCE = """
variances:
  - {rule: width, because: The other road is closed., conditions: One ahead on foot.,
     by: R. Salinas, from: %s, until: %s}
trip: {date: 2026-05-14}
"""


def test_what_a_variance_excuses_stops_nothing_while_it_holds(place: Path) -> None:
    wide = load("Load", "{gvwr: 1 lb, overall_width: 97 in}")
    file = place / "load.yaml"
    words = ("check", "load.yaml", "--rules", "rules", "--fail-on", "should")
    file.write_text(wide + VARIANCE % ("2026-05-01", "2026-06-01"))
    assert run(place, *words).returncode == 0
    file.write_text(wide + VARIANCE % ("2026-04-01", "2026-05-14"))
    assert run(place, *words).returncode == 1


def test_several_forms_are_written_at_once(place: Path) -> None:
    done = run(
        place,
        "check",
        "profiles",
        "--rules",
        "rules",
        "--write",
        "junit=out/a.xml,sarif=out/deep/a.sarif",
        "--write",
        "csv=out/a.csv,html=out/pages",
    )
    assert done.returncode == 0
    assert "3 LOAD PROFILES" in done.stdout
    found = sorted(str(file.relative_to(place / "out")) for file in (place / "out").rglob("*.*"))
    assert found == [
        "a.csv",
        "a.xml",
        "deep/a.sarif",
        "pages/index.html",
        "pages/one.html",
        "pages/three.html",
        "pages/two.html",
    ]


def test_one_load_is_one_page(place: Path) -> None:
    words = ("check", "profiles/loads/one.yaml", "--rules", "rules", "--write", "html=cab.html")
    assert run(place, *words).returncode == 0
    assert "<h1>One</h1>" in (place / "cab.html").read_text()
    words = (*words[:-1], "html=pages/")
    assert run(place, *words).returncode == 0
    assert (place / "pages" / "one.html").is_file()


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("junt=a.xml", "did you mean 'junit'?"),
        ("junit", "found 'junit'; wanted junit=FILE"),
        ("junit=", "found 'junit='; wanted junit=FILE"),
        ("csv=-,json=-", "found two reports for standard output"),
        ("html=-", "found html=- for several loads"),
        ("csv=rules/book.yaml/a.csv", "cannot be written"),
    ],
)
def test_a_form_or_a_file_that_cannot_be_is_told(place: Path, written: str, said: str) -> None:
    done = run(place, "check", "profiles", "--rules", "rules", "--write", written)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    "target", ["profiles/loads/one.yaml", "profiles/trailers/large.yaml", "rules/book.yaml"]
)
def test_no_report_takes_the_place_of_what_is_read(place: Path, target: str) -> None:
    before = (place / target).read_bytes()
    done = run(place, "check", "profiles", "--rules", "rules", "--write", f"json={target}")
    assert done.returncode == 2
    assert f"found '{target}' to write, which this run reads" in done.stderr
    assert (place / target).read_bytes() == before


def test_a_file_is_replaced_whole_and_keeps_its_mode(tmp_path: Path) -> None:
    file = tmp_path / "a.txt"
    file.write_text("before")
    file.chmod(0o640)
    write_file(b"after\r\n", file)
    assert file.read_bytes() == b"after\r\n"
    assert file.stat().st_mode & 0o777 == 0o640
    assert list(tmp_path.iterdir()) == [file]
    with pytest.raises(NotWrittenError, match="a folder; wanted a file to write"):
        write_file(b"x", tmp_path)


def test_the_overview_is_plain_and_narrow_in_a_pipe(place: Path) -> None:
    (place / "profiles" / "loads" / "four.yaml").write_text(load("Four", "{gvwr: 7001 lb}"))
    done = run(place, "check", "profiles", "--rules", "rules", COLUMNS="60")
    assert done.returncode == 1
    assert "\x1b" not in done.stdout + done.stderr
    assert "Checking" not in done.stderr
    assert max(map(len, done.stdout.splitlines())) <= 60
    tail = done.stdout.splitlines()
    assert tail[-2:] == ["3 no rule broken; 0 OPEN; 1 HOLD", "1. Four: Mend it."]
    # In full only what is stopped; of the others a line.
    assert done.stdout.count("checked for") == 1
    assert any(line.startswith("HOLD") and "Four" in line for line in tail)
