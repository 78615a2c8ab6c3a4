"""How good plans are: the counts and the margin that are compared, in an order that can be set."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from checker.advice.arrange.influence import Influence, Key, Reads
from checker.advice.arrange.places import Indices
from checker.advice.arrange.plan_rows import PlanRows, Plans
from checker.evaluation.evaluator import Evaluated, evaluators
from checker.evaluation.rule_rows import Flags, RuleRows, expand
from checker.facts.view import Facts, Subject
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks

OBJECTIVES = ("shoulds", "pieces", "changes", "margin")
"""What is compared after the must-rules, in the order in which it is by default."""

_MOST_ROWS = 4096
_LIMIT = "tiedown.working_load_limit"
_SHARES = tuple(f"tiedown.share_{way}" for way in ("forward", "rearward", "left", "right"))


class RuleTable(NamedTuple):
    """Rules over plans: flags as arrays (rules, rows), the least margin of those met by row."""

    rules: Sequence[Key]
    broken: Flags
    """Must-rules that are not met."""
    undecided: Flags
    """Must-rules that are undecided."""
    short: Flags
    """Should-rules that are not met or not decided."""
    margin: NDArray[np.float64]


class Figures(NamedTuple):
    """The figures of one plan, or those that all plans which go on from a start reach at least."""

    broken: int
    undecided: int
    short: int
    pieces: int
    changes: int
    margin: float

    def key(self, order: Sequence[str]) -> tuple[float, ...]:
        """The figures as they are compared: the smaller key is the better plan.

        Of must-rules that are undecided it counts whether there are any: to be undecided by one
        rule in place of two is worth no change. Margins are rounded, so that the last bits of a sum
        never decide between two plans.
        """
        named = {
            "shoulds": self.short,
            "pieces": self.pieces,
            "changes": self.changes,
            "margin": -round(self.margin, 9),
        }
        return (self.broken, min(self.undecided, 1), *(named[each] for each in order))


class PlanFacts(NamedTuple):
    """The facts of a load whose rows are plans, and which of the plans these are."""

    facts: Facts
    rows: Indices


class Judge:
    """Evaluates the rules in force over plans."""

    def __init__(
        self,
        rows: PlanRows,
        rulebooks: Rulebooks,
        on: date,
        influence: Influence,
    ) -> None:
        """`influence` tells what each rule reads."""
        self._rows, self._on = rows, on
        self._influence = influence
        self._corners = len(rows.signs(rows.choices.profile))
        self._unmarked = rulebooks.unmarked_on(on, rows.choices.load.trip.places)
        self._keys = {
            reads: [key for key, each in influence.reads.items() if each is reads]
            for reads in Reads
        }
        self._rulebooks = {reads: _only(rulebooks, keys) for reads, keys in self._keys.items()}

    def facts(self, plans: Plans) -> Iterator[PlanFacts]:
        """The facts of plans, in parts that are not too large."""
        at_once = max(_MOST_ROWS // self._corners, 1)
        for start in range(0, plans.size, at_once):
            part = np.arange(start, min(start + at_once, plans.size))
            for load, rows in self._rows.loads(plans.take(part)):
                yield PlanFacts(Facts(load, self._unmarked), part[rows])

    def table(
        self,
        plans: Plans,
        reads: Reads,
        article: int | None = None,
        known: Iterable[PlanFacts] | None = None,
    ) -> RuleTable:
        """The rules that read this, over the plans; of one article where its index is given.

        `known` are the facts of the plans where the caller has them.
        """
        of, rulebooks = self._keys[reads], self._rulebooks[reads]
        numbers = {key: number for number, key in enumerate(of)}
        broken, undecided, short = (np.zeros((len(of), plans.size), dtype=bool) for _ in range(3))
        margin = np.full(plans.size, np.inf)
        for facts, at in self.facts(plans) if known is None else known:
            found = evaluators(facts.load, rulebooks, self._on, corners=self._corners, facts=facts)
            for each in _of_article(found, article):
                number = numbers[Key(each.book.id, each.rule.id)]
                if each.rule.level == "must":
                    broken[number, at] = each.broken
                    undecided[number, at] = each.undecided
                else:
                    short[number, at] = each.broken | each.undecided
                margin[at] = np.minimum(margin[at], _spare(each, at.size))
        return RuleTable(of, broken, undecided, short, margin)

    def alike(self, leaves: NDArray[np.float64]) -> frozenset[str]:
        """The leaves that are equal in all rows."""
        if not self._influence.leaves:
            return frozenset()
        same = (leaves == leaves[:1]).all(axis=0).reshape(len(self._influence.leaves), -1)
        return frozenset(
            name
            for name, every in zip(self._influence.leaves, same.all(axis=1), strict=True)
            if every
        )

    def needs_more(self, plans: Plans, article: int, alike: frozenset[str]) -> bool:
        """True if a must-rule is broken by the number of tiedowns that the first plan has.

        That is so where all tiedowns are alike to the rule.
        """
        table = self.table(plans.take([0]), Reads.TIEDOWNS, article)
        return any(
            bool(broken[0]) and self._influence.leaves_of[key] <= alike
            for key, broken in zip(table.rules, table.broken, strict=True)
        )

    def leaves(
        self, known: Sequence[PlanFacts]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Of plans with one tiedown: its leaves in all corners, its length in m, its pulls in N."""
        corners, own = self._corners, len(self._influence.leaves)
        size = sum(each.rows.size for each in known)
        wanted = (*self._influence.leaves, "tiedown.length", _LIMIT, *_SHARES)
        found = np.empty((len(wanted), corners, size))
        for facts, rows in known:
            subject = facts.subjects("tiedown")[0]
            for number, name in enumerate(wanted):
                value = np.broadcast_to(facts.value(name, subject), facts.load.rows)
                found[number][:, rows] = value.reshape(corners, -1)
        leaves = found[:own].reshape(-1, size).T
        pulls = np.nan_to_num(found[own + 1, 0] * found[own + 2 :, 0]).T
        return np.ascontiguousarray(leaves), found[own].max(axis=0), pulls


def _only(rulebooks: Rulebooks, keys: Iterable[Key]) -> Rulebooks:
    """The same with these rules alone."""
    wanted = {*keys}
    books = (
        replace(book, rules=tuple(rule for rule in book.rules if Key(book.id, rule.id) in wanted))
        for book in rulebooks.books
    )
    return replace(rulebooks, books=tuple(book for book in books if book.rules))


def _of_article(found: Evaluated, article: int | None) -> Iterator[RuleRows]:
    """The rows of the rules, of one article or of all."""
    for evaluator in found.in_reach():
        for rule in evaluator.book.rules:
            if article is None or rule.for_each not in ("article", "tiedown"):
                yield evaluator.rule_rows(rule)
                continue
            by_subject = zip(evaluator.subjects(rule), evaluator.by_subject(rule), strict=True)
            own = [rows for each, rows in by_subject if _is_of(found.facts.load, each, article)]
            if own:
                yield evaluator.worst_of(rule, own)


def _is_of(load: Load, subject: Subject | None, article: int) -> bool:
    """True for the article itself and for its tiedowns."""
    if subject is None or subject.each == "article":
        return subject is None or subject.index == article
    return (load.tiedowns or ())[subject.index].article is load.articles[article]


def _spare(each: RuleRows, rows: int) -> NDArray[np.float64]:
    """The margin of a rule that is met; infinite where a share of its limit means nothing."""
    spare = expand(each.spare, rows)
    satisfied = expand(each.satisfied, rows)
    return np.where(satisfied & np.isfinite(spare), spare, np.inf)


def figures_of(table: RuleTable) -> Iterator[Figures]:
    """What rules add to the figures of each plan."""
    counts = [each.sum(axis=0).tolist() for each in (table.broken, table.undecided, table.short)]
    for broken, undecided, short, margin in zip(*counts, table.margin.tolist(), strict=True):
        yield Figures(broken, undecided, short, 0, 0, margin)


def both(one: Figures, other: Figures) -> Figures:
    """The figures with what more rules add."""
    return one._replace(
        broken=one.broken + other.broken,
        undecided=one.undecided + other.undecided,
        short=one.short + other.short,
        margin=min(one.margin, other.margin),
    )
