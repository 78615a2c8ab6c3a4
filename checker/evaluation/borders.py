"""What a border changes: rules that begin, end, ask for other figures or ask otherwise."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from checker.evaluation.finding import Finding
from checker.rulebooks.model import DatedValue, Rule
from checker.rulebooks.unread_subjects import SUBJECTS
from checker.rulebooks.verdicts import Verdict

Findings = Mapping[str, Finding]
"""The findings of the rules in force in one place, by rule id."""


class Difference(StrEnum):
    """What a border changes in what is asked."""

    BEGINS = "begins"
    ENDS = "ends"
    FIGURES = "other figures"
    WORDS = "asked otherwise"
    RULE = "another rule on the subject"
    NONE = "the same"


class FigureChange(Struct, frozen=True):
    """A figure on both sides of a border; None where it has no value on the day.

    `stricter` is True if the one behind the border is the stricter, and None where nobody knows.
    """

    name: str
    before: DatedValue | None
    after: DatedValue | None
    stricter: bool | None


class RuleChange(Struct, frozen=True):
    """A rule in force on one side of a border alone, or on each side one about the same thing.

    `subject` is what it is about in the law, where that is known. `figures` are those that differ,
    of rules that are alike but for their figures.
    """

    difference: Difference
    subject: str | None
    before: Finding | None
    after: Finding | None
    figures: tuple[FigureChange, ...] = ()


def rule_changes(
    before: Findings, after: Findings, subjects: Mapping[str, str], on: date
) -> tuple[RuleChange, ...]:
    """Every rule that is in force on one side of a border alone, or has another figure there.

    `subjects` has the subject of the law of each rule, where it is known. The same border crossed
    the other way has the same pairs.
    """
    found = [
        _pair(finding, after[rule_id], subjects, on)
        for rule_id, finding in before.items()
        if rule_id in after and after[rule_id] is not finding
    ]
    found = [each for each in found if each.difference is not Difference.NONE]
    ends = {rule_id: each for rule_id, each in before.items() if rule_id not in after}
    begins = {rule_id: each for rule_id, each in after.items() if rule_id not in before}

    def subject(finding: Finding) -> str | None:
        return subjects.get(finding.rule.id)

    rows = [*_alike(ends.values(), begins.values(), subject, alone=True)]
    for key in (_name, _about):
        for one, other in [*_alike(ends.values(), begins.values(), key)]:
            found.append(_pair(ends.pop(one.rule.id), begins.pop(other.rule.id), subjects, on))
    for one, other in rows:
        if one.rule.id in ends and other.rule.id in begins:
            pair = _pair(ends.pop(one.rule.id), begins.pop(other.rule.id), subjects, on)
            found.append(replace(pair, difference=Difference.RULE))
    found += [RuleChange(Difference.BEGINS, subject(e), None, e) for e in begins.values()]
    found += [RuleChange(Difference.ENDS, subject(e), e, None) for e in ends.values()]
    order = {name: index for index, name in enumerate(SUBJECTS)}
    return tuple(sorted(found, key=lambda each: order.get(each.subject or "", len(order))))


def _alike(
    ends: Iterable[Finding],
    begins: Iterable[Finding],
    key: Callable[[Finding], str | None],
    *,
    alone: bool = False,
) -> Iterator[tuple[Finding, Finding]]:
    """Pairs of rules with the same key: first those that apply to the load, of smaller places.

    With `alone` only those whose key no other rule on their side has.
    """
    by_key: dict[str, tuple[list[Finding], list[Finding]]] = {}
    for side, findings in enumerate((ends, begins)):
        for finding in findings:
            if name := key(finding):
                by_key.setdefault(name, ([], []))[side].append(finding)
    for both in by_key.values():
        if alone and any(len(side) > 1 for side in both):
            continue
        yield from zip(*(sorted(side, key=_order) for side in both), strict=False)


def _name(finding: Finding) -> str:
    """What a rule is called among those of its place: its id without the place."""
    return finding.rule.id.removeprefix(f"{finding.book.jurisdiction.lower()}-")


def _about(finding: Finding) -> str | None:
    return finding.rule.about


def _order(finding: Finding) -> tuple[bool, int, str]:
    is_idle = finding.verdict is Verdict.DOES_NOT_APPLY
    return is_idle, -finding.book.jurisdiction.count("-"), finding.rule.id


def _pair(before: Finding, after: Finding, subjects: Mapping[str, str], on: date) -> RuleChange:
    one, other = before.rule, after.rule
    figures = tuple(_figure_changes(one, other, on)) if _are_alike(one, other) else ()
    difference = Difference.WORDS
    if _are_alike(one, other):
        difference = Difference.FIGURES if figures else Difference.NONE
    subject = subjects.get(other.id) or subjects.get(one.id)
    return RuleChange(difference, subject, before, after, figures)


def _are_alike(one: Rule, other: Rule) -> bool:
    """True if two rules differ at most in figures, texts and sources."""
    return _form(one) == _form(other)


def _form(rule: Rule) -> tuple[object, ...]:
    when = rule.when and rule.when.text
    return when, rule.requires.text, rule.for_each, rule.level, [*rule.thresholds]


def _figure_changes(one: Rule, other: Rule, on: date) -> Iterator[FigureChange]:
    for name, threshold in other.thresholds.items():
        old, new = one.thresholds[name].on(on), threshold.on(on)
        if old is None or new is None:
            if old is not new:
                yield FigureChange(name, old, new, None)
        elif old.quantity.value != new.quantity.value:
            known = threshold.stricter != "none"
            stricter = not threshold.looser(new.quantity, old) if known else None
            yield FigureChange(name, old, new, stricter)
