"""A finding prints what a rule asks, and not the case in which the rule asks nothing.

In a formula with `or` the nearer of two comparisons that fail is printed. That is right where each
by itself meets the rule, as with brakes or a weight that needs none. A case in which nothing is
asked stands behind `unless`.
"""

import ast
import re
from itertools import combinations, takewhile

import pytest

from tests.shipped import shipped_rules

# What a crew fits, hooks up or marks.
FITTED = ("walkaround.", "trailer.breakaway_", "trailer.wheel_chocks", "hitch.chain")
# Each of the figures by itself meets the rule, and a crew may change either.
EITHER_WILL_DO = {
    "de-rear-projection": "a shorter projection, or a shorter haul",
    "de-speed-100-ratio": "a slower rig, or one built for the speed",
    "eu-tipping-sideways-at-hand-tension": "direct lashings, or lashings over the top",
    "gb-light-nose-speed": "a slower rig, or a heavier nose",
    "load-clears-tow-vehicle-in-a-turn": "a load further back, or a narrower one",
    "us-mi-no-surge-brakes": "a lighter trailer, or a lighter combination",
}


_EXEMPT = "exempt"
"""A name in place of `unless`, which Python does not have."""


def _names(node: ast.AST) -> set[str]:
    """Names of a formula, dotted ones whole."""
    dotted = {ast.unparse(each) for each in ast.walk(node) if isinstance(each, ast.Attribute)}
    return dotted | {
        each.id
        for each in ast.walk(node)
        if isinstance(each, ast.Name) and not any(d.startswith(each.id + ".") for d in dotted)
    }


def _figures(node: ast.AST) -> set[str]:
    """Names in the comparisons of a formula."""
    found = [each for each in ast.walk(node) if isinstance(each, ast.Compare)]
    return set().union(*map(_names, found))


def _alternatives(requires: str) -> list[tuple[ast.expr, ast.expr]]:
    """The pairs that an `or` of the formula joins, but for those about a class of licence."""
    text = re.sub(r"\bunless\b", f"or {_EXEMPT} or", requires)
    marked = ast.parse(f"({text})", mode="eval")
    joined = [
        each
        for each in ast.walk(marked)
        if isinstance(each, ast.BoolOp)
        and isinstance(each.op, ast.Or)
        and not any(name.startswith("driver.") for name in _names(each))
    ]
    return [pair for each in joined for pair in combinations(_asked(each.values), 2)]


def _asked(values: list[ast.expr]) -> list[ast.expr]:
    """Those before `unless`."""
    return list(takewhile(lambda each: ast.unparse(each) != _EXEMPT, values))


def _is_unclear(one: ast.expr, other: ast.expr) -> bool:
    """True if the nearer of two figures would be printed, and they are not of one thing."""
    ours, theirs = _figures(one), _figures(other)
    if ours and theirs:
        return not ours & theirs
    figures, answers = ours or theirs, _names(other if ours else one)
    asks_to_fit = any(name.startswith(FITTED) for name in answers)
    return bool(figures) and asks_to_fit and not any(name.startswith(FITTED) for name in figures)


RULES = {rule.id: rule for book in shipped_rules().books for rule in book.rules}


def test_no_rule_may_print_the_case_in_which_it_asks_nothing():
    unclear = [
        name
        for name, rule in RULES.items()
        if any(_is_unclear(*pair) for pair in _alternatives(" ".join(rule.requires.text.split())))
    ]
    assert sorted(unclear) == sorted(EITHER_WILL_DO)


KG = 9.80665


@pytest.mark.parametrize(
    ("name", "facts", "left"),
    [
        (
            "de-least-coupling-load",
            {"trailer.gvwr": 3400 * KG, "trailer.gross_weight": 600 * KG, "hitch.tongue_weight": 0},
            "hitch.tongue_weight",
        ),
        (
            "us-surge-brakes-light-trailer",
            {
                "trailer.gvwr": 5400 * KG,
                "trailer.weight_or_rating_at_least": 5400 * KG,
                "trailer.weight_or_rating": 5400 * KG,
                "tow_vehicle.gvwr": 2000 * KG,
            },
            "trailer.weight_or_rating_at_least",
        ),
        (
            "gb-breakaway-fitted",
            {"trailer.breakaway_fitted": 0, "trailer.gvwr": 1600 * KG, "hitch.chain_count": 1},
            "trailer.breakaway_fitted",
        ),
    ],
)
def test_what_is_asked_is_printed_though_the_exemption_is_nearer(name, facts, left):
    rule = RULES[name]
    figures = {
        name: threshold.values[-1].value(metric=False)
        for name, threshold in rule.thresholds.items()
    }
    env = {each: float(value) for each, value in (facts | figures).items()}
    found = rule.requires.governing(env)
    assert rule.requires.value(env) == 0
    assert found is not None
    assert found.left == left
