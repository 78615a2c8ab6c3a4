"""What of an arrangement each rule in force reads, so that it is evaluated for that alone."""

from collections.abc import Iterator
from enum import IntEnum
from typing import NamedTuple

from checker.advice.arrange.front_structure import BLOCKED, TOUCHES, is_blocked_by_it
from checker.evaluation.evaluator import BookEvaluator, Evaluated
from checker.facts.catalogue import ANSWER, Fact, catalogue
from checker.facts.view import Subject
from checker.rulebooks.model import Rule


class Reads(IntEnum):
    """What a rule reads of an arrangement, the cheapest to evaluate first."""

    NOTHING = 0
    """Nothing that an arrangement changes."""
    PLACES = 1
    """How the articles stand."""
    ONE_TIEDOWN = 2
    """Besides that, one tiedown."""
    TIEDOWNS = 3
    """Several tiedowns, each by few facts of its own (`Influence.leaves`)."""
    STATICS = 4
    """Several tiedowns and how they run, mostly by linear programmes."""


class Key(NamedTuple):
    """A rule of a rulebook."""

    book: str
    rule: str


class Influence(NamedTuple):
    """What the rules read.

    `leaves` are the facts of single tiedowns through which rules of `Reads.TIEDOWNS` see them, by
    rule in `leaves_of`: tiedowns that agree in these are alike to the rule.
    """

    reads: dict[Key, Reads]
    leaves: tuple[str, ...]
    leaves_of: dict[Key, frozenset[str]]


_PLACED = "articles.*.placed."
_CHOSEN = (
    _PLACED,
    "articles.*.attachments.",
    "trailer.anchors.",
    "tiedowns.",
    TOUCHES,
)
"""Fields that an arrangement changes."""

_BY_PLACE = tuple(each.partition(".*.")[2] for each in (_PLACED, TOUCHES, BLOCKED))

_ALIKE_BY_SHAPE = (
    "tiedowns.*.path",
    "tiedowns.*.device",
    "tiedowns.*.anchor",
    "tiedowns.*.far_anchor",
)
"""Of these, facts of an article read words or count anchors. Plans with tiedowns of one shape, each
on anchors of its own, are alike in them."""


_BY_BLOCKS = (".chocked", ".blocking.", ".blocks.")
"""What blocks change: alike in all plans with the same ones."""


def influence(evaluated: Evaluated, *, blocks: bool = False) -> Influence:
    """What each rule in reach reads, by the profile fields behind its facts.

    With `blocks` a plan may also put blocks of the gear on the deck.
    The load must have at least two tiedowns to every article, else a rule about one and a rule
    about all look the same.
    """
    reads = {
        Key(each.book.id, rule.id): _of_rule(each, rule, _BY_BLOCKS if blocks else ())
        for each in evaluated.in_reach()
        for rule in each.book.rules
    }
    leaves_of = {
        key: frozenset(_leaves_of_rule(each, rule))
        for each in evaluated.in_reach()
        for rule in each.book.rules
        if reads[key := Key(each.book.id, rule.id)] is Reads.TIEDOWNS
    }
    leaves = dict.fromkeys(leaf for each in leaves_of.values() for leaf in sorted(each))
    return Influence(reads, tuple(leaves), leaves_of)


def _names(evaluator: BookEvaluator, rule: Rule) -> set[str]:
    scope = evaluator.book.scope
    return {*rule.facts, *(scope.facts if scope else ())}


def _of_rule(evaluator: BookEvaluator, rule: Rule, by_blocks: tuple[str, ...]) -> Reads:
    subject = next(iter(evaluator.subjects(rule)), None)
    by_place = (*_BY_PLACE, *by_blocks)
    found = max(
        (_of_fact(evaluator, name, subject, by_place) for name in _names(evaluator, rule)),
        default=Reads.NOTHING,
    )
    if found is Reads.TIEDOWNS and not all(map(_is_discrete, _leaves_of_rule(evaluator, rule))):
        return Reads.STATICS
    return found


def _of_fact(
    evaluator: BookEvaluator, name: str, subject: Subject | None, by_place: tuple[str, ...]
) -> Reads:
    fields = evaluator.facts.fields(name, subject)
    own = f"tiedowns.{subject.index + 1}." if subject and subject.each == "tiedown" else None
    tiedowns = [each for each in fields if each.startswith("tiedowns")]
    if any(own is None or not each.startswith(own) for each in tiedowns):
        chosen: tuple[str, ...] = _CHOSEN
        if any(map(is_blocked_by_it, evaluator.facts.load.articles)):
            chosen = (*chosen, BLOCKED)
        return Reads.TIEDOWNS if _through_leaves(catalogue()[name], chosen) else Reads.STATICS
    if tiedowns:
        return Reads.ONE_TIEDOWN
    if any(part in each for each in fields for part in by_place):
        return Reads.PLACES
    return Reads.NOTHING


def _through_leaves(fact: Fact, chosen: tuple[str, ...]) -> bool:
    """True if it sees what an arrangement changes through facts of single tiedowns alone."""
    if fact.each == "tiedown":
        return True
    return not any(
        field.startswith(chosen) and field not in _ALIKE_BY_SHAPE
        for field in (*fact.fields, *fact.instead)
    ) and all(_through_leaves(catalogue()[each], chosen) for each in fact.uses)


def _leaves_of_rule(evaluator: BookEvaluator, rule: Rule) -> Iterator[str]:
    for name in _names(evaluator, rule):
        yield from _leaves(catalogue()[name])


def _leaves(fact: Fact) -> Iterator[str]:
    if fact.each == "tiedown":
        yield fact.name
        return
    for each in fact.uses:
        yield from _leaves(catalogue()[each])


def _is_discrete(name: str) -> bool:
    """True if a fact of a tiedown has few values, however everything stands."""
    return catalogue()[name].kind == ANSWER or not _reads_places(catalogue()[name])


def _reads_places(fact: Fact) -> bool:
    return any(each.startswith(_PLACED) for each in (*fact.fields, *fact.instead)) or any(
        _reads_places(catalogue()[each]) for each in fact.uses
    )
