"""Reads amendments from their files and checks them against the rules they change.

An amendment states the value that it expects to replace (`was`). It is refused where the rulebook
has another value on any of its days, where its days overlap or leave a gap, or where it is less
strict than a law.
"""

import itertools
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any, Final

from checker.documents.document import Document
from checker.documents.problems import DataPath, Problem, listed, nearest, suggestion_for
from checker.rulebooks.jurisdictions import has_law, is_inside
from checker.rulebooks.layering import COMPANY, PLACE
from checker.rulebooks.model import (
    Amendment,
    Change,
    DatedValue,
    Rule,
    Rulebooks,
    Threshold,
)
from checker.rulebooks.rule_file_set import RuleFileSet, location
from checker.units.parsing import KINDS

NOT_YET_KNOWN: Final = "not yet known"


def read_changes(document: Document, amendment: Amendment, files: RuleFileSet) -> Iterator[Change]:
    """The changes and repeals of one file; adds their problems to `files`."""
    data: Any = document.data
    for section in ("changes", "repeals"):
        for index, stated in enumerate(data.get(section, ())):
            path: DataPath = (section, index)
            locations = {key: location(document, (*path, key)) for key in stated}
            locations[""] = location(document, path)
            citation = files.cite(stated, document, path)
            starts = date.fromisoformat(stated["from"])
            ends = date.fromisoformat(stated["until"]) if "until" in stated else None
            was = value = None
            if "was" in stated:
                was = files.read_quantity(stated["was"], document, (*path, "was"))
            if stated.get("value", NOT_YET_KNOWN) != NOT_YET_KNOWN:
                quantity = files.read_quantity(stated["value"], document, (*path, "value"))
                if quantity is not None:
                    value = DatedValue(
                        quantity=quantity,
                        text=str(stated["value"]),
                        metric_print=None,
                        metric_text=None,
                        starts=starts,
                        ends=ends,
                        citation=citation,
                        note=None,
                        location=locations["value"],
                    )
            yield Change(
                amendment=amendment,
                rule_id=stated["rule"],
                threshold=stated.get("threshold"),
                was=was,
                value=value,
                starts=starts,
                ends=ends,
                citation=citation,
                because=stated.get("because"),
                by=stated.get("by"),
                locations=locations,
            )


def amendment_problems(
    rulebooks: Rulebooks, *, elsewhere: frozenset[str] = frozenset()
) -> list[Problem]:
    """Every problem of the changes: expected value, days, source, loosened law.

    Changes to rules named in `elsewhere`, which are known but not among these rulebooks, are not
    checked.
    """
    rules = {rule.id: rule for book in rulebooks.books for rule in book.rules}
    found: list[Problem] = []
    for change in rulebooks.changes:
        rule = rules.get(change.rule_id)
        if rule is not None:
            found += _problems_of_change(change, rule)
        elif change.rule_id not in elsewhere:
            guess = suggestion_for(change.rule_id, rules, found)
            wanted = "the id of a rule, as `cinchbook rules` lists them"
            found.append(_problem_at(change, "rule", f"the rule '{change.rule_id}'", wanted, guess))
    return found + list(_check_days(rulebooks.changes))


def _problem_at(
    change: Change, line: str, found: str, wanted: str, suggestion: str | None = None
) -> Problem:
    at = change.locations.get(line, change.locations[""])
    return Problem(at.file, at.mark, found, wanted, suggestion)


def _problems_of_change(change: Change, rule: Rule) -> Iterator[Problem]:
    if change.ends is not None and change.ends <= change.starts:
        yield _problem_at(change, "until", f"`until: {change.ends}`", f"after {change.starts}")
    yield from _check_source(change)
    if change.threshold is None:
        yield from _check_loosened(change, rule, "the repeal")
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
    if wrong or change.value is None:
        return
    if any(
        threshold.looser(change.value.quantity, old.quantity)
        for old in _own_values(change, threshold)
    ):
        yield from _check_loosened(change, rule, f"'{change.value.text}'")


def _own_values(change: Change, threshold: Threshold) -> list[DatedValue]:
    """The rulebook's own values on the days of a change."""
    return [
        value
        for value in threshold.values
        if (value.ends is None or change.starts < value.ends)
        and (change.ends is None or value.starts < change.ends)
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
        dimension = KINDS[under[0].quantity.kind].dimension
        if stated is not None and KINDS[stated.kind].dimension != dimension:
            wanted = KINDS[under[0].quantity.kind].wanted
            yield _problem_at(change, line, KINDS[stated.kind].noun, wanted)


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


def _check_loosened(change: Change, rule: Rule, what: str) -> Iterator[Problem]:
    """Problems: a company is less strict than a law, or a looser value has no name or reason."""
    line = "value" if change.threshold else "rule"
    if rule.basis == "law" and change.amendment.layer == COMPANY:
        found = f"{what}, which is less strict than the law ({rule.citation})"
        wanted = "a stricter value; only the law of a jurisdiction may loosen a law"
        yield _problem_at(change, line, found, wanted)
        return
    absent = [key for key in ("because", "by") if getattr(change, key) is None]
    if absent:
        found = f"{what}, which is less strict than before, without {' and '.join(absent)}"
        yield _problem_at(change, line, found, "a reason (`because`) and a name (`by`)")


def _check_days(changes: Sequence[Change]) -> Iterator[Problem]:
    """Problems: changes of one layer and jurisdiction to one threshold overlap or leave a gap."""

    def same(change: Change) -> tuple[str, str, str, str]:
        amendment = change.amendment
        return (change.rule_id, change.threshold or "", amendment.layer, amendment.jurisdiction)

    ordered = sorted(changes, key=lambda change: (same(change), change.starts))
    for earlier, later in itertools.pairwise(ordered):
        if same(earlier) != same(later):
            continue
        if earlier.ends is None or earlier.ends > later.starts:
            found = (
                f"a change from {later.starts} while another is in force ({earlier.locations['']})"
            )
            wanted = f"`until: {later.starts}` or earlier on that one"
        elif earlier.ends < later.starts and later.threshold:
            found = f"no change from {earlier.ends} until {later.starts}"
            wanted = "changes that follow each other; the rulebook's own value may be one of them"
        else:
            continue
        yield _problem_at(later, "from", found, wanted)


def jurisdiction_is_missing(amendment: Amendment) -> bool:
    """True if an amendment by law does not say of which jurisdiction."""
    return amendment.layer == PLACE and not has_law(amendment.jurisdiction)
