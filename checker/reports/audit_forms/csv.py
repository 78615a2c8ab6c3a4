"""An audit as CSV (RFC 4180): one flat table of counts, for a spreadsheet or another program."""

from collections.abc import Iterator

from checker.reports.shared.audit_results import (
    AuditRun,
    month_by_month,
    most_first,
    most_often_held_first,
    rule_counts,
    warning_counts,
)
from checker.reports.shared.cells import csv_table
from checker.reports.shared.rate_words import rate_figures
from checker.reports.shared.season_names import SeasonNames
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import Audit
from checker.season.totals import BY, Tally

COLUMNS = (
    "kind",
    "name",
    "title",
    "level",
    "hauls",
    "on hold",
    "open",
    "no rule broken",
    "near",
    "excused",
    "met",
    "not met",
    "undecided",
    "fix",
    "share on hold of decided",
    "low",
    "high",
    "on hold per 1000 km",
    "compared with others",
    "p",
)
"""profiles/README.md explains each column; one that does not apply to a row is blank."""


def report(run: AuditRun) -> str:
    """All counts: in total, by load, trailer and so on, by rule, by missing field; refused rows."""
    return csv_table(COLUMNS, _rows(run))


def _rows(run: AuditRun) -> Iterator[dict[str, str | int | float]]:
    audit = run.audit
    names = SeasonNames(audit.totals.titles)
    yield {"kind": "all", **_tally(audit.totals.all)}
    yield {"kind": "refused", "hauls": audit.refused}
    for reason, number in audit.remarks.left_out.counts.items():
        yield {"kind": "left out", "name": reason, "hauls": number}
    for kind in BY:
        order = month_by_month if kind == "month" else most_often_held_first
        for key, tally in order(audit.totals.by[kind]):
            named = {"name": names.key(kind, key), "title": names.title(kind, key)}
            yield {"kind": kind, **named, **_tally(tally), **_rate(audit, kind, key)}
    for each in rule_counts(audit):
        yield {
            "kind": "rule",
            "name": each.rule.id,
            "title": each.statement if each.tally.broken else each.title,
            "level": each.rule.level,
            "hauls": each.asked,
            "near": each.tally.near,
            "excused": each.tally.excused,
            "met": each.tally.of(Verdict.MET),
            "not met": each.tally.broken,
            "undecided": each.undecided,
            "fix": " ".join(each.actions),
        }
    for what, which, number in warning_counts(audit):
        yield {"kind": what, "name": which, "hauls": number}
    for field, number in most_first(audit.totals.missing_fields):
        yield {"kind": "not stated", "name": field, "hauls": number}


def _rate(audit: Audit, kind: str, name: str) -> dict[str, str | int | float]:
    """How often a group is on hold, and how that compares; blank where too few are decided."""
    found = rate_figures(audit, kind, name)
    if found is None:
        return {}
    figures: dict[str, str | int | float | None] = {
        "share on hold of decided": found.share,
        "low": found.low,
        "high": found.high,
        "on hold per 1000 km": found.per_1000_km,
        "compared with others": found.compared,
        "p": found.p,
    }
    return {column: value for column, value in figures.items() if value is not None}


def _tally(tally: Tally) -> dict[str, str | int | float]:
    return {
        "hauls": tally.hauls,
        "on hold": tally.held,
        "open": tally.open,
        "no rule broken": tally.hauls - tally.held - tally.open,
        "near": tally.near,
        "excused": tally.excused,
    }
