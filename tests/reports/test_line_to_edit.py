"""A finding is at the line of its own load that somebody edits; other files are behind it.

Expected lines are read off the profiles: the text of the line is what a reader would change.
"""

from datetime import date
from functools import cache
from pathlib import Path

import pytest

from checker.documents.resources import shipped_folder
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.reports.shared.line_to_edit import line_to_edit, shared_lines
from checker.rulebooks.verdicts import Verdict
from tests.shipped import shipped_rules

LOADS = shipped_folder("profiles") / "loads"


@cache
def checked(file: Path) -> Check:
    return check_profile(read_profile(file), shipped_rules(), date(2026, 5, 18))


def found(file: Path, rule: str) -> tuple[Finding, str]:
    """The finding of a rule, and the line of its load that it is at."""
    check = checked(file)
    (finding,) = [each for each in check.findings if each.rule.id == rule]
    at = line_to_edit(finding, check)
    assert Path(at.file).resolve() == file.resolve()
    return finding, file.read_text().splitlines()[at.mark.line - 1].strip()


@pytest.mark.parametrize(
    ("load", "rule", "starts"),
    [
        ("too-far-forward", "tongue-share-ball", "placed: {x: 52 in"),
        ("too-far-forward", "ball-drop", "placed: {x: 52 in"),
        ("overloaded-axle-below-gvwr", "axle-within-rating", "weight: 2020 lb"),
        (
            "accessory-hook",
            "hooked-to-frame",
            "- {from: tiedowns/ratchet-strap-2in, anchor: front-",
        ),
        ("machine-10000-lb", "us-machine-four-tiedowns", "- {from: tiedowns/chain-grade-70"),
        ("rear-straps-only", "restraint-rearward", "- {from: tiedowns/ratchet-strap-2in"),
        ("rear-straps-only", "front-snug-then-rear-hard", "front_snug_then_rear_hard: no"),
        ("variance-late-first-stop", "first-load-check-early", "load_checks: [30 mi]"),
        # Its weight is known to 60 lb, and that decides.
        ("scale-tolerances", "us-load-distributed", "weight: 1960 lb +/- 60 lb"),
        # Undecided: where the missing field belongs.
        ("missing-information", "combination-within-gcwr", "title: The white pickup"),
        ("missing-information", "gate-locked", "ball_seated: yes"),
        ("missing-information", "coupler-pins-in", "- title: New mower"),
        ("missing-information", "us-projection-flags", "# Juniper Basin Trail District"),
        # Stated in the files of its rig alone: where the load names the one that decides.
        ("side-by-side-in-order", "coupler-rated-for-trailer", "trailer: trailers/utility-"),
        ("side-by-side-in-order", "us-name-and-number", "carrier: carriers/juniper-basin"),
    ],
)
def test_a_finding_is_at_the_line_of_its_own_load(load: str, rule: str, starts: str) -> None:
    _, line = found(LOADS / f"{load}.yaml", rule)
    assert line.startswith(starts)


@pytest.mark.parametrize("file", sorted(LOADS.glob("*.yaml")), ids=lambda file: file.stem)
def test_no_finding_of_a_load_is_at_a_file_that_others_share(file: Path) -> None:
    check = checked(file)
    for finding in check.findings:
        at = line_to_edit(finding, check)
        assert Path(at.file).resolve() == file.resolve()
        files = [each.location.file for each in shared_lines(finding, check)]
        assert at.file not in files
        assert len(files) == len(set(files))


def test_the_files_behind_a_finding_are_named_with_what_they_state() -> None:
    file = LOADS / "accessory-hook.yaml"
    finding, _ = found(file, "hooked-to-frame")
    assert finding.verdict is Verdict.NOT_MET
    guard, *_ = shared_lines(finding, checked(file))
    assert (guard.field, guard.text) == (
        "articles.1.attachments.brush-guard-left.part",
        "accessory",
    )
    machine = Path(guard.location.file)
    assert machine.name == "side-by-side.yaml"
    mark = guard.location.mark
    stated = machine.read_text().splitlines()[mark.line - 1]
    assert stated[mark.column - 1 :].startswith("accessory")
