"""Logs of a few hauls of loads that are kin, or seem so, against the check of each haul alone."""

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from checker.resources import shipped
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import audit, digest_of
from checker.season.bench import Plan
from checker.season.hauls import Haul, read_hauls
from checker.season.logs.opening import open_log
from checker.season.work import Work
from checker.tolerances import check_profile
from tests.season.quick import quick_rules

NEAR = 0.05
Said = dict[tuple[int, str], tuple[Verdict, float | None]]


@cache
def rulebooks() -> Rulebooks:
    return quick_rules()


def read(_: tuple[str, ...]) -> Rulebooks:
    return rulebooks()


def together(log: Path, of: Callable[[str], Path]) -> Said:
    """Verdict and margin of every rule that applies to a haul, as the audit finds them."""
    folder = log.parent / f"{log.stem}-work"
    folder.mkdir()
    work, root = Work(folder), shipped("profiles")
    plan = Plan(read, ("quick",), of, root, NEAR, findings=".jsonl", run=str(log))
    done = audit(open_log(log), plan, digest_of(log), work=work)
    assert not done.refusals
    lines = [line for file in work.findings() for line in file.read_text("utf-8").splitlines()]
    rows = map(json.loads, lines)
    return {(row["row"], row["rule"]): (Verdict(row["verdict"]), row["margin"]) for row in rows}


def alone(log: Path, of: Callable[[str], Path]) -> Said:
    """The same from the check of each haul by itself."""
    said: Said = {}
    for haul in read_hauls(log, of, root=shipped("profiles")):
        assert isinstance(haul, Haul), haul
        for finding in check_profile(haul.profile, rulebooks(), haul.on).findings:
            if finding.verdict is not Verdict.DOES_NOT_APPLY:
                said[haul.row, finding.rule.id] = finding.verdict, finding.margin
    return said


def hold_against_alone(log: Path, of: Callable[[str], Path]) -> Said:
    """What the audit says, which is what single checks say."""
    found, expected = together(log, of), alone(log, of)
    assert {key: verdict for key, (verdict, _) in found.items()} == {
        key: verdict for key, (verdict, _) in expected.items()
    }
    for key, (verdict, margin) in expected.items():
        if verdict is not Verdict.NOT_STATED:
            wanted = None if margin is None else pytest.approx(margin, rel=1e-9, abs=1e-12)
            assert found[key][1] == wanted, key
    return found


def in_folder(folder: Path) -> Callable[[str], Path]:
    return lambda name: folder / name


def two_machines(skid_steer: str, pallet: str) -> str:
    """A bundled load of two articles, which tiedowns know by title; chains hold the loader."""
    text = (shipped("profiles") / "loads/gooseneck-two-articles-in-order.yaml").read_text("utf-8")
    for name, title in (("skid-steer", skid_steer), ("pallet", pallet)):
        text = text.replace(f"    name: {name}\n", f"    title: {title}\n")
    return text.replace("article: skid-steer", "article: Loader").replace(
        "article: pallet", "article: Mower"
    )


def test_titles_by_which_tiedowns_know_their_articles_are_not_for_show(tmp_path: Path) -> None:
    (tmp_path / "one.yaml").write_text(two_machines("Loader", "Mower"), "utf-8")
    (tmp_path / "other.yaml").write_text(two_machines("Mower", "Loader"), "utf-8")
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\none.yaml,2026-08-20\nother.yaml,2026-08-20\n")
    found = hold_against_alone(log, in_folder(tmp_path))
    held = [found[row, "us-machine-held"][0] for row in (2, 3)]
    assert held == [Verdict.MET, Verdict.NOT_MET]
