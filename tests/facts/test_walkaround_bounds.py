"""What a walk-around measured, taken as the least that is wrong: zero where nobody measured.

Expected values: differences by hand.
"""

import json
from collections.abc import Callable
from datetime import date

import pytest

from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks

IN = 0.0254  # m, exact
Walks = Callable[[dict[str, str]], Facts]


@pytest.fixture
def walked(books: Rulebooks, profile: Callable[[str], Load]) -> Walks:
    def facts(walkaround: dict[str, str]) -> Facts:
        load = profile(json.dumps({"kind": "load", "walkaround": walkaround}))
        return Facts(load, books.unmarked_on(date(2026, 6, 1)))

    return facts


@pytest.mark.parametrize(("measured", "inches"), [({"path_deviation": "2 in"}, 2.0), ({}, 0.0)])
def test_how_far_it_runs_off_the_path(
    walked: Walks, measured: dict[str, str], inches: float
) -> None:
    found = walked(measured).value("walkaround.path_deviation_at_least", None)
    assert float(found) == pytest.approx(inches * IN, rel=1e-12)
