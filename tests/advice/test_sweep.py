"""Many rows of a load at once: what each rule says of them is what it says of each alone."""

from collections.abc import Callable, Container
from datetime import date
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from checker.advice.sweep import RuleRows, first_rows, is_slow, sweep
from checker.documents.problems import DataPath
from checker.evaluation.evaluator import evaluate
from checker.evaluation.rule_rows import DOES_NOT_APPLY, MET, NOT_MET
from checker.load.build import Profile
from checker.mechanics import restraint
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
    """The weight of every body for which restraint is worked out from here on."""
    weights: list[float] = []
    largest = restraint.largest_accelerations

    def counted(body: Any, *rest: Any, **more: Any) -> Any:
        weights.append(body.weight)
        return largest(body, *rest, **more)

    monkeypatch.setattr(restraint, "largest_accelerations", counted)
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
    varied: dict[DataPath, NDArray[np.float64]] = {("articles", 0, "weight"): np.array(HEAVY)}
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
    assert is_slow(held.rule)
    assert (
        held.verdicts.tolist() == [DOES_NOT_APPLY] * 5 + [MET] * 3
    )  # does not apply up to 3000 lb


# --- the first row at which a rule says something -------------------------------------------------


def looked_at(
    books: Rulebooks, profile: Profile, asked: list[tuple[list[float], list[str]]]
) -> Callable[[NDArray[np.float64], Container[str]], list[RuleRows]]:
    """A look at some crate weights in lb, kept in a list with the rules that were asked."""

    def look(tried: NDArray[np.float64], ids: Container[str]) -> list[RuleRows]:
        values = {("articles", 0, "weight"): tried * LB}
        rows = sweep(profile, values, books, DAY, lambda rule: rule.id in ids)
        asked.append((tried.tolist(), [each.rule.id for each in rows]))
        return rows

    return look


def test_a_rule_is_asked_until_it_says_what_is_sought(written: Written, rules: Rules) -> None:
    """2000 lb of trailer: more than 2150 lb together from 200 lb on, than 2550 lb from 600 lb on.

    The third is asked to the end and never says it.
    """
    books = rules(
        soon="trailer.gross_weight > limit; 2150 lb",
        late="trailer.gross_weight > limit; 2550 lb",
        never="trailer.gross_weight > limit; 9000 lb",
    )
    asked: list[tuple[list[float], list[str]]] = []
    tried = np.array([100.0, 200.0, 300.0, 400.0, 500.0, 600.0, 700.0])
    sought = {name: lambda rows: rows.satisfied for name in ("soon", "late", "never")}
    found = first_rows(tried, 3, sought, looked_at(books, written(pallet()), asked))
    assert found == {"soon": 1, "late": 5}
    assert asked == [
        ([100.0, 200.0, 300.0], ["soon", "late", "never"]),
        ([400.0, 500.0, 600.0], ["late", "never"]),
        ([700.0], ["never"]),
    ]


def test_nothing_is_asked_once_all_have_said_it(written: Written, rules: Rules) -> None:
    books = rules(soon="trailer.gross_weight > limit; 2150 lb")
    asked: list[tuple[list[float], list[str]]] = []
    tried = np.array([100.0, 200.0, 300.0, 400.0])
    sought = {"soon": lambda rows: rows.satisfied}
    found = first_rows(tried, 2, sought, looked_at(books, written(pallet()), asked))
    assert found == {"soon": 1}
    assert [values for values, _ in asked] == [[100.0, 200.0]]
