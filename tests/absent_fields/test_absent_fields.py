"""No rule is met because a field was left out: known cases by hand, then every field of many loads.

The long trial is `python -m tests.absent_fields`; here are the bundled loads and a few seeds.
"""

import copy
from collections.abc import Callable
from datetime import date
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from checker.documents.resources import shipped_folder
from checker.evaluation.check import check
from checker.load.build import Profile
from checker.load.references import Merged
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from tests.absent_fields.spoiling import spoilt
from tests.absent_fields.trial import Gain, Trial, Wanted, counts_lc
from tests.season.quick import needs_no_programme
from tests.shipped import shipped_rules
from tests.stated_fields import merged_load, pattern_of

LOADS = sorted((shipped_folder("profiles") / "loads").glob("*.yaml"))
SEEDS = range(24)
HELD = [f"held-from-moving-{way}" for way in ("forward", "rearward", "left", "right")]

Data = dict[str, Any]
Change = Callable[[Data], None]


@pytest.fixture(scope="session")
def books() -> Rulebooks:
    """The shipped rules, without their proofs."""
    return shipped_rules()


def verdicts(name: str, books: Rulebooks, *changes: Change) -> dict[str, Verdict]:
    """What each rule says of a bundled load with some changes made to it."""
    merged = merged_load(Path(str(shipped_folder("profiles") / "loads" / f"{name}.yaml")))
    data = copy.deepcopy(merged.data)
    for change in changes:
        change(data)
    load = Profile(replace(merged, data=data), Path(f"{name}.yaml")).load({})
    return {each.rule.id: each.verdict for each in check(load, books, date(2026, 6, 1)).findings}


def weak_far_rings(data: Data) -> None:
    for ring in ("third-right", "fourth-right"):
        data["trailer"]["anchors"][ring]["working_load_limit"] = "300 lb"


def of_every_tiedown(change: Change) -> Change:
    """The change made to every tiedown of the load."""

    def made(data: Data) -> None:
        for tiedown in data["tiedowns"]:
            change(tiedown)

    return made


def without(*keys: str) -> Change:
    """Every tiedown without these fields."""

    def leave_out(tiedown: Data) -> None:
        for key in keys:
            tiedown.pop(key, None)

    return of_every_tiedown(leave_out)


def test_a_far_anchor_left_out_is_not_infinitely_strong(books: Rulebooks) -> None:
    """49 CFR 393.108(a): two rings of 300 lb make 600 lb, and half of 1,800 lb is 900 lb."""
    rule, pallet = "us-aggregate-working-load-limit", "pallet-of-attachments"
    assert verdicts(pallet, books)[rule] is Verdict.MET
    assert verdicts(pallet, books, weak_far_rings)[rule] is Verdict.NOT_MET
    out = without("far_anchor")
    assert verdicts(pallet, books, weak_far_rings, out)[rule] is Verdict.NOT_STATED
    same_side = of_every_tiedown(lambda tiedown: tiedown.update(path="same side"))
    assert verdicts(pallet, books, same_side, out)[rule] is Verdict.NOT_STATED


def test_a_path_left_out_leaves_open_which_way_a_tiedown_pulls(books: Rulebooks) -> None:
    """Straps over a machine hold it down only; without their path nothing says what they do."""

    def loose(data: Data) -> None:
        data["articles"][0]["blocking"] = dict.fromkeys(
            ("forward", "rearward", "left", "right"), "no"
        )
        data["articles"][0]["type"] = "wheeled machine"
        # One strap forward along the left, one back across: as if each pulled both ways.
        data["tiedowns"][0]["over"] = ["front-top-left", "rear-top-left"]
        data["tiedowns"][1]["far_anchor"] = "first-right"

    rules = ["us-held-every-way", *HELD]
    found = verdicts("pallet-of-attachments", books, loose)
    assert {found[rule] for rule in rules} == {Verdict.NOT_MET}
    found = verdicts("pallet-of-attachments", books, loose, without("path"))
    assert Verdict.MET not in {found[rule] for rule in rules}


def test_a_winch_line_does_not_become_a_tiedown_by_leaving_its_device_out(
    books: Rulebooks,
) -> None:
    lines = of_every_tiedown(lambda tiedown: tiedown.update(device="winch line"))
    rules = (
        "us-aggregate-working-load-limit",
        "us-machine-four-tiedowns",
        "tiedowns-rated-for-the-weight",
        "four-corners-held",
        "restraint-forward",
        "anchor-for-each-tiedown",
    )
    found = verdicts("side-by-side-in-order", books, lines)
    assert Verdict.MET not in {found[rule] for rule in rules}
    found = verdicts("side-by-side-in-order", books, lines, without("device"))
    assert Verdict.MET not in {found[rule] for rule in rules}


def test_both_anchors_of_a_strap_over_the_load_must_enclose_the_hook(books: Rulebooks) -> None:
    def open_slots(data: Data) -> None:
        for ring in ("third-left", "fourth-left"):
            data["trailer"]["anchors"][ring]["encloses_hook"] = "no"

    rule, pallet = "anchor-encloses-hook", "pallet-of-attachments"
    assert verdicts(pallet, books)[rule] is Verdict.MET
    assert verdicts(pallet, books, open_slots)[rule] is Verdict.NOT_MET
    assert verdicts(pallet, books, open_slots, without("anchor"))[rule] is Verdict.NOT_STATED


def test_the_rating_of_the_point_on_the_article_is_asked_for(books: Rulebooks) -> None:
    """49 CFR 393.5: an anchor point is one on the vehicle or on the cargo."""

    def points(rating: str | None) -> Change:
        def rate(data: Data) -> None:
            for point in data["articles"][0]["attachments"].values():
                point.pop("working_load_limit", None)
                point.update({"working_load_limit": rating} if rating else {})

        return rate

    rule, load = "us-aggregate-working-load-limit", "side-by-side-in-order"
    assert verdicts(load, books, points("no rating exists"))[rule] is Verdict.MET
    assert verdicts(load, books, points("100 lb"))[rule] is Verdict.NOT_MET
    assert verdicts(load, books, points(None))[rule] is Verdict.NOT_STATED


def test_whether_a_hitch_distributes_weight_is_asked_for(books: Rulebooks) -> None:
    def restoration(text: str | None) -> Change:
        def state(data: Data) -> None:
            data["tow_vehicle"].pop("front_restoration")
            data["tow_vehicle"].update({"front_restoration": text} if text else {})

        return state

    rules = ("receiver-rated-for-trailer", "axle-within-rating", "tow-vehicle-within-gvwr")
    found = verdicts("side-by-side-in-order", books, restoration("none"))
    assert {found[rule] for rule in rules} == {Verdict.MET}
    found = verdicts("side-by-side-in-order", books, restoration(None))
    assert {found[rule] for rule in rules} == {Verdict.NOT_STATED}


def all_gains(merged: Merged, books: Rulebooks, seed: int | str, wanted: Wanted) -> set[Gain]:
    """Gains without any number, and without one word of each kind."""
    random = Random(seed)  # noqa: S311 - a test, not a secret
    trial = Trial(merged, books, wanted)
    of_each = {pattern_of(leaf.field): leaf for leaf in trial.words}
    return trial.gains(list(of_each.values()), random, pairs=2)


RESTRAINED = ("pallet-of-attachments", "rear-straps-only")


@pytest.mark.parametrize("file", LOADS, ids=lambda file: file.stem)
def test_no_rule_gains_by_a_field_left_out_of_a_bundled_load(file: Path, books: Rulebooks) -> None:
    wanted = (lambda _: True) if file.stem in RESTRAINED else needs_no_programme
    assert all_gains(merged_load(file), books, file.stem, wanted) == set()


@pytest.mark.parametrize("seed", SEEDS)
def test_no_rule_gains_by_a_field_left_out_of_a_load_made_worse(
    seed: int, books: Rulebooks
) -> None:
    random = Random(seed)  # noqa: S311 - a test, not a secret
    merged = spoilt(merged_load(random.choice(LOADS)), random)
    wanted = needs_no_programme if seed % 8 else lambda _: True
    assert all_gains(merged, books, seed, wanted) == set()


def test_the_trial_sees_a_gain(books: Rulebooks, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a fact that takes an unknown rating for infinite, as one did, the trial finds it."""
    from checker.facts.catalogue import catalogue

    fact = catalogue()["tiedown.working_load_limit"]

    def generous(view: Any) -> Any:
        limit = fact.compute(view)
        return np.where(np.isnan(limit), 1e7, limit)[()]

    facts = {**catalogue(), fact.name: replace(fact, compute=generous)}
    monkeypatch.setattr("checker.facts.view.catalogue", lambda: facts)
    merged = merged_load(
        Path(str(shipped_folder("profiles") / "loads" / "under-rated-straps.yaml"))
    )
    found = Trial(merged, books).gains([], Random(0), 0)  # noqa: S311 - a test, not a secret
    assert "restraint-forward" in {gain.rule for gain in found}


def test_hooks_left_out_are_stated_by_the_lc_of_the_label_and_by_nothing_else(
    books: Rulebooks,
) -> None:
    """LC is that of the assembled lashing, a working load limit that of webbing or chain."""
    lc_rules = {rule.id for book in books.books for rule in book.rules if counts_lc(rule)}
    assert {"eu-held-forward", "gb-held-forward", "au-held-forward", "nz-held-forward"} <= lc_rules
    assert not {"us-aggregate-working-load-limit", "restraint-forward"} & lc_rules
