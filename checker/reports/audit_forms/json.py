"""An audit as one JSON document, which a later audit can be compared with."""

from collections.abc import Iterable, Mapping
from typing import Any

from msgspec import to_builtins

from checker.reports.shared.audit_results import (
    AuditRun,
    RuleCount,
    doubtful_rows,
)
from checker.reports.shared.json_document import json_document
from checker.reports.shared.log_remarks import log_remarks_json
from checker.reports.shared.not_decided import not_decided
from checker.reports.shared.portable_paths import portable
from checker.reports.shared.rate_record import exposures_json, statistics_json
from checker.reports.shared.reading_remarks import reading_remarks_json
from checker.reports.shared.season_causes import causes_json, season_causes
from checker.reports.shared.words import CAUTIONS
from checker.rulebooks.model import Amendment, Rulebook
from checker.rulebooks.rating_tables import RatingsTable
from checker.rulebooks.verdicts import WORST_FIRST
from checker.season.audit import Audit
from checker.season.hauls.identity import KINDS
from checker.season.totals import BY, RuleTally, Totals


def report(run: AuditRun) -> str:
    """The audit as JSON, for a file."""
    return audit_json(run.audit, run.compared)


def audit_json(audit: Audit, compared: Mapping[str, Any] | None = None) -> str:
    """The audit as one JSON document; the same hauls and rules give the same bytes.

    `compared` is the comparison with an earlier audit.
    """
    rules = {rule.id: rule for book in audit.rulebooks.books for rule in book.rules}
    totals = audit.totals
    undecided = not_decided(audit)
    causes = season_causes(audit)
    document: dict[str, Any] = {
        "cautions": list(CAUTIONS),
        "log": portable(audit.log),
        "digest": audit.digest,
        "near": audit.near,
        "rulebooks": _digests(audit.rulebooks.books),
        "tables": _digests(audit.rulebooks.tables),
        "amendments": _digests(audit.rulebooks.amendments),
        "loads": {name: portable(file) for name, file in sorted(totals.loads.items())},
        "files": {portable(file): digest for file, digest in sorted(totals.files.items())},
        "read": audit.read,
        "judged": audit.checked,
        "refused": audit.refused,
        "refusals": [{"row": each.row, "said": each.reason} for each in audit.refusals],
        **reading_remarks_json(audit),
        "totals": to_builtins(totals.all),
        "by": {
            kind: {
                key: {**_title(totals, kind, key), **to_builtins(tally)}
                for key, tally in sorted(totals.by[kind].items())
            }
            for kind in BY
        },
        "statistics": statistics_json(audit),
        "exposures": exposures_json(audit),
        "rules": [
            {
                "rule": name,
                "title": RuleCount(rules[name], tally).title,
                "level": rules[name].level,
                **_counts(tally),
                "broken_by": _sorted(tally.broken_by),
                "below": tally.below,
                "above": tally.above,
                "fix": RuleCount(rules[name], tally).actions,
                "not_stated": _sorted(tally.gap),
                "undecided_by_load": _sorted(tally.undecided_by_load),
            }
            for name, tally in sorted(totals.rules.items())
        ],
        "never_decided": {each.rule.rule.id: list(each.fields) for each in undecided.never},
        "would_decide": [
            {
                "rule": each.rule.rule.id,
                "sets": [
                    {"fields": list(one.fields), "hauls": one.hauls, "answer": one.answer or None}
                    for one in each.sets
                ],
            }
            for each in undecided.never
        ],
        "stating": [
            {"field": each.field, "decides": _sorted(each.rules), "asked": each.asked}
            for each in undecided.fields
        ],
        "not_stated": _sorted(totals.missing_fields),
        "unread_places": _sorted(totals.unread),
        "unread_subjects": _sorted(totals.unread_subjects),
        "doubtful_figures": _sorted(totals.doubtful),
        **log_remarks_json(audit),
        "unread_hauls": totals.unread_hauls,
        "doubted": to_builtins(totals.doubted),
        "doubtful_rows": [
            {"row": row, "what": f"{what} {which}", "found": words}
            for what, which, row, words in doubtful_rows(audit)
        ],
        "causes": causes_json(causes),
        "worst": [
            {"haul": audit.names.get(each.row), **to_builtins(each)}
            for each in causes.worst_first(totals.worst_hauls)
        ],
    }
    if compared is not None:
        document["compared"] = compared
    return json_document("audit", document)


def _title(totals: Totals, kind: str, key: str) -> dict[str, str]:
    """The title of a trailer, machine or tow vehicle; nothing for other kinds."""
    return {"title": totals.titles.get(kind, {}).get(key, "")} if kind in KINDS else {}


def _digests(files: Iterable[Rulebook | RatingsTable | Amendment]) -> list[dict[str, str]]:
    return [{"id": each.id, "digest": each.digest} for each in files]


def _counts(tally: RuleTally) -> dict[str, Any]:
    verdicts = {
        str(verdict): number for verdict, number in zip(WORST_FIRST, tally.verdicts, strict=True)
    }
    return {"verdicts": verdicts, "near": tally.near, "excused": tally.excused}


def _sorted(counts: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: _sorted(value) if isinstance(value, Mapping) else value
        for name, value in sorted(counts.items())
    }
