"""`cinchbook impact` as officers call it."""

import json
import subprocess
from collections.abc import Mapping
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry
from typer.testing import CliRunner, Result

from checker.cli.app import application
from checker.documents.settings import FILE
from checker.season.running.tasks import group_by_pattern
from tests.equipment import copy_equipment
from tests.written_documents import closed_schema

AMENDMENT = """\
kind: amendment
id: crew
title: Crew policy
layer: company
jurisdiction: any
changes:
  - {rule: tongue-share-ball, threshold: heaviest, was: 15 %, value: 11 %, from: 2026-07-01,
     common_practice: yes, by: Ann}
"""
CREW_RULE = """\
proved_on: 2026-01-01
rules:
  - id: crew-seats
    title: Seats for all
    question: limits
    requires: tow_vehicle.seats >= least
    thresholds:
      least: {stricter: higher, values: [{value: 4, from: 2020-01-01, common_practice: yes}]}
    common_practice: yes
    basis: common practice
    level: should
    because: it is so
    fix: mend it
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
"""
LOADS = Path(__file__).resolve().parents[2] / "profiles" / "loads"
ONE = ["--over", str(LOADS / "side-by-side-in-order.yaml")]


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "amendments").mkdir()
    (tmp_path / "amendments" / "crew.yaml").write_text(AMENDMENT)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    return tmp_path


def impact(*words: str) -> Result:
    return CliRunner().invoke(application(), ["impact", *words])


def with_variance(project: Path) -> str:
    """A profile with a variance, and beside it what it refers to."""
    copy_equipment(project)
    return (LOADS / "variance-late-first-stop.yaml").read_text()


@pytest.mark.usefixtures("project")
def test_it_says_what_turns_from_what_to_what_and_by_whom() -> None:
    """273 of 2,340 lb are 11.7 %: within 15 %, over the crew's 11 %."""
    done = impact("amendments/crew.yaml", *ONE)
    words = " ".join(done.stdout.split())
    assert done.exit_code == 1
    assert "1 load checked, 0 refused: 1 verdict in 1 load changes" in words
    assert "2026-07-01): no rule broken -> hold" in words
    assert "2026-07-01): met -> not met" in words
    assert "by Crew policy (Ann), heaviest 11 % from 2026-07-01" in words


def test_it_does_not_matter_whether_the_project_names_it_already(project: Path) -> None:
    plain = impact("amendments", *ONE).stdout
    (project / FILE).write_text("kind: settings\namendments: [amendments]\n")
    assert impact("amendments", *ONE).stdout == plain


@pytest.mark.usefixtures("project")
def test_a_day_before_it_begins_nothing_changes() -> None:
    done = impact("amendments/crew.yaml", *ONE, "--on", "2026-06-30")
    assert done.exit_code == 0
    assert "0 verdicts in 0 loads change\n" in done.stdout


@pytest.mark.usefixtures("project")
def test_json_tells_the_same() -> None:
    document = json.loads(impact("amendments/crew.yaml", *ONE, "--as", "json").stdout)
    (verdict,) = document["verdicts"]
    assert (verdict["rule"], verdict["before"], verdict["after"]) == (
        "tongue-share-ball",
        "met",
        "not met",
    )
    assert [change["by"] for change in verdict["changes"]] == ["Ann"]


@pytest.mark.usefixtures("project")
def test_what_differs_in_the_rules_comes_first() -> None:
    done = impact("amendments/crew.yaml", *ONE)
    words = " ".join(done.stdout.split())
    assert words.startswith("Rules: 1 tightened TIGHTENED - ")
    assert "[tongue-share-ball]: heaviest 15 % -> 11 %, from 2026-07-01" in words
    assert "amendments/crew.yaml:7" in words


def loosened(project: Path) -> None:
    (project / "amendments" / "crew.yaml").write_text(
        AMENDMENT.replace("value: 11 %", "value: 16 %, because: so")
    )


def test_a_loosening_that_turns_no_load_stops_where_asked(project: Path) -> None:
    """273 of 2,340 lb are 11.7 %: within 15 % and within 16 %."""
    loosened(project)
    plain = impact("amendments/crew.yaml", *ONE)
    assert plain.exit_code == 0
    assert "LOOSENED" in plain.stdout
    assert "0 verdicts in 0 loads change\n" in plain.stdout
    assert impact("amendments/crew.yaml", *ONE, "--fail-on", "loosened").exit_code == 1


@pytest.mark.usefixtures("project")
def test_a_tightening_that_turns_no_load_is_no_loosening(project: Path) -> None:
    (project / "amendments" / "crew.yaml").write_text(AMENDMENT.replace("11 %", "14 %"))
    assert impact("amendments/crew.yaml", *ONE, "--fail-on", "loosened").exit_code == 0


def test_json_has_the_differences(project: Path) -> None:
    loosened(project)
    document = json.loads(impact("amendments/crew.yaml", *ONE, "--as", "json").stdout)
    (found,) = document["differences"]
    assert (found["effect"], found["kind"], found["id"]) == (
        "loosened",
        "figure",
        "tongue-share-ball",
    )
    assert found["days"] == [{"from": "2026-07-01", "until": None}]


@pytest.mark.parametrize(
    "change",
    [
        AMENDMENT,
        AMENDMENT.replace("11 %", "14 %"),
        AMENDMENT.replace("value: 11 %", "value: not yet known, because: soon"),
        AMENDMENT.partition("changes:")[0]
        + "repeals:\n  - {rule: tongue-share-ball, from: 2026-07-01, common_practice: yes,"
        " by: Ann, because: so}\n",
    ],
    ids=["turns", "nearer", "undecided", "repealed"],
)
def test_json_fits_its_schema(project: Path, change: str) -> None:
    (project / "amendments" / "crew.yaml").write_text(change)
    (project / "bad.yaml").write_text("kind: load\ntrailr: x\n")
    done = impact("amendments/crew.yaml", *ONE, "--over", "bad.yaml", "--as", "json")
    document = json.loads(done.stdout)
    Draft202012Validator(closed_schema("impact"), registry=Registry()).validate(document)
    assert document["refused"] == ["bad.yaml"]
    assert document["verdicts"] or document["nearest"]


def test_a_profile_that_cannot_be_read_is_told_and_counted(project: Path) -> None:
    (project / "bad.yaml").write_text("kind: load\ntrailr: x\n")
    done = impact("amendments/crew.yaml", *ONE, "--over", "bad.yaml")
    assert done.exit_code == 2
    assert "1 load checked, 1 refused" in done.stdout
    assert "did you mean 'trailer'?" in done.stderr


@pytest.mark.usefixtures("project")
def test_over_a_haul_log_each_row_is_judged_or_refused() -> None:
    """11.7 % is over 11 % on both days; the last row names no load."""
    load = "loads/side-by-side-in-order"
    Path("season.csv").write_text(
        f"load,date,trip.speed\n{load},2026-07-02,\n"
        f"{load},2026-07-09,45 mph\nloads/none,2026-07-09,\n"
    )
    done = impact("amendments/crew.yaml", "--over", "season.csv")
    words = " ".join(done.stdout.split())
    assert done.exit_code == 2
    assert "2 loads checked, 1 refused: 2 verdicts in 2 loads change" in words
    assert "(season.csv:3, 2026-07-09): met -> not met" in words
    assert "season.csv:4: found no load profile 'loads/none'" in done.stderr


@pytest.mark.usefixtures("project")
def test_lines_of_json_and_files_of_hauls_are_logs_too() -> None:
    haul = "kind: haul\nload: loads/side-by-side-in-order\ndate: 2026-07-02\n"
    Path("hauls").mkdir()
    Path("hauls/good.yaml").write_text(haul)
    Path("hauls/bad.yaml").write_text(haul + "colour: red\n")
    Path("season.jsonl").write_text(
        '{"load": "loads/side-by-side-in-order", "date": "2026-07-03"}\n{"load": 5}\n'
    )
    done = impact("amendments/crew.yaml", "--over", "season.jsonl", "--over", "hauls")
    words = " ".join(done.stdout.split())
    assert done.exit_code == 2
    assert "2 loads checked, 2 refused: 2 verdicts in 2 loads change" in words
    assert done.stderr.splitlines() == [
        "season.jsonl:2: found nothing in date; wanted a day such as 2026-05-14",
        "hauls/bad.yaml:4:1: found the key 'colour'; wanted one of: kind, title, note, load, date, "
        "crew, differs",
    ]


def test_loads_and_hauls_with_a_variance_that_cannot_be_are_refused(project: Path) -> None:
    text = with_variance(project)
    bad = project / "bad.yaml"
    bad.write_text(text.replace("rule: first-load-check-early", "rule: first-load-check-erly"))
    (project / "log.csv").write_text("load,date\nbad.yaml,2026-05-14\n")
    done = impact("amendments", "--over", "bad.yaml", "--over", "log.csv", "--as", "json")
    assert done.exit_code == 2
    assert json.loads(done.stdout)["refused"] == ["bad.yaml", "log.csv:2"]
    line = text[: text.index("first-load-check-early")].count("\n") + 1
    said = "found the rule 'first-load-check-erly'; wanted the id of a rule"
    assert done.stderr.count(f"bad.yaml:{line}:11: {said}") == 2


def test_a_variance_of_a_rule_that_comes_with_the_change_refuses_nothing(project: Path) -> None:
    text = with_variance(project)
    mine = text.replace("rule: first-load-check-early", "rule: crew-seats")
    (project / "mine.yaml").write_text(mine)
    with (project / "amendments" / "crew.yaml").open("a") as file:
        file.write(CREW_RULE)
    done = impact("amendments", "--over", "mine.yaml")
    assert "1 load checked, 0 refused" in " ".join(done.stdout.split()), done.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (ONE, "wanted AMENDMENT or --against REV"),
        (["amendments/crew.yaml"], "wanted --over"),
        (["nowhere.yaml", *ONE], "found no file or folder 'nowhere.yaml'"),
        (["amendments", "--over", "nowhere"], "found no load profile under 'nowhere'"),
        (["--against", "HEAD", *ONE], "found no rule files of your own to compare"),
    ],
)
@pytest.mark.usefixtures("project")
def test_a_wrong_call_is_told(words: list[str], said: str) -> None:
    done = impact(*words)
    assert done.exit_code == 2
    assert said in done.stderr


def test_a_law_loosened_is_refused(project: Path) -> None:
    crew = project / "amendments" / "crew.yaml"
    loose = AMENDMENT.replace("tongue-share-ball, threshold: heaviest, was: 15 %, value: 11 %", "X")
    crew.write_text(
        loose.replace("X", "us-first-load-check, threshold: distance, was: 50 mi, value: 60 mi")
    )
    done = impact("amendments", *ONE)
    assert done.exit_code == 2
    assert "less strict than the law" in done.stderr


def git(folder: Path, *words: str) -> None:
    who = ["-c", "user.name=A", "-c", "user.email=a@example.org"]
    command = ["git", "-C", str(folder), *who, *words]
    subprocess.run(command, check=True, capture_output=True)


def test_against_a_revision(project: Path) -> None:
    """The revision asks for 11 %, the files of today for 14 %."""
    git(project, "init", "-q")
    git(project, "add", "-A")
    git(project, "commit", "-qm", "crew")
    (project / "amendments" / "crew.yaml").write_text(AMENDMENT.replace("11 %", "14 %"))
    (project / FILE).write_text("kind: settings\namendments: [amendments]\n")
    done = impact("--against", "HEAD", *ONE, "--on", "2026-07-01")
    assert done.exit_code == 0
    assert "2026-07-01): not met -> met" in " ".join(done.stdout.split())
    wrong = impact("--against", "nothing", *ONE)
    assert wrong.exit_code == 2
    assert "found no revision 'nothing'" in wrong.stderr


def test_a_load_profile_that_changes_meanwhile_stops_the_run(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is read once to find loads of its shape, and perhaps again to check its hauls."""
    text = (LOADS / "side-by-side-in-order.yaml").read_text()
    copy_equipment(project)
    mine = project / "mine.yaml"
    mine.write_text(text)
    (project / "log.csv").write_text("load,date\nmine.yaml,2026-07-02\n")

    def changed(loads: Mapping[str, str]) -> object:
        mine.write_text(text.replace("chains_crossed: yes", "chains_crossed: no"))
        return group_by_pattern(loads)

    monkeypatch.setattr("checker.season.hauls.loads._MOST_PROFILES", 0)
    monkeypatch.setattr("checker.season.running.saved_loads.group_by_pattern", changed)
    done = impact("amendments/crew.yaml", "--over", "log.csv")
    assert done.exit_code == 2
    assert "mine.yaml:1:1: found a load profile that changed while its hauls were" in done.stderr


SETTINGS = "kind: settings\nrules: [north-america-placement, us-federal-securement]\n"


@pytest.fixture
def committed(project: Path) -> Path:
    """A repository whose one commit has settings, amendments and nothing else."""
    (project / FILE).write_text(f"{SETTINGS}amendments: [amendments]\n")
    git(project, "init", "-q")
    git(project, "add", "-A")
    git(project, "commit", "-qm", "crew")
    return project


def against(*words: str) -> dict[str, tuple[str, str, str]]:
    """Effect, what is before and what after, by name, of what differs from HEAD."""
    done = impact("--against", "HEAD", *ONE, "--as", "json", *words)
    assert done.exit_code in (0, 1, 3), done.stderr
    document = json.loads(done.stdout)
    Draft202012Validator(closed_schema("impact"), registry=Registry()).validate(document)
    return {
        each["id"]: (each["effect"], each["before"], each["after"])
        for each in document["differences"]
    }


@pytest.mark.usefixtures("committed")
def test_nothing_differs_from_a_revision_that_is_as_today() -> None:
    assert against() == {}


def test_settings_of_the_revision_choose_its_rules(committed: Path) -> None:
    """A rulebook that the settings leave out is a loosening, whether loads turn or not."""
    (committed / FILE).write_text(
        "kind: settings\nrules: [north-america-placement]\namendments: [amendments]\n"
    )
    found = against()
    assert list(found) == ["us-federal-securement"]
    assert found["us-federal-securement"][0] == "loosened"
    assert impact("--against", "HEAD", *ONE, "--fail-on", "loosened").exit_code == 1


def test_an_amendment_that_the_settings_no_longer_name_is_a_difference(committed: Path) -> None:
    (committed / FILE).write_text(SETTINGS)
    assert against() == {"tongue-share-ball": ("loosened", "11 %", "15 %")}


def test_settings_that_differ_are_told(committed: Path) -> None:
    text = f"{SETTINGS}amendments: [amendments]\nnear: 2 %\nignore: ['old/**']\n"
    (committed / FILE).write_text(text)
    assert against() == {
        "near": ("loosened", "5 %", "2 %"),
        "ignore": ("may be loosened", "none", "old/**"),
    }


@pytest.mark.parametrize("folder", ["amendments", "our-rules"])
def test_folders_that_a_revision_names_and_git_left_out_are_empty(
    committed: Path, folder: str
) -> None:
    (committed / FILE).write_text("kind: settings\nrules: [our-rules]\namendments: [amendments]\n")
    for name in ("our-rules", "amendments"):
        (committed / name).mkdir(exist_ok=True)
    (committed / "amendments" / "crew.yaml").unlink()
    git(committed, "add", "-A")
    git(committed, "commit", "-qm", "empty")
    rules = AMENDMENT.partition("changes:")[0] + CREW_RULE
    (committed / folder / "crew.yaml").write_text(rules)
    assert against() == {"crew": ("tightened", "not in use", "1 rule, 0 of them must")}


def test_a_revision_without_rules_or_settings_is_an_empty_one(committed: Path) -> None:
    (committed / FILE).unlink()
    git(committed, "rm", "-rq", "--cached", ".")
    git(committed, "commit", "-qm", "nothing")
    found = against("--rules", "amendments", "--rules", "north-america-placement")
    assert found["tongue-share-ball"] == ("tightened", "15 %", "11 %")


def test_a_register_of_variances_is_compared(committed: Path) -> None:
    (committed / "amendments" / "register.yaml").write_text(
        "kind: variances\nid: register\ntitle: Register\nvariances:\n"
        "  - {rule: first-load-check-early, every_load: yes, because: so, conditions: slowly,\n"
        "     by: Ann, from: 2026-05-01, until: 2026-05-15}\n"
    )
    text = (committed / FILE).read_text().replace("us-federal-securement", "shipped")
    (committed / FILE).write_text(text.replace("north-america-placement, ", ""))
    found = against()
    assert found["first-load-check-early"][0] in ("loosened", "tightened")


def test_problems_of_the_revision_are_said_to_be_there(committed: Path) -> None:
    (committed / "amendments" / "crew.yaml").write_text("kind: amendment\n")
    git(committed, "commit", "-qam", "bad")
    (committed / "amendments" / "crew.yaml").write_text(AMENDMENT)
    done = impact("--against", "HEAD", *ONE)
    assert done.exit_code == 2
    assert done.stderr.splitlines()[-1] == "these problems are in the files as of HEAD"


def test_a_copy_is_compared_with_the_bundled_rulebook(committed: Path) -> None:
    """The copy has 16 % where the bundled rulebook has 15 %."""
    bundled = LOADS.parents[1] / "rules" / "north-america" / "placement.yaml"
    (committed / "copy").mkdir()
    text = bundled.read_text()
    assert "value: 15 %" in text
    (committed / "copy" / "placement.yaml").write_text(text.replace("value: 15 %", "value: 16 %"))
    (committed / FILE).write_text("kind: settings\nrules: [copy, us-federal-securement]\n")
    git(committed, "rm", "-q", "--cached", "amendments/crew.yaml")
    (committed / "amendments" / "crew.yaml").unlink()
    assert against()["tongue-share-ball"] == ("loosened", "11 %", "16 %")


def many_hauls() -> None:
    """24 hauls of the side-by-side, one a day, by two crews in turn: over 11 % on each day."""
    rows = [
        f"loads/side-by-side-in-order,2026-07-{day + 1:02d},{'Dry Fork' if day % 3 else 'Sage'}\n"
        for day in range(24)
    ]
    Path("season.csv").write_text("load,date,crew\n" + "".join(rows))


@pytest.mark.usefixtures("project")
def test_many_changes_are_a_summary_of_one_screen() -> None:
    """24 rows, of which every third is of one crew: 8 and 16."""
    many_hauls()
    done = impact("amendments", "--over", "season.csv")
    lines = done.stdout.splitlines()
    assert len(lines) < 50
    assert "- no rule broken -> hold: 24 loads" in lines
    assert "- Dry Fork: 16, 16 with another outcome" in lines
    assert "- Sage: 8, 8 with another outcome" in lines
    assert "- 2026-07: 24, 24 with another outcome" in lines
    assert "(season.csv:3, 2026-07-02): no rule" not in done.stdout
    assert "tongue-share-ball]: met -> not met on 24 loads" in " ".join(done.stdout.split())
    full = impact("amendments", "--over", "season.csv", "--full").stdout
    assert full.count("met -> not met") == 24


@pytest.mark.usefixtures("project")
def test_reports_are_written_into_files() -> None:
    many_hauls()
    done = impact("amendments", "--over", "season.csv", "--write", "json=a.json,markdown=b.md")
    assert done.exit_code == 1
    document = json.loads(Path("a.json").read_text())
    Draft202012Validator(closed_schema("impact"), registry=Registry()).validate(document)
    assert len(document["verdicts"]) == 24
    assert document["totals"]["crews"] == [
        {"name": "Dry Fork", "loads": 16, "outcomes": 16},
        {"name": "Sage", "loads": 8, "outcomes": 8},
    ]
    text = Path("b.md").read_text()
    assert text.startswith("## cinchbook: Rules: 1 tightened\n")
    assert "\n| Dry Fork | 16 | 16 |\n" in text
    assert "- no rule broken \\-&gt; hold: 24 loads\n" in text


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("html=a.html", "found the form 'html' to write; wanted one of: json, markdown"),
        ("json=amendments/crew.yaml", "which this run reads; wanted another file"),
    ],
)
@pytest.mark.usefixtures("project")
def test_a_report_replaces_nothing_that_matters(written: str, said: str) -> None:
    done = impact("amendments", *ONE, "--write", written)
    assert done.exit_code == 2
    assert said in done.stderr


@pytest.mark.usefixtures("project")
def test_markdown_on_standard_output_stands_alone() -> None:
    done = impact("amendments", *ONE, "--write", "markdown=-")
    assert done.stdout.startswith("## cinchbook: Rules: 1 tightened\n")
    assert "VERDICTS THAT CHANGE" not in done.stdout


def test_problems_of_settings_at_the_revision_are_said_to_be_there(committed: Path) -> None:
    text = (committed / FILE).read_text()
    (committed / FILE).write_text("kind: settings\nrules: 5\n")
    git(committed, "commit", "-qam", "bad")
    (committed / FILE).write_text(text)
    done = impact("--against", "HEAD", *ONE)
    assert done.exit_code == 2
    assert done.stderr.startswith(f"{FILE}:2:8: found the bare number 5; wanted a list")
    assert done.stderr.splitlines()[-1] == "these problems are in the files as of HEAD"
