"""Two ways of saying the same: half of each direct limit against half the weight, all against all.

Federal law counts half of a direct tiedown and asks for half the weight (49 CFR 393.106(d)(1));
crews add the limits up in full and ask for all of it. Common practice, no source.
"""

import json
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from checker.evaluation.check import Check, check
from checker.evaluation.finding import Finding
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.selection import select_rulebooks

LAW = "us-aggregate-working-load-limit"
PRACTICE = "tiedowns-rated-for-the-weight"
Held = Callable[[Mapping[str, Any]], Check]


@pytest.fixture
def held(books: Rulebooks, profile: Callable[[str], Load]) -> Held:
    """Hold a load against the two rulebooks these rules stand in; the others take their time."""
    two = select_rulebooks(books, ["us-federal-securement", "north-america-ratings"])

    def hold(data: Mapping[str, Any]) -> Check:
        return check(profile(json.dumps({"kind": "load", **data})), two, date(2026, 6, 1))

    return hold


def both_rules(held: Held, weight: float, limits: list[float | None], path: str) -> list[Finding]:
    """The finding of law and of common practice; a limit of None is a strap nothing is known of."""
    parts = ("marked", "hooks", "tensioner")
    tiedowns = [
        {
            "device": "webbing",
            "anchor": "ring",
            "path": path,
            **({"attachment": "frame"} if path == "direct" else {"far_anchor": "ring"}),
            **{f"{part}_working_load_limit": f"{limit!r} lb" for part in parts if limit},
        }
        for limit in limits
    ]
    done = held(
        {
            "carrier": {"follows_federal_rules": "yes"},
            "trip": {"places": ["US"]},
            "trailer": {"anchors": {"ring": {"working_load_limit": "20000 lb"}}},
            "articles": [
                {
                    "type": "wheeled machine",
                    "weight": f"{weight!r} lb",
                    "fully_contained": "no",
                    "attachments": {"frame": {"working_load_limit": "no rating exists"}},
                }
            ],
            "tiedowns": tiedowns,
        }
    )
    found = {each.rule.id: each for each in done.findings}
    return [found[LAW], found[PRACTICE]]


LIMITS = st.lists(st.none() | st.floats(100.0, 9000.0), max_size=6)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(weight=st.floats(200.0, 30000.0), limits=LIMITS)
@example(weight=13332.0, limits=[3333.0] * 4)
@example(weight=13332.1, limits=[3333.0] * 4)
@example(weight=2200.0, limits=[550.0] * 4)
def test_direct_tiedowns_get_the_same_verdict_from_law_and_crew(
    held: Held, weight: float, limits: list[float | None]
) -> None:
    law, practice = both_rules(held, weight, limits, "direct")
    assert law.verdict is practice.verdict
    if practice.margin is None:
        assert law.margin is None
    else:
        assert law.margin == pytest.approx(practice.margin, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("weight", "law", "practice"),
    [(4000.0, "met", "met"), (4001.0, "met", "not met"), (8001.0, "not met", "not met")],
)
def test_a_tiedown_across_to_the_other_side_counts_double_in_law_only(
    held: Held, weight: float, law: str, practice: str
) -> None:
    # 2 x 2,000 lb: 4,000 lb counted in full against half the weight
    found = both_rules(held, weight, [2000.0, 2000.0], "other side")
    assert [str(each.verdict) for each in found] == [law, practice]
