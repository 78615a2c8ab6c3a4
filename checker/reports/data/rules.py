"""The list of rules, as a document."""

from typing import Final

from msgspec import Struct

from checker.reports.shared.json_document import record_document
from checker.reports.shared.records import CitedClause, cited_clause
from checker.rulebooks.model import Rule, Rulebook, Rulebooks

KIND: Final = "rule-list"


class ListedRule(Struct, frozen=True):
    """A rule of a rulebook."""

    rule: str
    """Id of the rule."""
    title: str
    """Title of the rule."""
    level: str
    """must or should."""
    basis: str
    """What the rule rests on."""
    question: str
    """Part of the check that the rule belongs to."""
    source: CitedClause | None
    """What it rests on; null for common practice."""


class ListedRulebook(Struct, frozen=True):
    """A rulebook with its rules."""

    id: str
    """Id of the rulebook."""
    title: str
    """Title of the rulebook."""
    jurisdiction: str
    """Where it holds: a code of ISO 3166, a region, or any."""
    digest: str
    """Digest of the text of its file."""
    rules: tuple[ListedRule, ...]
    """Its rules, in order."""


class Document(Struct, frozen=True):
    """Every rule by rulebook."""

    rulebooks: tuple[ListedRulebook, ...]
    """The rulebooks, in order."""


def document(rulebooks: Rulebooks) -> str:
    """The rules as a document."""
    return record_document(KIND, Document(tuple(map(_rulebook, rulebooks.books))))


def _rulebook(book: Rulebook) -> ListedRulebook:
    rules = tuple(map(_rule, book.rules))
    return ListedRulebook(book.id, book.title, book.jurisdiction, book.digest, rules)


def _rule(rule: Rule) -> ListedRule:
    source = cited_clause(rule.citation)
    return ListedRule(rule.id, rule.title, rule.level, rule.basis, rule.question, source)
