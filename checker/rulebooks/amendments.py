"""Checks amendments against the rules they change.

An amendment states the value that it expects to replace (`was`). It is refused where the rulebook
has another value on any of its days, where another file changes the same on one of them, or where
it is less strict than a law. A change that counts on no day, because somebody took it back, is not
checked.
"""

import itertools
from collections.abc import Iterator, Sequence

from checker.documents.problems import Problem, listed, nearest, suggestion_for
from checker.rulebooks.days import Days
from checker.rulebooks.direction import narrows
from checker.rulebooks.jurisdictions import has_law, is_inside, touches
from checker.rulebooks.model import (
    Amendment,
    Change,
    DatedValue,
    Rule,
    Rulebook,
    Rulebooks,
    Threshold,
)
from checker.rulebooks.timeline import COMPANY, PLACE, stack_of
from checker.units.parsing import KINDS


def amendment_problems(
    rulebooks: Rulebooks, *, elsewhere: frozenset[str] = frozenset()
) -> list[Problem]:
    """Every problem of the changes: expected value, days, source, loosened law.

    Changes to rules named in `elsewhere`, which are known but not among these rulebooks, are not
    checked.
    """
    rules = {rule.id: (book, rule) for book in rulebooks.books for rule in book.rules}
    found: list[Problem] = []
    counting = [each for each in rulebooks.changes if each.days.first_from(each.starts)]
    for change in counting:
        book_and_rule = rules.get(change.rule_id)
        if book_and_rule is not None:
            found += _problems_of_change(change, *book_and_rule)
        elif change.rule_id not in elsewhere:
            guess = suggestion_for(change.rule_id, rules, found)
            wanted = "the id of a rule, as `cinchbook rules` lists them"
            found.append(_problem_at(change, "rule", f"the rule '{change.rule_id}'", wanted, guess))
    located = {(each.file, each.mark) for each in found}
    days = _check_days(counting, rulebooks)
    return found + [each for each in days if (each.file, each.mark) not in located]


def _problem_at(
    change: Change, line: str, found: str, wanted: str, suggestion: str | None = None
) -> Problem:
    at = change.locations.get(line, change.locations[""])
    return Problem(at.file, at.mark, found, wanted, suggestion)


def _problems_of_change(change: Change, book: Rulebook, rule: Rule) -> Iterator[Problem]:
    yield from _check_source(change)
    if change.threshold is None:
        yield from _check_loosened(change, book, rule, "the repeal")
        return
    threshold = rule.thresholds.get(change.threshold)
    if threshold is None:
        guess = nearest(change.threshold, rule.thresholds)
        wanted = f"a threshold of {rule.id}: {listed(rule.thresholds) or 'it has none'}"
        found = f"the threshold '{change.threshold}'"
        yield _problem_at(change, "threshold", found, wanted, guess and f"'{guess}'")
        return
    wrong = list(_check_was(change, threshold))
    yield from wrong
    if wrong:
        return
    if change.value is None:
        yield from _check_loosened(change, book, rule, "a figure that is not yet known")
        return
    new, text = change.value.quantity, f"'{change.value.text}'"
    own = _own_values(change, threshold)
    if any(threshold.looser(new, old) for old in own):
        yield from _check_loosened(change, book, rule, text)
    elif any(narrows(rule, threshold, new, old) for old in own):
        words = f"{text}, with which `when` may hold for fewer loads"
        yield from _check_loosened(change, book, rule, words)


def _own_values(change: Change, threshold: Threshold) -> list[DatedValue]:
    """The rulebook's own values on the days of a change."""
    return [
        value for value in threshold.values if change.days.overlap(Days(value.starts, value.ends))
    ]


def _check_was(change: Change, threshold: Threshold) -> Iterator[Problem]:
    """A problem where the rulebook's value differs from `was`, or is of another kind."""
    under = _own_values(change, threshold)
    if not under or under[0].starts > change.starts:
        first = threshold.values[0]
        wanted = f"a day from {first.starts} on, when the rulebook's first value begins"
        yield _problem_at(change, "from", f"`from: {change.starts}`", wanted)
        return
    for value in under:
        if change.was is not None and change.was.value != value.quantity.value:
            since = f" from {value.starts}" if value.starts > change.starts else ""
            wanted = f"'{value.text}', the rulebook's own value{since} ({value.location})"
            found = "another value than the one to be changed"
            yield _problem_at(change, "was", found, wanted)
            return
    new = change.value.quantity if change.value else None
    for line, stated in (("was", change.was), ("value", new)):
        kind = KINDS[under[0].quantity.kind]
        # Not by dimension: a share and a bare number have none, and 60 is no 60 %.
        if stated is not None and stated.kind != kind.name:
            yield _problem_at(change, line, KINDS[stated.kind].noun, kind.wanted)


def _check_source(change: Change) -> Iterator[Problem]:
    """A problem where the law of a jurisdiction cites no document of that jurisdiction."""
    amendment, source = change.amendment, change.citation.source
    if amendment.layer != PLACE:
        return
    if source is None:
        yield _problem_at(
            change, "common_practice", "no source", "the law of the jurisdiction as `source`"
        )
    elif not is_inside(source.jurisdiction, amendment.jurisdiction):
        found = f"a document of jurisdiction {source.jurisdiction}"
        wanted = f"the law of {amendment.jurisdiction} itself"
        yield _problem_at(change, "source", found, wanted)


def _check_loosened(change: Change, book: Rulebook, rule: Rule, what: str) -> Iterator[Problem]:
    """Problems: a company is less strict than a law, or the law of one place than that of another.

    Or a looser value has no name or reason.
    """
    line = "value" if change.threshold else "rule"
    where = change.amendment.jurisdiction
    by_place = change.amendment.layer == PLACE and has_law(book.jurisdiction)
    if by_place and touches(book.jurisdiction, [where]) != 1:
        found = f"{what} by the law of {where}, which is less strict than {book.jurisdiction}'s"
        wanted = f"the law of {book.jurisdiction} or of a part of it"
        yield _problem_at(change, line, found, wanted)
        return
    if rule.basis == "law" and change.amendment.layer == COMPANY:
        found = f"{what}, which is less strict than the law ({rule.citation})"
        wanted = "a stricter value; only the law of a jurisdiction may loosen a law"
        yield _problem_at(change, line, found, wanted)
        return
    yield from _check_reason(change, f"{what}, which is less strict than before")


def _check_reason(change: Change, what: str) -> Iterator[Problem]:
    """A problem where a looser value, or a repeal, has no reason or no name."""
    absent = [key for key in ("because", "by") if getattr(change, key) is None]
    if absent:
        line = "value" if change.threshold else "rule"
        found = f"{what}, without {' and '.join(absent)}"
        yield _problem_at(change, line, found, "a reason (`because`) and a name (`by`)")


def _check_days(changes: Sequence[Change], rulebooks: Rulebooks) -> Iterator[Problem]:
    """Problems of two changes on one day: of two files, two repeals, or a change never in force.

    Or the later one is less strict than the one it stands in, without a reason or a name.
    """
    stacks: dict[object, list[Change]] = {}
    for change in changes:
        stacks.setdefault(stack_of(change), []).append(change)
    pairs = [pair for stack in stacks.values() for pair in itertools.combinations(stack, 2)]
    for earlier, later in pairs:
        if not earlier.days.overlap(later.days):
            continue
        if earlier.amendment is not later.amendment or later.threshold is None:
            earlier, later = sorted((earlier, later), key=lambda each: each.starts)
            found = (
                f"a change from {later.starts} while another is in force ({earlier.locations['']})"
            )
            wanted = f"`until: {later.starts}` or earlier on that one"
            if later.threshold:
                wanted += ", or both in one file, in which the later one counts on its days"
            yield _problem_at(later, "from", found, wanted)
        elif _covers(later.days, earlier.days):
            found = f"a change of which no day is left: a later one counts ({later.locations['']})"
            wanted = (
                "the earlier one corrected or withdrawn: `cinchbook amend --correct`, `--withdraw`"
            )
            yield _problem_at(earlier, "from", found, wanted)
        elif _is_looser(later, earlier, rulebooks):
            yield from _check_reason(
                later, "a value that is less strict than the change it stands in"
            )


def _is_looser(later: Change, earlier: Change, rulebooks: Rulebooks) -> bool:
    """True if a change is less strict than another; an unknown figure is the least strict."""
    known = rulebooks.rule(later.rule_id)
    threshold = known[1].thresholds.get(later.threshold or "") if known else None
    if threshold is None or earlier.value is None:
        return False
    return later.value is None or threshold.looser(later.value.quantity, earlier.value)


def _covers(later: Days, earlier: Days) -> bool:
    """True if all days of one are surely days of the other."""
    ends_later = later.ends is None or (earlier.ends is not None and earlier.ends <= later.ends)
    same_season = later.season in (None, earlier.season)
    return same_season and ends_later and later.starts <= earlier.starts


def jurisdiction_is_missing(amendment: Amendment) -> bool:
    """True if an amendment by law does not say of which jurisdiction."""
    return amendment.layer == PLACE and not has_law(amendment.jurisdiction)
