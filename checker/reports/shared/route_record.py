"""The route of a check as a record of the JSON document."""

from typing import Any

from checker.evaluation.borders import FigureChange, RuleChange
from checker.evaluation.finding import Finding
from checker.evaluation.route import Border, Leg, Route


def route_record(route: Route) -> dict[str, Any]:
    """The places in the order of travel, and between each two of them what differs."""
    return {
        "places": [_leg(leg) for leg in route.legs],
        "borders": [_border(border) for border in route.borders],
    }


def _leg(leg: Leg) -> dict[str, Any]:
    musts = [each for each in leg.findings.values() if each.rule.level == "must"]
    return {
        "place": leg.place,
        "name": leg.name,
        "outcome": leg.outcome,
        "not_met": [each.rule.id for each in musts if each.rows.broken[0]],
        "undecided": [each.rule.id for each in musts if each.rows.undecided[0]],
        "not_read_in_full": list(leg.unread),
        "may_apply": list(leg.parts),
    }


def _border(border: Border) -> dict[str, Any]:
    return {
        "from": border.before.place,
        "into": border.after.place,
        "changes": [_change(each) for each in border.changes],
    }


def _change(change: RuleChange) -> dict[str, Any]:
    return {
        "difference": change.difference,
        "subject": change.subject,
        "before": change.before and _side(change.before),
        "after": change.after and _side(change.after),
        "figures": [_figure(each) for each in change.figures],
    }


def _side(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule.id,
        "level": finding.rule.level,
        "verdict": finding.verdict,
        "excused": finding.variance is not None,
        "statement": finding.statement,
    }


def _figure(figure: FigureChange) -> dict[str, Any]:
    return {
        "name": figure.name,
        "before": figure.before and figure.before.text,
        "after": figure.after and figure.after.text,
        "stricter_after": figure.stricter,
    }
