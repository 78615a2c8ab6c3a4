"""The effect of a change of rules on saved loads, as text and as JSON."""

import itertools
from collections.abc import Sequence
from typing import Any

from rich.console import Console

from checker.documents.escaping import json_text
from checker.reports.shared.difference_words import (
    counted,
    difference_data,
    difference_words,
)
from checker.reports.shared.page import Page
from checker.reports.shared.words import CAUTIONS, number_of
from checker.rulebooks.model import Change
from checker.season.impact import Impact, VerdictChange
from checker.upkeep.review.difference import Difference, Effect

_NEAREST_SHOWN = 5
_DID_NOT_APPLY = "does not apply"


def print_impact(
    found: Impact, differences: Sequence[Difference], refused: int, console: Console
) -> None:
    """Print what differs in the rules, then the outcomes and verdicts that change, near misses."""
    page = Page(console)
    _print_differences(differences, page)
    files = len({shift.file for shift in found.shifts})
    page.line(
        f"{number_of(found.checked, 'load')} checked, {refused} refused: "
        f"{number_of(len(found.shifts), 'verdict')} in {number_of(files, 'load')} "
        f"change{'s' if len(found.shifts) == 1 else ''}",
        style="bold",
    )
    if found.turned:
        page.heading("OUTCOMES THAT CHANGE")
    for each in found.turned:
        page.line(
            f"{each.title} ({each.file}, {each.on}): {each.before} -> {each.after}", lead="- "
        )
    if found.shifts:
        page.heading("VERDICTS THAT CHANGE")
    by_rule = sorted(found.shifts, key=lambda each: (each.rule.id, each.file, each.on))
    for _, shifts in itertools.groupby(by_rule, key=lambda each: each.rule.id):
        _one_rule(list(shifts), page)
    if found.nearest:
        page.heading("STILL MET, BY THE LEAST")
    for near in found.nearest[:_NEAREST_SHOWN]:
        share = f"{near.margin:.1%}".replace("%", " %")
        page.line(
            f"{near.title} ({near.file}, {near.on}): {share} inside [{near.rule.id}]", lead="- "
        )
    page.line()
    for caution in CAUTIONS:
        page.line(caution, style="italic")


def _print_differences(differences: Sequence[Difference], page: Page) -> None:
    """Print how many differences there are, then each, loosened ones first."""
    page.line(counted(differences), style="bold")
    for effect in Effect:
        mine = [each for each in differences if each.effect is effect]
        if mine:
            page.heading(effect.upper())
        for each in mine:
            page.line(difference_words(each), lead="- ")
            if each.location:
                page.line(each.location, lead="  ")
    page.line()


def _one_rule(shifts: Sequence[VerdictChange], page: Page) -> None:
    """Print a rule, then every load on which its verdict changes, and the amendment."""
    rule = shifts[0].rule
    level = "" if rule.level == "must" else " (should)"
    page.line(f"{rule.title}{level} [{rule.id}]")
    for shift in shifts:
        page.line(f"{shift.title} ({shift.file}, {shift.on}): {_verdict_change(shift)}", lead="- ")
        for change in shift.changes:
            page.line(_who(change), lead="  ")


def _verdict_change(shift: VerdictChange) -> str:
    return f"{shift.before or _DID_NOT_APPLY} -> {shift.after or _DID_NOT_APPLY}"


def _who(change: Change) -> str:
    by = f" ({change.by})" if change.by else ""
    value = f"{change.threshold} {change.value.text}" if change.value else "no value, or repealed"
    return f"by {change.amendment.title}{by}, {value} from {change.starts}"


def impact_json(
    found: Impact, differences: Sequence[Difference], refused: Sequence[str], version: str
) -> str:
    """The impact of a change as one JSON document."""
    document: dict[str, Any] = {
        "kind": "impact",
        "cinchbook": version,
        "cautions": list(CAUTIONS),
        "judged": found.checked,
        "refused": list(refused),
        "differences": [difference_data(each) for each in differences],
        "outcomes": [
            {
                "load": each.title,
                "file": str(each.file),
                "on": each.on.isoformat(),
                "before": each.before,
                "after": each.after,
            }
            for each in found.turned
        ],
        "verdicts": [
            {
                "load": each.title,
                "file": str(each.file),
                "on": each.on.isoformat(),
                "rule": each.rule.id,
                "level": each.rule.level,
                "before": each.before,
                "after": each.after,
                "changes": [
                    {
                        "amendment": change.amendment.id,
                        "threshold": change.threshold,
                        "value": change.value.text if change.value else None,
                        "from": change.starts.isoformat(),
                        "by": change.by,
                    }
                    for change in each.changes
                ],
            }
            for each in found.shifts
        ],
        "nearest": [
            {
                "load": each.title,
                "file": str(each.file),
                "on": each.on.isoformat(),
                "rule": each.rule.id,
                "margin": each.margin,
            }
            for each in found.nearest
        ],
    }
    return json_text(document)
