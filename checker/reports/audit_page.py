"""An audit of many hauls: how many were on hold, open or near a limit, by what, and the worst."""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict
from typing import Any

from rich.console import Console

from checker.documents.schemas import field_description
from checker.reports.page import Page
from checker.reports.words import CAUTIONS, number_of
from checker.rulebooks.model import Rule
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from checker.season.audit import Audit
from checker.season.totals import BY, RuleTally, Tally

_WORST = 10
_MOST_NAMED = 8
_HEADINGS = {
    "trailer": "BY TRAILER",
    "machine": "BY MACHINE",
    "tow vehicle": "BY TOW VEHICLE",
    "crew": "BY CREW",
    "month": "BY MONTH",
}


def audit_json(audit: Audit, version: str, compared: Mapping[str, Any] | None = None) -> str:
    """The audit as one JSON document; the same hauls and rules give the same bytes.

    `compared` says what differs from an earlier audit.
    """
    rules = _rules(audit)
    totals = audit.totals
    document: dict[str, Any] = {
        "kind": "audit",
        "cinchbook": version,
        "cautions": list(CAUTIONS),
        "log": audit.log,
        "digest": audit.digest,
        "near": audit.near,
        "rulebooks": [{"id": book.id, "digest": book.digest} for book in audit.rulebooks.books],
        "amendments": [
            {"id": each.id, "digest": each.digest} for each in audit.rulebooks.amendments
        ],
        "loads": dict(sorted(totals.loads.items())),
        "files": dict(sorted(totals.files.items())),
        "read": audit.read,
        "judged": audit.judged,
        "refused": audit.refused,
        "refusals": [asdict(each) for each in audit.refusals],
        "totals": asdict(totals.all),
        "by": {
            kind: {name: asdict(tally) for name, tally in sorted(totals.by[kind].items())}
            for kind in BY
        },
        "rules": [
            {
                "rule": name,
                "title": rules[name].title,
                "level": rules[name].level,
                **_counts(tally),
                "broken_by": _sorted(tally.broken_by),
                "not_stated": _sorted(tally.gap),
            }
            for name, tally in sorted(totals.rules.items())
        ],
        "never_decided": {name: list(_sorted(tally.gap)) for name, tally in _undecided(audit)},
        "not_stated": _sorted(totals.wanting),
        "worst": [
            {"haul": audit.names.get(each.row), **asdict(each)} for each in totals.remembered
        ],
    }
    if compared is not None:
        document["compared"] = compared
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


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


def _rules(audit: Audit) -> dict[str, Rule]:
    return {rule.id: rule for book in audit.rulebooks.books for rule in book.rules}


def _undecided(audit: Audit) -> list[tuple[str, RuleTally]]:
    """Rules that were asked and never decided, the ones most often asked first."""
    decided = (Verdict.MET, Verdict.NOT_MET, Verdict.TOO_CLOSE)
    found = [
        (name, tally)
        for name, tally in audit.totals.rules.items()
        if tally.of(Verdict.NOT_STATED) and not any(map(tally.of, decided))
    ]
    return sorted(found, key=lambda each: (-each[1].of(Verdict.NOT_STATED), each[0]))


def print_audit(
    audit: Audit, console: Console, compared: Callable[[Page], None] | None = None
) -> None:
    """Print an audit, what matters most first; `compared` prints what differs from an earlier one.

    That comes at the end, before the cautions, where a long print stays in sight.
    """
    page = Page(console)
    totals = audit.totals
    page.line(f"{audit.log} ({audit.digest})", style="bold")
    page.line(
        f"{number_of(audit.read, 'row')} read: {audit.judged} judged, {audit.refused} refused"
    )
    page.line()
    page.line(_told(totals.all), style="bold")
    _refusals(audit, page)
    _broken(audit, page)
    for kind, heading in _HEADINGS.items():
        _table(heading, totals.by[kind], page, by_name=kind == "month")
    _worst(audit, page)
    _never(audit, page)
    if compared is not None:
        compared(page)
    page.line()
    for caution in CAUTIONS:
        page.line(caution, style="italic")


def _told(tally: Tally) -> str:
    said = (
        f"{number_of(tally.hauls, 'haul')}: {tally.held} on hold, {tally.open} open, "
        f"{tally.hauls - tally.held - tally.open} with no rule broken"
    )
    said += f", {tally.near} of those near a limit" if tally.near else ""
    return said + (f"; {tally.excused} under a variance" if tally.excused else "")


def _refusals(audit: Audit, page: Page) -> None:
    if audit.refused:
        page.heading("REFUSED - these rows were not judged")
    for each in audit.refusals[:_WORST]:
        page.line(f"row {each.row}: {each.said}", lead="- ")
    if audit.refused > _WORST:
        page.line(f"and {audit.refused - _WORST} more", lead="- ")


def _broken(audit: Audit, page: Page) -> None:
    """The rules that keep coming back, with where they do."""
    rules = _rules(audit)
    broken = [(name, tally) for name, tally in audit.totals.rules.items() if tally.broken]
    broken.sort(key=lambda each: (rules[each[0]].level != "must", -each[1].broken, each[0]))
    if broken:
        page.heading("RULES NOT MET - the must-rules first")
    for name, tally in broken:
        level = "" if rules[name].level == "must" else " (should)"
        page.line(f"{rules[name].title}{level} [{name}]", lead=f"{tally.broken:>6} ")
        most = [
            f"{kind} {_most(tally.broken_by.get(kind, {}))}"
            for kind in ("trailer", "machine", "crew")
            if any(tally.broken_by.get(kind, {}))
        ]
        if most:
            page.line(f"most by {'; '.join(most)}", lead=" " * 7)


def _most(counts: Mapping[str, int]) -> str:
    name, number = min(counts.items(), key=lambda each: (-each[1], each[0]))
    return f"{name or 'not named'} ({number})"


def _table(heading: str, tallies: Mapping[str, Tally], page: Page, *, by_name: bool) -> None:
    if not any(tallies):
        return
    page.heading(heading)
    ordered: Iterable[tuple[str, Tally]] = sorted(tallies.items())
    if not by_name:
        ordered = sorted(ordered, key=lambda each: -each[1].held)
    for name, tally in ordered:
        page.line(f"{name or 'not named'}: {_told(tally)}", lead="- ")


def _worst(audit: Audit, page: Page) -> None:
    held = [each for each in audit.totals.remembered if each.outcome == "hold"][:_WORST]
    if held:
        page.heading("THE WORST - most must-rules not met, then the farthest from their limit")
    for number, each in enumerate(held, 1):
        crew = f", crew {each.crew}" if each.crew else ""
        named = ", ".join(each.broken[:_MOST_NAMED])
        rest = len(each.broken) - _MOST_NAMED
        more = f" and {rest} more" if rest > 0 else ""
        lead = f"{number:>2}. "
        haul = audit.names.get(each.row)
        where = f"row {each.row}" + (f" ({haul})" if haul else "")
        page.line(f"{where}, {each.day}, {each.load}{crew}: {named}{more}", lead=lead)


def _never(audit: Audit, page: Page) -> None:
    undecided = _undecided(audit)
    if undecided:
        page.heading("NEVER DECIDED - rules that no haul stated enough for")
    for name, tally in undecided:
        fields = ", ".join(list(_sorted(tally.gap))[:_MOST_NAMED])
        page.line(f"{name}: a column for {fields or 'what it asks'} would decide it", lead="- ")
    wanting = sorted(audit.totals.wanting.items(), key=lambda each: (-each[1], each[0]))
    if wanting:
        page.heading(
            "NOT STATED - fields, and how many hauls left a rule undecided for want of them"
        )
    for field, number in wanting[:_WORST]:
        page.line(f"{field}: {field_description(field)}", lead=f"{number:>6} ")
