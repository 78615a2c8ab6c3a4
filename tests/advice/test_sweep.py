"""Many rows of a load at once: what each rule says of them is what it says of each alone."""

from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np
import pytest

from checker.advice.sweep import sweep
from checker.documents.problems import DataPath
from checker.evaluation.evaluator import evaluate
from checker.evaluation.rule_rows import DOES_NOT_APPLY, MET, NOT_MET
from checker.load.build import Profile
from checker.mechanics.restraint import held_set
from checker.mechanics.restraint.bodies import Bodies
from checker.rulebooks.model import Rulebooks

LB = 4.4482216152605  # N, exact
DAY = date(2026, 5, 15)

Data = dict[str, Any]
Bundled = Callable[[str], Profile]
Written = Callable[[Data], Profile]
Rules = Callable[..., Rulebooks]


# --- rows are loads of their own ------------------------------------------------------------------

VARIED: list[tuple[str, DataPath]] = [
    ("rear-straps-only", ("trailer", "gvwr")),  # read by no slow rule
    ("rear-straps-only", ("articles", 0, "weight")),
    ("rear-straps-only", ("tiedowns", 0, "marked_working_load_limit")),
    ("rear-straps-only", ("articles", 0, "friction")),
    ("gooseneck-two-articles-in-order", ("articles", 1, "placed", "x")),
    ("gooseneck-two-articles-in-order", ("trailer", "empty_weight")),
]


@pytest.mark.parametrize(("name", "path"), VARIED)
def test_each_row_is_judged_as_a_load_of_its_own(
    name: str, path: DataPath, bundled: Bundled, books: Rulebooks
) -> None:
    profile = bundled(name)
    shares = np.array([0.5, 0.9, 1.3])
    values = shares * stated(profile, path)
    together = sweep(profile, {path: values}, books, DAY)
    alone = [
        {
            each.rule.id: int(each.verdicts[0])
            for each in evaluate(profile.load({path: float(value)}), books, DAY)
        }
        for value in values
    ]
    assert [each.rule.id for each in together] == list(alone[0])
    for each in together:
        assert each.verdicts.tolist() == [row[each.rule.id] for row in alone], each.rule.id


def stated(profile: Profile, path: DataPath) -> float:
    """What the load has there, in SI."""
    found: Any = profile.load({})
    for part in path:
        found = found[part] if isinstance(part, int) else getattr(found, part)
    return float(found)


# --- linear programmes are solved no more often than needed ---------------------------------------


def pallet() -> Data:
    """Untied goods on a rough deck: they are held sideways as far as they rub."""
    return {
        "trailer": {"gvwr": "5000 lb", "empty_weight": "2000 lb"},
        "articles": [
            {
                "type": "palletised goods",
                "weight": "1000 lb",
                "friction": 0.5,
                "length": "40 in",
                "width": "4 ft",
                "cg": {"x": "20 in", "y": "0 in", "z": "1 in"},
                "placed": {"x": "140 in", "y": "0 in", "facing": "forward"},
            }
        ],
        "tiedowns": [],
        "trip": {"places": ["US-CO"]},
    }


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The weight of every body for which restraint is worked out from here on.

    Each is worked out with friction and without; here it is listed once.
    """
    weights: list[float] = []
    columns = held_set.forces_on

    def counted(bodies: Bodies) -> Any:
        assert len(bodies.weights) % 2 == 0
        weights.extend(bodies.weights[: len(bodies.weights) // 2])
        return columns(bodies)

    monkeypatch.setattr(held_set, "forces_on", counted)
    return weights


HELD = "article.holds_left >= limit; 0.4"
HEAVY = tuple(float(weight) * LB for weight in range(1000, 5000, 500))


def test_a_slow_rule_that_reads_no_varied_field_is_worked_out_once(
    written: Written, rules: Rules, solved: list[float]
) -> None:
    varied = {("trailer", "gvwr"): np.array(HEAVY)}
    books = rules(held=HELD, within="trailer.gross_weight <= trailer.gvwr")
    held, within = sweep(written(pallet()), varied, books, DAY)
    assert len(solved) == 1
    assert held.verdicts.tolist() == [MET] * len(HEAVY)
    assert within.verdicts.tolist() == [NOT_MET] * 4 + [MET] * 4
    assert held.distances == pytest.approx([0.25] * len(HEAVY))


def test_a_slow_rule_that_reads_it_is_worked_out_for_every_row(
    written: Written, rules: Rules, solved: list[float]
) -> None:
    varied: dict[DataPath, np.ndarray] = {("articles", 0, "weight"): np.array(HEAVY)}
    sweep(written(pallet()), varied, rules(held=HELD), DAY)
    assert solved == pytest.approx(HEAVY)


def test_a_rulebook_out_of_force_in_some_rows_is_so_for_its_slow_rules(
    written: Written, rulebook: Callable[..., Rulebooks]
) -> None:
    """The rule itself asks nothing of the trailer; whether its rulebook applies does."""
    books = rulebook(
        """
        - id: held
          title: Held
          question: tiedowns
          for_each: article
          requires: article.holds_left >= 0
          source: print
          at: "1"
          basis: law
          level: must
          because: it is so
          fix: mend it
          proofs: [{name: a, given: {}, expect: not stated, origin: hand}]
        """,
        """
        applies:
          source: print
          at: "2"
          when: trailer.gvwr > trailer.gross_weight
          because: heavy trailers only
          proofs: [{name: a, given: {}, expect: not stated, origin: hand}]
        """,
    )
    varied = {("trailer", "gvwr"): np.array(HEAVY)}
    (held,) = sweep(written(pallet()), varied, books, DAY)
    assert (
        held.verdicts.tolist() == [DOES_NOT_APPLY] * 5 + [MET] * 3
    )  # does not apply up to 3000 lb
