"""The rules that come with the program: they load, prove themselves, and cite what they say."""

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import pytest

from checker.evaluation.check import Check
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.places import citations
from checker.upkeep.proving import prove

Held = Callable[[Mapping[str, Any]], Check]


@pytest.fixture(scope="session")
def rules(books: Rulebooks) -> list[Rule]:
    return [rule for book in books.books for rule in book.rules]


def test_every_shipped_rule_is_proved(books: Rulebooks) -> None:
    proved = prove(books)
    assert proved.failures == ()
    assert proved.unnoticed == ()
    assert proved.idle == ()
    assert proved.proved


def test_federal_law_and_common_practice_are_both_there(books: Rulebooks) -> None:
    us = [rule for book in books.books if book.jurisdiction == "US" for rule in book.rules]
    practice = [rule for book in books.books if book.jurisdiction == "any" for rule in book.rules]
    assert len(us) + len(practice) >= 60
    assert {rule.basis for rule in us} == {"law"}
    assert "law" not in {rule.basis for rule in practice}
    assert len(books.tables) == 1


def test_an_id_is_used_once(books: Rulebooks, rules: list[Rule]) -> None:
    ids = [rule.id for rule in rules]
    assert sorted(set(ids)) == sorted(ids)
    titles = [rule.title for rule in rules if rule.basis == "law"]
    assert sorted(set(titles)) == sorted(titles)
    assert len({book.id for book in books.books}) == len(books.books)


def test_every_citation_leads_to_a_document_and_a_clause(
    books: Rulebooks, rules: list[Rule]
) -> None:
    for citation in (each for rule in rules for each in citations(rule)):
        if citation.source is not None:
            assert books.sources[citation.source.id] is citation.source
            assert citation.at


def test_no_citation_names_its_clause_twice(rules: list[Rule]) -> None:
    for rule in rules:
        at, source = rule.citation.at, rule.citation.source
        assert source is None or not source.title.endswith(f", {at}"), rule.id


def test_the_split_of_the_machine_is_named_our_own(rules: list[Rule]) -> None:
    # The trade's split is 60 to 40, of the load ahead of and behind the axle.
    splits = {"machine-weight-on-axles": "least", "machine-weight-on-tongue": "most"}
    notes = [
        value.note
        for rule in rules
        if rule.id in splits
        for value in rule.thresholds[splits[rule.id]].values
    ]
    assert len(notes) == 2
    assert all("figure is ours" in note for note in notes)


def test_a_passenger_car_tyre_on_a_trailer_counts_less(rules: list[Rule]) -> None:
    # 49 CFR 571.110 S4.2.2.2: its rating is divided by 1.10.
    (because,) = (rule.because for rule in rules if rule.id == "trailer-tyre-within-rating")
    assert "A passenger-car tyre" in because
    assert "1.10" in because


def test_every_document_is_cited(books: Rulebooks, rules: list[Rule]) -> None:
    scopes = [book.scope for book in books.books if book.scope]
    cited = {
        each.source.id for rule in (*rules, *scopes) for each in citations(rule) if each.source
    }
    cited |= {each.citation.source.id for each in books.tables if each.citation.source}
    assert sorted(books.sources.keys() - cited) == []


def test_a_must_rests_on_a_document_that_was_read(rules: list[Rule]) -> None:
    """A copy or a memory of a law is advice; practice without any document is the crew's own."""
    for rule in rules:
        sources = [each.source for each in citations(rule) if each.source]
        if rule.level == "must" and sources:
            read = {each.read_as for each in sources}
            assert read & {"text seen", "on the equipment itself"}, rule.id


def test_only_common_practice_stands_without_a_document(rules: list[Rule]) -> None:
    for rule in rules:
        assert (rule.citation.source is None) == (rule.basis == "common practice"), rule.id


def test_no_words_to_a_crew_promise_too_much(rules: list[Rule]) -> None:
    for rule in rules:
        text = rule.text
        said = " ".join(getattr(text, name) or "" for name in text.__struct_fields__)
        assert not re.search(r"\b(?:safe|safely|approved|certified|guaranteed?)\b", said), rule.id


def test_every_rule_says_why_and_what_to_do(rules: list[Rule]) -> None:
    for rule in rules:
        assert len(rule.because) > 20, rule.id
        assert len(rule.text.fix) > 10, rule.id
        assert rule.because.rstrip().endswith((".", "!", "?")), rule.id


def test_every_rule_says_how_it_reads_when_broken(rules: list[Rule]) -> None:
    silent = [rule.id for rule in rules if not rule.text.broken]
    assert silent == [], "a shipped rule states `broken`"
    alike = [rule.id for rule in rules if rule.text.broken == rule.text.title]
    assert alike == [], "`broken` is the title in the form that is true when the rule is not met"


def test_a_federal_threshold_says_since_which_day(books: Rulebooks) -> None:
    """Figures read in the 2015 edition start on its day, and no earlier."""
    starts = {
        value.starts.isoformat()
        for book in books.books
        if book.jurisdiction == "US"
        for rule in book.rules
        for threshold in rule.thresholds.values()
        for value in threshold.values
    }
    assert starts == {"2015-10-01"}


def test_nothing_stated_is_never_a_pass(held: Held) -> None:
    done = held({})
    assert done.outcome == "open"
    verdicts = {each.rule.id: each.verdict for each in done.findings}
    assert set(verdicts.values()) == {"not stated"}


def test_every_rule_left_undecided_says_what_it_waits_for(held: Held) -> None:
    waiting = [each for each in held({}).findings if not each.missing and each.reason is None]
    assert [each.rule.id for each in waiting] == []


def test_documents_are_looked_at_again_within_two_years(
    books: Rulebooks, record_property: Callable[[str, object], None]
) -> None:
    """Those whose day is past are counted in the test report; a date must not turn it red."""
    days = [source.look_again for source in books.sources.values()]
    assert max(days) <= date(2028, 6, 1)
    record_property("documents to look at again", sum(day <= date.today() for day in days))
