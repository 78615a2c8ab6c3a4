"""The shipped rules, read once, and loads held against them."""

import json
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import pytest

from checker.engine import Check, check
from checker.load.model import Load
from checker.resources import shipped
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks

DAY = date(2026, 6, 1)


@pytest.fixture(scope="session")
def books() -> Rulebooks:
    """The shipped rules with their proofs."""
    return load_rulebooks(shipped("rules"), with_proofs=True)


@pytest.fixture
def held(books: Rulebooks, profile: Callable[[str], Load]) -> Callable[[Mapping[str, Any]], Check]:
    """Hold a load given as plain data against the shipped rules."""

    def hold(data: Mapping[str, Any]) -> Check:
        return check(profile(json.dumps({"kind": "load", **data})), books, DAY)

    return hold
