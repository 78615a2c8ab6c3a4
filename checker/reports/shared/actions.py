"""What to do about a load, with the direction and the number that apply to it."""

import math
import shlex
from collections.abc import Iterable, Iterator, Mapping, Sequence

from checker.advice.fixes import Fix
from checker.advice.nearest import asks_for_several
from checker.documents.schemas import field_description
from checker.evaluation.check import Check, DecidingField
from checker.evaluation.finding import Finding
from checker.evaluation.outcome import Outcome
from checker.evaluation.variances import VarianceStatus
from checker.reports.shared.glossary import Words, words_of
from checker.reports.shared.outcome_words import findings_of_verdict
from checker.reports.shared.words import crew_words, join_words, number_of
from checker.rulebooks.model import Rule
from checker.rulebooks.rule_text import Side
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import as_stated
from checker.units.formatting import FORCE, System, show, usual_unit
from checker.units.table import FACTORS

_TAPE_US, _TAPE_METRIC = 0.0254 / 4, 0.01
"""A quarter of an inch, a centimetre."""
_SCALE_STEPS = {"N": 10.0, "kN": 0.1}
"""The step of a scale in its unit, where that is not one unit."""
_ROUNDING = 1e-5
"""The share of a step by which a change found by the search may be too small."""
_MOST_FIELDS_NAMED = 4
_MOST_BROKEN_NAMED = 2
_PARTS = {
    "tow_vehicle": "tow vehicle",
    "walkaround": "walk-around",
    "articles": "load",
    "cg": "centre of gravity",
    "placed": "where it stands",
}
NO_SINGLE_CHANGE = "No single change is enough"
_DOES_NOT_COUNT = {
    VarianceStatus.EXPIRED: "expired on {ends}: have it renewed, or meet the rule.",
    VarianceStatus.NOT_BEGUN: "begins only on {starts}: haul from that day on, or meet the rule.",
    VarianceStatus.FOR_SOME_CREWS: "counts for {crews} only, and a check does not know who hauls: "
    "meet the rule where another crew does.",
    VarianceStatus.NOT_ENOUGH: "excuses down to the law and no further: meet the law.",
}


def fix_words(fix: Fix, check: Check, system: System) -> str:
    """A smallest change as an instruction, rounded to what a tape or a scale reads.

    Rounding goes in the direction that keeps the rule met. A change that breaks other must-rules
    says so.
    """
    weight = next(each.weight for each in check.load.articles if each.name == fix.article)
    what = _article_words(fix, check)
    words = _change_words(fix, what, as_stated(weight), system, words_of(check.load))
    if not fix.breaks:
        return words
    named = [f'"{rule.title}"' for rule in fix.breaks[:_MOST_BROKEN_NAMED]]
    if len(fix.breaks) > _MOST_BROKEN_NAMED:
        named.append(f"{len(fix.breaks) - _MOST_BROKEN_NAMED} more")
    broken = join_words(named)
    if _only_needs_new_tiedowns(fix):
        return f"{words} and tie it down anew; with the hooks as they are this breaks {broken}"
    return f"{words}; but this breaks {broken}"


def _article_words(fix: Fix, check: Check) -> str:
    if len(check.load.articles) > 1:
        return fix.article
    (article,) = check.load.articles
    return "the machine" if article.type and "machine" in article.type else "the load"


def _change_words(fix: Fix, what: str, today: float, system: System, words: Words) -> str:
    """The change as an instruction; `today` is the weight of the article."""
    match fix.kind:
        case "move":
            way, sign = ("rearward", 1) if fix.value > 0 else ("forward", -1)
            step = tape_step(system)
            distance = max(math.ceil(abs(fix.value) / step - _ROUNDING), 1) * step
            front = round((fix.to - fix.value + sign * distance) / step) * step
            return (
                f"Move {what} {show(distance, 'length', system)} {way} (its front to "
                f"{show(front, 'length', system)} behind the ball)"
            )
        case "lighten":
            step = _scale_step("load", system)
            most = math.floor(fix.value / step + _ROUNDING) * step
            less = math.ceil((today - most) / step - _ROUNDING) * step
            off, left = (show(each, "load", system) for each in (less, most))
            return f"Take {off} off {what}, down to {left}"
    step = _scale_step(FORCE, system)
    least = show(math.ceil(fix.value / step - _ROUNDING) * step, FORCE, system)
    tiedowns = words("tiedowns")
    return f"Tie {what} with {tiedowns} rated at least {least} each, hooks and tensioners included"


def tape_step(system: System) -> float:
    """What a tape is read to, in m."""
    return _TAPE_METRIC if "length" in system.metric else _TAPE_US


def _scale_step(kind: str, system: System) -> float:
    """What a scale or a label is read to, in N."""
    unit = usual_unit(kind, system)
    top, bottom = FACTORS[unit]
    return _SCALE_STEPS.get(unit, 1.0) * top / bottom


def finding_action(finding: Finding, fixes: Iterable[Fix], check: Check, system: System) -> str:
    """What to change about a finding; for an undecided one the fields to state or measure.

    A change with a number that breaks no other must-rule comes first, then what the rule says.
    Nothing where a variance excuses the rule: the officer allowed what the rule would change.
    """
    if finding.variance:
        return ""
    match finding.verdict:
        case Verdict.NOT_STATED:
            return f"State {named_fields(finding.missing)}." if finding.missing else ""
        case Verdict.TOO_CLOSE if finding.settled_by:
            return f"{_measure_words(finding.settled_by, check)}. Or: {finding.fix}"
        case Verdict.MET | Verdict.DOES_NOT_APPLY:
            return ""
    return broken_action(finding, fixes, check, system)


def broken_action(finding: Finding, fixes: Iterable[Fix], check: Check, system: System) -> str:
    """What to do about a broken rule: the changes with a number, then what the rule says.

    A change that breaks other must-rules is named only where there is no other, and after what the
    rule says, unless tying the load down anew is enough. So is a lighter load where tiedowns are
    asked for: nobody takes half the stones off for want of a strap.
    """
    offered = sorted(fixes, key=lambda fix: len(fix.breaks))
    harmless = [fix for fix in offered if not fix.breaks] or offered[:1]
    if not harmless:
        return finding.fix
    first, *others = [fix_words(fix, check, system) for fix in harmless]
    words = f"{first}{''.join(f', or {each[0].lower()}{each[1:]}' for each in others)}."
    breaks = harmless[0].breaks and not _only_needs_new_tiedowns(harmless[0])
    if breaks or (finding.rule.question == "tiedowns" and harmless[0].kind == "lighten"):
        return f"{finding.fix} Or: {words}"
    # A move says where the machine has to stand; nothing in the rule's text is more exact.
    alone = harmless[0].kind == "move" and not harmless[0].breaks
    return words if alone else f"{words} Or: {finding.fix}"


def _only_needs_new_tiedowns(fix: Fix) -> bool:
    """True if a move breaks nothing but rules about tiedowns, which stay hooked in the search."""
    return fix.kind == "move" and all(rule.question == "tiedowns" for rule in fix.breaks)


def field_words(path: str, check: Check) -> str:
    """What to state, as a crew says it: the part of the load and the meaning of the field."""
    words = words_of(check.load)
    meaning = words(field_description(path).rstrip("."))
    if "." not in path:
        return meaning or path.replace("_", " ")
    first, *between, name = path.split(".")
    part = _PARTS.get(first, first.replace("_", " "))
    number = between[0] if between and between[0].isdecimal() else ""
    if first == "articles" and number and int(number) <= len(check.load.articles):
        part = check.load.articles[int(number) - 1].name
    elif first == "tiedowns" and number:
        part = f"{words('tiedown')} {number}"
    inner = [_PARTS.get(each, each.replace("_", " ")) for each in between if each != number]
    part = ", ".join([f"{part[0].upper()}{part[1:]}", *inner])
    return f"{part}: {meaning or name.replace('_', ' ')}"


def _measure_words(path: str, check: Check) -> str:
    """What to measure again, because its tolerance leaves a rule too close to call."""
    return f"Measure more closely: {field_words(path, check)} ({path})"


def decides_words(field: DecidingField) -> str:
    """What stating a field decides."""
    others = field.decides - field.decides_musts
    parts = [number_of(field.decides_musts, "must-rule")] if field.decides_musts else []
    parts += [number_of(others, "should-rule")] if others else []
    return f"decides {' and '.join(parts)}" if parts else "needed together with the others"


def named_fields(fields: Sequence[str]) -> str:
    """The first few fields by name, and how many more there are."""
    rest = len(fields) - _MOST_FIELDS_NAMED
    named = ", ".join(fields[:_MOST_FIELDS_NAMED])
    return f"{named} and {rest} more" if rest > 0 else named


def rule_actions(rule: Rule) -> list[str]:
    """What to do about a rule where it is broken, on any load: by the side of the limit, if given.

    Figures are the last known.
    """
    by_side = {side: rule.fix_for(side) for side in Side}
    if len(set(by_side.values())) == 1:
        return [rule.fix_for(None)]
    return [f"{side.capitalize()} the limit: {fix}" for side, fix in by_side.items()]


def _uncounted_variances(rule: Rule, check: Check) -> Iterator[str]:
    """What to do about variances of a broken rule that do not count here."""
    for each, status in check.variances:
        if each.rule == rule.id and status in _DOES_NOT_COUNT:
            advice = _DOES_NOT_COUNT[status].format(
                starts=each.starts, ends=each.ends, crews=crew_words(each)
            )
            yield f"The variance of {each.rule} by {each.by} {advice}"


def first_things(check: Check, fixes: Mapping[str, Sequence[Fix]], system: System) -> list[str]:
    """What to do first: for each broken must-rule its remedy, once, and uncounted variances.

    Where no must-rule is broken or undecided, the broken should-rules; where none is broken and
    some are too close to call, what to measure. Where one change meets several broken must-rules
    and breaks none, it stands for all of them. Where no single change mends the load, the last
    says what arranges it anew.
    """
    things: list[str] = []
    broken = findings_of_verdict(check, Verdict.NOT_MET, "must")
    if check.outcome is Outcome.NO_RULE_BROKEN:
        broken = findings_of_verdict(check, Verdict.NOT_MET, "should")
    done: set[str] = set()
    for finding in broken:
        if finding.variance or finding.rule.id in done:
            continue
        best = _best_for(finding.rule.id, fixes) or fixes.get(finding.rule.id, ())
        things.append(broken_action(finding, best, check, system))
        things += _uncounted_variances(finding.rule, check)
        if best and not best[0].breaks:
            done |= best[0].meets
    if check.outcome is Outcome.OPEN:
        close = findings_of_verdict(check, Verdict.TOO_CLOSE, "must")
        settle = [each.settled_by for each in close if each.settled_by and not each.variance]
        things += [f"{_measure_words(field, check)}." for field in settle]
    if asks_for_several(check, fixes):
        things.append(f"{NO_SINGLE_CHANGE}: {arrange_command(check)} finds all of them.")
    return list(dict.fromkeys(things))


def arrange_command(check: Check) -> str:
    """The call that arranges the load; a haul is first saved as one."""
    load = shlex.quote(str(check.load.file))
    if check.load.log_row:
        file = "LOAD.yaml"
        return f"cinchbook check {load} --write-load {file} && cinchbook arrange {file}"
    return f"cinchbook arrange {load}"


def _best_for(rule: str, fixes: Mapping[str, Sequence[Fix]]) -> list[Fix]:
    """The changes that meet a rule and break none, of each kind the one that meets most rules."""
    harmless = [
        fix for of_rule in fixes.values() for fix in of_rule if not fix.breaks and rule in fix.meets
    ]
    best: dict[tuple[str, str], Fix] = {}
    for fix in sorted(harmless, key=lambda each: -len(each.meets)):
        best.setdefault((fix.kind, fix.article), fix)
    return list(best.values())
