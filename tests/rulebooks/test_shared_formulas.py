"""Rules with equal formulas over equal names, as in a law table, share one compiled formula."""

from collections.abc import Callable

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.rulebooks.model import Rulebooks
from tests.small_rules import rule, threshold

Read = Callable[[str], Rulebooks]
GROSS = "trailer.gvwr <= limit"


def test_equal_formulas_are_compiled_once(rulebook: Read) -> None:
    texts = [rule(GROSS, id=f"r{n}", more=threshold(f"{n} lb")) for n in (7000, 8000)]
    (book,) = rulebook("".join(texts)).books
    first, second = book.rules
    assert first.requires is second.requires
    # The limits are those of each rule: 1 lb is 4.4482216 N.
    limits = [each.thresholds["limit"].values[0].quantity.value for each in book.rules]
    assert limits == pytest.approx([7000 * 4.4482216, 8000 * 4.4482216])


def test_a_limit_of_another_kind_is_checked_for_itself(rulebook: Read) -> None:
    """Though the same text was compiled with a limit in pounds before."""
    rulebook(rule(GROSS, more=threshold("7000 lb")))
    with pytest.raises(ProblemsFoundError, match=r"cannot compare a weight .* with a length"):
        rulebook(rule(GROSS, more=threshold("8 ft")))


def test_a_fact_of_another_subject_is_checked_for_itself(rulebook: Read) -> None:
    """Though the same text was compiled in a rule for each article before."""
    weighs = "article.weight <= limit"
    rulebook(rule(weighs, more=f"for_each: article\n  {threshold('1 lb')}"))
    with pytest.raises(ProblemsFoundError, match="found a rule without `for_each`"):
        rulebook(rule(weighs, more=threshold("1 lb")))
