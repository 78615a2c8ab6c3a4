"""What changes at each border of a trip through several places, in the order of travel.

A check decides every rule that is in force anywhere on its trip. Here each place has its own: the
rules in force there, with the figures that its law sets. Only what reads the place is evaluated
again, as for a trip through that place alone.
"""

from collections.abc import Set
from itertools import groupby, pairwise

from msgspec import Struct
from msgspec.structs import replace

from checker.documents.jurisdiction_codes import place_name
from checker.evaluation.borders import Findings, RuleChange, rule_changes
from checker.evaluation.check import Check
from checker.evaluation.evaluator import BookEvaluator, evaluators
from checker.evaluation.finding import Finding, finding_of
from checker.evaluation.outcome import OUTCOMES, Outcome, OutcomeRows
from checker.evaluation.rule_rows import DOES_NOT_APPLY, VERDICTS
from checker.facts.catalogue import facts_from
from checker.rulebooks.jurisdictions import is_inside, touches_at
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.unread_subjects import SUBJECTS
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
    not_held = [(row.place, subject) for subject, row in rows if not row.holds_subject]
    trip = _Trip(check, rulebooks)
    by_place: dict[str, Leg] = {}
    for place in dict.fromkeys(places):
        unread = {subject for whole, subject in not_held if is_inside(place, whole)}
        by_place[place] = trip.leg(place, names.get(place) or place_name(place), unread)
    legs = tuple(by_place[place] for place, _ in groupby(places))
    borders = tuple(
        Border(before, after, rule_changes(before.findings, after.findings, subjects, check.on))
        for before, after in pairwise(legs)
    )
    return Route(legs, borders)


class _Trip:
    """A check of a whole trip, from which its places take what is the same there."""

    def __init__(self, check: Check, rulebooks: Rulebooks) -> None:
        self.check, self.rulebooks = check, rulebooks
        self.places = check.load.trip.places or ()
        self.verdicts = {entry.book.id: entry.verdict for entry in check.in_force}
        """Whether each rulebook applies to the trip."""
        self.findings: dict[str, dict[str, Finding]] = {}
        for finding in check.findings:
            self.findings.setdefault(finding.book.id, {})[finding.rule.id] = finding

    def leg(self, place: str, name: str, unread_rows: Set[str]) -> Leg:
        """What is in force in one place, with the subjects of its own rows that nobody read."""
        on, facts = self.check.on, self.check.facts.at(place)
        load, rules = facts.load, self._rulebooks_in(place)
        evaluated = evaluators(load, rules, on, corners=load.rows, facts=facts)
        in_force = [each for each in evaluated.books if each.verdicts[0] != DOES_NOT_APPLY]
        found = [(each, self._findings(each)) for each in in_force]
        outcome = OutcomeRows(1)
        for _, findings in found:
            for finding in findings.values():
                outcome.add(finding.rows)
        (code,) = outcome.outcomes(load, self.rulebooks)
        unread = unread_rows | {*self.check.unread_subjects.get(place, ())}
        return Leg(
            place=place,
            name=name,
            findings={
                rule: finding
                for evaluator, findings in found
                if evaluator.here == 1
                for rule, finding in findings.items()
            },
            outcome=OUTCOMES[code],
            unread=tuple(each for each in SUBJECTS if each in unread),
            parts=tuple(dict.fromkeys(e.book.jurisdiction for e in in_force if e.here != 1)),
        )

    def _rulebooks_in(self, place: str) -> Rulebooks:
        """The rulebooks and changes that may hold in a place."""

        def may_hold(jurisdiction: str) -> bool:
            return touches_at(jurisdiction, place, self.places) != 0

        return replace(
            self.rulebooks,
            books=tuple(each for each in self.rulebooks.books if may_hold(each.jurisdiction)),
            changes=tuple(
                each for each in self.rulebooks.changes if may_hold(each.amendment.jurisdiction)
            ),
        )

    def _findings(self, evaluator: BookEvaluator) -> dict[str, Finding]:
        """The findings of one rulebook in a place: those of the trip, but for what reads the place.

        A rule that no longer applies because of the place is not in force there.
        """
        on_trip = self.findings.get(evaluator.book.id, {})
        is_alike = VERDICTS[evaluator.verdicts[0]] is self.verdicts[evaluator.book.id]
        found = {}
        for rule in evaluator.book.rules:
            finding = on_trip.get(rule.id)
            reads_place = not facts_from("trip.places").isdisjoint(rule.facts)
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
