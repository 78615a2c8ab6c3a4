"""An audit as CSV (RFC 4180): one flat table of counts, for a spreadsheet or another program."""

from collections.abc import Iterator

from checker.reports.shared.audit_results import (
    AuditRun,
    doubtful_rows,
    month_by_month,
    most_often_held_first,
    rule_counts,
    warning_counts,
)
from checker.reports.shared.cells import csv_table
from checker.reports.shared.log_remarks import unit_of
from checker.reports.shared.not_decided import not_decided
from checker.reports.shared.rate_words import rate_figures, since_lines
from checker.reports.shared.season_causes import season_causes
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
    if audit.totals.doubted.hauls:
        yield {"kind": "with a doubtful figure", **_tally(audit.totals.doubted)}
    for kind in BY:
        order = month_by_month if kind == "month" else most_often_held_first
        for key, tally in order(audit.totals.by[kind]):
            named = {"name": names.key(kind, key), "title": names.title(kind, key)}
            yield {"kind": kind, **named, **_tally(tally), **_rate(audit, kind, key)}
    for line in since_lines(audit):
        since = {"name": str(audit.changed_on), "compared with others": line}
        yield {"kind": "since a change", **since}
    for rule in rule_counts(audit):
        yield {
            "kind": "rule",
            "name": rule.rule.id,
            "title": rule.statement if rule.tally.broken else rule.title,
            "level": rule.rule.level,
            "hauls": rule.asked,
            "near": rule.tally.near,
            "excused": rule.tally.excused,
            "met": rule.tally.of(Verdict.MET),
            "not met": rule.tally.broken,
            "undecided": rule.undecided,
            "fix": " ".join(rule.actions),
        }
    causes = season_causes(audit)
    for each in causes.all:
        held = each.cause.hauls if each.cause.level == "must" else 0
        yield {
            "kind": "cause",
            "name": each.rule,
            "title": each.statement,
            "level": each.cause.level,
            "hauls": each.cause.hauls,
            "on hold": held,
            "fix": each.to_do,
        }
    for each, off_hold in causes.first:
        yield {
            "kind": "off hold by then",
            "name": each.rule,
            "title": each.statement,
            "hauls": off_hold,
        }
    for what, which, number in warning_counts(audit):
        kind = what if unit_of(what) == "haul" else f"{unit_of(what)}s with: {what}"
        yield {"kind": kind, "name": which, "hauls": number}
    for what, which, row, words in doubtful_rows(audit):
        yield {"kind": f"row with {what} {which}", "name": str(row), "title": words}
    undecided = not_decided(audit)
    for one in undecided.never:
        name = one.rule.rule.id
        yield {"kind": "never decided", "name": name, "title": one.words, "hauls": one.hauls}
    for field in undecided.fields:
        decides = f"would decide {field.words}"
        yield {"kind": "not stated", "name": field.field, "title": decides, "hauls": field.asked}


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
