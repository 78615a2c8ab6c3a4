"""What runs keep of the files they read makes them quicker and changes nothing they say."""

import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from importlib import import_module
from inspect import signature
from pathlib import Path
from unittest import mock

import pytest
from typer.testing import CliRunner

from checker.cli import caching
from checker.cli.app import CACHED, COMMANDS, application
from checker.documents import reader
from tests.calling import call

PROGRAM = """
import sys
from checker.cli.app import main
try:
    main()
finally:
    parsers = {"ruamel", "jsonschema_rs"} & set(sys.modules)
    print("PARSED" if parsers else "NOT PARSED", file=sys.stderr)
"""
# On hold by numbers, of the load and of rules; one change that takes no search mends it.
LOAD = "loads/too-far-back"
UNDER_RATED = "loads/under-rated-straps"


def check_in_a_process(cache: Path, *words: str, load: str = LOAD) -> tuple[str, str, int]:
    """What a check prints and ends with, and which modules it imported to read files."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, "check", load, *words],
        env={**os.environ, "XDG_CACHE_HOME": str(cache), "COLUMNS": "100"},
        capture_output=True,
        text=True,
        check=False,
    )
    return done.stdout, done.stderr, done.returncode


def check(cache: Path, *words: str, load: str = LOAD) -> tuple[str, str, int]:
    """The same in this process, which opens the folder anew and sees whether a file is parsed."""
    caching._open_document_cache.cache_clear()
    with mock.patch.object(reader, "_events", wraps=reader._events) as parsed:
        done = call(Path.cwd(), "check", load, *words, XDG_CACHE_HOME=str(cache), COLUMNS="100")
    told = "PARSED\n" if parsed.called else "NOT PARSED\n"
    return done.stdout, done.stderr + told, done.returncode


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A cache folder that one check has filled, and the JSON document that it gave."""
    folder = tmp_path_factory.mktemp("kept")
    told, errors, code = check_in_a_process(folder, "--as", "json")
    assert (errors, code) == ("PARSED\n", 1)
    return folder, told


def test_a_check_says_the_same_from_what_was_kept(kept: tuple[Path, str]) -> None:
    folder, told = kept
    for checked in (check_in_a_process, check):
        assert checked(folder, "--as", "json") == (told, "NOT PARSED\n", 1)


@pytest.mark.parametrize("words", [(), ("--full",)])
def test_a_check_prints_the_same_from_what_was_kept(
    kept: tuple[Path, str], words: tuple[str, ...]
) -> None:
    told, errors, code = check(kept[0] / "none", *words, "--no-cache")
    assert (errors, code) == ("PARSED\n", 1)
    assert check(kept[0], *words) == (told, "NOT PARSED\n", 1)


def test_a_check_says_the_same_where_nothing_can_be_kept(
    tmp_path: Path, kept: tuple[Path, str]
) -> None:
    (tmp_path / "file").write_text("")
    for _ in range(2):
        assert check(tmp_path / "file", "--as", "json") == (kept[1], "PARSED\n", 1)


def _swapped(entries: list[Path]) -> None:
    contents = [each.read_bytes() for each in entries]
    for entry, content in zip(entries, contents[1:] + contents[:1], strict=True):
        entry.write_bytes(content)


def _looser(entries: list[Path]) -> None:
    """Numbers of the rules changed in place, as nobody's program would leave them."""
    for entry in entries:
        entry.write_bytes(entry.read_bytes().replace(b" lb", b"0 lb").replace(b"0.", b"9."))


def _cut(entries: list[Path]) -> None:
    for entry in entries:
        entry.write_bytes(entry.read_bytes()[: entry.stat().st_size // 2])


@pytest.mark.parametrize("spoil", [_swapped, _looser, _cut])
def test_no_verdict_rests_on_a_spoilt_folder(
    tmp_path: Path, kept: tuple[Path, str], spoil: Callable[[list[Path]], None]
) -> None:
    shutil.copytree(kept[0], tmp_path, dirs_exist_ok=True)
    folder = tmp_path / "cinchbook" / "documents"
    entries = sorted(each for each in folder.iterdir() if each.name != "key")
    assert len(entries) > 50
    spoil(entries)
    assert check(tmp_path, "--as", "json") == (kept[1], "PARSED\n", 1)
    assert check(tmp_path, "--as", "json") == (kept[1], "NOT PARSED\n", 1)


def test_a_fault_is_told_at_its_place_though_all_else_is_kept(
    tmp_path: Path, kept: tuple[Path, str]
) -> None:
    shutil.copytree(kept[0], tmp_path, dirs_exist_ok=True)
    file = tmp_path / "load.yaml"
    text = "kind: load\ntitle: A load\ntrailer: {gvwr: 7000 lb}\n"
    file.write_text(text)
    assert check(tmp_path, load=str(file))[2] == 3
    file.write_text(text.replace("7000 lb", "7000 ft"))
    for _ in range(2):
        _, errors, code = check(tmp_path, load=str(file))
        assert f"{file}:3:17: found '7000 ft'" in errors
        assert code == 2


def _stronger(entry: Path) -> None:
    """Straps of ten times the strength, under the digest that anybody can make."""
    text = entry.read_bytes()[32:].replace(b'"400 lb"', b'"4000 lb"')
    entry.write_bytes(hashlib.sha256(entry.name.encode() + text).digest() + text)


def test_no_hold_becomes_a_pass_by_an_entry_that_was_changed(tmp_path: Path) -> None:
    told = check(tmp_path, "--rules", "us-federal-securement", load=UNDER_RATED)
    assert told[2] == 1
    folder = tmp_path / "cinchbook" / "documents"
    entries = [each for each in folder.iterdir() if b'"400 lb"' in each.read_bytes()]
    assert entries
    for entry in entries:
        _stronger(entry)
    assert check(tmp_path, "--rules", "us-federal-securement", load=UNDER_RATED) == told


@pytest.mark.parametrize("command", CACHED)
def test_every_command_that_reads_through_the_cache_can_leave_it(command: str) -> None:
    done = CliRunner().invoke(application([command, "schema"]), [command, "--help"])
    assert "--no-cache" in done.stdout
    assert "CINCHBOOK_NO_CACHE" in done.stdout


def test_the_commands_that_read_through_the_cache_are_all_known() -> None:
    """Those that read rules or profiles, but for those that need the proofs and read every file."""
    of_rules = {name for name in COMMANDS if "rules" in signature(_run_of(name)).parameters}
    assert of_rules - {"rulebooks", "prove"} == set(CACHED)


def _run_of(name: str) -> Callable[..., None]:
    run: Callable[..., None] = import_module(f"checker.cli.{name}").run
    return run


@pytest.mark.parametrize(
    ("words", "variable", "keeps"),
    [
        ((), {}, True),
        ((), {"CINCHBOOK_NO_CACHE": "0"}, True),
        (("--no-cache",), {}, False),
        ((), {"CINCHBOOK_NO_CACHE": "1"}, False),
    ],
)
def test_without_the_cache_nothing_is_believed_and_nothing_kept(
    words: tuple[str, ...],
    variable: dict[str, str],
    keeps: bool,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    Path("hauls.csv").write_text(f"load,date\n{LOAD},2026-05-14\n")
    for called in (["check", LOAD], ["audit", "hauls.csv"]):
        done = CliRunner(env=variable).invoke(
            application([called[0], "schema"]), [*called, "--rules", "coupling", *words]
        )
        assert done.exit_code in (0, 3), done.output
    kept = tmp_path / "cache" / "cinchbook"
    assert [each.name for each in sorted(kept.glob("*"))] == (["audits", "documents"] * keeps)
