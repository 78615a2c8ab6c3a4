"""Amendments: what they change on which day and trip.

Expected verdicts are worked out by hand from the figures in the texts of `tests/amended_rules.py`.
"""

from collections.abc import Callable
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.evaluation.check import Check
from checker.rulebooks.layering import rules_in_force
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.selection import combine_rulebooks
from checker.rulebooks.verdicts import Verdict
from tests.amended_rules import (
    BOOK,
    COMPANY,
    IDAHO,
    MARCH,
    SOURCES,
    UTAH,
    Amended,
    changed,
    verdict,
)


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        # 6,800 lb against 7,000 until 2026-03-01, then 6,600; from 2027 the book's own 6,500.
        (date(2026, 2, 28), Verdict.MET),
        (MARCH, Verdict.NOT_MET),
        (date(2026, 12, 31), Verdict.NOT_MET),
        (date(2027, 1, 1), Verdict.NOT_MET),
    ],
)
def test_a_change_holds_from_its_first_day_to_the_day_before_until(
    amended: Amended, held: Callable[..., Check], day: date, expected: Verdict
) -> None:
    books = amended(COMPANY + changed("6600 lb"))
    assert verdict(held(books, day), "weight") is expected
    (finding,) = [each for each in held(books, day).findings if each.rule.id == "weight"]
    ((_, value),) = finding.thresholds
    assert (value.change is not None) == (MARCH <= day < date(2027, 1, 1))


def test_the_chain_says_who_changed_what_from_when(
    amended: Amended, held: Callable[..., Check]
) -> None:
    books = amended(COMPANY + changed("6600 lb", rest="source: print, at: p. 9, by: Ann"))
    (finding,) = [each for each in held(books, MARCH).findings if each.rule.id == "weight"]
    ((name, value),) = finding.thresholds
    assert (name, value.text, value.starts) == ("most", "6600 lb", MARCH)
    assert value.change is not None
    assert (value.change.amendment.title, value.change.by) == ("Crew policy", "Ann")
    assert value.replaces is not None
    assert (value.replaces.text, value.replaces.change) == ("7000 lb", None)


def test_a_company_comes_after_a_place_and_never_loosens_its_law(
    amended: Amended, held: Callable[..., Check]
) -> None:
    """Utah 6,600 lb, company 6,900 lb: 6,600 stands in Utah, 6,900 elsewhere."""
    company = COMPANY + changed("6900 lb")
    utah = UTAH + changed("6600 lb", rest="source: utah, at: 1-1")
    books = amended(company, utah)
    assert verdict(held(books, MARCH, "[US-UT]"), "weight") is Verdict.NOT_MET
    assert verdict(held(books, MARCH, "[US-NV]"), "weight") is Verdict.MET
    stricter = amended(COMPANY + changed("6500 lb"), utah)
    (finding,) = [each for each in held(stricter, MARCH).findings if each.rule.id == "weight"]
    value = finding.thresholds[0][1]
    assert [value.text, value.replaces and value.replaces.text] == ["6500 lb", "6600 lb"]


def test_crossing_a_border_means_the_stricter_of_both(
    amended: Amended, held: Callable[..., Check]
) -> None:
    """6,700 lb in Utah and 6,900 lb in Idaho against 6,800 lb."""
    utah = UTAH + changed("6700 lb", rest="source: utah, at: 1-1")
    idaho = IDAHO + changed("6900 lb", rest="source: idaho, at: 1-1")
    for pair in ((utah, idaho), (idaho, utah)):
        books = amended(*pair)
        assert verdict(held(books, MARCH, "[US-UT]"), "weight") is Verdict.NOT_MET
        assert verdict(held(books, MARCH, "[US-ID]"), "weight") is Verdict.MET
        assert verdict(held(books, MARCH, "[US-ID, US-UT]"), "weight") is Verdict.NOT_MET


LOOSER = "source: utah, at: 1-1, because: B, by: A"


@pytest.mark.parametrize(
    ("places", "expected"),
    [
        # Utah allows 6,900 lb; elsewhere the book's 6,700 lb hold, against 6,800 lb.
        ("[US-UT]", Verdict.MET),
        ("[US-NV]", Verdict.NOT_MET),
        ("[US-NV, US-UT]", Verdict.NOT_MET),
        ("[US-UT, US-NV]", Verdict.NOT_MET),
        ("[US-UT-BASIN, US-UT]", Verdict.MET),
    ],
)
def test_what_one_place_loosens_stays_as_it_is_in_the_others(
    amended: Amended, held: Callable[..., Check], places: str, expected: Verdict
) -> None:
    book = BOOK.replace("7000 lb", "6700 lb")
    books = amended(UTAH + changed("6900 lb", was="6700 lb", rest=LOOSER), book=book)
    assert verdict(held(books, MARCH, places), "weight") is expected


def test_a_looser_county_does_not_loosen_the_rest_of_its_state(
    amended: Amended, held: Callable[..., Check]
) -> None:
    head = UTAH.replace("US-UT", "US-UT-BASIN")
    sources = SOURCES.replace("US-UT", "US-UT-BASIN")
    book = BOOK.replace("7000 lb", "6700 lb")
    loose = head + changed("6900 lb", was="6700 lb", rest=LOOSER)
    books = amended(loose, sources=sources, book=book)
    for places in ("[US-UT, US-UT-BASIN]", "[US-UT-BASIN, US-UT]"):
        assert verdict(held(books, MARCH, places), "weight") is Verdict.NOT_MET
    assert verdict(held(books, MARCH, "[US-UT-BASIN]"), "weight") is Verdict.MET


def test_a_rule_that_one_place_repeals_holds_in_the_others(
    amended: Amended, held: Callable[..., Check]
) -> None:
    repeal = f"repeals:\n  - {{rule: weight, from: 2026-03-01, {LOOSER}}}\n"
    books = amended(UTAH + repeal)
    for places, rules in (
        ("[US-UT]", ["tyres"]),
        ("[US-UT, US-NV]", ["weight", "tyres"]),
        ("[US-NV, US-UT]", ["weight", "tyres"]),
    ):
        done = held(books, MARCH, places)
        assert [each.rule.id for each in done.findings] == rules
        assert len(done.repealed) == 2 - len(rules)


def test_where_neither_of_two_figures_is_the_stricter_nobody_knows(
    amended: Amended, held: Callable[..., Check]
) -> None:
    book = BOOK.replace("stricter: lower", "stricter: none")
    books = amended(UTAH + changed("6900 lb", rest=LOOSER), book=book)
    assert verdict(held(books, MARCH, "[US-UT]"), "weight") is Verdict.MET
    (finding, _) = held(books, MARCH, "[US-NV, US-UT]").findings
    assert finding.verdict is Verdict.NOT_STATED


def test_a_company_that_changes_both_figures_keeps_the_longer_chain(
    amended: Amended, held: Callable[..., Check]
) -> None:
    """Utah 6,600 lb, Nevada 7,000 lb, the company 6,500 lb everywhere."""
    utah = UTAH + changed("6600 lb", rest="source: utah, at: 1-1")
    books = amended(COMPANY + changed("6500 lb"), utah)
    for places in ("[US-UT, US-NV]", "[US-NV, US-UT]"):
        (finding, _) = held(books, MARCH, places).findings
        ((_, value),) = finding.thresholds
        assert value.text == "6500 lb"
        assert value.replaces is not None
        assert value.replaces.text == "6600 lb"


def test_a_place_that_the_trip_may_touch_leaves_the_rule_open(
    amended: Amended, held: Callable[..., Check]
) -> None:
    books = amended(UTAH + changed("6600 lb", rest="source: utah, at: 1-1"))
    (finding,) = [each for each in held(books, MARCH, "[US]").findings if each.rule.id == "weight"]
    assert finding.verdict is Verdict.NOT_STATED
    assert finding.reason == "not known whether utah-law changes 'most' on this trip"


@pytest.mark.parametrize(
    ("places", "expected"),
    [
        # The county asks for 6,600 lb, the book for 7,000 lb, of 6,800 lb.
        ("[US-UT-BASIN]", Verdict.NOT_MET),
        ("[US-UT-MESA]", Verdict.MET),
        ("[US-NV, US-UT-BASIN]", Verdict.NOT_MET),
        ("[US-UT]", Verdict.NOT_STATED),
        ("[US-NV]", Verdict.MET),
    ],
)
def test_a_county_is_a_part_of_its_state(
    amended: Amended, held: Callable[..., Check], places: str, expected: Verdict
) -> None:
    head = UTAH.replace("US-UT", "US-UT-BASIN")
    sources = SOURCES.replace("US-ID", "US-UT-BASIN")
    books = amended(head + changed("6600 lb", rest="source: idaho, at: 1-1"), sources=sources)
    assert verdict(held(books, MARCH, places), "weight") is expected


def test_a_figure_not_yet_known_leaves_the_rule_open_from_its_day(
    amended: Amended, held: Callable[..., Check]
) -> None:
    rest = "source: utah, at: 1-1, by: Utah, because: the bill is not printed"
    books = amended(UTAH + changed("not yet known", rest=rest))
    assert verdict(held(books, date(2026, 2, 28)), "weight") is Verdict.MET
    (finding,) = [each for each in held(books, MARCH).findings if each.rule.id == "weight"]
    assert finding.verdict is Verdict.NOT_STATED
    assert finding.reason is not None
    assert finding.reason.startswith("'most' changes on 2026-03-01 to a figure not yet known")


def test_a_repealed_rule_is_not_asked_and_said_to_be_repealed(
    amended: Amended, held: Callable[..., Check]
) -> None:
    repeal = (
        "repeals:\n  - {rule: tyres, from: 2026-03-01, common_practice: yes, by: A, because: B}"
    )
    books = amended(COMPANY + repeal)
    before, after = held(books, date(2026, 2, 28)), held(books, MARCH)
    assert [each.rule.id for each in before.findings] == ["weight", "tyres"]
    assert [each.rule.id for each in after.findings] == ["weight"]
    assert [(rule.id, change.because) for rule, change in after.repealed] == [("tyres", "B")]


def test_a_repeal_taken_back_counts_until_then(
    amended: Amended, held: Callable[..., Check]
) -> None:
    back = "withdrawn: {from: 2026-04-01, by: Ann, because: it was missed}"
    repeal = (
        "repeals:\n  - {rule: tyres, from: 2026-03-01, common_practice: yes, by: A, because: B, "
        f"{back}}}"
    )
    books = amended(COMPANY + repeal)
    assert [rule.id for rule, _ in held(books, date(2026, 3, 31)).repealed] == ["tyres"]
    assert held(books, date(2026, 4, 1)).repealed == ()


@pytest.mark.parametrize(("first", "second"), [("6900 lb", "6700 lb"), ("6700 lb", "6900 lb")])
def test_of_two_policies_for_two_places_the_stricter_counts(
    amended: Amended, held: Callable[..., Check], first: str, second: str
) -> None:
    """6,800 lb on a trip in Utah, whichever file is read first."""
    everywhere = COMPANY + changed(first)
    head = COMPANY.replace("crew", "utah").replace("jurisdiction: any", "jurisdiction: US-UT")
    in_utah = head + changed(second)
    assert verdict(held(amended(everywhere, in_utah), MARCH), "weight") is Verdict.NOT_MET
    assert verdict(held(amended(in_utah, everywhere), MARCH), "weight") is Verdict.NOT_MET


def test_rules_of_its_own_are_judged_like_any(amended: Amended, held: Callable[..., Check]) -> None:
    rule = BOOK.partition("rules:\n")[2].partition("  - id: tyres")[0].replace("weight", "own", 1)
    books = amended(f"{COMPANY}proved_on: 2026-01-01\nrules:\n{rule}")
    assert verdict(held(books, MARCH), "own") is Verdict.MET
    assert [book.id for book in books.books] == ["book", "crew"]


def test_changes_to_a_rule_that_was_not_chosen_are_let_be(amended: Amended) -> None:
    ghost = COMPANY + changed("6600 lb").replace("rule: weight", "rule: ghost")
    assert amended(ghost, elsewhere=frozenset({"ghost"})).changes


STATES = ["US-UT", "US-ID", "US-NV", "US-AZ"]


@given(
    limits=st.lists(st.integers(5000, 6999), min_size=1, max_size=4),
    day=st.dates(date(2026, 1, 1), date(2026, 12, 31)),
)
def test_more_places_never_loosen(
    tmp_path_factory: pytest.TempPathFactory, limits: list[int], day: date
) -> None:
    """The stricter of all places touched stands, whatever their order."""
    folder = tmp_path_factory.mktemp("rules")
    sources = SOURCES + "".join(
        f"  - {{id: s{n}, title: S, issuer: a, edition: b, jurisdiction: {STATES[n]}, "
        "read_as: text seen, look_again: 2030-01-01}\n"
        for n in range(len(limits))
    )
    (folder / "sources.yaml").write_text(sources)
    (folder / "book.yaml").write_text(BOOK)
    for number, limit in enumerate(limits):
        head = f"id: a{number}\ntitle: A\nlayer: place\njurisdiction: {STATES[number]}\n"
        text = changed(f"{limit} lb", days="from: 2026-01-01, until: 2027-01-01")
        body = text.replace("source: print, at: p. 9", f"source: s{number}, at: x")
        (folder / f"a{number}.yaml").write_text(f"kind: amendment\n{head}{body}")
    books = combine_rulebooks([load_rulebooks(folder)])
    places = STATES[: len(limits)]
    for order in (places, places[::-1]):
        rule = rules_in_force(books, order, day).books[0].rules[0]
        (value,) = rule.thresholds["most"].values
        assert value.text == f"{min(limits)} lb"
