"""An arrangement as JSON: steps in words, places and tiedowns as records in N, m and s."""

import math
from collections.abc import Mapping
from typing import Any

from checker.advice.arrange.scores import Figures
from checker.load.model import Article
from checker.reports.shared.arrangement.blocking import Blocked
from checker.reports.shared.arrangement.record import ArrangementReport, NoArrangement, RuleLine
from checker.reports.shared.arrangement.steps import Step
from checker.reports.shared.arrangement.tying import Tied, anchors
from checker.reports.shared.arrangement_help import gear_need_data, mark_room_data
from checker.reports.shared.check_results import warnings
from checker.reports.shared.json_document import json_document
from checker.reports.shared.outcome_words import headline
from checker.reports.shared.portable_paths import portable
from checker.reports.shared.words import CAUTIONS
from checker.units.arithmetic import as_stated

_LEVELS = 3


def report(found: ArrangementReport | NoArrangement) -> str:
    """The document of an arrangement, or of a load that has none."""
    if isinstance(found, NoArrangement):
        return _document(
            found.load_title, found.file, found.on, {"found": False, "why": found.why, **found.data}
        )
    check, arrangement = found.check, found.arrangement
    members = {
        "found": True,
        "outcome": check.outcome,
        "headline": headline(check),
        "gear": found.gear,
        "order": list(found.order),
        "proved": arrangement.proved,
        "hookups_judged": arrangement.looked_at,
        "compared": found.compared,
        "figures": _figures(arrangement.figures),
        "bound": None if arrangement.bound is None else _figures(arrangement.bound),
        "changes": list(found.changes),
        "articles": [_article(each) for each in check.load.articles],
        "tiedowns": [_tiedown(each) for each in found.tied],
        "blocks": [_blocked(each, found) for each in found.blocked],
        "blocks_left_out": list(found.blocks_left_out),
        "steps": [_step(each, found) for each in found.steps],
        "left": [_rule(each) for each in found.left],
        "off_the_mark": mark_room_data(found.trials.rooms),
        "gear_needs": gear_need_data(found.trials.gear_needs),
        "nearest": [_rule(each) for each in found.nearest],
        "notes": list(check.load.notes),
        "warnings": [each.words for each in warnings(check)],
    }
    return _document(check.load.title, str(check.load.file), check.on.isoformat(), members)


def _document(title: str, file: str, on: str, members: Mapping[str, Any]) -> str:
    head = {"cautions": list(CAUTIONS), "title": title, "file": portable(file), "on": on}
    return json_document("arrangement", {**head, **members}, levels=_LEVELS)


def _figures(figures: Figures) -> dict[str, float | None]:
    return {
        "shoulds": figures.short,
        "pieces": figures.pieces,
        "changes": figures.changes,
        "margin": _number(figures.margin),
    }


def _number(value: float) -> float | None:
    """A plain number; null where it is not stated or infinite."""
    return value if math.isfinite(value) else None


def _article(article: Article) -> dict[str, Any]:
    return {
        "article": article.name,
        "title": article.title,
        "facing": article.placed.facing,
        "x": _number(as_stated(article.placed.x)),
        "y": _number(as_stated(article.placed.y)),
    }


def _tiedown(each: Tied) -> dict[str, Any]:
    return {
        "number": each.number,
        "article": each.tiedown.article.name,
        "gear": each.gear,
        "piece": each.piece,
        "path": each.tiedown.path,
        "points": list(each.points),
        "anchors": list(anchors(each.tiedown)),
        "length": _number(each.length),
        "reach": _number(each.reach),
        "kept": each.kept,
        "was": each.was,
    }


def _blocked(each: Blocked, found: ArrangementReport) -> dict[str, Any]:
    return {
        "article": found.check.load.articles[each.article].name,
        "stops": each.way,
        "gear": each.gear,
        "pieces": [each.first, each.last],
        "names": list(each.names),
        "strength": each.strength,
        "places": [dict(zip("xyz", place, strict=True)) for place in each.places],
    }


def _step(step: Step, found: ArrangementReport) -> dict[str, Any]:
    articles = found.check.load.articles
    return {
        "kind": step.kind,
        "article": None if step.article is None else articles[step.article].name,
        "tiedown": step.tiedown,
        "text": step.text,
        "details": list(step.details),
    }


def _rule(each: RuleLine) -> dict[str, Any]:
    return {
        "rule": each.rule,
        "level": each.level,
        "verdict": each.verdict,
        "statement": each.statement,
        "summary": each.summary,
        "action": each.action,
        "margin": each.margin,
    }
