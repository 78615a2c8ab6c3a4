"""The tree of facts behind a rule: every fact once, down to the fields of the profile."""

from datetime import date

from checker.documents.resources import shipped_folder
from checker.facts.view import Facts, Subject
from checker.facts.working import working
from checker.load.build import read_profile
from tests.shipped import shipped_rules


def _facts(load: str) -> Facts:
    unmarked = shipped_rules().unmarked_on(date(2026, 6, 1))
    return Facts(
        read_profile(shipped_folder("profiles") / f"loads/{load}.yaml", None).load({}), unmarked
    )


def test_the_facts_behind_a_share_each_once_and_one_level_deeper() -> None:
    """By the definitions in the catalogue: the share needs tongue and gross weight."""
    steps = working(_facts("side-by-side-in-order"), ["hitch.tongue_share"], None)
    assert [(step.depth, step.fact.name, step.again) for step in steps] == [
        (0, "hitch.tongue_share", False),
        (1, "hitch.tongue_weight", False),
        (2, "trailer.gross_weight", False),
        (3, "cargo.weight", False),
        (4, "article.weight", False),
        (2, "trailer.moment_about_ball", False),
        (3, "article.weight", True),
        (3, "article.cg_position", False),
        (4, "article.cg_from_front", False),
        (3, "trailer.axle_group_position", False),
        (2, "trailer.axle_group_position", True),
        (1, "trailer.gross_weight", True),
    ]


def test_own_fields_are_told_apart_from_those_it_turns_to() -> None:
    """No centre of gravity is stated there, so the axle weights stand in for it."""
    steps = working(_facts("side-by-side-in-order"), ["article.cg_from_front"], _first_article())
    (step,) = steps
    assert step.missing == ("articles.1.cg.x",)
    assert step.stated == {}
    assert step.instead["articles.1.axles.rear.weight"].text == "810 lb"


def test_a_fact_of_the_article_seen_from_its_tiedown() -> None:
    facts = _facts("rear-straps-only")
    tiedown = facts.subjects("tiedown")[1]
    (step,) = working(facts, ["article.weight"], tiedown)
    assert step.subject == facts.subjects("article")[0]


def _first_article() -> Subject:
    return Subject("article", 0, "the first")
