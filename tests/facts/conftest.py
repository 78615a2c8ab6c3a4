"""The shipped rules, read once, and the facts of small profiles."""

import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from tests.shipped import shipped_rules


@pytest.fixture(scope="session")
def books() -> Rulebooks:
    """The shipped rules, without their proofs."""
    return shipped_rules()


@pytest.fixture
def read(books: Rulebooks, profile: Callable[[str], Load]) -> Callable[[dict[str, Any]], Facts]:
    """The facts of the load of plain data."""

    def facts(data: dict[str, Any]) -> Facts:
        load = profile(json.dumps({"kind": "load", **data}))
        return Facts(load, books.unmarked_on(date(2026, 6, 1)))

    return facts
