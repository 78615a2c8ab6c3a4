"""Loads are found by name in the project's own profiles first, in every command alike."""

import json
from pathlib import Path
from subprocess import CompletedProcess

import pytest

from checker.cli.named_loads import LoadFinder, load_finder
from checker.cli.options import known_loads
from checker.documents.resources import shipped_folder
from tests.calling import call

RULES = """\
kind: rulebook
id: yard
title: The yard's own
jurisdiction: any
proved_on: 2026-01-01
rules:
  - id: on-deck
    title: At most the yard's limit on the deck
    broken: Too heavy for the yard
    question: limits
    for_each: article
    requires: article.weight <= limit
    thresholds:
      limit: {stricter: lower, values: [{value: 1400 lb, from: 2020-01-01, common_practice: yes}]}
    common_practice: yes
    basis: common practice
    level: must
    because: The hill is steep.
    fix: Take a lighter machine.
    proofs:
      - {name: at, given: {article.weight: 1400 lb}, expect: met, origin: by hand}
"""
AMENDMENT = """\
kind: amendment
id: crew
title: Crew policy
layer: company
jurisdiction: any
changes:
  - {rule: on-deck, threshold: limit, was: 1400 lb, value: 1460 lb, from: 2021-01-01,
     common_practice: yes, because: It holds., by: Ann}
"""
OWN, ONLY_OWN, BUNDLED = "loads/mower-in-order", "loads/own", "loads/side-by-side-in-order"
HEAVY = "kind: load\ntitle: Ours\narticles:\n  - weight: 1450 lb\n"
NOTE = f"note: 'profiles' has no such load, so a bundled one is used: shipped:{BUNDLED}"
MISSING = "found no load profile 'loads/lost'; wanted a file, a load in 'profiles' or a bundled"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder without settings: own loads, one named as a bundled one, too heavy for its rule."""
    rows = "".join(f"{name},2026-05-14\n" for name in (OWN, ONLY_OWN, BUNDLED, "loads/lost"))
    for name, text in {
        "rules/yard.yaml": RULES,
        f"profiles/{OWN}.yaml": HEAVY,
        f"profiles/{ONLY_OWN}.yaml": HEAVY,
        "q.csv": f"load,date\n{rows}",
    }.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    return tmp_path


def run(folder: Path, *words: str) -> CompletedProcess[str]:
    return call(folder, *words, "--rules", str(folder / "rules"), COLUMNS="1000")


def test_an_audit_takes_own_loads_first_and_says_which_are_bundled(folder: Path) -> None:
    """1,450 lb is over the limit of 1,400 lb."""
    done = run(folder, "audit", "q.csv", "--as", "json")
    found = json.loads(done.stdout)
    assert (found["read"], found["refused"]) == (4, 1)
    assert MISSING in str(found["refusals"])
    assert [found["by"]["load"][name]["held"] for name in (OWN, ONLY_OWN)] == [1, 1]
    assert done.stderr.count("note:") == 1
    assert NOTE in done.stderr


def test_a_row_is_laid_over_the_load_that_the_audit_takes(folder: Path) -> None:
    found = [run(folder, "check", f"q.csv#{row}", "--as", "json") for row in (2, 3, 4)]
    loads = [json.loads(each.stdout)["loads"][0] for each in found]
    assert [each["title"] for each in loads[:2]] == ["Ours"] * 2
    names = [each["notes"][0].rpartition(" ")[2] for each in loads]
    assert names == [OWN, ONLY_OWN, f"shipped:{BUNDLED}"]
    assert [each.stderr.count("note:") for each in found] == [0, 0, 1]


@pytest.mark.parametrize("below", [".", "seasons/2026"])
def test_the_nearest_folder_of_profiles_has_the_own_loads(
    folder: Path, below: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / below).mkdir(parents=True, exist_ok=True)
    monkeypatch.chdir(folder / below)
    own = folder / "profiles"
    assert load_finder(None)(OWN).resolve() == own / f"{OWN}.yaml"
    assert "loads/own" in known_loads()
    (folder / "others/loads").mkdir(parents=True)
    (folder / "others/loads/own.yaml").write_text(HEAVY)
    others = load_finder(folder / "others")
    assert others(ONLY_OWN).resolve() == folder / "others/loads/own.yaml"


def test_bundled_profiles_that_are_nearest_are_no_own_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(shipped_folder("profiles").parent)
    assert load_finder(None) == LoadFinder(None)
    with pytest.raises(FileNotFoundError, match="or a bundled load, as there is no folder"):
        load_finder(None)("loads/lost")


def test_impact_takes_the_same_loads(folder: Path) -> None:
    """At 1,460 lb none of the own loads is too heavy."""
    (folder / "change.yaml").write_text(AMENDMENT)
    done = run(folder, "impact", "change.yaml", "--over", "q.csv", "--as", "json")
    assert "q.csv:2" in done.stdout
    assert "q.csv:3" in done.stdout
    assert done.stderr.count(NOTE) == 1
    assert MISSING in done.stderr


def test_a_bundled_load_is_written_only_where_its_references_start(tmp_path: Path) -> None:
    (tmp_path / "q.csv").write_text(f"load,date\n{OWN},2026-05-14\n")
    done = call(tmp_path, "check", "q.csv#2", "--write-load", "new.yaml", COLUMNS="1000")
    assert (done.returncode, done.stderr) == (
        2,
        "found 'new.yaml' to write the load to; wanted the folder that its references start from: "
        "`profiles:` in cinchbook.yaml, or --profiles\n",
    )


def test_a_row_of_a_log_without_mapping_has_a_next_step(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("Unit,When\nmower,2026-05-14\n")
    (tmp_path / "map.yaml").write_text("kind: haul-log\ncolumns: {Unit: load}\n")
    next_step = "next: cinchbook draft mapping a.csv mapping.yaml, then"
    done = call(tmp_path, "check", "a.csv#2", COLUMNS="1000")
    assert done.returncode == 2
    assert done.stderr.endswith(f"{next_step} the same command with --columns\n")
    done = call(tmp_path, "check", "a.csv#2", "--columns", "map.yaml", COLUMNS="1000")
    assert done.returncode == 2
    assert "next:" not in done.stderr
