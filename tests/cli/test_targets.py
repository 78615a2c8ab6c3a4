"""What is written is a file of its own, and what is read is an ordinary file."""

import os
from pathlib import Path

import pytest
from click.testing import Result
from typer.testing import CliRunner

from checker.cli import options
from checker.cli.app import application

LOAD = "kind: load\ntitle: One\ntrailer: trailers/small\n"
NEW = ["gross", "limit", "2000 lb", "--from", "2026-03-01", "--common-practice", "--rules", "rules"]


def call(*words: str) -> Result:
    options._settings_above.cache_clear()
    return CliRunner().invoke(application([words[0]]), words)


@pytest.fixture
def crew(tmp_path: Path, rulebook_text: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A crew's folder with a load, a log, settings, and things that are no files."""
    for folder in ("rules", "profiles/trailers", "profiles/loads", "folder"):
        (tmp_path / folder).mkdir(parents=True)
    (tmp_path / "rules" / "book.yaml").write_text(rulebook_text)
    (tmp_path / "profiles" / "trailers" / "small.yaml").write_text("kind: trailer\ngvwr: 2990 lb\n")
    (tmp_path / "profiles" / "loads" / "one.yaml").write_text(LOAD)
    (tmp_path / "cinchbook.yaml").write_text("kind: settings\nrules: [rules]\n")
    (tmp_path / "hauls.csv").write_text("load,date\nprofiles/loads/one.yaml,2026-05-14\n")
    for name in ("pipe", "pipe.yaml", "pipe.jsonl", "pipe.csv"):
        os.mkfifo(tmp_path / name)
    os.mknod(tmp_path / "device", 0o666 | 0o020000, os.makedev(1, 3))
    for name, target in (("to-pipe", "pipe"), ("to-device.yaml", "device")):
        (tmp_path / name).symlink_to(target)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def listing(place: Path) -> dict[str, tuple[int, bytes]]:
    return {
        str(file.relative_to(place)): (
            file.lstat().st_mode,
            file.read_bytes() if file.is_file() else b"",
        )
        for file in place.rglob("*")
    }


CHECK = ["check", "profiles", "--write"]
AUDIT = ["audit", "hauls.csv"]
needs_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root makes devices")


@needs_root
@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([*CHECK, "json=device"], "found 'device', a device; wanted a file to write"),
        ([*CHECK, "csv=pipe"], "found 'pipe', a pipe; wanted a file to write"),
        ([*CHECK, "csv=to-pipe"], "found 'to-pipe', a pipe; wanted a file to write"),
        ([*CHECK, "sarif=folder"], "found 'folder', a folder; wanted a file to write"),
        ([*CHECK, "html=pipe"], "found 'pipe', a pipe; wanted a file to write"),
        ([*CHECK, "junit=cinchbook.yaml"], "found 'cinchbook.yaml' to write, which this run reads"),
        ([*CHECK, "json=new.yml"], "found 'new.yml' to write; wanted a name that no profile"),
        ([*AUDIT, "--write", "json=device"], "found 'device', a device; wanted a file to write"),
        ([*AUDIT, "--write", "html=folder"], "found 'folder', a folder; wanted a file to write"),
        ([*AUDIT, "--write", "csv=cinchbook.yaml"], "'cinchbook.yaml' to write, which this run"),
        ([*AUDIT, "--findings", "pipe.jsonl"], "found 'pipe.jsonl', a pipe; wanted a file"),
        (["draft", "load", "pipe.yaml", "--force"], "found 'pipe.yaml', a pipe; wanted a file"),
        (["draft", "load", "to-device.yaml", "--force"], "found 'to-device.yaml', a device"),
        (
            ["draft", "load", "cinchbook.yaml", "--force"],
            "found 'cinchbook.yaml', a file of kind 'settings'; wanted one of kind 'load'",
        ),
        (["amend", *NEW, "--into", "pipe.yaml"], "found 'pipe.yaml', a pipe; wanted a file"),
        (["amend", *NEW, "--into", "to-device.yaml"], "found 'to-device.yaml', a device"),
        (["amend", *NEW, "--into", "folder"], "found 'folder', a folder; wanted a file"),
        (["amend", *NEW, "--into", "cinchbook.yaml"], "cinchbook.yaml"),
        (["amend", *NEW, "--into", "profiles/loads/one.yaml"], "one.yaml"),
        (["invent", "pipe.csv"], "found 'pipe.csv' there already; wanted a new name"),
    ],
)
def test_only_files_are_written_and_none_that_is_read(
    crew: Path, words: list[str], said: str
) -> None:
    before = listing(crew)
    done = call(*words)
    assert done.exit_code == 2
    assert said in done.stderr
    assert listing(crew) == before


@needs_root
@pytest.mark.timeout(20)
@pytest.mark.parametrize(
    "words",
    [
        ["check", "pipe.yaml"],
        ["check", "device"],
        ["check", "/dev/zero"],
        ["check", "profiles", "--rules", "pipe"],
        ["check", "profiles", "--rules", "/dev/zero"],
        ["check", "profiles", "--profiles", "pipe"],
        ["explain", "pipe.yaml", "gross"],
        ["place", "to-device.yaml"],
        ["vary", "to-pipe", "trailer.gvwr", "1 lb..2 lb"],
        ["rules", "--rules", "to-device.yaml"],
        ["prove", "--rules", "pipe"],
        ["impact", "pipe", "--over", "profiles"],
        ["impact", "/dev/zero", "--over", "profiles"],
        ["impact", "x" * 300, "--over", "profiles"],
        ["impact", "--against", "HEAD", "--over", "profiles", "--rules", "pipe"],
        ["impact", "rules", "--over", "pipe"],
        ["invent", "new.csv", "--over", "pipe.yaml"],
    ],
)
@pytest.mark.usefixtures("crew")
def test_what_is_no_ordinary_file_is_not_waited_for(words: list[str]) -> None:
    done = call(*words)
    assert done.exit_code == 2
    assert done.stderr
    assert "error in the program" not in done.stderr


@pytest.mark.timeout(20)
@pytest.mark.parametrize("name", ["released-ids.txt", "more.yaml"])
def test_a_pipe_among_rule_files_is_a_problem(crew: Path, name: str) -> None:
    os.mkfifo(crew / "rules" / name)
    done = call("rulebooks", "--rules", "rules")
    assert done.exit_code == 2
    assert f"rules/{name}:1:1: found a file that cannot be read" in done.stderr


@pytest.mark.timeout(20)
def test_a_pipe_that_a_load_refers_to_is_a_problem(crew: Path) -> None:
    (crew / "profiles" / "trailers" / "small.yaml").unlink()
    os.mkfifo(crew / "profiles" / "trailers" / "small.yaml")
    done = call("check", "profiles/loads")
    assert done.exit_code == 2
    assert "one.yaml:3:10: found 'trailers/small'; wanted a file" in done.stderr


OVER = "load,date\nloads/mower-in-order,2026-05-14\n"


@pytest.mark.parametrize("words", [["check", "loads/mower-in-order"], ["audit", "hauls.csv"]])
def test_a_name_means_the_projects_own_load_before_the_shipped_one(
    crew: Path, words: list[str]
) -> None:
    """The crew's rule allows 7,000 lb; its load is of 7,001 lb, the shipped one of 2,990 lb."""
    (crew / "cinchbook.yaml").write_text("kind: settings\nrules: [rules]\nprofiles: profiles\n")
    own = crew / "profiles" / "loads" / "mower-in-order.yaml"
    own.write_text("kind: load\ntrailer: {gvwr: 7001 lb}\n")
    (crew / "hauls.csv").write_text(OVER)
    done = call(*words)
    assert done.exit_code == 1, done.output


def test_a_misspelt_name_is_one_of_the_projects_own_loads(crew: Path) -> None:
    (crew / "cinchbook.yaml").write_text("kind: settings\nrules: [rules]\nprofiles: profiles\n")
    (crew / "profiles" / "loads" / "one.yaml").rename(crew / "profiles" / "loads" / "zinc.yaml")
    assert "did you mean 'loads/zinc'?" in call("check", "loads/zink").stderr


@pytest.mark.parametrize("rules", ["[rulez]", "[shipped, rulez]", "[rules, shipped, rulez]"])
def test_a_folder_of_rules_that_the_settings_misspell_is_never_left_out(
    crew: Path, rules: str
) -> None:
    (crew / "cinchbook.yaml").write_text(f"kind: settings\nrules: {rules}\n")
    done = call("check", "profiles/loads/one.yaml")
    assert done.exit_code == 2
    assert "cinchbook.yaml:2: found 'rulez'; wanted a folder, or one of: " in done.stderr
