"""Loads that a check refuses for their variances are refused by an audit, haul by haul."""

from pathlib import Path

import pytest

from checker.cli.chosen_rules import read_rules
from checker.documents.resources import shipped_folder
from checker.logs.opening import open_log
from checker.rulebooks.model import Rulebooks
from checker.season.audit import Audit, audit
from checker.season.hauls.digests import digest_of_log
from checker.season.running.worker import Plan, worker

SHIPPED = shipped_folder("profiles") / "loads"
RULES = ("coupling", "us-federal-securement")
VARIANCE = """
variances:
  - rule: {rule}
    from: 2026-05-01
    until: {until}
    by: A. Nobody
    because: none.
    conditions: none.
"""


def read(rules: tuple[str, ...]) -> Rulebooks:
    return read_rules(list(rules))


def audited(log: Path) -> Audit:
    worker.cache_clear()
    plan = Plan(read, RULES, log.parent.joinpath, SHIPPED.parent, 0.05)
    return audit(open_log(log), plan, digest_of_log(log))


@pytest.mark.parametrize(
    ("rule", "until", "said"),
    [
        (
            "coupler-pin",
            "2026-06-01",
            "found the rule 'coupler-pin'; wanted the id of a rule; did you mean 'coupler-pin-in'?",
        ),
        ("us-aggregate-working-load-limit", "2026-06-01", "only the law can excuse from this rule"),
        ("coupler-pin-in", "2026-05-01", "wanted `until` after 2026-05-01"),
    ],
)
def test_hauls_of_a_load_with_a_variance_that_cannot_be_are_refused(
    tmp_path: Path, rule: str, until: str, said: str
) -> None:
    text = (SHIPPED / "side-by-side-in-order.yaml").read_text()
    (tmp_path / "good.yaml").write_text(text)
    bad = tmp_path / "bad.yaml"
    bad.write_text(text + VARIANCE.format(rule=rule, until=until))
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\nbad.yaml,2026-05-14\ngood.yaml,2026-05-14\nbad.yaml,2026-05-15\n")
    done = audited(log)
    assert (done.checked, done.refused) == (1, 2)
    first, last = done.refusals
    assert (first.row, last.row) == (2, 4)
    assert first.reason == last.reason
    assert f"{bad}:" in first.reason
    assert said in first.reason


def test_a_variance_of_a_rule_that_was_not_chosen_stands(tmp_path: Path) -> None:
    text = (SHIPPED / "side-by-side-in-order.yaml").read_text()
    variance = VARIANCE.format(rule="first-load-check-early", until="2026-06-01")
    (tmp_path / "mine.yaml").write_text(text + variance)
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\nmine.yaml,2026-05-14\n")
    assert "first-load-check-early" in read(RULES).elsewhere
    assert audited(log).checked == 1
