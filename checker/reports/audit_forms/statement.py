"""A statement of an audit, to print and sign: what was audited, by which rules, with a sample.

HTML without script that needs no other file. It states no time of writing, so that the same log,
profiles and rules give the same bytes.
"""

import shlex
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Final

from checker.evaluation.outcome import Outcome
from checker.reports.shared.audit_results import (
    NOTHING_JUDGED,
    AuditRun,
    RuleCount,
    doubtful_rows,
    rule_counts,
    rules_not_met,
    warning_counts,
)
from checker.reports.shared.html.environment import template
from checker.reports.shared.log_remarks import unit_of
from checker.reports.shared.not_decided import not_decided
from checker.reports.shared.portable_paths import portable
from checker.reports.shared.season_causes import season_causes
from checker.reports.shared.season_names import SeasonNames
from checker.reports.shared.statement import SampledHaul
from checker.reports.shared.words import CAUTIONS, percent

_OUTCOMES: Final[Mapping[str, str]] = {
    Outcome.HOLD: "on hold",
    Outcome.OPEN: "open",
    Outcome.NO_RULE_BROKEN: "no must-rule broken",
}
_MOST_DEVIATIONS: Final = 4
"""For so many deviations in the sample the statement says what they rule out."""
_MOST_MISSING: Final = 10


@dataclass(frozen=True, slots=True)
class _Bound:
    """At most how many of all hauls deviate, if so many of the sample do.

    `share` is that of all hauls; empty if it may be all of them.
    """

    found: int
    most: int
    share: str
    is_tolerable: bool


def report(run: AuditRun) -> str:
    """The statement; equal input gives equal bytes."""
    audit, details = run.audit, run.statement
    request, hauls, size = details.request, audit.checked, len(details.hauls)
    counts = rule_counts(audit)
    undecided = not_decided(audit)
    return template("statement.html.j2").render(
        audit=audit,
        names=SeasonNames(audit.totals.titles),
        log=portable(audit.log),
        details=details,
        version=run.version,
        near=percent(audit.near),
        tally=audit.totals.all,
        nothing=NOTHING_JUDGED,
        outcomes=_outcomes(run),
        causes=season_causes(audit),
        broken=rules_not_met(audit),
        excused=[each for each in counts if each.tally.excused],
        decided=_decided(counts),
        warned=warning_counts(audit),
        unit_of=unit_of,
        doubtful=doubtful_rows(audit),
        never=undecided.never,
        missing=undecided.fields[:_MOST_MISSING],
        untold=audit.refused - len(audit.refusals),
        files=sorted((portable(file), digest) for file, digest in audit.totals.files.items()),
        variances=[each for register in audit.rulebooks.registers for each in register.variances],
        confidence=_per_cent(request.confidence),
        rate=_per_cent(request.rate),
        risk=_per_cent(request.risk),
        hauls=hauls,
        size=size,
        too_many=ceil(request.rate * hauls),
        bounds=_bounds(run),
        draw=shlex.quote(f"{details.seed} {details.hauls[0].row.row}") if details.hauls else "",
        of_sample=_sample_counts(details.hauls),
        outcome_words=_OUTCOMES,
        commands=run.commands,
        cautions=CAUTIONS,
    )


def _per_cent(share: Fraction) -> str:
    return f"{float(share * 100):.6g} %"


def _outcomes(run: AuditRun) -> list[tuple[str, int, str]]:
    """The hauls of each outcome, and their share."""
    tally = run.audit.totals.all
    clear = tally.hauls - tally.held - tally.open
    return [
        (words, number, percent(number / tally.hauls) if tally.hauls else "-")
        for words, number in zip(_OUTCOMES.values(), (tally.held, tally.open, clear), strict=True)
    ]


def _decided(counts: Sequence[RuleCount]) -> tuple[int, int]:
    """How many rules applied to some haul, and how many of those were decided in some."""
    asked = [each for each in counts if each.asked]
    return len(asked), sum(each.undecided < each.asked for each in asked)


def _bounds(run: AuditRun) -> list[_Bound]:
    request, hauls = run.statement.request, run.audit.checked
    size = len(run.statement.hauls)
    bounds = []
    for found in range(min(_MOST_DEVIATIONS, size + 1)):
        most = request.fewer_than(hauls, size, found) - 1
        share = percent(most / hauls) if most < hauls else ""
        bounds.append(_Bound(found, most, share, is_tolerable=most < request.rate * hauls))
    return bounds


def _sample_counts(hauls: Sequence[SampledHaul]) -> list[tuple[str, int]]:
    """The hauls of each outcome in the sample."""
    return [
        (words, sum(each.outcome == outcome for each in hauls))
        for outcome, words in _OUTCOMES.items()
    ]
