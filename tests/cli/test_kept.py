"""What runs keep of the files they read makes them quicker and changes nothing they say."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

PROGRAM = """
import sys
from checker.cli.app import main
try:
    main()
finally:
    parsers = {"ruamel", "jsonschema_rs"} & set(sys.modules)
    print("PARSED" if parsers else "NOT PARSED", file=sys.stderr)
"""
LOAD = "loads/under-rated-straps"


def check(cache: Path, *words: str, load: str = LOAD) -> tuple[str, str, int]:
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, "check", load, *words],
        env={**os.environ, "XDG_CACHE_HOME": str(cache), "COLUMNS": "100"},
        capture_output=True,
        text=True,
        check=False,
    )
    return done.stdout, done.stderr, done.returncode


@pytest.mark.parametrize("words", [(), ("--full",), ("--as", "json")])
def test_a_check_says_the_same_from_what_was_kept(tmp_path: Path, words: tuple[str, ...]) -> None:
    told, errors, code = check(tmp_path, *words)
    assert (errors, code) == ("PARSED\n", 1)
    assert check(tmp_path, *words) == (told, "NOT PARSED\n", 1)


def test_a_check_says_the_same_where_nothing_can_be_kept(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    told, errors, code = check(tmp_path / "file", "--as", "json")
    assert (errors, code) == ("PARSED\n", 1)
    assert check(tmp_path / "file", "--as", "json") == (told, errors, code)
    assert check(tmp_path / "kept", "--as", "json") == (told, errors, code)


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
    tmp_path: Path, spoil: Callable[[list[Path]], None]
) -> None:
    told = check(tmp_path, "--as", "json")
    entries = sorted((tmp_path / "cinchbook" / "documents").iterdir())
    assert len(entries) > 50
    spoil(entries)
    assert check(tmp_path, "--as", "json") == told
    assert check(tmp_path, "--as", "json") == (told[0], "NOT PARSED\n", 1)


def test_a_fault_is_told_at_its_place_though_all_else_is_kept(tmp_path: Path) -> None:
    file = tmp_path / "load.yaml"
    text = "kind: load\ntitle: A load\ntrailer: {gvwr: 7000 lb}\n"
    file.write_text(text)
    assert check(tmp_path, load=str(file))[2] == 3
    file.write_text(text.replace("7000 lb", "7000 ft"))
    for _ in range(2):
        _, errors, code = check(tmp_path, load=str(file))
        assert f"{file}:3:17: found '7000 ft'" in errors
        assert code == 2
