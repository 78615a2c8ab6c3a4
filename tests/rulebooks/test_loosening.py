"""What an amendment may not do: each way to be less strict, at its line.

Figures are those of the texts of `tests/amended_rules.py`.
"""

from collections.abc import Callable

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.evaluation.check import Check
from checker.rulebooks.layering import rules_in_force
from checker.rulebooks.verdicts import Verdict
from tests.amended_rules import (
    BOOK,
    COMPANY,
    MARCH,
    UTAH,
    Amended,
    changed,
    refused,
    seats,
    verdict,
)


@pytest.mark.parametrize(
    ("places", "expected"),
    [
        # Utah allows 6,900 lb, the book 6,700 lb, of 6,800 lb; Canada is not asked.
        ("[US-UT]", Verdict.MET),
        ("[US-UT, US-NV]", Verdict.NOT_MET),
        ("[US-UT, US]", Verdict.NOT_MET),
        ("[US-UT, CA-AB]", Verdict.MET),
    ],
)
def test_a_place_loosens_a_law_for_itself_alone(
    amended: Amended, held: Callable[..., Check], places: str, expected: Verdict
) -> None:
    rest = "source: utah, at: 1-1, by: Utah, because: local roads"
    text = changed("6900 lb", was="6700 lb", rest=rest)
    book = BOOK.replace("7000 lb", "6700 lb").replace("jurisdiction: any", "jurisdiction: US")
    assert verdict(held(amended(UTAH + text, book=book), MARCH, places), "weight") is expected


@pytest.mark.parametrize(("places", "gone"), [("[US-UT]", True), ("[US-UT, US-NV]", False)])
def test_a_place_repeals_a_law_for_itself_alone(
    amended: Amended, held: Callable[..., Check], places: str, *, gone: bool
) -> None:
    repeal = "repeals:\n  - {rule: tyres, from: 2026-03-01, source: utah, at: x, by: A, because: B}"
    done = held(amended(UTAH + repeal), MARCH, places)
    assert [rule.id for rule, _ in done.repealed] == ["tyres"] * gone


@pytest.mark.parametrize(
    ("head", "body", "said"),
    [
        (COMPANY, changed("7100 lb"), "less strict than the law (The Print, p. 1)"),
        (
            COMPANY,
            changed("not yet known"),
            "found a figure that is not yet known, which is less strict than the law (The Print",
        ),
        (
            COMPANY,
            seats("not yet known"),
            "a figure that is not yet known, which is less strict than before, without because and",
        ),
        (
            COMPANY,
            changed("6600 lb", was="7500 lb"),
            "found another value than the one to be changed; wanted '7000 lb'",
        ),
        (
            COMPANY,
            changed("6400 lb", days="from: 2026-03-01"),
            "wanted '6500 lb', the rulebook's own value from 2027-01-01",
        ),
        (COMPANY, changed("6600 lb", days="from: 2019-12-31"), "wanted a day from 2020-01-01 on"),
        (COMPANY, changed("6600 in"), "found a length; wanted a weight or rating"),
        (COMPANY, seats("5 %"), "found a share; wanted a bare number"),
        (
            COMPANY,
            changed("6600 lb", days="from: 2026-03-01, until: 2026-03-01"),
            "found `until: 2026-03-01`; wanted after 2026-03-01",
        ),
        (UTAH, changed("6600 lb"), "found a document of jurisdiction any; wanted the law of US-UT"),
        (
            UTAH,
            changed("6600 lb", rest="common_practice: yes"),
            "found no source; wanted the law of the jurisdiction as `source`",
        ),
        (
            UTAH,
            changed("7100 lb", rest="source: utah, at: 1-1"),
            "less strict than before, without because and by",
        ),
        (COMPANY, changed("6600 lb").replace("weight", "wieght"), "did you mean 'weight'?"),
        (COMPANY, changed("6600 lb").replace("most", "must"), "did you mean 'most'?"),
        (COMPANY, changed("6600 lbs weight"), "found '6600 lbs weight'"),
        (
            COMPANY,
            "repeals:\n  - {rule: weight, from: 2026-03-01, common_practice: yes}\n",
            "found the repeal, which is less strict than the law (The Print, p. 1)",
        ),
        (
            COMPANY,
            "repeals:\n  - {rule: tyres, from: 2026-03-01, common_practice: yes, by: Ann}\n",
            "found the repeal, which is less strict than before, without because;",
        ),
        (COMPANY, "", "found an amendment that changes nothing"),
        (UTAH.replace("US-UT", "any"), changed("6600 lb"), "wanted the country or state whose law"),
    ],
)
def test_what_is_refused(amended: Amended, head: str, body: str, said: str) -> None:
    (problem,) = refused(amended, head + body)
    assert said in problem


IN_WHEN = BOOK.replace(
    "    requires: trailer.gvwr <= most\n", "    when: WHEN\n    requires: REQUIRES\n"
)


@pytest.mark.parametrize(
    ("when", "requires", "stricter", "value", "is_refused"),
    [
        # More than 7,000 lb: with 6,600 lb more trailers are asked, with 7,100 lb fewer.
        ("trailer.gvwr > most", "walkaround.lamps_work", "lower", "6600 lb", False),
        ("trailer.gvwr > most", "walkaround.lamps_work", "lower", "7100 lb", True),
        # The word for the strict way is wrong: what the condition says counts.
        ("trailer.gvwr > most", "walkaround.lamps_work", "higher", "7100 lb", True),
        ("not trailer.gvwr > most", "walkaround.lamps_work", "lower", "6600 lb", True),
        ("trailer.gvwr <= most or trailer.gvwr > 2 * most", "yes_", "lower", "6600 lb", True),
        # It limits, too: only those of 6,600 to 7,000 lb leave the rule, and they met it.
        ("trailer.gvwr <= most", "trailer.gvwr <= most", "lower", "6600 lb", False),
        # More trailers come in; and those of 7,000 to 7,100 lb leave it, on any ball mount.
        ("trailer.gvwr <= most", "hitch.ball_mount_rating >= most", "higher", "7100 lb", False),
        ("trailer.gvwr >= most", "hitch.ball_mount_rating >= most", "higher", "7100 lb", True),
    ],
)
def test_a_company_narrows_no_condition_of_a_law(
    amended: Amended, when: str, requires: str, stricter: str, value: str, *, is_refused: bool
) -> None:
    book = IN_WHEN.replace("WHEN", when).replace(
        "REQUIRES", requires.replace("yes_", "walkaround.lamps_work")
    )
    book = book.replace("stricter: lower", f"stricter: {stricter}", 1)
    if not is_refused:
        assert amended(COMPANY + changed(value), book=book).changes
        return
    with pytest.raises(ProblemsFoundError, match="which is less strict than the law"):
        amended(COMPANY + changed(value), book=book)


@pytest.mark.parametrize(
    ("value", "is_refused"),
    # The law prints 10 ft and 3.04 m, which is 9.974 ft: 9.98 ft is less strict than the metre's.
    [("9.97 ft", False), ("9.98 ft", True), ("10 ft", False), ("10.01 ft", True)],
)
def test_a_company_stays_within_both_printed_figures(
    amended: Amended, value: str, *, is_refused: bool
) -> None:
    book = BOOK.replace("trailer.gvwr <= most", "load.overall_width <= most")
    book = book.replace("value: 7000 lb", "value: 10 ft, metric_print: 3.04 m")
    book = book.replace("value: 6500 lb", "value: 10 ft, metric_print: 3.04 m")
    text = COMPANY + changed(value, was="10 ft")
    if is_refused:
        with pytest.raises(ProblemsFoundError, match="which is less strict than the law"):
            amended(text, book=book)
        return
    (rule, _) = rules_in_force(amended(text, book=book), ["US"], MARCH).books[0].rules
    held = rule.thresholds["most"].on(MARCH)
    assert held is not None
    assert held.change is not None
    assert (held.metric_print is not None) == (value == "10 ft")


def test_the_law_of_one_place_loosens_none_of_another(amended: Amended) -> None:
    rest = "source: utah, at: 1-1, by: Utah, because: local roads"
    book = BOOK.replace("jurisdiction: any", "jurisdiction: US-ID")
    with pytest.raises(ProblemsFoundError, match="by the law of US-UT, which is less strict than"):
        amended(UTAH + changed("7100 lb", rest=rest), book=book)
    assert amended(UTAH + changed("6900 lb", rest=rest), book=book).changes


def test_a_place_may_loosen_a_law_by_its_own(amended: Amended) -> None:
    rest = "source: utah, at: 1-1, by: Utah, because: local roads"
    assert amended(UTAH + changed("7100 lb", rest=rest)).changes
