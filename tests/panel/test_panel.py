"""Loads that the trade refuses are held, and loads that it lets go pass: each with its reason.

The cases were written by what an experienced hand says in the yard, not from the rules.
"""

import json
from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path
from shutil import copytree
from typing import Any

import pytest
from ruamel.yaml import YAML

from checker.documents.resources import shipped_folder
from checker.evaluation.check import Check
from checker.evaluation.outcome import Outcome
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.rulebooks.verdicts import Verdict
from tests.shipped import shipped_rules

HERE = Path(__file__).parent
SHIPPED = shipped_folder("profiles")
KINDS = {"trailer", "tow_vehicle", "carrier"}


def cases(name: str) -> list[dict[str, Any]]:
    """The cases of one file."""
    read: list[dict[str, Any]] = YAML(typ="rt").load((HERE / name).read_text("utf-8"))
    return read


REFUSED, PASSED = cases("refused.yaml"), cases("passed.yaml")


@cache
def base(name: str) -> str:
    """A bundled load in JSON, which is YAML as well, and read and written in no time."""
    load = YAML(typ="rt").load((SHIPPED / "loads" / f"{name}.yaml").read_text("utf-8"))
    return json.dumps(load, default=str)


def with_changes(case: Mapping[str, Any]) -> dict[str, Any]:
    """The base load of a case with its fields set; files that it names stay named by `from`."""
    load: dict[str, Any] = json.loads(base(case["base"]))
    for path, value in case.get("change", {}).items():
        *parents, last = path.split(".")
        at: Any = load
        for index, key in enumerate(parents):
            if index == 0 and key in KINDS and isinstance(at[key], str):
                at[key] = {"from": at[key]}
            at = at[int(key)] if isinstance(at, list) else at.setdefault(key, {})
        _set(at, last, value)
    for key in ("tiedowns", "articles"):
        load[key] = [each for each in load[key] if each is not None]
    return load


def _set(at: Any, last: str, value: Any) -> None:
    if isinstance(at, list):
        at += [None] * (int(last) + 1 - len(at))
        at[int(last)] = {**(at[int(last)] or {}), **value} if isinstance(value, dict) else value
        if isinstance(at[int(last)], dict):
            at[int(last)] = {k: v for k, v in at[int(last)].items() if v is not None}
    elif value is None:
        at.pop(last, None)
    else:
        at[last] = value


def file_name(case: Mapping[str, Any]) -> str:
    """Name of the file of a case."""
    return str(case["name"]).replace(" ", "-").replace(",", "").replace("/", "-")


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for the cases' files, in a copy of the shipped profiles that they name."""
    project = tmp_path_factory.mktemp("panel")
    copytree(SHIPPED, project / "profiles")
    loads = project / "profiles" / "panel"
    loads.mkdir()
    (project / "cinchbook.yaml").write_text("kind: settings\n", "utf-8")
    return loads


@pytest.fixture
def checked(case: Mapping[str, Any], folder: Path) -> Check:
    """What a check says of a case, without the search for fixes, which no case is about."""
    file = folder / f"{file_name(case)}.yaml"
    file.write_text(json.dumps(with_changes(case), default=str), "utf-8")
    return check_profile(read_profile(file), shipped_rules(), date.today())


def _said(done: Check) -> str:
    return "; ".join(
        f"{each.rule.id} {each.verdict}"
        for each in done.findings
        if each.rule.level == "must" and each.verdict not in (Verdict.MET, Verdict.DOES_NOT_APPLY)
    )


@pytest.mark.parametrize("case", REFUSED, ids=file_name)
def test_what_the_trade_refuses_is_held(checked: Check, case: Mapping[str, Any]) -> None:
    """Each is a load in order with one thing wrong, so that nothing else can hold it."""
    assert checked.outcome is Outcome.HOLD, f"{case['reason']}\n{_said(checked)}"


@pytest.mark.parametrize("case", PASSED, ids=file_name)
def test_what_the_trade_lets_go_passes(checked: Check, case: Mapping[str, Any]) -> None:
    """No must-rule is broken or undecided."""
    assert checked.outcome is Outcome.NO_RULE_BROKEN, f"{case['reason']}\n{_said(checked)}"
