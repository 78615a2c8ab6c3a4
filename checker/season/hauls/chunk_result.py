"""Evaluates a chunk: the result of each rule and the outcome of each haul."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from checker.evaluation.evaluator import evaluators
from checker.evaluation.outcome import NO_RULE_BROKEN, OutcomeRows
from checker.evaluation.rule_rows import VERDICTS, Codes, Flags, Numbers, RuleRows
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.rule_text import figure
from checker.rulebooks.unread_jurisdictions import unread_jurisdictions
from checker.season.hauls.chunk import Chunk
from checker.season.hauls.faults import Fault, faults_as_saved
from checker.season.hauls.some_rules import rulebooks_with


@dataclass(frozen=True, slots=True)
class ChunkResult:
    """The hauls of a chunk with the results of all rules and the outcome of each haul."""

    chunk: Chunk
    near_share: float
    verdicts: Mapping[str, Sequence[int]]
    """By rule id, the number of hauls with each verdict, in the order of VERDICTS."""
    figures: Mapping[str, Mapping[str, str]]
    """By rule id, each figure that the texts of the rule print, as in force for these hauls."""
    rules: Sequence[RuleRows]
    """In the order of the rulebooks. Without `keep_all`, rules that are satisfied in every haul and
    near in none are left out."""
    outcomes: Codes
    """For each haul an index into OUTCOMES."""
    near: Flags
    """True if no rule is broken or undecided and some rule is near its limit."""
    margins: Numbers
    """Smallest margin of the broken must-rules; if none is broken, of the near rules; else NaN."""
    excused: Flags
    """True if a variance excuses some rule."""
    should_broken: Flags
    """True if some should-rule is not met."""
    metres: Numbers
    """Distance of each haul's trip; NaN if not stated."""
    unread: Sequence[str]
    """Jurisdictions of the trip for which no rulebook was read."""
    unread_subjects: Mapping[str, Mapping[str, Flags]]
    """By jurisdiction and subject, True for each haul for which no rulebook covers the subject."""
    as_saved: Mapping[Fault, Flags]
    """The must-rules that some haul breaks, where the load profiles as saved break them too."""
    _missing: dict[str, Mapping[str, Flags]] = field(default_factory=dict, init=False)

    def missing(self, rows: RuleRows) -> Mapping[str, Flags]:
        """Each profile field that a rule needs, with the hauls that need it; found once."""
        if rows.rule.id not in self._missing:
            self._missing[rows.rule.id] = rows.missing()
        return self._missing[rows.rule.id]


def evaluate_chunk(
    chunk: Chunk, rulebooks: Rulebooks, near: float, *, keep_all: bool = False
) -> ChunkResult:
    """The results of all rules over all hauls of a chunk.

    A rule is near if it is met by less than the share `near` of its limit. Without `keep_all`,
    rules that are satisfied in every haul and near in none are counted but not stored: they would
    take most of the memory.
    """
    load, corners = chunk.load(rulebooks)
    shape = (chunk.hauls,)
    found_near, excused, should_broken = (np.zeros(shape, dtype=bool) for _ in range(3))
    missed, spare = np.full(shape, np.inf), np.full(shape, np.inf)
    verdicts: dict[str, Sequence[int]] = {}
    figures: dict[str, Mapping[str, str]] = {}
    rules: list[RuleRows] = []
    outcome = OutcomeRows(chunk.hauls)
    evaluated = evaluators(load, rulebooks, chunk.on, corners=corners, hauls=chunk.hauled)
    for each in evaluated.rule_rows():
        verdicts[each.rule.id] = _counts(each.verdicts, chunk.hauls)
        if each.rule.named_figures:
            figures[each.rule.id] = {
                name: figure(value.text)
                for name in each.rule.named_figures
                if (value := each.rule.thresholds[name].on(chunk.on)) is not None
            }
        near_here = each.near(near)
        is_quiet = each.is_satisfied_everywhere and not near_here.any()
        if keep_all or not is_quiet:
            rules.append(each)
        outcome.add(each)
        if is_quiet:
            continue
        broken = each.broken
        if broken.any() and each.rule.level == "must":
            np.fmin(missed, np.where(broken, each.margins, np.inf), out=missed)
        elif broken.any():
            should_broken |= broken
        if near_here.any():
            found_near |= near_here
            np.fmin(spare, np.where(near_here, each.margins, np.inf), out=spare)
        excused |= each.excused
    found = outcome.outcomes(load, rulebooks)
    margins = np.where(outcome.broken, missed, spare)
    return ChunkResult(
        chunk=chunk,
        near_share=near,
        verdicts=verdicts,
        figures=figures,
        rules=rules,
        outcomes=found,
        near=found_near & (found == NO_RULE_BROKEN),
        margins=np.where(np.isfinite(margins), margins, np.nan),
        excused=excused,
        should_broken=should_broken,
        metres=np.broadcast_to(np.atleast_1d(load.trip.distance)[: chunk.hauls], shape),
        unread=unread_jurisdictions(load.trip.places, rulebooks),
        unread_subjects=evaluated.unread_subjects(),
        as_saved=_as_saved(chunk, rulebooks, rules),
    )


def _as_saved(
    chunk: Chunk, rulebooks: Rulebooks, rules: Sequence[RuleRows]
) -> Mapping[Fault, Flags]:
    saved = chunk.saved
    musts = {each.rule.id for each in rules if each.rule.level == "must" and each.broken.any()}
    if saved is None or not musts:
        return {}
    load, corners = saved.load(rulebooks)
    evaluated = evaluators(load, rulebooks_with(rulebooks, musts), saved.on, corners=corners)
    return faults_as_saved(evaluated.rule_rows(lambda rule: rule.id in musts))


def _counts(verdicts: Codes, hauls: int) -> Sequence[int]:
    """Number of hauls with each verdict, in the order of VERDICTS."""
    if verdicts.size == 1:
        alone = [0] * len(VERDICTS)
        alone[verdicts[0]] = hauls
        return alone
    return [int(count) for count in np.bincount(verdicts, minlength=len(VERDICTS))]
