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
from tests.small_rules import rule, threshold


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
    """A rulebook of small rules: `rules(tongue="hitch.tongue_weight <= limit; 500 lb")`.

    Each is an id with dashes as underscores, a formula and, after a semicolon, its `limit`. Facts
    of articles and axles make a rule for each of them. All are must-rules about placement, unless
    `should` or `walk-around` stands after a second semicolon.
    """

    def write(**formulas: str) -> Rulebooks:
        texts = []
        for name, text in formulas.items():
            requires, limit, word = ([part.strip() for part in text.split(";")] + ["", ""])[:3]
            more = []
            for each in ("article", "axle", "tiedown"):
                if f"{each}." in requires:
                    more = [f"for_each: {each}"]
            if limit:
                more.append(threshold(limit))
            texts.append(
                rule(
                    requires,
                    id=name.replace("_", "-"),
                    question="walk-around" if word == "walk-around" else "placement",
                    level="should" if word == "should" else "must",
                    more="\n  ".join(more),
                )
            )
        return rulebook("".join(texts))

    return write
