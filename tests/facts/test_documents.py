"""Facts name the shipped documents that they come from."""

import re

from checker.facts.catalogue import catalogue
from checker.facts.documents import NAMED_AS, documents_of
from checker.facts.view import Facts
from tests.shipped import shipped_rules

CITES = re.compile(r"CFR|EN 12195-1|Directive|GDV|Code|Guide")
"""Words that only the name of a document has in a fact's source."""


def test_each_document_is_a_shipped_one_and_some_fact_names_it() -> None:
    assert Facts  # the module that puts every fact into the catalogue
    named = {name for fact in catalogue().values() for name in documents_of(fact)}
    assert named == set(NAMED_AS) <= set(shipped_rules().sources)


def test_a_fact_that_cites_is_found_under_a_document() -> None:
    lost = [
        fact.name
        for fact in catalogue().values()
        if CITES.search(fact.source) and not documents_of(fact)
    ]
    assert lost == []


def test_the_aggregate_rests_on_part_393_alone() -> None:
    # FACTS.md: its source is 49 CFR 393.106(d).
    assert documents_of(catalogue()["article.aggregate_working_load_limit"]) == ["cfr-49-393"]
