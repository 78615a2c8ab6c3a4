"""A check of one load: one finding for every rule in force on a day, with its working."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from checker.evaluation.evaluator import evaluators
from checker.evaluation.finding import Finding, finding_of
from checker.evaluation.in_force import InForce, in_force
from checker.evaluation.outcome import OUTCOMES, Outcome, OutcomeRows
from checker.evaluation.variances import VarianceStatus, variance_statuses
from checker.facts.view import Facts
from checker.load.model import Load, Variance
from checker.load.plausible.reading import Doubt
from checker.rulebooks.model import Change, Rule, Rulebooks
from checker.rulebooks.unread_jurisdictions import unread_jurisdictions
from checker.rulebooks.verdicts import Verdict

if TYPE_CHECKING:
    from checker.evaluation.route import Route


class Check(Struct, frozen=True):
    """The findings of one load under the rulebooks of a day.

    `variances` are those of the profile and those of registers that may count for it, `changes`
    those of amendments on that day and trip, `unread` the jurisdictions for which no rulebook was
    read, `unread_subjects` by place the subjects of its law that no rulebook in force holds;
    `doubts` decide nothing.
    """

    load: Load
    on: date
    outcome: Outcome
    in_force: tuple[InForce, ...]
    findings: tuple[Finding, ...]
    tables: tuple[tuple[str, str], ...]
    variances: tuple[tuple[Variance, VarianceStatus], ...]
    changes: tuple[Change, ...]
    repealed: tuple[tuple[Rule, Change], ...]
    unread: tuple[str, ...]
    unread_subjects: Mapping[str, tuple[str, ...]]
    facts: Facts
    doubts: tuple[Doubt, ...] = ()
    route: "Route | None" = None
    """The places of the trip in the order of travel; None for a trip that crosses no border."""


def check(load: Load, rulebooks: Rulebooks, on: date) -> Check:
    """The check of a load under the rulebooks of where it goes, with the values in force on a day.

    The rows of the load are the corners of its tolerances. Every rule of the rulebooks in reach
    gives a finding; rules of other jurisdictions are left out.
    """
    evaluated = evaluators(load, rulebooks, on, corners=load.rows)
    findings = tuple(
        finding_of(evaluator, rule)
        for evaluator in evaluated.in_reach()
        for rule in evaluator.book.rules
    )
    in_use = [finding.variance for finding in findings if finding.variance]
    unmet = (Verdict.NOT_MET, Verdict.TOO_CLOSE)
    held = {each.rule.id for each in findings if each.verdict in unmet and not each.variance}
    unread = unread_jurisdictions(load.trip.places, rulebooks)
    outcome = OutcomeRows(1)
    for finding in findings:
        outcome.add(finding.rows)
    (code,) = outcome.outcomes(load, rulebooks)
    return Check(
        load=load,
        on=on,
        outcome=OUTCOMES[code],
        in_force=tuple(map(in_force, evaluated.books)),
        findings=findings,
        tables=tuple((table.id, table.digest) for table in rulebooks.tables),
        variances=tuple(variance_statuses(load, rulebooks, on, in_use, held)),
        changes=evaluated.changes,
        repealed=evaluated.repealed,
        unread=unread,
        unread_subjects={
            place: tuple(subjects) for place, subjects in evaluated.unread_subjects().items()
        },
        facts=evaluated.facts,
    )


class DecidingField(NamedTuple):
    """A missing field, and how many rules, and must-rules among them, stating it decides."""

    field: str
    decides: int
    decides_musts: int


def deciding_fields(findings: Iterable[Finding], most: int = 5) -> list[DecidingField]:
    """The few missing fields that, once stated, decide the most undecided must-rules, then others.

    Greedy: the field that decides most must-rules at once comes first, among equals the one that
    most must-rules lack, then the one that most rules lack. The counts are of rules that lack
    nothing more once this field and those before it are stated. A should-rule that lacks more than
    the list has room for is left out: what it lacks would decide nothing.
    """
    gaps = [(set(each.missing), each.rule.level == "must") for each in findings if each.missing]
    chosen: list[DecidingField] = []
    while room := most - len(chosen):
        asked = [(gap, must) for gap, must in gaps if must or len(gap) <= room]
        if not asked:
            break
        weight: dict[str, tuple[float, float, float]] = {}
        for gap, must in asked:
            for field in gap:
                at_once, of_musts, of_all = weight.get(field, (0.0, 0.0, 0.0))
                share = 1.0 / len(gap)
                at_once += must and len(gap) == 1
                weight[field] = at_once, of_musts + share * must, of_all + share
        best = max(sorted(weight), key=lambda field: weight[field])
        for gap, _ in gaps:
            gap.discard(best)
        decided = [must for gap, must in gaps if not gap]
        chosen.append(DecidingField(best, len(decided), sum(decided)))
        gaps = [(gap, must) for gap, must in gaps if gap]
    return chosen
