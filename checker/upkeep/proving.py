"""Runs every rule's worked cases, and proves that they guard every number, date and comparison.

A proof that cannot fail proves nothing. So each threshold value and printed metric figure is moved
a little both ways, each date by a day, each table cell too, and each comparison is made strict or
loose; each time some proof must fail. Every fact that a rule names must decide at least one case.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from msgspec.structs import replace

from checker.evaluation.dated_rule import evaluate_case
from checker.facts.unmarked import UnmarkedRating, UnmarkedRatings
from checker.rulebooks.citations import Location
from checker.rulebooks.days import Stretch
from checker.rulebooks.model import DatedValue, Rule, Rulebook, Rulebooks, Threshold
from checker.rulebooks.rating_tables import RatingsTable
from checker.rulebooks.rule_reading import compile_in_rule
from checker.units.arithmetic import NOT_STATED, Number, equal
from checker.units.kinds import SECONDS_OF_A_DAY
from checker.units.parsing import Quantity
from checker.upkeep.same_days import changes_no_verdict, moved_together

NUDGE = 0.001
"""Share by which a number is nudged; a proof close to a threshold lies within it."""

_DAY = timedelta(days=1)
_FLIPPED = {"<=": "<", ">=": ">", "<": "<=", ">": ">="}


@dataclass(frozen=True, slots=True)
class Failure:
    """A proof whose verdict or figure is not the expected one."""

    rule: str
    proof: str
    expected: str
    found: str
    location: Location


@dataclass(frozen=True, slots=True)
class Unnoticed:
    """A change of a rule that makes none of its proofs fail."""

    rule: str
    change: str
    location: Location


@dataclass(frozen=True, slots=True)
class Proved:
    """The result of `prove`. `proved` is true when no proof fails and every change is noticed."""

    rules: int
    proofs: int
    nudges: int
    failures: tuple[Failure, ...]
    unnoticed: tuple[Unnoticed, ...]
    idle: tuple[Unnoticed, ...]
    """Facts a rule names that decide none of its proofs."""

    @property
    def proved(self) -> bool:
        """True if there is nothing to fix."""
        return not (self.failures or self.unnoticed or self.idle)


def prove(rulebooks: Rulebooks) -> Proved:
    """The result of all proofs of the rulebooks, loaded with their proofs, and of all nudges."""
    rules = [rule for book in rulebooks.books for rule in _rules_of(book)]
    failures: list[Failure] = []
    unnoticed: list[Unnoticed] = []
    idle: list[Unnoticed] = []
    nudges = 0
    for rule in rules:
        failing = list(_failures(rule))
        failures += failing
        if failing:
            # While a proof fails without a nudge, every nudge would seem to be noticed.
            continue
        for change, changed in _changes(rule):
            nudges += 1
            if not any(_failures(changed)):
                gap = _gap(rule, change, changed)
                unnoticed += [Unnoticed(rule.id, gap, rule.location)] if gap else []
        idle += _idle_facts(rule)
    for book in rulebooks.books if not failures else ():
        for change, changed_rules in _day_changes(book):
            nudges += 1
            if not any(any(_failures(changed)) for changed in changed_rules):
                first = changed_rules[0]
                name = first.id if len(changed_rules) == 1 else book.id
                unnoticed.append(Unnoticed(name, change, first.location))
    for table in rulebooks.tables:
        failing = list(_table_failures(table))
        failures += failing
        if failing:
            continue
        for change, altered in _table_changes(table):
            nudges += 1
            if not any(_table_failures(altered)):
                where = Location(table.file, table.proofs[0].location.mark)
                unnoticed.append(Unnoticed(table.id, change, where))
    proofs = sum(len(rule.proofs) for rule in rules)
    proofs += sum(len(table.proofs) for table in rulebooks.tables)
    return Proved(
        rules=len(rules) + len(rulebooks.tables),
        proofs=proofs,
        nudges=nudges,
        failures=tuple(failures),
        unnoticed=tuple(unnoticed),
        idle=tuple(idle),
    )


def _rules_of(book: Rulebook) -> list[Rule]:
    return [*book.rules, *((book.scope,) if book.scope else ())]


def _day_changes(book: Rulebook) -> Iterator[tuple[str, list[Rule]]]:
    """Each first and last day of rules moved by a day; one of the rulebook moves for all rules."""
    shared = (book.days.starts, book.days.ends) if book.days else ()
    groups: dict[tuple[str, date, int], list[Rule]] = {}
    for index, rule in enumerate(_rules_of(book)):
        if rule.days is None:
            continue
        for edge, day in (("from", rule.days.starts), ("until", rule.days.ends)):
            if day is not None and day != date.min:
                which = -1 if day in shared else index
                groups.setdefault((edge, day, which), []).append(rule)
    for (edge, day, _), rules in groups.items():
        for step in (_DAY, -_DAY):
            altered = [replace(rule, days=_moved(rule, edge, day + step)) for rule in rules]
            yield f"{edge} {day + step} in place of {day}", altered


def _moved(rule: Rule, edge: str, day: date) -> Stretch:
    assert rule.days is not None
    return replace(rule.days, starts=day) if edge == "from" else replace(rule.days, ends=day)


def _gap(rule: Rule, change: str, changed: Rule) -> str | None:
    """The change that no proof notices; None where no load could show it, alone or with others."""
    if not changes_no_verdict(rule, changed):
        return change
    together = moved_together(rule, changed)
    if together is None or any(_failures(together)):
        return None
    return f"{change}, with all its numbers that change on that day"


def _failures(rule: Rule) -> Iterator[Failure]:
    for proof in rule.proofs:
        facts = {name: proof.given.get(name, NOT_STATED) for name in rule.facts}
        judged = evaluate_case(rule, facts, proof.on, metric=proof.metric)
        if judged.verdict != proof.expect:
            yield Failure(rule.id, proof.name, proof.expect, judged.verdict, proof.location)
        for label, wanted in proof.shows.items():
            shown = float(rule.shows[label].value(judged.env))
            if not _agree(shown, wanted):
                yield Failure(
                    rule.id, proof.name, f"{label} {wanted:g}", f"{shown:g}", proof.location
                )


def _agree(found: Number, wanted: float) -> bool:
    """True if a figure is the one expected, or is not stated where none is expected."""
    return equal(found, wanted) == 1 or bool(np.isnan(found) and np.isnan(wanted))


def _idle_facts(rule: Rule) -> Iterator[Unnoticed]:
    """Facts of the rule whose absence changes no proof: nothing shows that they decide."""
    for name in rule.facts:
        for proof in rule.proofs:
            without = {key: value for key, value in proof.given.items() if key != name}
            facts = {key: without.get(key, NOT_STATED) for key in rule.facts}
            judged = evaluate_case(rule, facts, proof.on, metric=proof.metric)
            gone = any(
                not _agree(rule.shows[label].value(judged.env), wanted)
                for label, wanted in proof.shows.items()
            )
            if judged.verdict != proof.expect or gone:
                break
        else:
            yield Unnoticed(
                rule.id, f"without {name} every proof gives the same result", rule.location
            )


def _changes(rule: Rule) -> Iterator[tuple[str, Rule]]:
    """Every nudged variant of a rule, with a description."""
    for name, threshold in rule.thresholds.items():
        for change, values in _threshold_changes(threshold, rule.days):
            altered = {**rule.thresholds, name: replace(threshold, values=values)}
            yield f"{name} {change}", replace(rule, thresholds=altered)
    yield from _flips(rule)


def _threshold_changes(
    threshold: Threshold, in_force: Stretch | None
) -> Iterator[tuple[str, tuple[DatedValue, ...]]]:
    """Each value and each date of a threshold moved, one at a time.

    Where one value follows another, the day between them is one date and moves for both. A date
    that moves over a day on which the rule is not in force changes nothing, and is left out.
    """

    def counts(day: date, moved: date) -> bool:
        return in_force is None or in_force.holds_on(min(day, moved))

    values = threshold.values

    def with_changes(*changed: tuple[int, DatedValue]) -> tuple[DatedValue, ...]:
        put = dict(changed)
        return tuple(put.get(index, value) for index, value in enumerate(values))

    for index, value in enumerate(values):
        for quantity in nudged(value.quantity):
            way = "higher" if quantity.value > value.quantity.value else "lower"
            changed = replace(value, quantity=quantity)
            yield f"{value.text} a little {way}", with_changes((index, changed))
        if value.metric_print:
            for quantity in nudged(value.metric_print):
                way = "higher" if quantity.value > value.metric_print.value else "lower"
                changed = replace(value, metric_print=quantity)
                yield f"{value.metric_text} a little {way}", with_changes((index, changed))
        for days in (_DAY, -_DAY):
            starts = value.starts + days
            if counts(value.starts, starts):
                moved = [(index, replace(value, starts=starts))]
                if index:
                    moved.append((index - 1, replace(values[index - 1], ends=starts)))
                words = f"{value.text} from {starts} in place of {value.starts}"
                yield words, with_changes(*moved)
            if value.ends and index == len(values) - 1:
                ends = value.ends + days
                if counts(value.ends, ends):
                    words = f"{value.text} until {ends} in place of {value.ends}"
                    yield words, with_changes((index, replace(value, ends=ends)))


def nudged(quantity: Quantity) -> Iterator[Quantity]:
    """The quantity a little higher and a little lower; bare whole numbers and days by one."""
    whole = quantity.kind == "number" and quantity.value == int(quantity.value)
    step = 1.0 if whole else abs(quantity.value) * NUDGE
    if quantity.kind == "day":
        step = SECONDS_OF_A_DAY
    # A share of zero is zero, so a threshold of zero is moved by a fixed amount.
    step = step or NUDGE
    for value in (quantity.value + step, quantity.value - step):
        yield replace(quantity, value=value)


def _flips(rule: Rule) -> Iterator[tuple[str, Rule]]:
    """Each comparison of `when` and `requires` made strict or loose, one at a time."""
    for key in ("when", "requires"):
        formula = rule.when if key == "when" else rule.requires
        if formula is None:
            continue
        for sign in re.finditer(r"[<>]=?", formula.text):
            flipped = _FLIPPED[sign[0]]
            text = formula.text[: sign.start()] + flipped + formula.text[sign.end() :]
            compiled = compile_in_rule(text, rule.for_each, rule.thresholds)
            change = f"{key} with {flipped} for {sign[0]} in `{formula.text}`"
            if key == "when":
                yield change, replace(rule, when=compiled)
            else:
                yield change, replace(rule, requires=compiled)


def _table_failures(table: RatingsTable) -> Iterator[Failure]:
    for proof in table.proofs:
        asked = proof.asked
        thickness = NOT_STATED if asked.thickness is None else asked.thickness
        found = table.on(proof.on).rating(asked.device, asked.grade, asked.size, thickness)
        wanted = NOT_STATED if proof.expect is None else proof.expect
        if not _agree(found, wanted):
            yield Failure(table.id, proof.name, f"{wanted:g} N", f"{found:g} N", proof.location)


def _table_changes(table: RatingsTable) -> Iterator[tuple[str, RatingsTable]]:
    rows = table.ratings.rows
    for index, row in enumerate(rows):
        for way in (1 + NUDGE, 1 - NUDGE):
            changed = replace(row, working_load_limit=row.working_load_limit * way)
            altered = (*rows[:index], changed, *rows[index + 1 :])
            yield (
                _cell_words(row, way),
                replace(table, ratings=UnmarkedRatings(altered, table.ratings.counts_as)),
            )
    for key in table.ratings.counts_as:
        fewer = {other: to for other, to in table.ratings.counts_as.items() if other != key}
        yield (
            f"without reading {key[0]} as another",
            replace(table, ratings=UnmarkedRatings(rows, fewer)),
        )
    yield from _moved_dates(table)


def _cell_words(row: UnmarkedRating, way: float) -> str:
    grade = f" grade {row.grade}" if row.grade else ""
    return f"{row.device}{grade} {row.size:.4f} m a little {'higher' if way > 1 else 'lower'}"


def _moved_dates(table: RatingsTable) -> Iterator[tuple[str, RatingsTable]]:
    for days in (_DAY, -_DAY):
        moved: date = table.starts + days
        yield f"from {moved} in place of {table.starts}", replace(table, starts=moved)
        if table.ends:
            moved = table.ends + days
            yield f"until {moved} in place of {table.ends}", replace(table, ends=moved)
