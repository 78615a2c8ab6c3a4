"""Take stated fields out of a load and look for rules that gain by it.

Leaving something out may make a rule undecided. It may never help: no rule that is not met or
not stated with a field may be met, or not apply, without it.

One pair of fields is stated by another. The LC on a label is that of the whole lashing, so that a
rule that counts LC takes hooks and tensioner that are left out from the label.
"""

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from checker.documents.schemas import definition
from checker.evaluation.evaluator import evaluate
from checker.evaluation.rule_rows import DOES_NOT_APPLY, MET, NOT_MET, NOT_STATED, VERDICTS, expand
from checker.facts.agreement import pull_problems
from checker.facts.catalogue import catalogue
from checker.load.build import Profile
from checker.load.model import Load
from checker.load.names import lost_names
from checker.load.plausible.reading import refusals
from checker.load.references import Merged
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import NONE, Number
from tests.stated_fields import Leaf, leaves, without

if TYPE_CHECKING:
    from checker.documents.problems import DataPath

DAY = date(2026, 6, 1)
BAD = [NOT_MET, NOT_STATED]
GOOD = [MET, DOES_NOT_APPLY]

Verdicts = dict[str, NDArray[np.int8]]
Wanted = Callable[[Rule], bool]
Row = tuple[Leaf, ...]
"""The numbers and answers that one row of a load leaves out."""


STATED_BY_LC = tuple(
    f"{part}_{rating}"
    for part in ("hooks", "tensioner")
    for rating in ("lashing_capacity", "working_load_limit")
)
"""Fields of a tiedown for which the LC on its label speaks."""


def counts_lc(rule: Rule) -> bool:
    """True if a rule is calculated from the LC of lashings."""
    waiting = set(rule.facts)
    seen: set[str] = set()
    while waiting:
        name = waiting.pop()
        seen.add(name)
        waiting |= set(catalogue()[name].uses) - seen
    return "tiedown.fittings_lashing_capacity" in seen


class Gain(NamedTuple):
    """A rule that is better off without some fields than with them."""

    rule: str
    without: tuple[str, ...]
    before: Verdict
    after: Verdict


def refused(merged: Merged) -> bool:
    """True if no report would be made of the load: names or figures in it contradict each other."""
    if lost_names(merged) + refusals(merged.data, merged.locations):
        return True
    return any(pull_problems(Profile(merged, Path("tried.yaml")).stated))


class Trial:
    """A load and the rules it is held against, with fields left out of it."""

    def __init__(self, merged: Merged, books: Rulebooks, wanted: Wanted = lambda _: True) -> None:
        # No rule reads what the crew carries.
        self.merged = merged = replace(merged, gear=None)
        self.books = _only(books, wanted)
        stated = self.verdicts(merged, [()])
        # A rule of a place that the whole load does not go to is not asked, nor one that is met.
        self.stated = {rule: rows[0] for rule, rows in stated.items() if rows[0] in BAD}
        self.books = _only(books, lambda rule: wanted(rule) and rule.id in self.stated)
        self.by_lc = {
            rule.id for book in self.books.books for rule in book.rules if counts_lc(rule)
        }
        fields = leaves(merged.data, definition("load"))
        rest = [leaf for leaf in fields if leaf.path[0] != "variances"]
        self.numbers = [leaf for leaf in rest if _is_number(leaf)]
        self.words = [leaf for leaf in rest if not _is_number(leaf)]

    def gains(self, words: Sequence[Leaf], random: Random, pairs: int) -> set[Gain]:
        """Every gain from leaving out one number or one of `words`, or one with another field.

        `pairs` is how many pairs of numbers are tried, and how many numbers beside each word.
        """
        pairs = min(pairs, len(self.numbers) // 2)
        two = [tuple(random.sample(self.numbers, 2)) for _ in range(pairs)]
        found = self._gains(self.merged, (), [*((leaf,) for leaf in self.numbers), *two])
        for word in words:
            rest = replace(self.merged, data=without(self.merged, word.path))
            others = random.sample(self.numbers, pairs)
            found |= self._gains(rest, (word,), [(), *((leaf,) for leaf in others)])
            other = random.choice(self.words)
            if pairs and other is not word:
                rest = replace(rest, data=without(rest, other.path))
                found |= self._gains(rest, (word, other), [()])
        return found

    def _gains(self, rest: Merged, gone: Row, rows: Sequence[Row]) -> set[Gain]:
        """Gains in rows of a load from which some words are gone already."""
        if lost_names(rest):  # of which no load can be made
            return set()
        found = {
            Gain(
                rule,
                tuple(leaf.field for leaf in (*gone, *rows[row])),
                VERDICTS[self.stated[rule]],
                VERDICTS[after[row]],
            )
            for rule, after in self.verdicts(rest, rows).items()
            for row in np.flatnonzero(np.isin(after, GOOD))
            if not self._stated_by_lc(rule, (*gone, *rows[row]))
        }
        # Asked last, because few loads have gains and the plausibility of all figures costs more.
        return set() if found and refused(rest) else found

    def _stated_by_lc(self, rule: str, without: Row) -> bool:
        """True if hooks or tensioner are left out, for which a label with an LC speaks."""
        return rule in self.by_lc and any(leaf.path[-1] in STATED_BY_LC for leaf in without)

    def verdicts(self, merged: Merged, rows: Sequence[Row]) -> Verdicts:
        """The worst verdict of each rule in every row."""
        load = load_of(merged, rows)
        rules = [rule for book in self.books.books for rule in book.rules]
        # A rule of a place that the trip does not touch is not asked.
        found = {rule.id: np.full(load.rows, DOES_NOT_APPLY, dtype=np.int8) for rule in rules}
        for each in evaluate(load, self.books, DAY):
            found[each.rule.id] = expand(each.verdicts, load.rows)
        return found


def _only(books: Rulebooks, wanted: Wanted) -> Rulebooks:
    """The rulebooks that have a wanted rule, with these rules alone."""
    chosen = (
        replace(book, rules=tuple(rule for rule in book.rules if wanted(rule)))
        for book in books.books
    )
    return replace(books, books=tuple(book for book in chosen if book.rules))


def _is_number(leaf: Leaf) -> bool:
    answer = leaf.node.get("enum") == ["yes", "no"]
    return (answer or "quantity" in leaf.node) and not isinstance(leaf.stated, list)


def load_of(merged: Merged, rows: Sequence[Row]) -> Load:
    """The load with one row for each set of numbers and answers to leave out."""
    values: dict[DataPath, Number] = {}
    for index, row in enumerate(rows):
        for leaf in row:
            if leaf.path not in values:
                values[leaf.path] = np.full(len(rows), _stated(leaf))
            values[leaf.path][index] = np.nan
    return Profile(merged, Path("tried.yaml")).load(values)


def _stated(leaf: Leaf) -> float:
    if leaf.node.get("enum"):
        return float(leaf.stated == "yes")
    if leaf.stated == leaf.node.get("word_for_none"):
        return NONE
    return float(leaf.stated) if isinstance(leaf.stated, int | float) else leaf.value
