"""The digest of the rules covers everything that verdicts depend on."""

import pytest
from msgspec.structs import replace

from checker.rulebooks.model import Amendment, Rulebooks
from checker.season.running.worker import digest_of_rules
from tests.shipped import shipped_rules


@pytest.fixture(scope="module")
def rules() -> Rulebooks:
    amendment = Amendment("a", "A", "company", "any", digest="0", file="a.yaml")
    return replace(shipped_rules(), amendments=(amendment,))


@pytest.mark.parametrize("kind", ["books", "tables", "amendments"])
def test_another_text_of_any_rule_file_is_another_digest(rules: Rulebooks, kind: str) -> None:
    first, *others = getattr(rules, kind)
    edited = replace(rules, **{kind: (replace(first, digest="another"), *others)})
    fewer = replace(rules, **{kind: tuple(others)})
    assert len({digest_of_rules(each) for each in (rules, edited, fewer)}) == 3
    assert digest_of_rules(replace(edited, **{kind: (first, *others)})) == digest_of_rules(rules)


def test_ids_that_variances_may_name_are_in_the_digest(rules: Rulebooks) -> None:
    known = [replace(rules, elsewhere=frozenset(ids)) for ids in ("", "ab", "ba", "abc")]
    none, some, same, more = map(digest_of_rules, known)
    assert some == same
    assert len({none, some, more}) == 3


def test_what_is_only_shown_is_in_no_digest(rules: Rulebooks) -> None:
    assert digest_of_rules(replace(rules, sources={}, coverages=())) == digest_of_rules(rules)
