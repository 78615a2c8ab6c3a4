"""Nothing printed can act: not in a terminal, and not in the log of a CI server."""

import io
import os
import re
import shutil
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from typer.testing import CliRunner

from checker.cli.app import COMMANDS, application, call
from checker.cli.output import console, guarded_output
from checker.documents.escaping import escape_lines, escaped, json_text
from checker.documents.resources import shipped_folder
from tests.equipment import copy_equipment

# Colour, the title of a window, a turn of the reading direction, a line of its own, commands.
HOSTILE = "::error::x \x1b]0;t\x07\x9b31m \u202e ##[command]##vso[task.x]y\n::stop-commands::z"
NEW = ["tongue-share-ball", "heaviest", "13 %", "--from", "2026-07-01", "--common-practice"]
IN_A_TITLE = '"::error::x ##[group]x ##vso[task.setvariable variable=x]y"'
RAW = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)
COMMAND = re.compile(r"^\s*::|##\[|##vso\[", re.MULTILINE)


def test_the_escapes_of_a_line() -> None:
    assert escaped("a\nb\x1b[1m\u202e\udcff") == r"a\nb\u001b[1m\u202e\xff"
    assert escaped("Grünwald 5 kg ±") == "Grünwald 5 kg ±"


@pytest.mark.parametrize(
    ("text", "shown", "at_start"),
    [
        ("::error::x", r"\::error::x", False),
        ("  ::error::x\n", "  \\::error::x\n", True),
        ("a ::b", "a ::b", False),
        ("a\n::b", "a\n\\::b", False),
        ("x ##[error]y", r"x #\#[error]y", False),
        ("x ##vso[a]y", r"x #\#vso[a]y", False),
        ("## a heading\n", "## a heading\n", True),
        ("a\n   ", "a\n   ", True),
        ("", "", True),
    ],
)
def test_lines_of_text(text: str, shown: str, *, at_start: bool) -> None:
    assert escape_lines(text) == (shown, at_start)


def test_what_goes_on_in_a_line_is_no_start_of_one() -> None:
    assert escape_lines("::b", at_start=False) == ("::b", False)


def test_a_json_document_stays_as_it_is_when_it_is_printed() -> None:
    text = json_text({"a": "\u202e\x7f\udcff ##[x]##vso[y]"})
    assert escape_lines(text)[0] == text
    assert text == '{\n  "a": "\\u202e\\u007f\\\\xff \\u0023#[x]\\u0023#vso[y]"\n}\n'


def test_the_console_prints_its_own_colours_and_nothing_of_the_text(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    screen = Terminal()
    monkeypatch.setattr(sys, "stdout", screen)
    with guarded_output():
        console().print("a\x1b[8mb", style="bold")
        print("c\x1b[8md")  # noqa: T201 - whatever prints
    assert screen.getvalue() == "\x1b[1ma\\u001b[8mb\x1b[0m\nc\\u001b[8md\n"


def test_letters_that_an_encoding_lacks_are_escaped(monkeypatch: pytest.MonkeyPatch) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
    with guarded_output():
        print("ü\U0001f69b")  # noqa: T201 - whatever prints
        sys.stdout.flush()
    assert raw.getvalue() == rb"\u00fc\ud83d\ude9b" + b"\n"


@pytest.fixture
def crew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder whose profiles, rules and logs have hostile names and titles."""
    profiles = tmp_path / "profiles"
    copy_equipment(profiles)
    (profiles / "loads").mkdir()
    good = (shipped_folder("profiles") / "loads" / "mower-in-order.yaml").read_text()
    text = re.sub(r"(?m)^title: .*$", f"title: {IN_A_TITLE}", good)
    (profiles / "loads" / f"{HOSTILE[:90]}\udcff.yaml".replace("/", "")).write_text(text)
    held = (shipped_folder("profiles") / "loads" / "accessory-hook.yaml").read_text()
    held = re.sub(r"(?m)^title: .*$", f"title: {IN_A_TITLE}", held)
    (profiles / "loads" / "plain.yaml").write_text(held)
    (tmp_path / f"bad {HOSTILE}.yaml").write_text("kind: load\ntitel: x\n")
    (tmp_path / f"{HOSTILE}.csv").write_text(
        f'load,date,crew\nprofiles/loads/plain.yaml,2026-05-14,"{HOSTILE}"\n"{HOSTILE}",x,y\n'
    )
    rules = tmp_path / "rules"
    rules.mkdir()
    shutil.copy(shipped_folder("rules") / "sources.yaml", rules)
    book = (shipped_folder("rules") / "common-practice" / "placement.yaml").read_text()
    (rules / f"{HOSTILE}.yaml").write_text(re.sub(r"(?m)^title: .*$", f"title: {IN_A_TITLE}", book))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def calls() -> dict[str, list[list[str]]]:
    """Calls of each command with hostile words wherever one may stand."""
    log = f"{HOSTILE}.csv"
    plain, rule = "profiles/loads/plain.yaml", "tongue-share-ball"
    rules = ["--rules", "rules"]
    return {
        "check": [
            ["profiles/loads", *rules],
            ["profiles/loads", *rules, "--full"],
            ["profiles/loads", *rules, "--short"],
            ["profiles/loads", *rules, "--as", "json"],
            *([plain, *rules, "--write", f"{form}=-"] for form in ("csv", "junit", "markdown")),
            *([plain, *rules, "--write", f"{form}=-"] for form in ("sarif", "codequality", "html")),
            [f"bad {HOSTILE}.yaml"],
            [HOSTILE],
            [plain, "--on", HOSTILE],
            [plain, "--rules", HOSTILE],
            [plain, "--write", HOSTILE],
            [plain, "--write", f"json={HOSTILE}/rules/x"],
            [plain, "--changed-since", HOSTILE],
            [plain, f"--{HOSTILE}"],
            [plain, "--units", HOSTILE],
        ],
        "explain": [[plain, rule, *rules], [plain, HOSTILE], [HOSTILE, rule]],
        "place": [[plain, *rules], [plain, "--article", HOSTILE]],
        "arrange": [
            [plain, *rules],
            [plain, *rules, "--as", "json"],
            [plain, *rules, "--write", "html=-"],
            [plain, "--gear", HOSTILE],
            [plain, "--order", HOSTILE],
            [plain, *rules, "--write-load", f"{HOSTILE}/x.yaml"],
        ],
        "vary": [
            [plain, "articles.1.weight", "700 lb..900 lb", *rules],
            [plain, HOSTILE, "1 lb..2 lb"],
            [plain, "articles.1.weight", HOSTILE],
        ],
        "draft": [[HOSTILE], ["load", HOSTILE], ["load", f"{HOSTILE}/x.yaml"]],
        "rules": [rules, ["--rules", HOSTILE], [HOSTILE]],
        "rule": [[rule, *rules], [HOSTILE]],
        "history": [[rule, *rules], [rule, "--places", HOSTILE], [rule, "--on", HOSTILE]],
        "facts": [[HOSTILE]],
        "rulebooks": [["--rules", HOSTILE]],
        "prove": [["--rules", HOSTILE]],
        "coverage": [[HOSTILE]],
        "places": [[HOSTILE], []],
        "sources": [
            [HOSTILE],
            [*rules, "--on", HOSTILE],
            ["cfr-49-392", *rules, "--read-on", "2026-01-01", "--by", HOSTILE, "--into", "s.yaml"],
        ],
        "variances": [[HOSTILE], [plain, *rules], ["--on", HOSTILE], ["--soon", HOSTILE]],
        "amend": [
            [HOSTILE, "--common-practice", "--into", "a.yaml"],
            [rule, HOSTILE, "--common-practice", "--into", "a.yaml"],
            [rule, "heaviest", HOSTILE, "--common-practice", "--into", f"{HOSTILE}.yaml"],
            [*NEW, "--into", f"{HOSTILE}.yaml", "--because", "::error::x", "--by", "##[x]"],
        ],
        "calendar": [[plain, *rules], [HOSTILE], ["--from", HOSTILE], ["--place", HOSTILE]],
        "impact": [[HOSTILE, "--over", plain], [f"bad {HOSTILE}.yaml", "--over", log]],
        "audit": [[log, *rules], [log, *rules, "--as", "json"], [HOSTILE], [HOSTILE + "/x.csv"]],
        "invent": [[HOSTILE], ["x.csv", "--over", HOSTILE], ["x.csv", "--from", HOSTILE]],
        "settings": [[HOSTILE], []],
        "schema": [[HOSTILE]],
    }


def test_every_command_is_among_them() -> None:
    assert set(calls()) == set(COMMANDS)


@pytest.fixture
def printed(capfd: pytest.CaptureFixture[str]) -> Callable[[Sequence[str]], tuple[str, str]]:
    """What a call prints on standard output and standard error."""

    def run(words: Sequence[str]) -> tuple[str, str]:
        with guarded_output(), pytest.raises(SystemExit):
            call(words)
        out, err = capfd.readouterr()
        return out, err

    return run


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.usefixtures("crew")
def test_no_command_prints_what_acts(
    command: str, printed: Callable[[Sequence[str]], tuple[str, str]]
) -> None:
    for words in calls()[command]:
        for text in printed([command, *words]):
            assert RAW.findall(text) == [], words
            assert COMMAND.findall(text) == [], words
            assert "error in the program" not in text, words
            # A line break within the words would put what comes after it on a line of its own.
            assert not re.search(r"^\\?::stop", text, re.MULTILINE), words


@pytest.mark.usefixtures("crew")
def test_only_our_own_lines_are_commands(
    printed: Callable[[Sequence[str]], tuple[str, str]],
) -> None:
    words = ["check", "profiles/loads", f"bad {HOSTILE}.yaml", "--write", "annotations=-"]
    out, _ = printed(words)
    assert len(out.splitlines()) > 2
    assert RAW.findall(out) == []
    own = re.compile(r"::(error|warning|notice) file=[^:]*,line=\d+,col=\d+,title=[^:]*::")
    for line in out.splitlines():
        assert own.match(line)
        assert "##[" not in line
        assert "##vso[" not in line


def test_a_load_whose_name_no_log_can_state_is_not_invented_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    load = Path(str(shipped_folder("profiles"))) / "loads" / "mower-in-order.yaml"
    shutil.copytree(load.parent.parent, "profiles")
    Path("profiles/loads/mower-in-order.yaml").rename(os.fsdecode(b"profiles/loads/mower\xe9.yaml"))
    for log in ("new.jsonl", "new.csv"):
        done = CliRunner().invoke(application(), ["invent", log, "--over", "profiles/loads"])
        assert done.exit_code == 2
        said = r"found the load profile 'profiles/loads/mower\xe9.yaml'; wanted a name that a log"
        assert said in done.stderr
        assert not Path(log).exists()
