"""`cinchbook amend`: what it writes, what it refuses, and that a kill leaves a whole file."""

import random
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from checker.cli.app import application
from checker.cli.chosen_rules import read_rules
from checker.documents.file_lock import locked
from checker.documents.reader import read_file
from checker.documents.settings import FILE
from checker.documents.validate import validate

TONGUE = ["tongue-share-ball", "heaviest"]
JULY = ["--from", "2026-07-01", "--common-practice"]


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A project whose amendments are still an empty folder."""
    (tmp_path / "amendments").mkdir()
    (tmp_path / FILE).write_text("kind: settings\namendments: [amendments]\n")
    monkeypatch.chdir(tmp_path)
    return tmp_path / "amendments" / "company.yaml"


def amend(*words: str) -> Result:
    return CliRunner().invoke(application(), ["amend", *words])


def test_a_change_is_written_and_counts_from_its_day(project: Path) -> None:
    """273 lb of 2,340 lb are 11.7 %: more than 11 %, less than 15 %."""
    done = amend(*TONGUE, "11 %", *JULY)
    assert done.exit_code == 0
    assert "+    value: 11 %\n" in done.stdout
    document = read_file(project)
    assert document.problems + validate(document, wanted_kind="amendment") == []
    load = "loads/side-by-side-in-order"
    before = CliRunner().invoke(application(), ["check", load, "--on", "2026-06-30"])
    after = CliRunner().invoke(application(), ["check", load, "--on", "2026-07-01"])
    assert [before.exit_code, after.exit_code] == [0, 1]


def test_dry_run_shows_and_writes_nothing(project: Path) -> None:
    done = amend(*TONGUE, "13 %", *JULY, "--dry-run")
    assert done.exit_code == 0
    assert "+    value: 13 %\n" in done.stdout
    assert not project.exists()


def test_a_second_change_leaves_the_first_as_it_stands(project: Path) -> None:
    amend(*TONGUE, "13 %", *JULY)
    before = project.read_text()
    assert amend(*TONGUE, "12 %", "--from", "2026-09-01", "--common-practice").exit_code == 0
    assert project.read_text().startswith(before)


def test_the_law_of_a_place_goes_into_its_own_file(project: Path) -> None:
    (project.parent / "sources.yaml").write_text(
        "kind: sources\nsources:\n  - {id: utah, title: Utah Code, issuer: a, edition: b, "
        "jurisdiction: US-UT, read_as: text seen, look_again: 2030-01-01}\n"
    )
    day = ["--from", "2026-07-01"]
    done = amend(*TONGUE, "13 %", *day, "--source", "utah", "--at", "1-1", "--place", "US-UT")
    assert (done.exit_code, done.stderr) == (0, f"{project.with_name('us-ut.yaml')}: written\n")
    assert "layer: place\njurisdiction: US-UT\n" in project.with_name("us-ut.yaml").read_text()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([*TONGUE, "16 %", *JULY], "less strict than before, without because and by"),
        (["us-first-load-check", "distance", "60 mi", *JULY], "less strict than the law"),
        (["us-first-load-chek", "distance", "40 mi", *JULY], "did you mean 'us-first-load-check'?"),
        (["us-first-load-check", "distanc", "40 mi", *JULY], "did you mean 'distance'?"),
        (["ball-seated", "most", "1", *JULY], "which has no threshold"),
        ([*TONGUE, "13 lb", *JULY], "found a weight or rating, '13 lb'; wanted a share"),
        (
            [*TONGUE, "13", *JULY],
            "found a bare number, '13'; wanted a share such as '12 %'",
        ),
        ([*TONGUE, "13", *JULY], "did you mean '13 %'?"),
        ([*TONGUE, "0.13 g", *JULY], "found a multiple of gravity, '0.13 g'; wanted a share"),
        ([*TONGUE, "13 percents", *JULY], "found '13 percents'"),
        ([*TONGUE, "13 %", "--from", "2011-12-31", "--common-practice"], "wanted one from 2012"),
        ([*TONGUE, "13 %", "--from", "July", "--common-practice"], "wanted a day such as"),
        ([*TONGUE, "13 %", "--from", "2026-07-01"], "wanted --source and --at"),
        ([*TONGUE, "13 %", "--from", "2026-07-01", "--source", "x"], "found no --at"),
        ([*TONGUE, *JULY], "found no VALUE"),
        ([*TONGUE, "13 %", *JULY, "--place", "utah"], "wanted a country such as US"),
        ([*TONGUE, "13 %", *JULY, "--place", "US-UT"], "the law of the jurisdiction as `source`"),
        ([*TONGUE, "13 %", *JULY, "--into", "nowhere/a.yaml"], "found no folder"),
    ],
)
def test_what_is_refused_leaves_no_file(project: Path, words: list[str], said: str) -> None:
    done = amend(*words)
    assert done.exit_code == 2
    assert said in done.stderr
    assert list(project.parent.iterdir()) == []


@pytest.mark.parametrize(
    ("rule", "threshold", "value", "words"),
    [
        # The condition has `load.overall_width <= widest`: 96 in leaves out wider ones.
        ("wide-load-off-network", "widest", "96 in", "wide-load-off-network may apply to fewer"),
        # Here it has `article.length > step`: 8 ft takes in shorter ones.
        ("us-count-over-ten-feet", "step", "8 ft", "us-count-over-ten-feet may apply to other"),
    ],
)
@pytest.mark.usefixtures("project")
def test_a_number_that_stands_in_the_condition_too_is_told(
    rule: str, threshold: str, value: str, words: str
) -> None:
    done = amend(rule, threshold, value, *JULY)
    assert done.exit_code == 0
    assert f"note: {threshold} also stands in `when: " in done.stderr
    assert f"{words} loads; `cinchbook impact` shows which\n" in done.stderr


def test_a_file_with_a_fault_is_told_and_left(project: Path) -> None:
    project.write_text("kind: amendment\nid: crew\ntitel: Ours\n")
    done = amend(*TONGUE, "13 %", *JULY)
    assert done.exit_code == 2
    assert "did you mean 'title'?" in done.stderr
    assert project.read_text() == "kind: amendment\nid: crew\ntitel: Ours\n"


def test_without_settings_a_file_has_to_be_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert "wanted --into FILE" in amend(*TONGUE, "13 %", *JULY).stderr
    assert amend(*TONGUE, "13 %", *JULY, "--into", "crew.yaml").exit_code == 0


def test_on_a_terminal_it_asks_until_the_answer_fits(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.cli.amend._on_a_terminal", lambda: True)
    answers = ["tongue-share-bal", "tongue-share-ball", "heaviest", "13 lb", "13 %", "2026-07-01"]
    typed = "\n".join([*answers, "", "Two trucks.", "M. Quill"]) + "\n"
    done = CliRunner().invoke(application(), ["amend"], input=typed)
    assert done.exit_code == 0
    assert "did you mean 'tongue-share-ball'?" in done.stderr
    assert "heaviest: 15 % since 2012-01-01 (Livestock Trailer Safety" in done.stderr
    assert "stricter is lower" in done.stderr
    assert "found a weight or rating, '13 lb'" in done.stderr
    assert "value: 13 %\n" in project.read_text()
    assert "by: M. Quill\n" in project.read_text()


def test_on_a_terminal_it_shows_the_value_in_force(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """13 % since 2020, by the company itself; the rulebook's own is 15 %."""
    amend(*TONGUE, "13 %", "--from", "2020-01-01", "--common-practice")
    monkeypatch.setattr("checker.cli.amend._on_a_terminal", lambda: True)
    typed = "12 %\n2030-01-01\n\n\n\n"
    done = CliRunner().invoke(application(), ["amend", *TONGUE], input=typed)
    assert (done.exit_code, project.read_text().count("- rule: ")) == (0, 2)
    assert "heaviest: 13 % since 2020-01-01 (common practice, no source)" in done.stderr


def test_a_file_keeps_its_mode(project: Path) -> None:
    amend(*TONGUE, "13 %", *JULY)
    project.chmod(0o660)
    assert amend(*TONGUE, "12 %", "--from", "2026-09-01", "--common-practice").exit_code == 0
    assert stat.S_IMODE(project.stat().st_mode) == 0o660


def test_a_read_only_file_is_refused_and_may_be_tried(project: Path) -> None:
    amend(*TONGUE, "13 %", *JULY)
    project.chmod(0o440)
    before = project.read_text()
    september = [*TONGUE, "12 %", "--from", "2026-09-01", "--common-practice"]
    done = amend(*september)
    assert (done.exit_code, project.read_text()) == (2, before)
    assert f"found '{project}', which is read-only; wanted a file to write" in done.stderr
    assert amend(*september, "--dry-run").exit_code == 0


def test_while_somebody_else_changes_it_it_is_refused(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.documents.file_lock._WAIT_S", 0.05)
    with locked(project):
        done = amend(*TONGUE, "13 %", *JULY)
    assert done.exit_code == 2
    assert f"found '{project}' being changed by somebody else; wanted it to end" in done.stderr
    assert list(project.parent.iterdir()) == []


def test_what_an_editor_saves_meanwhile_is_not_lost(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An editor knows no locks; its text is there when the rules have been read."""
    amend(*TONGUE, "13 %", *JULY)
    saved = project.read_text() + "# by hand\n"

    def read_and_save(*words: object, **more: object) -> object:
        project.write_text(saved)
        return read_rules(*words, **more)  # type: ignore[arg-type]

    monkeypatch.setattr("checker.cli.rule_file_edit.read_rules", read_and_save)
    done = amend(*TONGUE, "12 %", "--from", "2026-09-01", "--common-practice")
    assert (done.exit_code, project.read_text()) == (2, saved)
    assert f"found '{project}' changed meanwhile" in done.stderr


def test_of_several_at_once_none_is_lost(project: Path) -> None:
    """Each waits for the one before it, or is refused with words; here there is time for all."""
    months = range(1, 5)
    running = [
        subprocess.Popen(
            [
                *(sys.executable, "-m", "checker", "amend", *TONGUE, f"{9 + month} %"),
                *("--from", f"2027-{month:02}-01", "--until", f"2027-{month:02}-15"),
                "--common-practice",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            cwd=project.parent.parent,
            text=True,
        )
        for month in months
    ]
    told = [each.communicate()[1] for each in running]
    refused = [words for each, words in zip(running, told, strict=True) if each.returncode]
    assert all("being changed by somebody else" in words for words in refused)
    text = project.read_text()
    assert text.count("  - rule: ") == len(running) - len(refused)
    assert [path.name for path in project.parent.iterdir()] == [project.name]


ENDLESS = """
import sys
from pathlib import Path
from checker.upkeep.drafting.writing import write_checked

file, texts = Path(sys.argv[1]), [Path(name).read_text() for name in sys.argv[2:]]
print("begun", flush=True)
while True:
    for text in texts:
        write_checked(text, "amendment", file, replacing=True)
"""


def test_killed_at_any_moment_the_file_is_the_old_one_or_the_new(project: Path) -> None:
    """The very writing that `amend` does, over and over, killed at random moments."""
    amend(*TONGUE, "13 %", *JULY)
    old = project.parent.parent / "old"
    new = project.parent.parent / "new"
    old.write_text(project.read_text())
    new.write_text(project.read_text().replace("13 %", "12 %") + "# more\n" * 2000)
    moments = random.Random(7)  # noqa: S311 - moments to kill at, no secret
    for _ in range(12):
        running = subprocess.Popen(
            [sys.executable, "-c", ENDLESS, str(project), str(old), str(new)],
            stdout=subprocess.PIPE,
        )
        assert running.stdout is not None
        assert running.stdout.readline() == b"begun\n"
        time.sleep(moments.uniform(0.0, 0.05))
        running.send_signal(signal.SIGKILL)
        running.wait()
        running.stdout.close()
        assert project.read_text() in (old.read_text(), new.read_text())
