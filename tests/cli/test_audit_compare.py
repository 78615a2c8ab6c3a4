"""`cinchbook audit --compare` as officers call it: hauls with obvious verdicts."""

import json
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry
from typer.testing import CliRunner, Result

from checker import __version__
from checker.cli.app import application
from checker.cli.chosen_rules import read_rules
from checker.cli.named_loads import LoadFinder
from checker.documents.problems import ProblemsFoundError
from checker.logs.opening import open_log
from checker.reports.audit_forms.json import audit_json
from checker.season.audit import audit
from checker.season.hauls.digests import digest_of_log
from checker.season.record import read_earlier, record_of
from checker.season.running.worker import Plan
from tests.written_documents import closed_schema

Season = Callable[..., str]

HEADER = "load,date,crew,walkaround.chains_crossed,walkaround.coupler_pin_in"


@pytest.fixture
def season(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Season:
    """Writes a log of side-by-sides that are in order but for crew, chains and pin."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "120")

    def write(name: str, *hauls: str) -> str:
        lines = [f"loads/side-by-side-in-order,2026-05-14,{haul}" for haul in hauls]
        Path(name).write_text("\n".join([HEADER, *lines]) + "\n")
        return name

    return write


COUPLING = ("coupling", "north-america-coupling")


def run(*words: str, rules: Sequence[str] = COUPLING) -> Result:
    chosen = [word for each in rules for word in ("--rules", each)]
    return CliRunner().invoke(application(), ["audit", *words, *chosen])


def written(name: str, log: str, **more: Sequence[str]) -> str:
    """The audit of a log as a JSON document in a file."""
    Path(name).write_text(run(log, "--as", "json", **more).stdout)
    return name


def document(*words: str, **more: Sequence[str]) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(run(*words, "--as", "json", **more).stdout)
    Draft202012Validator(closed_schema("audit"), registry=Registry()).validate(read)
    return read


def test_of_two_hauls_of_another_season_nothing_is_called_worse(season: Season) -> None:
    """By hand: chains not met in 1 of 4, then in 1 of 2; the pin in 1 of 4, then in none."""
    then = season("then.csv", "north,no,yes", "north,yes,no", "south,yes,yes", "south,yes,yes")
    now = season("now.csv", "north,yes,yes", "south,no,yes")
    earlier = written("then.json", then)
    done = run(now, "--compare", earlier)
    assert done.exit_code == 1 == run(now).exit_code
    words = " ".join(done.stdout.partition("COMPARED WITH")[2].split())
    assert "other hauls: now.csv (" in words
    assert (
        "hauls checked: 2; then 4 - on hold, of decided hauls: 1 of 2 (50 %); then 2 of 4 (50 %)"
        in words
    )
    assert "[chains-crossed]: 1 of 2 (50 %); then 1 of 4 (25 %) " in words
    assert "on hold, over the loads of both: too few to say " in words
    assert "too few to say: Chains cross" in words
    assert words.index("CHANGED, BUT NO MORE THAN CHANCE") < words.index("[chains-crossed]")
    assert not any(word in words for word in ("WORSE", "FIXED", "worse", "fixed", "new:"))
    assert "[coupler-pin-in]: 0 of 2; then 1 of 4 (25 %) " in words
    assert "too few to say: south: 1 of 1 (100 %); then 0 of 2 " in words
    assert "too few to say: north: 0 of 1; then 2 of 2 (100 %) " in words
    assert "row" not in words
    compared = document(now, "--compare", earlier)["compared"]
    assert not compared["same_log"]
    assert compared["then"]["totals"]["held"] == 2
    assert {each["rule"]: each["turn"] for each in compared["rules"]} == {
        "chains-crossed": "worse",
        "coupler-pin-in": "mended",
    }
    assert compared["by"]["crew"][0] == {
        "name": "south",
        "turn": "new",
        "then": {"asked": 2, "broken": 0, "undecided": 0},
        "now": {"asked": 1, "broken": 1, "undecided": 0},
        "change": {
            "now": 1,
            "now_broken": 1,
            "then": 2,
            "then_broken": 0,
            "expected": 0,
            "few_loads": False,
            "p": None,
            "corrected": None,
            "result": "too few to say",
        },
    }
    assert compared["on_hold"]["result"] == "too few to say"
    assert compared["hauls"] is None


def test_what_chance_does_not_explain_is_worse_or_fixed(season: Season) -> None:
    """By hand: chains not met in 2 of 40, then in 15 of 40; the pin in 12 of 40, then in none."""
    good = ["north,yes,yes"]
    then = season("then.csv", *["north,no,yes"] * 2, *["north,yes,no"] * 12, *good * 26)
    now = season("now.csv", *["north,no,yes"] * 15, *good * 25)
    earlier = written("then.json", then)
    words = " ".join(run(now, "--compare", earlier).stdout.partition("COMPARED WITH")[2].split())
    # Chains, pin, all and the groups north, its trailer, machine and tow vehicle: 7 comparisons.
    # The smallest counts 7 times, the next 6 times: scipy.stats.fisher_exact([[0, 40], [12, 28]])
    # gives 0.000185, [[15, 25], [2, 38]] 0.000670; twice the smaller side is the same.
    # One load is no sample of loads, and the words say so.
    alone = ", each haul taken by itself as the loads are few "
    assert f"0 of 40; at the shares of then it would be 12; p 0.0013{alone}" in words
    assert "15 of 40; at the shares of then it would be 2; p 0.004" in words
    assert words.index("WORSE") < words.index("[chains-crossed]") < words.index("FIXED")
    assert "on hold, over the loads of both: no more than chance explains " in words
    assert "no more than chance explains: north: 15 of 40 (37.5 %); then 14 of 40 (35 %)" in words


def test_what_is_no_longer_stated_is_not_mended(season: Season) -> None:
    """The bundled load `missing-information` does not say whether its chains cross."""
    earlier = written("then.json", season("then.csv", "north,no,yes"))
    log = Path("now.csv")
    log.write_text("load,date,crew\nloads/missing-information,2026-05-14,north\n")
    words = " ".join(run(str(log), "--compare", earlier).stdout.partition("COMPARED")[2].split())
    assert "FIXED" not in words
    assert "- fixed: " not in words
    assert "[chains-crossed]: undecided in all 1; then 1 of 1 (100 %)" in words
    assert "not decided now: north: undecided in all 1; then 1 of 1 (100 %)" in words


def test_the_same_hauls_by_other_rules_are_compared_one_by_one(season: Season) -> None:
    log = season("hauls.csv", "north,no,yes", "south,yes,yes")
    earlier = written("then.json", log)
    Path("crew.yaml").write_text(
        "kind: amendment\nid: crew\ntitle: Crew\nlayer: company\njurisdiction: any\nrepeals:\n"
        "  - {rule: chains-crossed, from: 2026-01-01, common_practice: yes, by: Ann, because: so}\n"
    )
    done = run(log, "--compare", earlier, rules=[*COUPLING, "crew.yaml"])
    words = " ".join(done.stdout.partition("COMPARED")[2].split())
    assert "the same log (" in words
    assert "1 amendment only now: crew " in words
    said = "1 rule not met then and never applied now: a haul off hold for that reason alone"
    assert said in words
    assert "[chains-crossed]: never applied; then 1 of 2 (50 %)" in words
    assert "HAULS NO LONGER ON HOLD - row 2, 2026-05-14" in words
    assert "crew north: hold -> not on hold; not met then: chains-crossed" in words


def test_an_audit_held_against_itself_says_nothing_new(season: Season) -> None:
    log = season("hauls.csv", "north,no,yes", "south,yes,", "south,wrong,yes")
    earlier = written("then.json", log)
    words = " ".join(run(log, "--compare", earlier).stdout.partition("COMPARED")[2].split())
    assert "rows refused: 1 of 3; then 1 of 3" in words
    assert "1 rule not met in the same share of hauls as then" in words
    assert "Nothing is new, worse, better or fixed." in words
    assert not any(word in words for word in ("NEW", "WORSE", "BETTER", "FIXED", "HAULS"))
    # What was compared is itself an audit that a later one is compared with.
    again = run(log, "--compare", earlier, "--as", "json").stdout
    Path("again.json").write_text(again)
    assert document(log, "--compare", "again.json")["compared"]["hauls"]["put_on_hold"] == []


def test_a_document_is_read_back_as_the_audit_it_was_written_from(season: Season) -> None:
    log = season("hauls.csv", "north,no,yes", "south,yes,no", "south,wrong,yes", ",,")
    with Path(log).open("a") as file:
        file.write("loads/variance-late-first-stop,2026-05-14,south,,\n")
    earlier = written("then.json", log, rules=["shipped"])
    plan = Plan(lambda _rules: read_rules(["shipped"]), (), LoadFinder(), None, 0.05)
    done = audit(open_log(Path(log)), plan, digest_of_log(Path(log)))
    assert read_earlier(Path(earlier), __version__) == record_of(json.loads(audit_json(done)))


def test_long_lists_and_narrow_terminals_are_kept_in_bounds(
    season: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    crews = [f"crew {number}" for number in range(14)]
    earlier = written("then.json", season("then.csv", *[f"{crew},yes,yes" for crew in crews]))
    now = season("now.csv", *[f"{crew},no,yes" for crew in crews])
    monkeypatch.setenv("COLUMNS", "50")
    printed = run(now, "--compare", earlier).stdout.partition("COMPARED")[2]
    assert "- and 4 more\n" in printed
    assert max(map(len, printed.splitlines())) <= 50
    assert len(document(now, "--compare", earlier)["compared"]["by"]["crew"]) == 14


@pytest.mark.parametrize(
    ("was", "is_now", "said"),
    [
        ('"kind": "audit"', '"kind": "report"', "then.json:2:11: found 'report' as the kind"),
        ('"judged": 1', '"judged": 2', "found 2; wanted 1, the hauls of the totals"),
        (
            '"read": 1',
            '"read": 9',
            "found 9; wanted those judged, those refused and those",
        ),
        ('"held": 1', '"held": 2', "found more hauls on hold and open than hauls"),
        ('"excused": 0,\n      "broken_by"', '"excused": 7,\n      "broken_by"', "found 7"),
        ('"cinchbook"', '"cinchbok"', "no 'cinchbook' in this object"),
        ("{", "", "then.json:2:9: found text that is not JSON"),
    ],
)
def test_an_earlier_audit_that_is_none_is_told(
    season: Season, was: str, is_now: str, said: str
) -> None:
    log = season("hauls.csv", "north,no,yes")
    earlier = Path(written("then.json", log))
    text = earlier.read_text()
    assert was in text
    earlier.write_text(text.replace(was, is_now))
    done = run(log, "--compare", str(earlier))
    assert done.exit_code == 2
    assert said in done.stderr
    assert done.stdout == ""
    assert all(line.startswith("then.json:") for line in done.stderr.splitlines()[:-1])
    with pytest.raises(ProblemsFoundError, match=r"then\.json:"):
        read_earlier(earlier, __version__)


def test_an_earlier_audit_that_is_not_there_is_told(season: Season) -> None:
    done = run(season("hauls.csv", "north,no,yes"), "--compare", "none.json")
    assert done.exit_code == 2
    assert "none.json:1:1: found a file that cannot be read" in done.stderr


def test_an_audit_without_an_earlier_one_loads_no_jsonschema(season: Season) -> None:
    log = season("spring.csv", "north,yes,yes")
    code = (
        "import sys\nfrom checker.cli.app import main\n"
        f"sys.argv = ['cinchbook', 'audit', {log!r}, '--rules', 'coupling']\n"
        "try:\n    main()\nfinally:\n    print('jsonschema' in sys.modules, file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.stderr.strip().endswith("False")
