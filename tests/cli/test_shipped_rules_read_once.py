"""A run reads the shipped rules once, by the names that its working directory gives them."""

from pathlib import Path

import pytest

from checker.cli import chosen_rules
from checker.documents.resources import shipped_folder
from checker.rulebooks import loading
from tests.calling import call


def test_an_amendment_is_checked_with_one_reading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It needs the rules without the change and with it."""
    chosen_rules._read_shipped.cache_clear()
    read, load = [], loading.load_rulebooks
    monkeypatch.setattr(
        loading, "load_rulebooks", lambda path, **how: read.append(path) or load(path, **how)
    )
    words = ("tongue-share-ball", "heaviest", "11 %", "--from", "2026-07-01", "--common-practice")
    assert call(tmp_path, "amend", *words, "--into", "crew.yaml").returncode == 0
    assert read.count(shipped_folder("rules")) == 1
    assert tmp_path / "crew.yaml" in read


def test_a_rule_is_shown_where_it_is_from_the_folder_of_the_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rules = shipped_folder("rules")
    shown = set()
    for folder in (tmp_path, rules.parent, rules, tmp_path):
        monkeypatch.chdir(folder)
        _, rule = chosen_rules.find_rule(chosen_rules.read_rules(["shipped"]), "slew-locked")
        shown.add(Path(rule.location.file).parts[0])
    assert shown == {rules.anchor, "rules", "common-practice"}
