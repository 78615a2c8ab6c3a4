"""Amendments: what they change on which day and trip, and what is refused at which line.

Expected verdicts are worked out by hand from the figures in the texts below.
"""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.documents.problems import ProblemsFoundError
from checker.evaluation.check import Check, check
from checker.load.model import Load
from checker.rulebooks.layering import rules_in_force
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.selection import combine_rulebooks
from checker.rulebooks.verdicts import Verdict

SOURCES = """
kind: sources
sources:
  - {id: print, title: The Print, issuer: a test, edition: first, jurisdiction: any,
     read_as: text seen, look_again: 2030-01-01}
  - {id: utah, title: Utah Code, issuer: a test, edition: first, jurisdiction: US-UT,
     read_as: text seen, look_again: 2030-01-01}
  - {id: idaho, title: Idaho Code, issuer: a test, edition: first, jurisdiction: US-ID,
     read_as: text seen, look_again: 2030-01-01}
"""
BOOK = """
kind: rulebook
id: book
title: A book
jurisdiction: any
proved_on: 2026-01-01
rules:
  - id: weight
    title: Not too heavy
    question: limits
    requires: trailer.gvwr <= most
    thresholds:
      most:
        stricter: lower
        values:
          - {value: 7000 lb, from: 2020-01-01, until: 2027-01-01, source: print, at: p. 1}
          - {value: 6500 lb, from: 2027-01-01, source: print, at: p. 2}
    source: print
    at: p. 1
    basis: law
    level: must
    because: it is so
    fix: mend it
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
  - id: tyres
    title: Enough tyres
    question: limits
    requires: tow_vehicle.seats >= least
    thresholds:
      least:
        stricter: higher
        values:
          - {value: 4, from: 2020-01-01, common_practice: yes}
    common_practice: yes
    basis: common practice
    level: should
    because: it is so
    fix: mend it
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
"""
COMPANY = "id: crew\ntitle: Crew policy\nlayer: company\njurisdiction: any\n"
UTAH = "id: utah-law\ntitle: Utah law\nlayer: place\njurisdiction: US-UT\n"
IDAHO = "id: idaho-law\ntitle: Idaho law\nlayer: place\njurisdiction: US-ID\n"

Amended = Callable[..., Rulebooks]


@pytest.fixture
def amended(tmp_path: Path) -> Amended:
    """The book above with amendments given as text, each after its head."""

    def read(
        *amendments: str,
        elsewhere: frozenset[str] = frozenset(),
        sources: str = SOURCES,
        book: str = BOOK,
    ) -> Rulebooks:
        (tmp_path / "sources.yaml").write_text(sources)
        (tmp_path / "book.yaml").write_text(book)
        for number, text in enumerate(amendments):
            (tmp_path / f"change-{number}.yaml").write_text(f"kind: amendment\n{text}")
        return combine_rulebooks([load_rulebooks(tmp_path)], elsewhere=elsewhere)

    return read


def refused(amended: Amended, *amendments: str) -> list[str]:
    """Each problem as `line:column: found ...`."""
    with pytest.raises(ProblemsFoundError, match="found") as caught:
        amended(*amendments)
    return [
        f"{each.mark.line}:{each.mark.column}: {str(each).partition(': ')[2]}"
        for each in caught.value.problems
    ]


def changed(
    value: str,
    was: str = "7000 lb",
    days: str = "from: 2026-03-01, until: 2027-01-01",
    rest: str = "source: print, at: p. 9",
) -> str:
    where = f"rule: weight, threshold: most, was: {was}, value: {value}"
    return f"changes:\n  - {{{where}, {days}, {rest}}}\n"


def seats(value: str) -> str:
    """A change of the rule that is the trade's practice."""
    where = f"rule: tyres, threshold: least, was: 4, value: {value}"
    return f"changes:\n  - {{{where}, from: 2026-03-01, common_practice: yes}}\n"


@pytest.fixture
def held(profile: Callable[[str], Load]) -> Callable[..., Check]:
    """A trailer of 6,800 lb and a tow vehicle of 4 seats, held against rulebooks on a day."""

    def hold(books: Rulebooks, day: date, places: str = "[US-UT]") -> Check:
        load = profile(
            f"kind: load\ntrailer: {{gvwr: 6800 lb}}\ntow_vehicle: {{seats: 4}}\n"
            f"trip: {{places: {places}}}\n"
        )
        return check(load, books, day)

    return hold


def verdict(done: Check, rule: str) -> Verdict:
    (found,) = [each.verdict for each in done.findings if each.rule.id == rule]
    return found


MARCH = date(2026, 3, 1)


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


OPEN_END = "from: 2026-03-01, until: 2027-01-01"
JUNE = "from: 2026-06-01, until: 2026-07-01"


@pytest.mark.parametrize(
    ("first", "second", "values"),
    [
        # On 2026-02-28, 03-01, 05-31, 06-01, 07-01 and 12-31; the book's own value is 7000 lb.
        (
            "from: 2026-03-01, until: 2026-06-02",
            "from: 2026-06-01, until: 2026-07-01",
            "7 1 1 2 7 7",
        ),
        (OPEN_END, JUNE, "7 1 1 2 1 1"),
        (OPEN_END, "from: 2026-06-01, until: 2027-01-01", "7 1 1 2 2 2"),
        (
            "from: 2026-03-01, until: 2026-05-31",
            "from: 2026-06-01, until: 2026-07-01",
            "7 1 7 2 7 7",
        ),
        (
            "from: 2026-03-01, until: 2026-06-01",
            "from: 2026-06-01, until: 2026-07-01",
            "7 1 1 2 7 7",
        ),
        (OPEN_END, "from: 2026-02-01, until: 2026-06-01", "2 2 2 1 1 1"),
        (
            OPEN_END,
            "from: 2026-03-01, until: 2027-01-01, each_year: {from: 07-01, until: 06-01}",
            "7 2 2 1 2 2",
        ),
    ],
)
def test_a_later_change_counts_on_its_own_days_alone(
    amended: Amended, first: str, second: str, values: str
) -> None:
    one = changed("6600 lb", days=first)
    two = changed("6550 lb", days=second).removeprefix("changes:\n")
    books = amended(COMPANY + one + two)
    texts = {"7": "7000 lb", "1": "6600 lb", "2": "6550 lb"}
    for day, wanted in zip(
        ("2026-02-28", "2026-03-01", "2026-05-31", "2026-06-01", "2026-07-01", "2026-12-31"),
        values.split(),
        strict=True,
    ):
        held = rules_in_force(books, ["US-UT"], date.fromisoformat(day)).books[0].rules[0]
        value = held.thresholds["most"].on(date.fromisoformat(day))
        assert value is not None
        assert (day, value.text) == (day, texts[wanted])


def test_a_change_that_another_takes_all_days_from_is_refused(amended: Amended) -> None:
    two = changed("6550 lb", days="from: 2026-02-01, until: 2027-01-01").removeprefix("changes:\n")
    (problem,) = refused(amended, COMPANY + changed("6600 lb") + two)
    assert problem.startswith("7:73: found a change of which no day is left: a later one counts (")


def test_two_files_may_not_change_one_day(amended: Amended) -> None:
    other = COMPANY.replace("id: crew", "id: other")
    (problem,) = refused(amended, COMPANY + changed("6600 lb"), other + changed("6550 lb"))
    assert "found a change from 2026-03-01 while another is in force" in problem


TAKEN = "{from: 2026-03-01, by: Ann, because: it was wrong}"


@pytest.mark.parametrize("key", ["withdrawn", "corrected"])
def test_what_was_taken_back_counts_nowhere_and_is_not_checked(
    amended: Amended, held: Callable[..., Check], key: str
) -> None:
    """7,500 lb would be less strict than the law, and in place of a value that is not there."""
    wrong = changed("7500 lb", was="9 in", rest=f"source: print, at: p. 9, {key}: {TAKEN}")
    books = amended(COMPANY + wrong + changed("6600 lb").removeprefix("changes:\n"))
    assert verdict(held(books, MARCH), "weight") is Verdict.NOT_MET
    assert [change.withdrawal is not None for change in books.changes] == [True, False]


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
