"""A check as JSON: findings as records, numbers in N, m and s; equal input gives equal bytes.

Rules that are met and not near their limit have no working, and rules and rulebooks that do not
apply are left out, unless the run lists everything: they are nine tenths of a report.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from checker.advice.fixes import Fix
from checker.evaluation.check import Check, deciding_fields
from checker.evaluation.finding import FactUsed, Finding
from checker.evaluation.gate import outcome_at
from checker.facts.restraint import Holding, holdings
from checker.reports.shared.actions import field_words, finding_action, first_things
from checker.reports.shared.check_results import CheckedLoad, CheckRun, findings_to_report
from checker.reports.shared.comparison_words import found_and_wanted
from checker.reports.shared.json_document import json_document
from checker.reports.shared.outcome_words import counts
from checker.reports.shared.portable_paths import located, portable
from checker.reports.shared.records import figure_or_answer, finite, value_range
from checker.reports.shared.route_record import route_record
from checker.reports.shared.words import CAUTIONS
from checker.rulebooks.citations import Citation
from checker.rulebooks.model import Change, DatedValue
from checker.rulebooks.unread_subjects import SUBJECTS
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import System
from checker.units.kinds import BASE_UNITS

_LEVELS = 4
"""Each finding is on one line: so it is a third shorter, and two reports are easy to compare."""


def report(run: CheckRun) -> str:
    """All loads of one run as one JSON document, each with the fixes of its broken rules."""
    document = {
        "cautions": list(CAUTIONS),
        "gate": {"fail_on": run.fail_on, "near": run.near},
        "unreadable": [
            {
                "file": portable(each.file),
                "problems": [
                    {
                        "file": portable(problem.file),
                        "line": problem.mark.line,
                        "column": problem.mark.column,
                        "found": problem.found,
                        "wanted": problem.wanted,
                        "suggestion": problem.suggestion,
                    }
                    for problem in each.problems
                ],
            }
            for each in run.unreadable
        ],
        "ignored": [{"pattern": name, "files": number} for name, number in run.ignored.items()],
        "loads": [_load(each, run) for each in run.checked],
    }
    return json_document("report", document, levels=_LEVELS)


def _load(checked: CheckedLoad, run: CheckRun) -> dict[str, Any]:
    check, fixes, system = checked.check, checked.fixes, checked.system
    to_look_at = {id(each.finding) for each in findings_to_report(checked, run)}
    worked = [each for each in run.findings_to_list(checked) if run.full or id(each) in to_look_at]
    fields = {
        field: origin
        for each in worked
        for used in each.facts
        for field, origin in used.origins.items()
    }
    return {
        "title": check.load.title,
        "file": portable(check.load.file),
        "on": check.on.isoformat(),
        "outcome": check.outcome,
        "at_gate": outcome_at(check, run.fail_on, run.near),
        "counts": counts(check.findings),
        "rulebooks": [
            {
                "id": entry.book.id,
                "title": entry.book.title,
                "jurisdiction": entry.book.jurisdiction,
                "digest": entry.book.digest,
                "in_force": {"met": "yes", "not stated": "not stated"}.get(entry.verdict, "no"),
                "missing": list(entry.missing),
            }
            for entry in check.in_force
            if run.full or entry.verdict is not Verdict.DOES_NOT_APPLY
        ],
        "tables": [{"id": name, "digest": digest} for name, digest in check.tables],
        "amendments": [
            {
                "id": amendment.id,
                "title": amendment.title,
                "layer": amendment.layer,
                "jurisdiction": amendment.jurisdiction,
                "digest": amendment.digest,
            }
            for amendment in dict.fromkeys(change.amendment for change in check.changes)
        ],
        "variances": [
            {
                "rule": each.rule,
                "standing": standing,
                "by": each.by,
                "because": each.because,
                "conditions": each.conditions,
                "from": each.starts.isoformat(),
                "until": each.ends.isoformat(),
                "at": located(each.location),
            }
            for each, standing in check.variances
        ],
        "repealed": [
            {"rule": rule.id, "from": change.starts.isoformat(), **_change(change)}
            for rule, change in check.repealed
        ],
        "notes": list(check.load.notes),
        "unread_places": list(check.unread),
        "subjects": [
            {
                "place": place,
                "held": [each for each in SUBJECTS if each not in unread],
                "not_read": list(unread),
            }
            for place, unread in _unread_by_place(check)
        ],
        **({"route": route_record(check.route)} if check.route else {}),
        "do_first": first_things(check, fixes, system),
        "doubtful_figures": [
            {
                "name": each.name,
                "at": f"{portable(each.at.file)}:{each.at.mark.line}:{each.at.mark.column}",
                "found": each.at.found,
                "usual": each.at.wanted,
                "because": each.because,
                "source": each.source,
            }
            for each in check.doubts
        ],
        "state_next": [
            {
                "field": each.field,
                "decides": each.decides,
                "decides_musts": each.decides_musts,
                "words": field_words(each.field, check),
            }
            for each in deciding_fields(check.findings)
        ],
        "findings": [
            _finding(finding, system)
            | (
                _working(finding, check, system, fixes.get(finding.rule.id, ()))
                if run.full or id(finding) in to_look_at
                else {}
            )
            for finding in run.findings_to_list(checked)
        ],
        "fields": [
            {"field": field, "at": located(origin), "stated": origin.text}
            for field, origin in sorted(fields.items())
        ],
        "held": [
            _holding(holding)
            for friction in (True, False)
            for holding in holdings(check.facts, friction=friction)
        ],
    }


def _holding(holding: Holding) -> dict[str, Any]:
    """What holds an article in one direction: acceleration, proof, forces, what fails first."""
    held, body, shared = holding.held, holding.body, holding.shared
    governs = held.governs
    return {
        "article": holding.article.name,
        "way": holding.way,
        "friction": holding.friction,
        "acceleration_g": finite(held.acceleration_g),
        "at_most_g": finite(held.bound),
        "residual": finite(held.residual),
        "gives": governs
        and {
            "kind": governs.kind,
            "motion": governs.motion,
            "tiedowns": list(governs.tiedowns),
            "blocks": list(governs.blocks),
            "carrying": list(governs.carrying),
        },
        "tensions": _named(body.tiedowns.names, held.tensions),
        "shared": None
        if shared is None
        else {
            "acceleration_g": holding.shared_g,
            "utilisation": _named(body.tiedowns.names, shared.utilisations[:, 0].tolist()),
            "slack": [
                name
                for name, loose in zip(body.tiedowns.names, shared.loose[:, 0], strict=True)
                if loose
            ],
        },
        "contacts": _named(body.contacts.names, held.normals),
        "blocks": _named(body.blocks.names, held.pushes),
    }


def _named(names: Sequence[str], forces: Sequence[float]) -> dict[str, float | None]:
    return {name: finite(force) for name, force in zip(names, forces, strict=True)}


def _unread_by_place(check: Check) -> list[tuple[str, tuple[str, ...]]]:
    """Each place of the trip once, with the subjects of its law that no rulebook holds."""
    places = dict.fromkeys(check.load.trip.places or ())
    return [(place, check.unread_subjects.get(place, ())) for place in places]


def _finding(finding: Finding, system: System) -> dict[str, Any]:
    """What a rule asks, and how the load stands to it."""
    rule, deciding = finding.rule, finding.governing
    sides = found_and_wanted(finding, system)
    return {
        "rule": rule.id,
        "rulebook": finding.book.id,
        "title": rule.title,
        "question": rule.question,
        "level": rule.level,
        "basis": rule.basis,
        "verdict": finding.verdict,
        "subject": finding.subject.name if finding.subject else None,
        "comparison": deciding
        and {
            "left": deciding.left,
            "operator": deciding.operator,
            "right": deciding.right,
            "actual": finite(deciding.left_value),
            "required": finite(deciding.right_value),
        },
        "margin": finding.margin,
        "found": sides.found if sides else None,
        "wanted": sides.wanted if sides else None,
        "excused": finding.variance is not None,
    }


def _working(
    finding: Finding, check: Check, system: System, fixes: Sequence[Fix]
) -> dict[str, Any]:
    """The working of a rule: its facts and figures, why it asks that, and what to do."""
    rule = finding.rule
    return {
        "digest": finding.book.digest,
        "at": located(rule.location),
        "about": rule.about,
        "source": _citation(rule.citation),
        "subjects": [
            {"name": subject.name, "verdict": verdict} for subject, verdict in finding.subjects
        ],
        "facts": [_fact(used) for used in finding.facts],
        "thresholds": [{"name": name, **_value(value)} for name, value in finding.thresholds],
        "shows": [{"label": shown.label, "value": shown.value} for shown in finding.shows],
        "missing": list(finding.missing),
        "reason": finding.reason,
        "metric_print": finding.metric_print,
        "settled_by": finding.settled_by,
        "because": finding.because,
        "statement": finding.statement,
        "fix": finding.fix,
        "action": finding_action(finding, fixes, check, system),
        "enough": [
            {
                "change": fix.kind,
                "article": fix.article,
                "value": fix.value,
                "breaks": [broken.id for broken in fix.breaks],
                "meets": sorted(fix.meets),
                "to": fix.to,
            }
            for fix in fixes
        ],
    }


def _fact(used: FactUsed) -> dict[str, Any]:
    record: dict[str, Any] = {
        "name": used.fact.name,
        "value": figure_or_answer(used.value, used.fact.kind),
        "unit": BASE_UNITS.get(used.fact.kind),
        "from": list(used.origins),
    }
    ends = value_range(used.value)
    return record | ({"lowest": ends[0], "highest": ends[1]} if ends else {})


def _value(value: DatedValue) -> dict[str, Any]:
    """A threshold's value with its chain: who changed it, and the earlier value."""
    return {
        "value": value.text,
        "from": value.starts.isoformat(),
        "until": value.ends.isoformat() if value.ends else None,
        "source": _citation(value.citation),
        "at": located(value.location),
        "note": value.note,
        "changed": value.change and _change(value.change),
        "replaces": value.replaces and _value(value.replaces),
    }


def _change(change: Change) -> dict[str, str | None]:
    return {
        "amendment": change.amendment.id,
        "layer": change.amendment.layer,
        "by": change.by,
        "because": change.because,
        "at": located(change.locations[""]),
    }


def _citation(citation: Citation) -> Mapping[str, str | None]:
    source = citation.source
    if source is None:
        return {"document": None, "basis": "common practice, no source"}
    return {
        "document": source.title,
        "id": source.id,
        "edition": source.edition,
        "at": citation.at,
        "read_as": source.read_as,
        **({"edition_before": source.replaces.edition} if source.replaces else {}),
    }
