"""Open hauls: which of them an audit lists beside many on hold, and what it says they lack."""

import io
from collections import Counter
from pathlib import Path

import pytest
from rich.console import Console

from checker.evaluation.tolerances import check_profile
from checker.logs.opening import open_log
from checker.reports.pages.audit.page import print_audit
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import audit
from checker.season.hauls.digests import digest_of_log
from tests.season.one_by_one import Haul, read_hauls
from tests.season.test_audit import PLAN, found, quick


def test_open_hauls_are_remembered_beside_any_number_of_worse_hauls(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in ("totals", "worst_hauls"):
        monkeypatch.setattr(f"checker.season.{module}.MOST_REMEMBERED", 2)
        monkeypatch.setattr(f"checker.season.{module}.MOST_OPEN", 3)
    log = tmp_path / "hauls.csv"
    rows = ["side-by-side-in-order,2026-05-14,no"] * 4 + ["missing-information,2026-05-14,yes"] * 5
    log.write_text("load,date,walkaround.chains_crossed\n" + "\n".join(rows) + "\n")
    done = audit(open_log(log), PLAN, digest_of_log(log))
    assert (done.totals.all.held, done.totals.all.open) == (4, 5)
    assert [each.row for each in done.totals.worst_hauls] == [2, 3, 6, 7, 8]
    # A single check names the same fields for the same rules; most rules first, then in order.
    first = list(read_hauls(log, found))[4]
    assert isinstance(first, Haul)
    check = check_profile(first.profile, quick(("shipped",)), first.on)
    lacking = [
        each.missing
        for each in check.findings
        if each.rule.level == "must" and each.verdict is Verdict.NOT_STATED
    ]
    counts = Counter(field for fields in lacking for field in fields)
    missing = done.totals.worst_hauls[2].missing
    assert [counts[field] for field in missing] == sorted(counts.values(), reverse=True)[:3]
    printed = io.StringIO()
    print_audit(done, Console(file=printed, width=200, highlight=False))
    said = " ".join(printed.getvalue().split())
    assert f"loads/missing-information: not stated: {', '.join(missing)} (" in said
    assert "- and 2 more; --write html=FILE lists all" in said
