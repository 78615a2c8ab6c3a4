"""One rule on one load in full: its formulas and facts calculated, and what would change it."""

from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from checker.advice.fixes import Fix, fixes_of
from checker.advice.room import Room, rooms
from checker.advice.sums import Calculation, calculation_of
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.in_force import InForce
from checker.facts.view import Subject
from checker.facts.working import Step, working
from checker.load.build import Profile
from checker.rulebooks.formula import Env, Formula, Governing
from checker.rulebooks.model import Change, DatedValue, Rule, Rulebook, Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import NOT_STATED, Number


class WorkedFormula(Struct, frozen=True):
    """A yes/no formula with its numbers.

    `comparisons` are all its comparisons and yes/no names with their truths, in the row of the load
    that decides; `deciding` is the one that decides.
    """

    formula: Formula
    env: Env
    thresholds: Mapping[str, DatedValue]
    comparisons: tuple[tuple[Governing, float], ...]
    deciding: Governing
    metric: bool
    """True if the metric figures printed beside the rule's numbers are used."""


class Explanation(Struct, frozen=True):
    """One rule on one load.

    `finding` is None where the trip does not touch the jurisdiction of the rulebook, and where an
    amendment repealed the rule: nothing was calculated. `when` and `requires` are None where there
    is no article, tiedown or axle, and `scope` and `when` where the rule has no condition.
    """

    check: Check
    book: Rulebook
    rule: Rule
    in_force: InForce
    repealed: Change | None
    finding: Finding | None
    scope: WorkedFormula | None
    when: WorkedFormula | None
    requires: WorkedFormula | None
    steps: tuple[Step, ...]
    sums: Mapping[tuple[str, Subject | None], Calculation]
    """By fact and subject, for the steps whose fact has its calculation as text."""
    fixes: tuple[Fix, ...]
    rooms: tuple[Room, ...]


def explain(profile: Profile, done: Check, rulebooks: Rulebooks, rule_id: str) -> Explanation:
    """The explanation of one rule, by its id, for a load that was checked."""
    known = rulebooks.rule(rule_id)
    assert known is not None
    book, rule = known
    finding = next((each for each in done.findings if each.rule.id == rule_id), None)
    in_force = next(entry for entry in done.in_force if entry.book.id == book.id)
    explanation = Explanation(
        check=done,
        book=book,
        # With the amendments of the day, where it was evaluated.
        rule=finding.rule if finding else rule,
        in_force=in_force,
        repealed=next((change for each, change in done.repealed if each.id == rule_id), None),
        finding=finding,
        scope=_scope(done, book, in_force),
        when=None,
        requires=None,
        steps=(),
        sums={},
        fixes=(),
        rooms=(),
    )
    # Without a subject there are no facts either.
    return (
        _worked_out(explanation, finding, profile, rulebooks)
        if finding and finding.facts
        else explanation
    )


def _worked_out(
    explanation: Explanation, finding: Finding, profile: Profile, rulebooks: Rulebooks
) -> Explanation:
    """The explanation with everything that follows from its finding."""
    done, rule = explanation.check, finding.rule
    steps = working(done.facts, rule.facts, finding.subject)
    sums = {(step.fact.name, step.subject): calculation_of(done.facts, step) for step in steps}
    fixes: tuple[Fix, ...] = ()
    room: tuple[Room, ...] = ()
    if finding.verdict is Verdict.NOT_MET:
        fixes = fixes_of([finding], profile, done, rulebooks).get(rule.id, ())
    elif finding.verdict is Verdict.MET:
        room = rooms(finding, profile, done, rulebooks)
    return replace(
        explanation,
        when=_worked_by(finding, rule.when),
        requires=_worked_by(finding, rule.requires),
        steps=steps,
        sums={key: found for key, found in sums.items() if found},
        fixes=fixes,
        rooms=room,
    )


def _scope(done: Check, book: Rulebook, in_force: InForce) -> WorkedFormula | None:
    """When the rulebook applies, with its numbers; its facts are all of the load."""
    if book.scope is None or in_force.elsewhere:
        return None
    facts = {name: done.facts.value(name, None) for name in book.scope.facts}
    thresholds = {name: value.on(done.on) for name, value in book.scope.thresholds.items()}
    return _worked(book.scope.when, facts, thresholds, metric=False)


def _worked_by(finding: Finding, formula: Formula | None) -> WorkedFormula | None:
    facts = {used.fact.name: used.value for used in finding.facts}
    thresholds: dict[str, DatedValue | None] = dict.fromkeys(finding.rule.thresholds)
    thresholds |= dict(finding.thresholds)
    return _worked(formula, facts, thresholds, metric=finding.metric_print)


def _worked(
    formula: Formula | None,
    facts: Mapping[str, Number],
    thresholds: Mapping[str, DatedValue | None],
    *,
    metric: bool,
) -> WorkedFormula | None:
    if formula is None:
        return None
    env: dict[str, Number] = dict(facts)
    for name, value in thresholds.items():
        env[name] = value.value(metric=metric) if value else NOT_STATED
    deciding = formula.governing(env)
    if deciding is None:
        return None
    return WorkedFormula(
        formula=formula,
        env=env,
        thresholds={name: value for name, value in thresholds.items() if value},
        comparisons=formula.comparisons(env, deciding.row),
        deciding=deciding,
        metric=metric,
    )
