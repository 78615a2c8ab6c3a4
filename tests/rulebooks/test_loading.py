"""Rule files: what is refused, at which line, in which words."""

from collections.abc import Callable

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.rulebooks.model import Rulebooks

Book = Callable[..., Rulebooks]

GOOD = """\
- id: one
  title: A rule
  question: limits
  requires: trailer.gvwr <= limit
  thresholds:
    limit:
      stricter: lower
      values:
        - {value: 7000 lb, from: 2015-10-01, source: print, at: p. 1}
  source: print
  at: p. 1
  basis: law
  level: must
  because: it is so
  fix: mend it
  proofs:
    - {name: at, given: {trailer.gvwr: 7000 lb}, expect: met, origin: hand}
"""


def problems(rulebook: Book, text: str, head: str = "") -> list[str]:
    with pytest.raises(ProblemsFoundError, match="found") as caught:
        rulebook(text, head)
    return [
        f"{problem.mark.line}:{problem.mark.column}: {str(problem).partition(': ')[2]}"
        for problem in caught.value.problems
    ]


def test_a_good_rulebook_loads(rulebook: Book) -> None:
    found = rulebook(GOOD).rule("one")
    assert found is not None
    book, rule = found
    assert (book.id, rule.facts) == ("book", ("trailer.gvwr",))
    assert str(rule.citation) == "The Print, p. 1"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "requires: trailer.gvwr <= limit",
            "requires: trailer.gvrw <= limit",
            "did you mean 'trailer.gvwr'?",
        ),
        (
            "requires: trailer.gvwr <= limit",
            "requires: trailer.gvwr + trailer.overall_width <= limit",
            "10:28: found cannot add a weight or rating (lb, kg) to a length (ft, m)",
        ),
        (
            "requires: trailer.gvwr <= limit",
            "requires: trailer.gvwr <= limit * 3",
            "10:39: found the number 3",
        ),
        (
            "requires: trailer.gvwr <= limit",
            "requires: article.weight <= limit",
            "`for_each: article`, since this fact is of one; found a rule without `for_each`",
        ),
        (
            "{value: 7000 lb, from: 2015-10-01, source: print, at: p. 1}",
            "{value: 3 g, from: 2015-10-01, until: 2020-01-01, source: print, at: p. 1}\n        "
            "- {value: 3, from: 2020-01-01, source: print, at: p. 2}",
            "found values of different kinds in one threshold",
        ),
        ("question: limits", "question: limits\n  until: 2015-1-1", "wanted a day such as"),
        (
            "question: limits",
            "question: limits\n  from: 2015-10-01\n  until: 2015-10-01",
            "wanted after 2015-10-01",
        ),
        ("source: print, at: p. 1}", "source: pint, at: p. 1}", "did you mean 'print'?"),
        ("value: 7000 lb", "value: 7000 lbz", "did you mean '7000 lb'?"),
        ("from: 2015-10-01", "from: 2015-10-01, until: 2015-10-01", "wanted after 2015-10-01"),
        (
            "source: print, at: p. 1}",
            "source: print, at: p. 1}\n        "
            "- {value: 8000 lb, from: 2020-01-01, source: print, at: p. 2}",
            "wanted `until: 2020-01-01` or earlier on the value from 2015-10-01",
        ),
        (
            "2015-10-01, source: print, at: p. 1}",
            "2015-10-01, until: 2019-01-01, source: print, at: p. 1}\n        "
            "- {value: 8000 lb, from: 2020-01-01, source: print, at: p. 2}",
            "found no value from 2019-01-01 until 2020-01-01",
        ),
        ("limit:\n      stricter", "other:\n      stricter", "found `limit` is not a known name"),
        ("trailer.gvwr: 7000 lb", "trailer.gvwr: 7 ft", "wanted a weight or rating"),
        ("trailer.gvwr: 7000 lb", "trailer.gwr: 7000 lb", "did you mean 'trailer.gvwr'?"),
        ("basis: law", "basis: common practice", "found 'common practice'"),
        ("basis: law", "common_practice: yes\n  basis: law", "not both"),
        ("at: p. 1\n  basis", "basis", "found no 'at'"),
    ],
)
def test_faults_are_found_at_their_place(rulebook: Book, old: str, new: str, said: str) -> None:
    assert old in GOOD
    found = problems(rulebook, GOOD.replace(old, new, 1))
    assert any(said in line for line in found), found


def test_an_unused_threshold_and_an_id_twice_are_problems(rulebook: Book) -> None:
    twice = GOOD + GOOD.replace(
        "limit:\n",
        "idle: {stricter: none, values: [{value: 1 lb, from: 2020-01-01, "
        "source: print, at: p}]}\n    limit:\n",
    )
    found = problems(rulebook, twice)
    assert any("found the id 'one' again" in line for line in found), found
    assert any("found 'idle', which is not used" in line for line in found)


def test_a_fault_in_a_folded_formula_points_into_its_line(rulebook: Book) -> None:
    folded = GOOD.replace(
        "requires: trailer.gvwr <= limit",
        "requires: >-\n    trailer.gvwr <= limit\n    and trailer.gvw >= 0",
    )
    (found,) = problems(rulebook, folded)
    assert found.startswith("12:11: found ")
