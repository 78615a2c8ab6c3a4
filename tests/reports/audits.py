"""A small season of hauls, audited, for the tests of every report of an audit."""

import csv
import io
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from msgspec import structs

from checker.cli.chosen_rules import read_rules
from checker.cli.named_loads import LoadFinder
from checker.logs.opening import open_log
from checker.reports.audit_forms import csv as audit_csv
from checker.reports.shared.audit_results import AuditRun
from checker.rulebooks.model import Rulebooks
from checker.season.audit import audit
from checker.season.hauls.digests import digest_of_log
from checker.season.records.evidence import read_evidence
from checker.season.records.workings import workings
from checker.season.running.checkpoint import temporary_folder
from checker.season.running.worker import Plan
from checker.units.formatting import Units

HOSTILE_CREW = '=1+1"</script><script>alert(1)</script>'
SEASON = f"""\
load,date,crew,articles.1.weight [lb],articles.1.placed.x,walkaround.chains_crossed,trip.places
loads/side-by-side-in-order,2025-11-14,north,1950,,yes,US-UT
loads/side-by-side-in-order,2025-11-15,south,,,no,US-UT; MX
loads/side-by-side-in-order,2026-02-03,north,1500,90 in,no,
loads/mower-in-order,2026-02-04,,,,yes,
loads/mower-in-order,2026-02-05,"{HOSTILE_CREW.replace('"', '""')}",60000,,no,
loads/mower-in-order,2026-02-05,@south,,,,
loads/missing-information,2026-03-30,south,,,,
loads/missing-information,2026-03-31,bell\x07,,,no,
loads/too-far-back,2026-03-31,north,1420 +/- 60,,yes,
loads/overloaded-axle-below-gvwr,2026-03-31,north,,,yes,
loads/scale-tolerances,2026-03-31,north,,,yes,
loads/nowhere,2026-03-31,north,,,yes,
loads/mower-in-order,soon,north,,,yes,
loads/side-by-side-in-order,2026-03-31,north,,55 in,yes,
"""
# The last haul is near: its centre of gravity is at 55 + 57.35 = 112.35 in, so the tongue carries
# 105 + 1420 x (124 - 112.35) / 124 = 238.4 lb of 2340 lb, 10.19 %: 1.9 % over the 10 % wanted.
RULES = (
    "placement",
    "coupling",
    "makers-ratings",
    "north-america-placement",
    "north-america-coupling",
    "north-america-ratings",
)
ALL_RULES = ("shipped",)


def read(rules: tuple[str, ...]) -> Rulebooks:
    """The shipped rulebooks of these names."""
    return read_rules(list(rules))


def audited(log: Path, rules: tuple[str, ...] = RULES) -> AuditRun:
    """The audit of a log with the working of its worst hauls, as `cinchbook audit` makes it."""
    plan = Plan(read, rules, LoadFinder(), None, 0.05, evidence=True)
    with temporary_folder() as work:
        done = audit(open_log(log), plan, digest_of_log(log), work=work)
        held = read_evidence(work.evidence())
    rows = [each.row for each in done.totals.worst_hauls]
    worked = workings(log, rows, done.rulebooks, LoadFinder())
    return AuditRun(done, Units.US, "0.0", {each.row: each for each in worked}, held=held)


def with_totals(season: AuditRun, **changed: Any) -> AuditRun:
    """The same audit with other totals."""
    totals = structs.replace(season.audit.totals, **changed)
    return replace(season, audit=replace(season.audit, totals=totals))


def rows_of(season: AuditRun) -> list[dict[str, str]]:
    """The rows of its report as CSV."""
    return list(csv.DictReader(io.StringIO(audit_csv.report(season), newline=""), strict=True))


def text(element: Any) -> str:
    """The text of an element of a page with single spaces."""
    return " ".join(element.text_content().split())


@pytest.fixture(scope="session")
def season(tmp_path_factory: pytest.TempPathFactory) -> AuditRun:
    """Hauls on hold, open, near and in order, a hostile crew, and rows that are refused."""
    log = tmp_path_factory.mktemp("season") / "hauls.csv"
    log.write_text(SEASON, encoding="utf-8")
    return audited(log)
