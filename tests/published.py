"""The published cases that formulas and rules are held against."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

REFERENCE = Path(__file__).parent / "reference"


@cache
def published_cases(name: str) -> Mapping[str, Any]:
    """The cases of a file of the reference folder, by id."""
    return {case["id"]: case for case in YAML(typ="safe").load(REFERENCE / f"{name}.yaml")}
