"""Friction by the surfaces a load names, against the reference's tables and cases."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.documents.schemas import field_node
from checker.facts.friction import friction_between
from checker.facts.view import Facts
from checker.mechanics.standards.friction import NAMED_PAIRS
from tests.lashed_goods import Data, goods
from tests.published import published_cases

Read = Callable[[Data], Facts]

CASES = published_cases("international-cases")
OF_CASES = {
    "intl-mu-01": ("sawn timber on grooved aluminium", "swept clean and dry"),
    "intl-mu-03": ("steel crate on plywood laminate", "swept clean and wet"),
    "intl-mu-04": ("metal painted rough on metal painted rough", "swept clean and dry"),
    "intl-mu-05": ("sawn timber on plywood laminate", "not swept"),
    "intl-mu-06": ("sawn timber on grooved aluminium", "oil or grease"),
}


def friction_of(read: Read, **stated: Any) -> float:
    facts = read(goods(10_000.0, **stated))
    return float(facts.value("article.friction", facts.subjects("article")[0]))


@pytest.mark.parametrize("case_id", OF_CASES)
def test_named_surfaces_have_the_friction_of_the_case(read: Read, case_id: str) -> None:
    surfaces, condition = OF_CASES[case_id]
    found = friction_of(read, surfaces=surfaces, surface_condition=condition)
    expected = float(CASES[case_id]["expect"]["design_friction"].split()[0])
    # A case of direct lashing has its conversion factor in the figure; the sums have it apart.
    conversion = 0.75 if CASES[case_id]["given"].get("method") == "direct lashing" else 1.0
    assert conversion * found == pytest.approx(expected)


@pytest.mark.parametrize(
    ("surfaces", "condition", "friction"),
    [
        ("rubber tyre on steel deck", "swept clean and dry", 0.3),  # as printed
        ("rubber tyre on steel deck", "swept clean and wet", 0.1),  # lower end of 0.1-0.2
        ("rubber tyre on steel deck", "not swept", 0.1),  # no more than wet
        ("metal on metal", "oil or grease", 0.01),  # lower end, as printed
        ("rubber antislip on any clean", "snow, ice or frost", 0.2),  # the ceiling
        ("cardboard on cardboard", "not swept", 0.3),  # the ceiling; wet is not printed
    ],
)
def test_dirt_and_ice_leave_the_least_of_table_and_ceiling(
    read: Read, surfaces: str, condition: str, friction: float
) -> None:
    found = friction_of(read, surfaces=surfaces, surface_condition=condition)
    assert found == pytest.approx(friction)


def test_what_is_not_printed_or_not_stated_is_not_known(read: Read) -> None:
    assert math.isnan(friction_of(read, surfaces="sawn timber on grooved aluminium"))
    cardboard = "cardboard on cardboard"
    wet = friction_of(read, surfaces=cardboard, surface_condition="swept clean and wet")
    assert math.isnan(wet)


@pytest.mark.parametrize(
    ("stated", "field"),
    [
        ({}, "friction"),
        ({"surfaces": "cardboard on cardboard"}, "surface_condition"),
        # No figure is printed for it.
        (
            {
                "surfaces": "cardboard on cardboard",
                "surface_condition": "swept clean and wet",
            },
            "friction",
        ),
    ],
)
def test_what_is_asked_for_follows_what_is_named(
    read: Read, stated: dict[str, str], field: str
) -> None:
    facts = read(goods(10_000.0, **stated))
    asked = facts.missing("article.friction", facts.subjects("article")[0])
    assert asked == [f"articles.1.{field}"]


def test_a_coefficient_beside_surfaces_is_refused(read: Read) -> None:
    with pytest.raises(ProblemsFoundError, match="friction"):
        friction_of(read, friction=0.5, surfaces="sawn timber on grooved aluminium")


def test_the_words_of_a_profile_are_the_lines_of_the_tables() -> None:
    assert field_node("articles.*.surfaces")["enum"] == [*NAMED_PAIRS]


@pytest.mark.parametrize("name", NAMED_PAIRS)
def test_no_condition_helps_over_a_clean_and_dry_deck(name: str) -> None:
    dry = friction_between(NAMED_PAIRS[name], "swept clean and dry")
    for condition in field_node("articles.*.surface_condition")["enum"]:
        found = friction_between(NAMED_PAIRS[name], condition)
        assert math.isnan(found) or found <= dry, condition
