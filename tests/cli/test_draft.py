"""`cinchbook draft` as people call it: piped, on a terminal, stopped half-way."""

import os
import pty
import re
import select
import signal
import subprocess
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from checker.cli.app import application
from checker.documents.reader import read_file
from checker.documents.validate import validate
from checker.upkeep.drafting.drafts import drafts
from tests.calling import call

KINDS = list(drafts(date(2026, 6, 1)))


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder of profiles with one trailer in it."""
    (tmp_path / "profiles" / "trailers").mkdir(parents=True)
    (tmp_path / "profiles" / "trailers" / "ours.yaml").write_text("kind: trailer\ntitle: Ours\n")
    return tmp_path


def run(place: Path, *words: str, **env: str) -> subprocess.CompletedProcess[str]:
    return call(place, "draft", *words, **env)


class Terminal:
    """The command with a terminal of its own, as a person has it."""

    def __init__(self, place: Path, *words: str, output: Path | None = None) -> None:
        self.ours, theirs = pty.openpty()
        self.shown = ""
        stdout = output.open("wb") if output else theirs
        self.process = subprocess.Popen(
            [sys.executable, "-m", "checker", "draft", *words],
            cwd=place,
            env={**os.environ, "COLUMNS": "300", "NO_COLOR": "1", "TERM": "xterm"},
            stdin=theirs,
            stdout=stdout,
            stderr=theirs,
        )
        os.close(theirs)
        if output:
            stdout.close()

    def until(self, ending: str) -> None:
        """Read until what is shown ends so."""
        while not self.shown.endswith(ending):
            assert select.select([self.ours], [], [], 30)[0], self.shown
            self.shown += os.read(self.ours, 65536).decode()

    def types(self, lines: Sequence[str]) -> None:
        for line in lines:
            self.until("): ")
            self.shown += "\n"
            os.write(self.ours, line.encode())

    def interrupts(self) -> None:
        """Press Ctrl-C until it is heeded.

        A signal that comes between the question and the wait for its answer is seen only once
        something is typed; people press again.
        """
        for _ in range(6):
            self.process.send_signal(signal.SIGINT)
            if select.select([self.ours], [], [], 5)[0]:
                return
        pytest.fail("Ctrl-C is not heeded")

    def ends(self) -> int:
        """Read what is left; the exit code."""
        while True:
            assert select.select([self.ours], [], [], 30)[0], self.shown
            try:
                more = os.read(self.ours, 65536)
            except OSError:  # Linux says so when the other side of a terminal is closed
                break
            if not more:
                break
            self.shown += more.decode()
        os.close(self.ours)
        return self.process.wait(30)


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_written_and_valid(place: Path, kind: str) -> None:
    done = CliRunner().invoke(application(), ["draft", kind, str(place / "new.yaml")])
    assert (done.exit_code, done.stdout) == (0, f"wrote {place / 'new.yaml'}\n")
    document = read_file(place / "new.yaml")
    assert document.problems + validate(document, wanted_kind=kind) == []


def test_the_help_names_every_kind() -> None:
    shown = " ".join(CliRunner().invoke(application(), ["draft", "--help"]).stdout.split())
    assert f"{', '.join(KINDS[:-1])} or {KINDS[-1]}." in shown


def test_without_a_file_it_is_printed_and_nothing_else(place: Path) -> None:
    printed = run(place, "machine")
    assert (printed.returncode, printed.stderr) == (0, "")
    run(place, "machine", "new.yaml")
    assert printed.stdout == (place / "new.yaml").read_text()
    assert "\x1b" not in printed.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["trailr"], "did you mean 'trailer'?"),
        (["trailer", "new.yml"], "did you mean 'new.yaml'?"),
        (["trailer", "profiles/trailers/ours.yaml"], "wanted a new file name, or --force"),
        (
            ["trailer", "nowhere/new.yaml"],
            "found no folder 'nowhere'; wanted one to write the file in: make it first\n",
        ),
        (["trailer", "profiles/trailer/new.yaml"], "did you mean 'profiles/trailers'?"),
        ([], "Missing argument"),
    ],
)
def test_a_wrong_call_is_told_and_ends_with_2(place: Path, words: list[str], said: str) -> None:
    done = run(place, *words)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    ours = place / "profiles" / "trailers" / "ours.yaml"
    assert ours.read_text() == "kind: trailer\ntitle: Ours\n"


def test_force_replaces(place: Path) -> None:
    done = run(place, "trailer", "profiles/trailers/ours.yaml", "--force")
    assert done.returncode == 0
    assert "New trailer" in (place / "profiles" / "trailers" / "ours.yaml").read_text()


def test_questions_on_a_terminal(place: Path) -> None:
    (place / "profiles" / "loads").mkdir()
    terminal = Terminal(place, "load", "profiles/loads/new.yaml")
    terminal.types(["Mower: north\n", "trailers/our\n", "trailers/ours\n", "\x04"])
    assert terminal.ends() == 0
    assert "found 'trailers/our'; wanted a trailer file: trailers/ours" in terminal.shown
    assert "did you mean 'trailers/ours'?" in terminal.shown
    assert "tow_vehicle: left out, there is no tow-vehicle file" in terminal.shown
    assert "wrote profiles/loads/new.yaml" in terminal.shown
    assert read_file(place / "profiles" / "loads" / "new.yaml").data == {
        "kind": "load",
        "title": "Mower: north",
        "trailer": "trailers/ours",
    }


def test_questions_stay_out_of_the_output(place: Path) -> None:
    terminal = Terminal(place, "carrier", output=place / "out.yaml")
    terminal.types(["Crew\n", "yes\n", "\x04"])
    assert terminal.ends() == 0
    data = read_file(place / "out.yaml").data
    assert data == {"kind": "carrier", "title": "Crew", "government": "yes"}
    assert (place / "out.yaml").read_text().startswith("# Who hauls.")


def test_template_asks_nothing_on_a_terminal(place: Path) -> None:
    terminal = Terminal(place, "carrier", "new.yaml", "--template")
    assert terminal.ends() == 0
    assert terminal.shown == "wrote new.yaml\r\n"


def test_stopped_by_the_keyboard_nothing_is_written(place: Path) -> None:
    ours = place / "profiles" / "trailers" / "ours.yaml"
    terminal = Terminal(place, "trailer", str(ours), "--force")
    terminal.types(["Another\n"])
    terminal.until("): ")
    before = terminal.shown
    terminal.interrupts()
    assert terminal.ends() == 2
    assert terminal.shown.removeprefix(before).split() == ["stopped;", "nothing", "was", "written"]
    assert ours.read_text() == "kind: trailer\ntitle: Ours\n"
    assert [path.name for path in ours.parent.iterdir()] == ["ours.yaml"]


def test_no_colour_is_shown_where_none_is_wanted(place: Path) -> None:
    terminal = Terminal(place, "carrier")
    terminal.types(["\x04"])
    terminal.ends()
    assert not re.search(r"\x1b\[[0-9;]*m", terminal.shown)
