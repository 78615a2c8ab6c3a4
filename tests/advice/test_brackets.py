"""Where a rule changes between two values, against edges that are known."""

from collections.abc import Container
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from numpy.typing import NDArray

from checker.advice.brackets import Bracket, first_brackets, narrowed
from checker.evaluation.rule_rows import RuleRows


def above(edges: dict[str, float], asked: list[tuple[int, list[str]]] | None = None) -> Any:
    """Rules that are as sought above an edge each."""

    def evaluate(tried: NDArray[np.float64], ids: Container[str]) -> list[RuleRows]:
        wanted = [name for name in edges if name in ids]
        if asked is not None:
            asked.append((len(tried), wanted))
        return [rows(name, tried > edges[name], tried - edges[name]) for name in wanted]

    return evaluate


def rows(
    name: str, flags: NDArray[np.bool_], distances: NDArray[np.float64] | None = None
) -> RuleRows:
    """The rows of a rule that is a yes or no, if there are no distances."""
    if distances is None:
        distances = np.where(flags, np.inf, -np.inf)
    rule = SimpleNamespace(id=name)
    return cast("RuleRows", SimpleNamespace(rule=rule, flags=flags, distances=distances))


def sought(each: RuleRows) -> NDArray[np.bool_]:
    return cast("NDArray[np.bool_]", each.flags)  # type: ignore[attr-defined]


EDGES = {"soon": 1.2345678, "late": 5.5, "never": 50.0}
TRIED = np.linspace(0.0, 10.0, 11)

NARROWED = 1.0 / 64**3
"""Width of a bracket of width 1 that is narrowed: 1 / 262,144, or 3.8e-6."""


def test_the_first_value_tried_and_the_one_before_it() -> None:
    every = above(EDGES)(TRIED, EDGES)
    found = {
        each.rule: (each.outside, each.inside) for each in first_brackets(TRIED, every, sought)
    }
    assert found == {"soon": (1.0, 2.0), "late": (5.0, 6.0)}


def test_edges_of_several_rules_are_found_together() -> None:
    asked: list[tuple[int, list[str]]] = []
    brackets = first_brackets(TRIED, above(EDGES)(TRIED, EDGES), sought)
    found = {each.rule: each for each in narrowed(brackets, above(EDGES, asked))}
    for name in ("soon", "late"):
        assert found[name].outside <= EDGES[name] < found[name].inside
        # Values of a bracket are rounded at 1e-15.
        assert found[name].inside - found[name].outside == pytest.approx(NARROWED, abs=1e-14)
    # One question for both, as their distances say where they change; and none about a rule that
    # is never as sought.
    ((count, names),) = asked
    assert names == ["soon", "late"]
    assert count <= 2 * 20


def test_rules_that_change_in_one_step_share_its_values() -> None:
    asked: list[tuple[int, list[str]]] = []
    brackets = [Bracket(name, 0.0, 1.0, sought) for name in ("one", "other")]
    narrowed(brackets, above({"one": 0.5, "other": 0.5}, asked))
    alone: list[tuple[int, list[str]]] = []
    narrowed(brackets[:1], above({"one": 0.5}, alone))
    assert [count for count, _ in asked] == [count for count, _ in alone]


def test_a_rule_without_distances_is_found_in_three_rounds_of_64_parts() -> None:
    counts: list[int] = []

    def evaluate(tried: NDArray[np.float64], _ids: Container[str]) -> list[RuleRows]:
        counts.append(len(tried))
        return [rows("answer", tried > 0.3)]

    (found,) = narrowed([Bracket("answer", 0.0, 1.0, sought)], evaluate)
    assert found.outside <= 0.3 < found.inside
    assert found.inside - found.outside == pytest.approx(NARROWED, abs=1e-14)
    assert counts == [63, 63, 63]


@pytest.mark.parametrize("power", [0.2, 1.0, 3.0])
@pytest.mark.parametrize("edge", [1e-9, 0.1, 0.7654321, 1.0 - 1e-9])
def test_a_rule_whose_distances_bend_is_found_all_the_same(edge: float, power: float) -> None:
    """The distance grows by a power of how far a value is from the edge."""

    def evaluate(tried: NDArray[np.float64], _ids: Container[str]) -> list[RuleRows]:
        away = tried - edge
        return [rows("bent", away >= 0.0, np.sign(away) * np.abs(away) ** power)]

    tried = np.array([0.0, 1.0])
    brackets = first_brackets(tried, evaluate(tried, ["bent"]), sought)
    (found,) = narrowed(brackets, evaluate)
    assert found.outside < edge <= found.inside
    assert found.inside - found.outside == pytest.approx(NARROWED, abs=1e-14)


def test_a_rule_that_is_as_sought_from_the_first_value_on_is_not_asked_again() -> None:
    every = above({"now": -1.0})(TRIED, ["now"])
    asked: list[tuple[int, list[str]]] = []
    (found,) = narrowed(first_brackets(TRIED, every, sought), above({"now": -1.0}, asked))
    assert (found.outside, found.inside) == (0.0, 0.0)
    assert asked == []


def test_of_two_edges_the_one_nearest_the_outside_is_found() -> None:
    def evaluate(tried: NDArray[np.float64], ids: Container[str]) -> list[RuleRows]:
        assert "twice" in ids
        return [rows("twice", ((tried > 0.2) & (tried < 0.4)) | (tried > 0.8))]

    (found,) = narrowed([Bracket("twice", 0.0, 1.0, sought)], evaluate)
    assert found.outside <= 0.2 < found.inside
    assert found.inside - found.outside == pytest.approx(NARROWED, abs=1e-14)


def test_a_rule_that_is_as_sought_from_the_first_value_on_costs_no_values_beside_another() -> None:
    edges = {"now": -1.0, "soon": 1.2345678}
    asked: list[tuple[int, list[str]]] = []
    brackets = first_brackets(TRIED, above(edges)(TRIED, edges), sought)
    now, soon = narrowed(brackets, above(edges, asked))
    assert (now.rule, now.inside) == ("now", 0.0)
    assert soon.rule == "soon"
    assert {tuple(rules) for _, rules in asked} == {("soon",)}
