"""What changes at each border of a trip through several places, in the order of travel.

A check decides every rule that is in force anywhere on its trip. Here each place has its own: the
rules in force there, with the figures that its law sets. Only what reads the place is evaluated
again, as for a trip through that place alone.
"""

from functools import cache
from itertools import groupby, pairwise

from msgspec import Struct
from msgspec.structs import replace

from checker.documents.jurisdiction_codes import place_name
from checker.evaluation.borders import Findings, RuleChange, rule_changes
from checker.evaluation.check import Check, Finding, finding_of
from checker.evaluation.evaluator import BookEvaluator
from checker.evaluation.outcome import OUTCOMES, Outcome, OutcomeRows
from checker.evaluation.rule_rows import DOES_NOT_APPLY, VERDICTS
from checker.facts.catalogue import catalogue
from checker.facts.view import Facts
from checker.rulebooks.jurisdictions import is_inside, touches_at
from checker.rulebooks.layering import rules_in_force
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.unread_subjects import SUBJECTS, unread_subjects
from checker.rulebooks.verdicts import Verdict


class Leg(Struct, frozen=True):
    """One place of a trip, with the findings of the rules in force there, by rule id.

    `outcome` is that of a trip through this place alone; `unread` are the subjects of its law that
    no rulebook in force holds, or that its own rows of the law tables do not hold in full. `parts`
    are places inside it that the trip may touch: their rules are undecided.
    """

    place: str
    name: str
    findings: Findings
    outcome: Outcome
    unread: tuple[str, ...]
    parts: tuple[str, ...]


class Border(Struct, frozen=True):
    """Where a trip goes from one place into the next, with every rule that differs."""

    before: Leg
    after: Leg
    changes: tuple[RuleChange, ...]


class Route(Struct, frozen=True):
    """The places of a trip in the order of travel, and the borders between them."""

    legs: tuple[Leg, ...]
    borders: tuple[Border, ...]


def route_of(check: Check, rulebooks: Rulebooks) -> Route | None:
    """The route of a check by the same rulebooks; None for a trip that crosses no border."""
    places = check.load.trip.places or ()
    if len(set(places)) < 2:
        return None
    rows = [(table.subject, row) for table in rulebooks.law_tables for row in table.rows]
    subjects = {
        rule.id: subject
        for book in rulebooks.books
        if len(book.subjects) == 1
        for subject in book.subjects
        for rule in book.rules
    }
    subjects |= {rule_id: subject for subject, row in rows for rule_id in row.rules}
    names = {row.place: row.name for _, row in rows}
    by_place = {
        place: _leg(place, names.get(place) or place_name(place), check, rulebooks)
        for place in dict.fromkeys(places)
    }
    legs = tuple(by_place[place] for place, _ in groupby(places))
    borders = tuple(
        Border(before, after, rule_changes(before.findings, after.findings, subjects, check.on))
        for before, after in pairwise(legs)
    )
    return Route(legs, borders)


def _leg(place: str, name: str, check: Check, rulebooks: Rulebooks) -> Leg:
    codes = check.load.trip.places
    assert codes is not None
    here = replace(
        rulebooks,
        books=tuple(b for b in rulebooks.books if touches_at(b.jurisdiction, place, codes) != 0),
        changes=tuple(
            each
            for each in rulebooks.changes
            if touches_at(each.amendment.jurisdiction, place, codes) != 0
        ),
    )
    load = replace(check.load, trip=replace(check.load.trip, places=(place,)))
    facts = Facts(load, check.facts.unmarked)
    in_force = [
        BookEvaluator(facts, book, check.on, corners=load.rows)
        for book in rules_in_force(here, (place,), check.on).books
    ]
    in_force = [each for each in in_force if each.verdicts[0] != DOES_NOT_APPLY]
    found = {each.book.id: _findings(each, check) for each in in_force}
    outcome = OutcomeRows(1)
    for findings in found.values():
        for finding in findings.values():
            outcome.add(finding.rows)
    (code,) = outcome.outcomes(load, rulebooks, check.on)
    applies = [(each.book, each.verdicts != DOES_NOT_APPLY) for each in in_force]
    unread = {*unread_subjects((place,), applies).get(place, ())}
    unread |= {
        table.subject
        for table in rulebooks.law_tables
        for row in table.rows
        if not row.holds_subject and is_inside(place, row.place)
    }
    known = [each for each in in_force if each.here == 1]
    return Leg(
        place=place,
        name=name,
        findings={rule: each for book in known for rule, each in found[book.book.id].items()},
        outcome=OUTCOMES[code],
        unread=tuple(each for each in SUBJECTS if each in unread),
        parts=tuple(dict.fromkeys(e.book.jurisdiction for e in in_force if e.here != 1)),
    )


def _findings(evaluator: BookEvaluator, check: Check) -> dict[str, Finding]:
    """The findings of one rulebook in one place: those of the trip, but for what reads the place.

    A rule that no longer applies because of the place is not in force there.
    """
    on_trip = {each.rule.id: each for each in check.findings if each.book.id == evaluator.book.id}
    applies = next(e.verdict for e in check.in_force if e.book.id == evaluator.book.id)
    is_alike = VERDICTS[evaluator.verdicts[0]] is applies
    found = {}
    for rule in evaluator.book.rules:
        finding = on_trip.get(rule.id)
        reads_place = not _facts_of_places().isdisjoint(rule.facts)
        if (
            finding is None
            or reads_place
            or not is_alike
            or finding.rule.thresholds != rule.thresholds
        ):
            finding = finding_of(evaluator, rule)
        if not (reads_place and finding.verdict is Verdict.DOES_NOT_APPLY):
            found[rule.id] = finding
    return found


@cache
def _facts_of_places() -> frozenset[str]:
    """The facts that come from the places of a trip."""
    known = catalogue().items()
    found = {name for name, fact in known if "trip.places" in (*fact.fields, *fact.instead)}
    while more := {name for name, fact in known if name not in found and found & {*fact.uses}}:
        found |= more
    return frozenset(found)
