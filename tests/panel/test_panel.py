"""Loads that the trade refuses are held, and loads that it lets go pass: each with its reason.

The cases were written by what an experienced hand says in the yard, not from the rules.
"""

import json
from collections.abc import Mapping
from pathlib import Path
from shutil import copytree
from typing import Any

import pytest
from ruamel.yaml import YAML

from checker.documents.resources import shipped_folder
from tests.calling import call

HERE = Path(__file__).parent
SHIPPED = shipped_folder("profiles")
KINDS = {"trailer", "tow_vehicle", "carrier"}


def cases(name: str) -> list[dict[str, Any]]:
    """The cases of one file."""
    read: list[dict[str, Any]] = YAML(typ="rt").load((HERE / name).read_text("utf-8"))
    return read


REFUSED, PASSED = cases("refused.yaml"), cases("passed.yaml")


def with_changes(case: Mapping[str, Any]) -> dict[str, Any]:
    """The base load of a case with its fields set; files that it names stay named by `from`."""
    load: dict[str, Any] = YAML(typ="rt").load(
        (SHIPPED / "loads" / f"{case['base']}.yaml").read_text("utf-8")
    )
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


@pytest.fixture(scope="module")
def checked(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Any]]:
    """What `check` says of every case, by its name."""
    folder = tmp_path_factory.mktemp("panel")
    copytree(SHIPPED, folder / "profiles")
    loads = folder / "profiles" / "panel"
    loads.mkdir()
    (folder / "cinchbook.yaml").write_text("kind: settings\n", "utf-8")
    for case in (*REFUSED, *PASSED):
        with (loads / f"{file_name(case)}.yaml").open("w", encoding="utf-8") as file:
            YAML().dump(with_changes(case), file)
    run = call(folder, "check", "profiles/panel", "--as", "json")
    said = json.loads(run.stdout)
    return {Path(each["file"]).stem: each for each in said["loads"]}


def _said(load: dict[str, Any]) -> str:
    return "; ".join(
        f"{each['rule']} {each['verdict']}"
        for each in load["findings"]
        if each["level"] == "must" and each["verdict"] not in ("met", "does not apply")
    )


@pytest.mark.parametrize("case", REFUSED, ids=file_name)
def test_what_the_trade_refuses_is_held(
    checked: dict[str, dict[str, Any]], case: Mapping[str, Any]
) -> None:
    """Each is a load in order with one thing wrong, so that nothing else can hold it."""
    load = checked[file_name(case)]
    assert load["outcome"] == "hold", f"{case['reason']}\n{_said(load)}"


@pytest.mark.parametrize("case", PASSED, ids=file_name)
def test_what_the_trade_lets_go_passes(
    checked: dict[str, dict[str, Any]], case: Mapping[str, Any]
) -> None:
    """No must-rule is broken or undecided."""
    load = checked[file_name(case)]
    assert load["outcome"] == "no rule broken", f"{case['reason']}\n{_said(load)}"
