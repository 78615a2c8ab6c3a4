"""The semantic difference between two sets of rules: what was loosened, tightened, added, removed.

It is read from the rules alone. Loads that turn by it are found by `season/impact.py`.
"""

from collections.abc import Iterable, Iterator
from datetime import date

from msgspec.structs import replace

from checker.rulebooks.model import Change, Rule, Rulebook, Rulebooks
from checker.upkeep.review.difference import Difference, Effect, Kind
from checker.upkeep.review.figures import RuleWithChanges, figure_differences
from checker.upkeep.review.rules import book_differences, rule_differences
from checker.upkeep.review.tables import table_differences, variance_differences


def differences(before: Rulebooks, after: Rulebooks) -> list[Difference]:
    """All differences; rules are compared by their ids."""
    old, new = _Rules(before), _Rules(after)
    return [
        *_books(old, new),
        *_rules(old, new),
        *table_differences(before, after),
        *variance_differences(before, after),
    ]


def in_order(found: Iterable[Difference]) -> list[Difference]:
    """Loosened ones first, then by name."""
    order = {effect: index for index, effect in enumerate(Effect)}
    return sorted(found, key=lambda each: (order[each.effect], each.name, each.threshold))


class _Rules:
    """The rules of one set by id, with their changes."""

    def __init__(self, rulebooks: Rulebooks) -> None:
        self.books = {book.id: book for book in rulebooks.books}
        self.rules = {rule.id: (book, rule) for book in rulebooks.books for rule in book.rules}
        self.changes: dict[str, list[Change]] = {}
        for change in rulebooks.changes:
            self.changes.setdefault(change.rule_id, []).append(change)

    def with_changes(self, rule_id: str) -> RuleWithChanges:
        return RuleWithChanges(*self.rules[rule_id], self.changes.get(rule_id, ()))

    def days_of(self, rules: Iterable[Rule]) -> frozenset[date]:
        """The days on which figures of these rules change."""
        found: set[date] = set()
        for rule in rules:
            for threshold in rule.thresholds.values():
                for value in threshold.values:
                    found |= {value.starts} | ({value.ends} if value.ends else set())
            for change in self.changes.get(rule.id, ()):
                found |= change.days.turns(change.starts, change.starts)
        return frozenset(found)


def _books(old: _Rules, new: _Rules) -> Iterator[Difference]:
    """Rulebooks that are new or gone; rules that another rulebook has are not counted."""
    for book in old.books.values():
        left = [rule for rule in book.rules if rule.id not in new.rules]
        if book.id not in new.books and left:
            words = (_count(left), "no longer in use")
            yield _whole_book(book, left, Effect.LOOSENED, words, old.days_of(left))
    for book in new.books.values():
        added = [rule for rule in book.rules if rule.id not in old.rules]
        if book.id not in old.books and added:
            words = ("not in use", _count(added))
            yield _whole_book(book, added, Effect.TIGHTENED, words, new.days_of(added))
        was = old.books.get(book.id)
        if was is not None and was is not book:
            yield from book_differences(was, book)
            yield from _scopes(was, book)


def _whole_book(
    book: Rulebook,
    rules: list[Rule],
    effect: Effect,
    words: tuple[str, str],
    figures_change: frozenset[date],
) -> Difference:
    return Difference(
        effect=effect,
        kind=Kind.RULEBOOK,
        name=book.id,
        title=book.title,
        before=words[0],
        after=words[1],
        location=str(book.location or book.file),
        place=book.jurisdiction,
        days=tuple(each for each in (book.days,) if each),
        rules=frozenset(rule.id for rule in rules),
        figures_change=figures_change,
    )


def _count(rules: list[Rule]) -> str:
    must = sum(rule.level == "must" for rule in rules)
    return f"{len(rules)} rule{'' if len(rules) == 1 else 's'}, {must} of them must"


def _scopes(old: Rulebook, new: Rulebook) -> Iterator[Difference]:
    """Figures of the conditions under which all rules of a rulebook apply."""
    if old.scope and new.scope:
        sides = RuleWithChanges(old, old.scope, ()), RuleWithChanges(new, new.scope, ())
        ids = frozenset(rule.id for rule in new.rules)
        for each in figure_differences(*sides):
            yield replace(each, rules=ids)


def _rules(old: _Rules, new: _Rules) -> Iterator[Difference]:
    for rule_id, (book, rule) in old.rules.items():
        if rule_id not in new.rules and book.id in new.books:
            yield _whole_rule(rule, Effect.LOOSENED, (rule.level, "gone"), old.days_of([rule]))
    told = set()
    for rule_id, (book, rule) in new.rules.items():
        if rule_id not in old.rules:
            if book.id in old.books:
                yield _whole_rule(
                    rule, Effect.TIGHTENED, ("not there", rule.level), new.days_of([rule])
                )
            continue
        its_book, its = old.rules[rule_id]
        if its_book.id != book.id and (its_book.id, book.id) not in told:
            told.add((its_book.id, book.id))
            yield from book_differences(its_book, book)
        if its is not rule:
            same = its_book.days == book.days
            yield from rule_differences(its, rule, same_book_days=same)
        if its is not rule or old.changes.get(rule_id) or new.changes.get(rule_id):
            sides = old.with_changes(rule_id), new.with_changes(rule_id)
            yield from figure_differences(*sides)


def _whole_rule(
    rule: Rule, effect: Effect, words: tuple[str, str], figures_change: frozenset[date]
) -> Difference:
    return Difference(
        effect=effect,
        kind=Kind.RULE,
        name=rule.id,
        title=rule.title,
        before=words[0],
        after=words[1],
        location=str(rule.location),
        days=tuple(each for each in (rule.days,) if each),
        rules=frozenset({rule.id}),
        figures_change=figures_change,
    )
