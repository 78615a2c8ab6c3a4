"""The register of variances: which loads, crews and days each counts for, in a check and a log."""

import json
import subprocess
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from checker.cli.app import application

_CREWS = "for some crews only"

RULES = """\
kind: rulebook
id: crew-rules
title: Crew rules
jurisdiction: any
proved_on: 2026-01-01
rules:
  - id: light-trailer
    title: Trailer of at most 7,000 lb
    broken: The trailer is rated over 7,000 lb
    question: limits
    requires: trailer.gvwr <= limit
    thresholds:
      limit:
        stricter: lower
        values:
          - {value: 7000 lb, from: 2015-10-01, common_practice: yes}
    common_practice: yes
    basis: common practice
    level: must
    because: The yard's hill.
    fix: Take another trailer.
    proofs:
      - {name: at, given: {trailer.gvwr: 7000 lb}, expect: met, origin: by hand}
  - id: two-articles
    title: At most 40 articles
    broken: More than 40 articles
    question: limits
    requires: 0 == 0
    common_practice: yes
    basis: common practice
    level: must
    because: So that one rule is met.
    fix: Take one off.
    proofs:
      - {name: always, given: {}, expect: met, origin: by hand}
"""
VARIANCE = (
    "  - {rule: light-trailer, because: no other, conditions: below 25 mph, by: M. Quill, "
    "from: 2026-05-01, until: 2026-06-01, "
)
REGISTER = "kind: variances\nid: crew-variances\ntitle: Variances\nvariances:\n"


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A crew with one rule, two trailers over its limit, and a load on each."""
    files = {
        "cinchbook.yaml": "kind: settings\nrules: [rules]\namendments: [own]\nprofiles: profiles\n",
        "rules/crew.yaml": RULES,
        "own/variances.yaml": "",
        "profiles/trailers/flat.yaml": "kind: trailer\ntitle: Flat\ngvwr: 7100 lb\n",
        "profiles/trailers/tilt.yaml": "kind: trailer\ntitle: Tilt\ngvwr: 7200 lb\n",
        "profiles/loads/on-flat.yaml": "kind: load\ntrailer: trailers/flat\n",
        "profiles/loads/on-tilt.yaml": "kind: load\ntrailer: trailers/tilt\n",
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words: str) -> Result:
    return CliRunner().invoke(application(), list(words))


def register(*entries: str) -> None:
    text = REGISTER + "".join(VARIANCE + each + "}\n" for each in entries)
    Path("own/variances.yaml").write_text(text)


def outcomes(on: str) -> dict[str, str]:
    """The outcome of each load of the folder on a day."""
    done = run("check", "profiles/loads", "--on", on, "--as", "json")
    return {Path(each["file"]).stem: each["outcome"] for each in json.loads(done.stdout)["loads"]}


@pytest.mark.usefixtures("project")
@pytest.mark.parametrize(
    ("whose", "excused"),
    [
        ("every_load: yes", {"on-flat", "on-tilt"}),
        ("uses: [trailers/flat]", {"on-flat"}),
        ("uses: [loads/on-tilt]", {"on-tilt"}),
        ("uses: [loads/on-tilt, trailers/tilt]", {"on-tilt"}),
        ("uses: [loads/on-tilt, trailers/flat]", set()),
        ("crews: [north]", set()),  # a check does not know who hauls
    ],
)
def test_it_counts_for_the_loads_it_names(whose: str, excused: set[str]) -> None:
    register(whose)
    found = outcomes("2026-05-14")
    assert {name for name, outcome in found.items() if outcome == "no rule broken"} == excused
    assert {outcome for name, outcome in found.items() if name not in excused} <= {"hold"}


@pytest.mark.usefixtures("project")
@pytest.mark.parametrize(
    ("on", "outcome"),
    [
        ("2026-04-30", "hold"),
        ("2026-05-01", "no rule broken"),
        ("2026-05-31", "no rule broken"),
        ("2026-06-01", "hold"),
    ],
)
def test_it_counts_on_its_days(on: str, outcome: str) -> None:
    register("uses: [trailers/flat]")
    assert outcomes(on)["on-flat"] == outcome


LOG = """\
load,date,crew
profiles/loads/on-flat.yaml,2026-04-30,north
profiles/loads/on-flat.yaml,2026-05-01,north
profiles/loads/on-flat.yaml,2026-05-31,south
profiles/loads/on-flat.yaml,2026-06-01,north
profiles/loads/on-tilt.yaml,2026-05-14,north
profiles/loads/on-tilt.yaml,2026-05-14,south
"""


@pytest.mark.usefixtures("project")
@pytest.mark.parametrize(
    ("whose", "held", "excused"),
    [
        # By hand: days 05-01 and 05-31 of the flat trailer are within; 04-30 and 06-01 are not.
        ("uses: [trailers/flat]", {2, 5, 6, 7}, 2),
        ("crews: [north]", {2, 4, 5, 7}, 2),
        ("uses: [trailers/tilt]\n    , crews: [south, east]", {2, 3, 4, 5, 6}, 1),
        ("every_load: yes", {2, 5}, 4),
    ],
)
def test_an_audit_judges_each_haul_by_the_variances_of_its_day(
    whose: str, held: set[int], excused: int
) -> None:
    register(whose)
    Path("log.csv").write_text(LOG)
    done = run("audit", "log.csv", "--as", "json")
    document = json.loads(done.stdout)
    assert {each["row"] for each in document["worst"] if each["outcome"] == "hold"} == held
    assert document["totals"]["held"] == len(held)
    (rule,) = (each for each in document["rules"] if each["rule"] == "light-trailer")
    assert rule["excused"] == document["totals"]["excused"] == excused
    assert rule["verdicts"]["not met"] == 6


@pytest.mark.usefixtures("project")
def test_a_haul_of_a_log_has_the_variances_of_its_crew() -> None:
    """The same rows as in the audit above."""
    register("crews: [north]")
    Path("log.csv").write_text(LOG)
    done = run("check", *(f"log.csv#{row}" for row in range(2, 8)), "--as", "json")
    outcomes = {each["file"]: each["outcome"] for each in json.loads(done.stdout)["loads"]}
    held = {name for name, outcome in outcomes.items() if outcome == "hold"}
    assert held == {f"log.csv#{row}" for row in (2, 4, 5, 7)}


@pytest.mark.usefixtures("project")
@pytest.mark.parametrize(
    ("entry", "told"),
    [
        (
            "crews: [north], every_load: yes",
            "5:5: found `crews` beside `every_load`",
        ),
        ("", "5:5: found a variance of no load; wanted `uses`, `crews` or both"),
    ],
)
def test_a_variance_of_no_load_is_refused(entry: str, told: str) -> None:
    register(entry)
    done = run("check", "profiles/loads")
    assert done.exit_code == 2
    assert told in done.stderr


@pytest.mark.usefixtures("project")
def test_an_unknown_rule_and_the_same_days_twice_are_refused_at_their_lines() -> None:
    register("uses: [trailers/flat]", "uses: [trailers/flat]")
    text = Path("own/variances.yaml").read_text()
    Path("own/variances.yaml").write_text(text + VARIANCE.replace("light", "ligth") + "crews: [a]}")
    done = run("check", "profiles/loads")
    assert done.exit_code == 2
    assert "variances.yaml:6:12: found a second variance of light-trailer" in done.stderr
    assert "variances.yaml:7:12: found the rule 'ligth-trailer'" in done.stderr
    assert "did you mean 'light-trailer'" in done.stderr


@pytest.mark.usefixtures("project")
@pytest.mark.parametrize(("longest", "code"), [("31 days", 1), ("30 days", 2)])
def test_the_settings_limit_its_length(longest: str, code: int) -> None:
    """From 2026-05-01 until 2026-06-01 are 31 days; the other load is held in any case."""
    register("uses: [trailers/flat]")
    with Path("cinchbook.yaml").open("a") as file:
        file.write(f"longest_variance: {longest}\n")
    done = run("check", "profiles/loads", "--on", "2026-05-14")
    assert done.exit_code == code
    told = "found a variance of 31 days; wanted at most 30 days, `longest_variance` of the settings"
    assert (told in done.stderr) == (code == 2)


@pytest.mark.usefixtures("project")
def test_the_list_has_what_is_in_force_to_come_and_over_and_marks_what_ends_soon() -> None:
    register("uses: [trailers/flat]", "crews: [north, south]")
    done = run("variances", "--on", "2026-05-14", "--soon", "18")
    assert done.exit_code == 0
    words = " ".join(done.stdout.split())
    assert "On 2026-05-14: 2 variances in force, 0 to come, 0 over" in words
    assert "for loads with trailers/flat - ENDS SOON, 18 days left From 2026-05-01 until" in words
    assert "for every load, hauled by crew north or south" in words
    assert "by M. Quill: no other On condition: below 25 mph own/variances.yaml:5" in words
    assert "SOON" not in run("variances", "--on", "2026-05-14", "--soon", "17").stdout
    assert "0 variances in force, 2 to come" in run("variances", "--on", "2026-04-30").stdout
    assert (
        "0 variances in force, 0 to come, 2 over" in run("variances", "--on", "2026-06-01").stdout
    )


@pytest.mark.usefixtures("project")
def test_the_list_has_those_of_loads_and_finds_files_that_nobody_has(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    register("uses: [trailers/flat]")
    own = VARIANCE.removeprefix("  - ").rstrip(", ") + "}"
    Path("profiles/loads/own.yaml").write_text(
        f"kind: load\ntitle: Down the hill\ntrailer: trailers/tilt\nvariances: [{own}]\n"
    )
    shown = run("variances", "profiles/loads", "--on", "2026-05-14").stdout
    assert "2 variances in force" in shown
    assert "for Down the hill" in shown
    register("uses: [trailers/flatt]")
    # Where the settings name no folder, the profiles are the nearest ones, here or above.
    settings = Path("cinchbook.yaml")
    settings.write_text(settings.read_text().replace("profiles: profiles\n", ""))
    for folder in (".", "profiles/loads"):
        monkeypatch.chdir(folder)
        done = run("variances")
        assert done.exit_code == 2
        assert "found a variance for 'trailers/flatt'; wanted a file below" in done.stderr
        assert "did you mean 'trailers/flat'?" in done.stderr


@pytest.mark.usefixtures("project")
def test_an_expired_one_is_named_with_what_to_do_first() -> None:
    register("uses: [trailers/flat]")
    done = run("check", "profiles/loads/on-flat.yaml", "--on", str(date(2026, 6, 1)))
    words = " ".join(done.stdout.split())
    assert "variance of light-trailer by M. Quill expired on 2026-06-01: have it renewed" in words


@pytest.mark.usefixtures("project")
@pytest.mark.parametrize(
    ("whose", "on", "standing", "advice"),
    [
        # On its days a check does not know whether the crew of the variance hauls.
        (
            "uses: [trailers/flat], crews: [south, north]",
            "2026-05-14",
            "for some crews only",
            "counts for crew north or south only, and a check does not know who hauls: meet the "
            "rule where another crew does.",
        ),
        (
            "crews: [north]",
            "2026-06-01",
            "expired",
            "expired on 2026-06-01: have it renewed, or meet the rule.",
        ),
        (
            "uses: [trailers/flat]",
            "2026-04-30",
            "not begun",
            "begins only on 2026-05-01: haul from that day on, or meet the rule.",
        ),
    ],
)
def test_a_broken_rule_never_has_a_variance_that_is_not_needed(
    whose: str, on: str, standing: str, advice: str
) -> None:
    register(whose)
    words = ("check", "profiles/loads/on-flat.yaml", "--on", on)
    (load,) = json.loads(run(*words, "--as", "json").stdout)["loads"]
    assert [each["standing"] for each in load["variances"]] == [standing]
    said = " ".join(run(*words).stdout.split())
    assert f"variance of light-trailer by M. Quill {advice}" in said


@pytest.mark.usefixtures("project")
@pytest.mark.parametrize("form", ["text", "markdown", "html"])
def test_among_several_loads_one_under_a_variance_does_not_look_clean(form: str) -> None:
    register("uses: [trailers/flat]")
    words = ["check", "profiles/loads", "--on", "2026-05-14"]
    done = run(*words, *(() if form == "text" else ("--write", f"{form}=out")))
    shown = done.stdout if form == "text" else ""
    for file in (Path("out"), *Path("out").glob("index.html")):
        shown += file.read_text() if file.is_file() else ""
    assert "1 rule not met under a variance" in " ".join(shown.split())


@pytest.mark.usefixtures("project")
def test_a_report_lists_the_variances_for_its_load_alone() -> None:
    register("uses: [trailers/flat]", "crews: [north]")
    done = run("check", "profiles/loads", "--on", "2026-05-14", "--as", "json")
    listed = {
        Path(load["file"]).stem: [each["standing"] for each in load["variances"]]
        for load in json.loads(done.stdout)["loads"]
    }
    # Nobody knows the crew yet, so the second may count for either.
    assert listed == {"on-flat": ["in use", _CREWS], "on-tilt": [_CREWS]}


@pytest.mark.usefixtures("project")
def test_too_close_to_call_is_excused_and_not_counted_as_not_met() -> None:
    register("uses: [trailers/flat]")
    Path("profiles/loads/close.yaml").write_text(
        "kind: load\ntrailer: {from: trailers/flat, gvwr: 7000 lb +/- 50 lb}\n"
    )
    assert outcomes("2026-05-14")["close"] == "no rule broken"
    Path("log.csv").write_text("load,date\nprofiles/loads/close.yaml,2026-05-14\n")
    document = json.loads(run("audit", "log.csv", "--as", "json").stdout)
    (rule,) = (each for each in document["rules"] if each["rule"] == "light-trailer")
    assert (rule["excused"], rule["verdicts"]["too close to call"]) == (0, 1)
    assert document["totals"]["excused"] == 1


def test_a_review_of_a_register_counts_the_outcomes_that_turn(project: Path) -> None:
    """No verdict depends on a variance: the load goes from hold to excused, by its rule's title."""
    register("uses: [trailers/tilt]")
    git = ("git", "-C", str(project), "-c", "user.name=a", "-c", "user.email=a@b.c")
    for words in (("init", "-q"), ("add", "-A"), ("commit", "-qm", "first")):
        subprocess.run([*git, *words], check=True)
    register("uses: [trailers/flat]")
    done = run(
        "impact", "--against", "HEAD", "--over", "profiles/loads/on-flat.yaml", "--on", "2026-05-14"
    )
    words = " ".join(done.stdout.split())
    assert "1 load checked, 0 refused: 0 verdicts and 1 outcome in 1 load change" in words
    assert "Trailer of at most 7,000 lb [light-trailer]: variance in force -> excused for" in words
