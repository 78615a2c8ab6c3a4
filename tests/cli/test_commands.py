"""The commands as people call them: exit codes, words, no traceback whatever the input."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry
from typer.testing import CliRunner

from checker.cli.app import COMMANDS, application
from tests.calling import call

SOURCES = """
kind: sources
sources:
  - {id: print, title: The Print, issuer: a test, edition: first, jurisdiction: any,
     read_as: text seen, look_again: 2026-01-01}
"""


@pytest.fixture
def place(tmp_path: Path, rulebook_text: str) -> Path:
    """A folder with one rulebook and loads that come to each outcome."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "book.yaml").write_text(rulebook_text)
    (tmp_path / "empty").mkdir()
    (tmp_path / "empty" / "sources.yaml").write_text(SOURCES)
    for name, trailer in {
        "good": "{gvwr: 7000 lb}",
        "bad": "{gvwr: 7001 lb}",
        "unknown": "{}",
        "close": "{gvwr: 7000 lb ± 10 lb}",
        "broken": "{gvwr: 7000}",
    }.items():
        text = (
            f"kind: load\ntitle: The {name} load\ntrailer: {trailer}\ntrip: {{date: 2026-05-14}}\n"
        )
        (tmp_path / f"{name}.yaml").write_text(text)
    return tmp_path


@pytest.mark.parametrize(
    ("names", "code"),
    [
        (["good"], 0),
        (["bad"], 1),
        (["unknown"], 3),
        (["close"], 3),
        (["broken"], 2),
        (["good", "unknown"], 3),
        (["good", "unknown", "bad"], 1),
        (["bad", "broken"], 2),
        (["nowhere"], 2),
    ],
)
def test_exit_codes(place: Path, names: list[str], code: int) -> None:
    done = call(place, "check", *(f"{name}.yaml" for name in names), "--rules", "rules")
    assert done.returncode == code, done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("articles", "words", "message"),
    [
        ("[]", (), "load.yaml:3:11: found no article; wanted an article to place"),
        ("[{weight: 900 lb}]", ("--article", "2"), "found --article 2; wanted --article 1"),
        (
            "[{weight: 900 lb}, {weight: 1 lb}]",
            ("--article", "3"),
            "found --article 3; wanted a number from 1 to 2",
        ),
    ],
)
def test_an_article_that_is_not_there_cannot_be_placed(
    tmp_path: Path, articles: str, words: tuple[str, ...], message: str
) -> None:
    text = f"kind: load\ntitle: A load\narticles: {articles}\n"
    (tmp_path / "load.yaml").write_text(text)
    done = call(tmp_path, "place", "load.yaml", *words)
    assert done.returncode == 2
    assert done.stderr.splitlines()[0] == message


def test_a_readable_load_is_judged_beside_one_that_is_not(place: Path) -> None:
    done = call(place, "check", "broken.yaml", "bad.yaml", "--rules", "rules")
    assert "broken.yaml:3:17: found the bare number 7000" in done.stderr
    assert "The bad load" in done.stdout


def test_the_text_report_states_both_sides_the_source_and_the_cautions(place: Path) -> None:
    done = call(place, "check", "bad.yaml", "--rules", "rules")
    for words in (
        "HOLD: do not leave until this is fixed",
        "checked for 2026-05-14",
        "1. Mend it.",
        "gvwr 7,001 lb; wanted at most 7,000 lb (just outside)",
        "Why: It is so.",
        "[gross] common practice, no source",
        "The makers' ratings and manuals, local law and a qualified person come first.",
    ):
        assert words in " ".join(done.stdout.split()), done.stdout
    assert "\x1b" not in done.stdout
    assert "safe" not in done.stdout.casefold()


def test_metric_units_on_request(place: Path) -> None:
    done = call(place, "check", "good.yaml", "--rules", "rules", "--units", "si", "--full")
    assert "wanted at most 3,175 kg" in done.stdout


def test_narrow_terminals_are_kept_to(place: Path) -> None:
    done = call(place, "check", "bad.yaml", "--rules", "rules", COLUMNS="60")
    assert max(map(len, done.stdout.splitlines())) <= 60


def test_the_json_report_fits_its_schema_and_repeats_byte_for_byte(place: Path) -> None:
    words = ["check", "bad.yaml", "close.yaml", "unknown.yaml", "--rules", "rules", "--as", "json"]
    first, second = call(place, *words), call(place, *words)
    assert first.stdout == second.stdout
    schema = json.loads(call(place, "schema", "report").stdout)
    Draft202012Validator.check_schema(schema)
    report = json.loads(first.stdout)
    Draft202012Validator(schema, registry=Registry()).validate(report)
    bad, close, unknown = report["loads"]
    assert [load["outcome"] for load in (bad, close, unknown)] == ["hold", "open", "open"]
    (fact,) = bad["findings"][0]["facts"]
    assert fact["from"] == ["trailer.gvwr"]
    assert bad["fields"] == [{"field": "trailer.gvwr", "at": "bad.yaml:3", "stated": "7001 lb"}]
    # 7,000 lb is 7000 x 0.45359237 x 9.80665 N.
    assert bad["findings"][0]["comparison"]["required"] == pytest.approx(31137.5513068235)
    assert close["findings"][0]["facts"][0]["lowest"] == pytest.approx(6990 * 4.4482216152605)
    assert unknown["findings"][0]["missing"] == ["trailer.gvwr"]
    assert unknown["state_next"] == [
        {
            "field": "trailer.gvwr",
            "decides": 1,
            "decides_musts": 1,
            "words": "Trailer: Gross vehicle weight rating on the label, coupling load included: "
            "MAM, ATM",
        }
    ]


def test_a_day_before_all_values_leaves_it_undecided(place: Path) -> None:
    done = call(place, "check", "good.yaml", "--rules", "rules", "--on", "2015-09-30")
    assert done.returncode == 3
    assert "no value of 'limit' on 2015-09-30" in done.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["check", "good.yaml", "--on", "soon"], "found 'soon'; wanted a day such as 2026-05-14"),
        (["check", "good.yaml", "--rules", "us-lisense"], "wanted a folder, or one of"),
        (
            ["check", "good.yaml", "--rules", "shipped", "--rules", "us-lisense"],
            "found 'us-lisense'; wanted a folder, or one of",
        ),
        (["check", ""], "found a folder, '.'"),
        (
            ["check", "rules"],
            "found a folder without a file of `kind: load`; wanted a folder with load profiles",
        ),
        (["check", "a" * 300], "found no file"),
        (["check", "side-by-side-in-ordr"], "did you mean 'loads/side-by-side-in-order'?"),
        (["check", "good.yaml", "--rules", "empty"], "found no rulebook in the folder given"),
        (
            ["check", "good.yaml", "--rules", "rules", "--rules", "rules"],
            "rules/book.yaml:3:5: found the id 'book' again; wanted each file in one of",
        ),
        (["rule", "gros", "--rules", "rules"], "did you mean 'gross'?"),
        (["facts", "nonsense"], "found no fact with 'nonsense' in its name"),
        (["schema", "lode"], "did you mean 'load'?"),
        (["check"], "found no load profile to check"),
        (["chek"], "No such command 'chek'"),
    ],
)
def test_a_wrong_call_is_told_and_ends_with_2(place: Path, words: list[str], said: str) -> None:
    done = call(place, *words)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_prove_passes_and_fails(place: Path) -> None:
    done = call(place, "prove", "--rules", "rules")
    assert done.returncode == 0
    assert done.stdout == (
        "1 rules and tables, 3 proofs, 0 failing; 5 nudges, 5 noticed (100.0%); "
        "0 facts that decide nothing\n"
    )
    book = place / "rules" / "book.yaml"
    book.write_text(
        book.read_text().replace("7001 lb}, expect: not met", "7100 lb}, expect: not met")
    )
    done = call(place, "prove", "--rules", "rules")
    assert done.returncode == 1
    assert "gross: no proof notices: limit 7000 lb a little higher" in done.stdout


def test_a_document_past_its_day_to_look_again_is_named(place: Path) -> None:
    (place / "rules" / "sources.yaml").write_text(SOURCES)
    book = place / "rules" / "book.yaml"
    cited = 'source: print\n    at: "1"\n    basis: guidance'
    book.write_text(
        book.read_text().replace("common_practice: yes\n    basis: common practice", cited)
    )
    done = call(place, "check", "good.yaml", "--rules", "rules")
    assert "Sources due for review: The Print (since 2026-01-01)" in done.stdout


def test_shipped_stands_for_all_shipped_rulebooks(place: Path) -> None:
    both = call(place, "rules", "--rules", "rules", "--rules", "shipped").stdout
    alone = call(place, "rules").stdout
    assert "gross [must] Gross rating within the limit" in both
    assert len(both.splitlines()) == len(alone.splitlines()) + 3


def test_a_fault_of_our_own_is_told_in_words(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from checker.cli import app

    def fails(_commands: object) -> None:
        message = "boom"
        raise RuntimeError(message)

    monkeypatch.setattr(app, "application", fails)
    with pytest.raises(SystemExit, match="2"):
        app.main()
    assert "error in the program (RuntimeError: boom)" in capsys.readouterr().err


def test_rules_rule_and_facts_print(place: Path) -> None:
    assert (
        "gross [must] Gross rating within the limit. common practice"
        in call(place, "rules", "--rules", "rules").stdout
    )
    shown = call(place, "rule", "gross", "--rules", "rules").stdout
    assert "limit = 7000 lb from 2015-10-01; common practice, no source" in shown
    assert "hitch.tongue_weight (load)" in call(place, "facts", "tongue").stdout


@pytest.mark.parametrize(
    "command",
    ["check", "place", "vary", "draft", "rules", "rule", "facts", "prove", "coverage", "schema"],
)
def test_every_command_helps_with_an_example(place: Path, command: str) -> None:
    done = call(place, command, "--help")
    assert done.returncode == 0
    assert f"Example: cinchbook {command}" in " ".join(done.stdout.split())


def test_a_word_that_is_no_command_is_told_with_the_one_meant(place: Path) -> None:
    done = call(place, "chekc", "load.yaml")
    assert done.returncode == 2
    assert "No such command 'chekc'. Did you mean 'check'?" in done.stderr


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_called_alone_helps_as_among_all(place: Path, command: str) -> None:
    among_all = CliRunner().invoke(application(), [command, "--help"], prog_name="cinchbook")
    called = call(place, command, "--help").stdout.replace("python -m checker", "cinchbook")
    assert called.split() == among_all.output.split()


def test_help_loads_nothing_heavy(place: Path) -> None:
    code = (
        "import sys\nfrom checker.cli.app import main\nsys.argv = ['cinchbook', '--help']\n"
        "try:\n    main()\nfinally:\n"
        "    heavy = {'numpy', 'jsonschema', 'rich', 'pint', 'ruamel'} & set(sys.modules)\n"
        "    print(sorted(heavy), file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=place, capture_output=True, text=True, check=False
    )
    assert done.stderr.strip() == "[]"


def test_a_closed_pipe_ends_by_its_signal_and_not_with_a_verdict(place: Path) -> None:
    running = subprocess.Popen(
        [sys.executable, "-m", "checker", "facts"],
        cwd=place,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    assert running.stdout is not None
    assert running.stderr is not None
    running.stdout.readline()
    running.stdout.close()
    assert running.wait(30) == -signal.SIGPIPE
    assert running.stderr.read() == b""
    running.stderr.close()


def test_two_figures_for_one_thing_are_shown_together(place: Path, rulebook_text: str) -> None:
    book = place / "rules" / "book.yaml"
    head, rules, first = rulebook_text.partition("rules:\n")
    second = first.replace("id: gross", "id: two").replace("7000 lb", "8000 lb")
    second = second.replace("7001 lb", "8001 lb")
    both = (first + second).replace("    level: must\n", "    level: must\n    about: gross\n")
    book.write_text(head + rules + both)
    done = call(place, "check", "good.yaml", "--rules", "rules", "--full")
    assert "Another figure for this: wanted at most 8,000 lb [two]" in done.stdout
    assert "Another figure for this: wanted at most 7,000 lb [gross]" in done.stdout
    assert done.stdout.count("This one is the stricter and decides.") == 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a full disk is played by /dev/full")
@pytest.mark.parametrize("words", [["check", "good.yaml"], ["facts"], ["--help"]])
def test_a_full_disk_is_no_fault_of_the_program(place: Path, words: list[str]) -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "checker", *words],
            cwd=place,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.stderr == "cinchbook stopped: no space left on device\n"
    assert done.returncode == 2


@pytest.mark.parametrize("name", ["god.yaml", "good", "goood"])
def test_a_load_beside_the_one_named_is_offered_as_it_can_be_called(place: Path, name: str) -> None:
    done = call(place, "check", name)
    assert done.returncode == 2
    assert f"found no file '{name}'; wanted a load profile; did you mean 'good.yaml'?" in (
        done.stderr
    )
