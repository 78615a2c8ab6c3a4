"""The shipped rules and loads, and small profiles that can be varied."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from checker.documents.resources import shipped_folder
from checker.load.build import Profile, read_profile
from checker.rulebooks.model import Rulebooks
from tests.shipped import shipped_rules
from tests.small_rules import rules_text


@pytest.fixture(scope="session")
def books() -> Rulebooks:
    """The shipped rules, without their proofs."""
    return shipped_rules()


@pytest.fixture
def bundled() -> Callable[[str], Profile]:
    """A bundled load by its name."""

    def read(name: str) -> Profile:
        return read_profile(Path(str(shipped_folder("profiles") / "loads" / f"{name}.yaml")))

    return read


@pytest.fixture
def written(tmp_path: Path) -> Callable[[dict[str, Any]], Profile]:
    """A profile of given data."""

    def read(data: dict[str, Any]) -> Profile:
        file = tmp_path / "load.yaml"
        file.write_text(json.dumps({"kind": "load", **data}))
        return read_profile(file)

    return read


@pytest.fixture
def rules(rulebook: Callable[[str], Rulebooks]) -> Callable[..., Rulebooks]:
    """A rulebook of small rules: `rules(tongue="hitch.tongue_weight <= limit; 500 lb")`."""

    def write(**formulas: str) -> Rulebooks:
        return rulebook(rules_text(formulas))

    return write
