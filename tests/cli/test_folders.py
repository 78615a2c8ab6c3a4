"""In a folder every YAML file is of a kind that is known, or a problem; each is judged once."""

import json
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import Result
from typer.testing import CliRunner

from checker.cli import chosen_rules, options
from checker.cli.app import application
from checker.cli.check_reports import FORMS

LOAD = "kind: load\ntitle: {}\ntrailer: trailers/small\n"
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


@pytest.fixture(autouse=True)
def fresh() -> Iterator[None]:
    """Settings are read once a run, and a test is many runs."""
    options._settings_above.cache_clear()
    chosen_rules._note_empty.cache_clear()
    yield
    options._settings_above.cache_clear()


@pytest.fixture
def place(tmp_path: Path, rulebook_text: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A crew's folder with one load in order."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "book.yaml").write_text(rulebook_text)
    for folder in ("trailers", "loads"):
        (tmp_path / "profiles" / folder).mkdir(parents=True)
    (tmp_path / "profiles" / "trailers" / "small.yaml").write_text("kind: trailer\ngvwr: 2990 lb\n")
    (tmp_path / "profiles" / "loads" / "one.yaml").write_text(LOAD.format("One"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def check(*words: str) -> Result:
    options._settings_above.cache_clear()
    return CliRunner().invoke(application(["check"]), ["check", *words, "--rules", "rules"])


def judged(*words: str) -> list[str]:
    done = check(*words, "--as", "json")
    return [each["title"] for each in json.loads(done.stdout)["loads"]]


SLIPS = {
    "misspelt": ("kind: laod\n", "1:7: found 'laod' as the kind"),
    "capital": ("Kind: load\n", "1:1: found the key 'Kind'"),
    "list": ("kind:\n  - load\n", "2:3: found a list as the kind"),
    "none": ("title: x\n", "1:1: found no 'kind'"),
    "broken": ("kind: load\ntitle: [\n", "`[` without its `]`"),
    "empty": ("", "1:1: found an empty file"),
    "comment": ("# kind: load\n", "found an empty file"),
    "utf-16": ("kind: load\n".encode("utf-16"), "1:1: found bytes that are not UTF-8 text"),
    "nul": (b"kind: load\n\0", "found a control character"),
    "gear": ("kind: gear\ntiedowns: [{cuont: 4}]\n", "2:13: found the key 'cuont'"),
    "shared": ("kind: trailer\ngvw: 1 lb\n", "2:1: found the key 'gvw'"),
    "two": ("kind: load\n---\nkind: load\n", "2:1: found a second document"),
}


@pytest.mark.parametrize("ending", ["yaml", "yml", "YAML", "YML"])
@pytest.mark.parametrize("slip", SLIPS)
def test_a_file_that_is_no_kind_is_a_problem(place: Path, slip: str, ending: str) -> None:
    if ending != "yaml" and slip != "misspelt":
        pytest.skip("the ending is looked at before the content")
    content, said = SLIPS[slip]
    file = place / "profiles" / "loads" / f"bad.{ending}"
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    done = check("profiles")
    assert done.exit_code == 2
    assert f"profiles/loads/bad.{ending}:" in done.stderr
    assert said in done.stderr
    assert "NOT CHECKED" in done.stdout


@pytest.mark.parametrize(
    "text",
    [
        '"kind": load\ntitle: Odd\ntrailer: {gvwr: 1 lb}\n',
        "kind : load\ntitle: Odd\ntrailer: {gvwr: 1 lb}\n",
        "kind:\n  load\ntitle: Odd\ntrailer: {gvwr: 1 lb}\n",
        "\ufeffkind: load\ntitle: Odd\ntrailer: {gvwr: 1 lb}\n",
        "kind: load\rtitle: Odd\rtrailer: {gvwr: 1 lb}\r",
        "{kind: load, title: Odd, trailer: {gvwr: 1 lb}}",
        "title: Odd\ntrailer: {gvwr: 1 lb}\nkind: load",
    ],
)
@pytest.mark.parametrize("name", ["odd.yaml", "odd.YML"])
def test_a_load_is_one_however_its_kind_is_written(place: Path, name: str, text: str) -> None:
    (place / "profiles" / "loads" / name).write_text(text, newline="")
    assert sorted(judged("profiles")) == ["Odd", "One"]


def test_a_gear_file_is_no_load(place: Path) -> None:
    (place / "profiles" / "box.yaml").write_text("kind: gear\nblocks: [{count: 4}]\n")
    assert judged("profiles") == ["One"]
    done = check("profiles/box.yaml")
    assert done.exit_code == 2
    assert "box.yaml:1:7: found 'gear' as the kind; wanted `kind: load`" in done.stderr


def test_what_is_no_file_is_a_problem(place: Path) -> None:
    loads = place / "profiles" / "loads"
    (loads / "nowhere.yaml").symlink_to("gone.yaml")
    os.mkfifo(loads / "pipe.yaml")
    (loads / "round.yaml").symlink_to("round.yaml")
    (loads / "endless.yaml").symlink_to("/dev/zero")
    done = check("profiles")
    assert done.exit_code == 2
    for name, why in (
        ("nowhere", "no such file or directory"),
        ("pipe", "not an ordinary file"),
        ("round", "too many levels of symbolic links"),
        ("endless", "not an ordinary file"),
    ):
        assert f"profiles/loads/{name}.yaml:1:1: found a file that cannot be read" in done.stderr
        assert why in done.stderr
    assert check("profiles/loads/pipe.yaml").exit_code == 2
    assert check("profiles/loads/*.yaml").exit_code == 2


def test_a_folder_that_a_link_leads_to_is_looked_into_once(place: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "two.yaml").write_text("kind: load\ntitle: Two\ntrailer: {gvwr: 1 lb}\n")
    (place / "profiles" / "loads" / "more").symlink_to(other)
    (other / "back").symlink_to(place / "profiles")
    assert sorted(judged("profiles")) == ["One", "Two"]


def test_a_submodule_that_is_not_checked_out_is_a_problem(place: Path) -> None:
    (place / "profiles" / "loads" / "shared").mkdir()
    (place / ".gitmodules").write_text(
        '[submodule "x"]\n\tpath = profiles/loads/shared\n\turl = https://example.org/x.git\n'
    )
    done = check("profiles")
    assert done.exit_code == 2
    assert "profiles/loads/shared:1:1: found a submodule that is not checked out" in done.stderr
    assert "git submodule update --init" in done.stderr


@pytest.mark.skipif(os.geteuid() == 0, reason="root may look into every folder")
def test_a_folder_that_is_closed_is_a_problem(place: Path) -> None:
    closed = place / "profiles" / "loads" / "closed"
    closed.mkdir(mode=0)
    done = check("profiles")
    closed.chmod(0o755)
    assert done.exit_code == 2
    assert "profiles/loads/closed:1:1: found a folder that cannot be read" in done.stderr


def test_the_same_file_is_judged_once(place: Path) -> None:
    loads = place / "profiles" / "loads"
    (loads / "link.yaml").symlink_to("one.yaml")
    (place / "profiles" / "also").symlink_to("loads")
    named = ["profiles", "profiles/loads/one.yaml", "profiles/loads/../loads/link.yaml"]
    assert judged(*named, str(loads / "one.yaml"), "profiles/also/one.yaml", "profiles/l*") == [
        "One"
    ]


def test_two_files_that_share_their_bytes_are_two(place: Path) -> None:
    """References start from the folder: the same bytes elsewhere may be another load."""
    loads = place / "other" / "profiles" / "loads"
    loads.mkdir(parents=True)
    (loads / "one.yaml").hardlink_to(place / "profiles" / "loads" / "one.yaml")
    done = check("profiles", "other")
    assert done.exit_code == 2
    assert "wanted a file trailers/small.yaml under other/profiles" in done.stderr


@pytest.mark.parametrize("folder", ["empty", "profiles/trailers"])
def test_a_folder_with_nothing_to_judge_ends_with_2(place: Path, folder: str) -> None:
    (place / "empty").mkdir()
    done = check(folder, "--as", "json")
    assert done.exit_code == 2
    found = json.loads(done.stdout)
    assert found["loads"] == []
    assert [each["file"] for each in found["unreadable"]] == [folder]
    # Beside another one, too.
    assert check("profiles", folder).exit_code == 2


def test_what_the_settings_ignore_is_counted(place: Path) -> None:
    (place / "cinchbook.yaml").write_text(
        "kind: settings\nignore: ['drafts', 'profiles/**/old-*.yaml', '*.tmp.yml']\n"
    )
    drafts = place / "profiles" / "loads" / "drafts"
    drafts.mkdir()
    for file in (
        drafts / "a.yaml",
        drafts / "b.yaml",
        place / "profiles" / "old-1.yaml",
        place / "profiles" / "loads" / "x.tmp.yml",
    ):
        file.write_text("nothing: yet\n")
    done = check("profiles")
    assert done.exit_code == 0
    words = "Not read, as cinchbook.yaml says: 1 file by '*.tmp.yml', 2 files by 'drafts', "
    assert words + "1 file by 'profiles/**/old-*.yaml'" in done.stderr
    found = json.loads(check("profiles", "--as", "json").stdout)
    assert found["ignored"] == [
        {"pattern": "*.tmp.yml", "files": 1},
        {"pattern": "drafts", "files": 2},
        {"pattern": "profiles/**/old-*.yaml", "files": 1},
    ]
    # What is named itself is read all the same, and no pattern makes a folder of nothing a pass.
    assert check("profiles/old-1.yaml").exit_code == 2
    (place / "cinchbook.yaml").write_text("kind: settings\nignore: ['**']\n")
    assert check("profiles").exit_code == 2


@pytest.mark.parametrize("name", ["crew.yml", "crew.YAML", "deep/crew.yaml"])
def test_an_amendment_counts_by_whatever_ending(place: Path, name: str) -> None:
    assert check("profiles").exit_code == 0
    file = place / "rules" / name
    file.parent.mkdir(exist_ok=True)
    file.write_text(AMENDMENT)
    assert check("profiles").exit_code == 1


@pytest.mark.parametrize(("text", "said"), [("kind: amendmnt\n", "'amendmnt'"), ("", "empty")])
def test_a_rule_file_that_is_no_kind_is_a_problem(place: Path, text: str, said: str) -> None:
    (place / "rules" / "crew.yml").write_text(text)
    done = check("profiles")
    assert done.exit_code == 2
    assert "rules/crew.yml:1:" in done.stderr
    assert said in done.stderr


@pytest.mark.parametrize("what", ["trailer.yaml", "empty", "pipe"])
def test_rules_without_a_rule_are_a_problem(place: Path, what: str) -> None:
    (place / "empty").mkdir()
    (place / "trailer.yaml").write_text("kind: trailer\ngvwr: 1 lb\n")
    os.mkfifo(place / "pipe")
    done = CliRunner().invoke(
        application(["check"]), ["check", "profiles", "--rules", "rules", "--rules", what]
    )
    assert done.exit_code == 2
    assert f"{what}:1:1: found a f" in done.stderr


@pytest.mark.parametrize("name", ["cinchbook.yml", "cinchbook.YAML", "Cinchbook.yaml"])
def test_settings_by_another_name_are_a_problem(place: Path, name: str) -> None:
    (place / name).write_text("kind: settings\n")
    done = check("profiles")
    assert done.exit_code == 2
    assert f"found a file called {name}; wanted the name cinchbook.yaml" in done.stderr


@pytest.mark.parametrize("kind", ["dangling", "pipe", "folder"])
def test_settings_that_cannot_be_read_are_not_none(place: Path, kind: str) -> None:
    file = place / "cinchbook.yaml"
    if kind == "dangling":
        file.symlink_to("gone")
    elif kind == "pipe":
        os.mkfifo(file)
    else:
        file.mkdir()
    done = check("profiles")
    assert done.exit_code == 2
    assert "cinchbook.yaml:1:1: found a file that cannot be read" in done.stderr


def test_impact_reads_a_folder_of_amendments_and_of_loads_alike(place: Path) -> None:
    (place / "crew").mkdir()
    (place / "crew" / "crew.yml").write_text(AMENDMENT)
    (place / "profiles" / "loads" / "bad.yaml").write_text("kind: laod\n")
    words = ["impact", "crew", "--over", "profiles", "--rules", "rules", "--as", "json"]
    done = CliRunner().invoke(application(["impact"]), words)
    assert done.exit_code == 2
    assert "bad.yaml:1:7: found 'laod' as the kind" in done.stderr
    found = json.loads(done.stdout)
    assert found["refused"] == ["profiles/loads/bad.yaml"]
    assert [each["rule"] for each in found["verdicts"]] == ["gross"]


def test_names_that_are_not_utf_8_are_shown_escaped_in_every_form(place: Path) -> None:
    name = os.fsdecode(b"caf\xe9.yaml")
    (place / "profiles" / "loads" / name).write_text(LOAD.format("Two"))
    (place / "profiles" / "loads" / os.fsdecode(b"bad\xff.yaml")).write_text("kind: laod\n")
    forms = [form for form in FORMS if form != "html"]
    written = ",".join(f"{form}=out/{form}" for form in forms)
    done = check("profiles", "--write", f"{written},html=out/pages/")
    assert done.exit_code == 2
    assert r"profiles/loads/bad\xff.yaml:1:7: found 'laod'" in done.stderr
    assert r"caf\xe9.yaml" in done.stdout
    for form in forms:
        text = (place / "out" / form).read_bytes().decode()
        assert "bad" in text, form
        assert "xff" in text, form
    assert r"caf\xe9.yaml" in (place / "out" / "pages" / "index.html").read_text()


def test_a_reference_to_a_file_by_another_ending_is_told_its_name(place: Path) -> None:
    trailer = place / "profiles" / "trailers" / "small.yaml"
    trailer.rename(trailer.with_suffix(".yml"))
    done = check("profiles")
    assert done.exit_code == 2
    assert "there is 'small.yml', which wants that name" in done.stderr


def test_settings_that_are_not_in_use_are_said(place: Path) -> None:
    (place / "profiles" / "cinchbook.yaml").write_text("kind: settings\nunits: si\n")
    done = check("profiles")
    assert done.exit_code == 0
    assert "note: profiles/cinchbook.yaml is not used" in done.stderr
    (place / "cinchbook.yaml").write_text("kind: settings\n")
    assert "note: cinchbook.yaml" not in check(".", "--short").stderr
