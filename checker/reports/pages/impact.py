"""The effect of a change of rules on saved loads, as text and as JSON."""

import itertools
from collections.abc import Sequence
from typing import Any

from rich.console import Console

from checker.reports.shared.difference_words import (
    counted,
    difference_data,
    difference_words,
)
from checker.reports.shared.impact_totals import GROUPS, changed_loads, totals
from checker.reports.shared.impact_words import (
    outcome_words,
    summary_words,
    turn_words,
    verdict_words,
    worst_first,
)
from checker.reports.shared.json_document import json_document
from checker.reports.shared.page import Page
from checker.reports.shared.portable_paths import portable
from checker.reports.shared.words import CAUTIONS
from checker.rulebooks.model import Change
from checker.season.impact import Impact, VerdictChange
from checker.upkeep.review.difference import Difference, Effect

_NEAREST_SHOWN = 5
_MOST_LISTED = 20
"""Changed verdicts that are listed load by load; of more, the totals are printed."""
_MOST_IN_SUMMARY = 8
"""Lines of each list in a summary, which fits on a screen."""


def print_impact(
    found: Impact,
    differences: Sequence[Difference],
    refused: int,
    console: Console,
    *,
    full: bool = False,
) -> None:
    """Print what differs in the rules, then the outcomes and verdicts that change, near misses.

    Where many change, their totals are printed in place of a line for each load, unless with
    `full`.
    """
    page = Page(console)
    in_full = full or sum(len(each.hauls.rows) for each in found.verdicts) <= _MOST_LISTED
    most = None if in_full else _MOST_IN_SUMMARY
    with page.at_once():
        _print_differences(differences, page, most)
        page.line(summary_words(found, refused, changed_loads(found)), style="bold")
        if in_full:
            _print_loads(found, page)
        else:
            _print_totals(found, page)
        if found.nearest:
            page.heading("STILL MET, BY THE LEAST")
        for near in found.nearest[:_NEAREST_SHOWN]:
            share = f"{near.margin:.1%}".replace("%", " %")
            page.line(
                f"{near.title} ({near.file}, {near.on}): {share} inside [{near.rule.id}]",
                lead="- ",
            )
        page.line()
        for caution in CAUTIONS:
            page.line(caution, style="italic")


def _print_loads(found: Impact, page: Page) -> None:
    """Print every load that turns, by outcome and by rule."""
    turned, shifts = found.turned, found.shifts
    if turned:
        page.heading("OUTCOMES THAT CHANGE")
    for each in turned:
        page.line(
            f"{each.title} ({each.file}, {each.on}): {each.before} -> {each.after}", lead="- "
        )
    if shifts:
        page.heading("VERDICTS THAT CHANGE")
    by_rule = sorted(shifts, key=lambda each: (each.rule.id, each.file, each.on))
    for _, of_rule in itertools.groupby(by_rule, key=lambda each: each.rule.id):
        _one_rule(list(of_rule), page)


def _print_totals(found: Impact, page: Page) -> None:
    """Print how many loads turn: by outcome, rule, trailer, crew and month."""
    sections = {
        "OUTCOMES THAT CHANGE": [outcome_words(each) for each in found.outcomes],
        "VERDICTS THAT CHANGE": [verdict_words(each) for each in worst_first(found)],
    }
    for group in GROUPS:
        sections[f"LOADS THAT CHANGE, BY {group.upper()}"] = [
            f"{each.printed}: {each.loads}, {each.outcomes} with another outcome"
            for each in totals(found, group)
        ]
    for heading, lines in sections.items():
        if lines:
            page.heading(heading)
            _print_some(lines, page, _MOST_IN_SUMMARY)
    page.line()
    page.line("--full lists every load; --write json=FILE has them all.")


def _print_some(lines: Sequence[str], page: Page, most: int | None) -> None:
    for line in lines[:most]:
        page.line(line, lead="- ")
    if most is not None and len(lines) > most:
        page.line(f"and {len(lines) - most} more", lead="- ")


def _print_differences(differences: Sequence[Difference], page: Page, most: int | None) -> None:
    """Print how many differences there are, then each, loosened ones first."""
    page.line(counted(differences), style="bold")
    for effect in Effect:
        mine = [each for each in differences if each.effect is effect]
        if mine:
            page.heading(effect.upper())
        for each in mine[:most]:
            page.line(difference_words(each), lead="- ")
            if each.location:
                page.line(each.location, lead="  ")
        if most is not None and len(mine) > most:
            page.line(f"and {len(mine) - most} more", lead="- ")
    page.line()


def _one_rule(shifts: Sequence[VerdictChange], page: Page) -> None:
    """Print a rule, then every load on which its verdict changes, and the amendment."""
    rule = shifts[0].rule
    level = "" if rule.level == "must" else " (should)"
    page.line(f"{rule.title}{level} [{rule.id}]")
    for shift in shifts:
        page.line(
            f"{shift.title} ({shift.file}, {shift.on}): {turn_words(shift.before, shift.after)}",
            lead="- ",
        )
        for change in shift.changes:
            page.line(_who(change), lead="  ")


def _who(change: Change) -> str:
    by = f" ({change.by})" if change.by else ""
    value = f"{change.threshold} {change.value.text}" if change.value else "no value, or repealed"
    return f"by {change.amendment.title}{by}, {value} from {change.starts}"


def impact_json(found: Impact, differences: Sequence[Difference], refused: Sequence[str]) -> str:
    """The impact of a change as one JSON document."""
    document: dict[str, Any] = {
        "cautions": list(CAUTIONS),
        "judged": found.checked,
        "refused": list(refused),
        "differences": [difference_data(each) for each in differences],
        "totals": {
            "rules": [
                {
                    "rule": each.rule.id,
                    "before": each.before,
                    "after": each.after,
                    "loads": len(each.hauls.rows),
                }
                for each in found.verdicts
            ],
            **{
                f"{group}s": [
                    {
                        "name": each.name,
                        **({"title": each.title} if group == "trailer" else {}),
                        "loads": each.loads,
                        "outcomes": each.outcomes,
                    }
                    for each in totals(found, group)
                ]
                for group in GROUPS
            },
        },
        "outcomes": [
            {
                "load": each.title,
                "file": portable(each.file),
                "on": each.on.isoformat(),
                "before": each.before,
                "after": each.after,
            }
            for each in found.turned
        ],
        "verdicts": [
            {
                "load": each.title,
                "file": portable(each.file),
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
                "file": portable(each.file),
                "on": each.on.isoformat(),
                "rule": each.rule.id,
                "margin": each.margin,
            }
            for each in found.nearest
        ],
    }
    return json_document("impact", document)
