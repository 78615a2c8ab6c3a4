"""Variances: signed permissions to go against one rule with one load.

A variance never makes a rule met. It only keeps a rule that is not met, or too close to call, from
holding the load on its days. What is not stated stays open, and no must-rule of law is excused.
"""

from collections.abc import Iterator
from datetime import date
from enum import StrEnum

from checker.documents.problems import Problem, nearest
from checker.load.model import Load, Variance
from checker.rulebooks.days import within
from checker.rulebooks.model import DatedValue, Rule, Rulebooks
from checker.rulebooks.timeline import PLACE


class VarianceStatus(StrEnum):
    """The status of a variance on a day."""

    IN_USE = "in use"
    NOT_NEEDED = "not needed"
    NOT_BEGUN = "not begun"
    EXPIRED = "expired"


def may_be_excused(rule: Rule) -> bool:
    """True if a variance may excuse the rule: never a must-rule of law.

    A jurisdiction changes rules by its own law, so a number that it set is law whatever the basis
    of the rule, and stays so below a company's stricter one.
    """
    if rule.level != "must":
        return True
    values = [value for threshold in rule.thresholds.values() for value in threshold.values]
    return rule.basis != "law" and not any(map(_set_by_a_place, values))


def _set_by_a_place(value: DatedValue) -> bool:
    below = value.replaces is not None and _set_by_a_place(value.replaces)
    return below or (value.change is not None and value.change.amendment.layer == PLACE)


def faults(load: Load, rulebooks: Rulebooks) -> Iterator[Problem]:
    """A problem for each variance of an unknown rule, a law's must-rule, or the same days twice."""
    ordered = sorted(load.variances, key=lambda each: (each.rule, each.starts))
    for variance in ordered:
        found = rulebooks.rule(variance.rule)
        if found is None:
            if variance.rule not in rulebooks.elsewhere:
                known = [rule.id for book in rulebooks.books for rule in book.rules]
                guess = nearest(variance.rule, known)
                hint = guess and f"'{guess}'"
                yield _problem(variance, f"the rule '{variance.rule}'", "the id of a rule", hint)
        elif not may_be_excused(found[1]):
            found_words = f"a variance of {variance.rule}, which is law ({found[1].citation})"
            yield _problem(
                variance, found_words, "no variance: only the law can excuse from this rule"
            )
        if variance.ends <= variance.starts:
            found_words = f"a variance that ends on {variance.ends}"
            yield _problem(variance, found_words, f"`until` after {variance.starts}")
    longest: dict[str, Variance] = {}
    for variance in ordered:
        # Reported once for each, against the earlier one that lasts longest.
        before = longest.get(variance.rule)
        if before is not None and variance.starts < before.ends:
            found_words = f"a second variance of {variance.rule} from {variance.starts}"
            yield _problem(
                variance, found_words, f"one at a time; the other holds until {before.ends}"
            )
        if before is None or variance.ends > before.ends:
            longest[variance.rule] = variance


def _problem(variance: Variance, found: str, wanted: str, suggestion: str | None = None) -> Problem:
    location = variance.location
    return Problem(location.file, location.mark, found, wanted, suggestion)


def variance_in_force(load: Load, rule: Rule, day: date) -> Variance | None:
    """The variance of a rule in force on a day, if the rule may be excused."""
    if not load.variances or not may_be_excused(rule):
        return None
    mine = (each for each in load.variances if each.rule == rule.id)
    return next((each for each in mine if within(day, each.starts, each.ends)), None)


def variance_status(variance: Variance, day: date, *, in_use: bool) -> VarianceStatus:
    """The status of a variance on a day; `in_use` says that it excuses something then."""
    if day < variance.starts:
        return VarianceStatus.NOT_BEGUN
    if day >= variance.ends:
        return VarianceStatus.EXPIRED
    return VarianceStatus.IN_USE if in_use else VarianceStatus.NOT_NEEDED
