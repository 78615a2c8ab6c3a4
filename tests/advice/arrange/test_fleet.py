"""Machines on trailers: what fits, what stops the others, and what is not stated.

Weights are those of the bundled files, added up by hand where a figure is expected.
"""

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from checker.advice.arrange import fleet
from checker.advice.arrange.fleet import Fit, Pairing, try_pair
from checker.advice.arrange.pairs import (
    MADE_READY,
    OF_ANY_MACHINE,
    Base,
    Part,
    base_of,
    pair,
    read_part,
    without_base,
)
from checker.documents.problems import ProblemsFoundError
from checker.documents.resources import shipped_folder
from checker.evaluation.outcome import Outcome
from checker.load.build import Profile
from checker.load.gear_file import read_gear
from checker.load.references import Library
from checker.reports.shared.wall_chart import cell_of, cell_words
from checker.rulebooks.model import Rulebooks
from checker.units.formatting import US

DAY = date(2026, 6, 11)
PROFILES = Path(str(shipped_folder("profiles")))


def part(kind: str, name: str) -> Part:
    return read_part(PROFILES / f"{kind}s" / f"{name}.yaml", kind, None, Library())


def tried(base: Base, machine: str, trailer: str, books: Rulebooks) -> Pairing:
    profile = pair(base, part("machine", machine), part("trailer", trailer))
    return try_pair(profile, books, DAY, None)


@pytest.fixture
def base(bundled: Callable[[str], Profile]) -> Base:
    """The trip of a side-by-side on the utility trailer, with the answers for any machine."""
    load = bundled("side-by-side-in-order")
    stated: Any = load.merged.data["articles"]
    ready = {key: stated[0][key] for key in (*MADE_READY, *OF_ANY_MACHINE) if key in stated[0]}
    return base_of(load.replaced({("articles", 0): ready}), None)


@pytest.fixture
def machine_of(tmp_path: Path) -> Callable[..., Part]:
    """A machine like the bundled side-by-side, with other fields; None leaves one out."""

    def write(**fields: Any) -> Part:
        data = dict(part("machine", "side-by-side").merged.data)
        data |= fields
        data = {key: value for key, value in data.items() if value is not None}
        (tmp_path / "machine.yaml").write_text(json.dumps(data))
        return read_part(tmp_path / "machine.yaml", "machine", None, Library())

    return write


def test_a_machine_fits_the_trailer_that_a_load_in_order_hauls_it_on(
    base: Base, books: Rulebooks
) -> None:
    found = tried(base, "side-by-side", "utility-single-10", books)
    assert found.fit is Fit.FITS
    assert found.check is not None
    assert found.check.outcome is Outcome.NO_RULE_BROKEN
    assert sum(count for _, count in found.gear) == len(found.check.load.tiedowns or ())


def test_the_rule_that_stops_it_comes_first_and_is_no_matter_of_place(
    base: Base, books: Rulebooks
) -> None:
    """8,050 lb and the trailer's 1,900 lb are 9,950 lb, rated for 7,000 lb."""
    found = tried(base, "mini-excavator", "flat-tandem-16", books)
    assert found.fit is Fit.DOES_NOT_FIT
    first = found.broken[0]
    assert first.rule.id == "trailer-within-gvwr"
    assert first.margin == pytest.approx((7000 - 9950) / 7000)
    assert all(each.rule.level == "must" for each in found.broken)


def test_an_answer_that_nobody_gave_leaves_a_pair_undecided(base: Base, books: Rulebooks) -> None:
    """The side-by-side has no mower deck, so its load says nothing about one."""
    found = tried(base, "zero-turn-mower", "utility-single-10", books)
    assert found.fit is Fit.UNDECIDED
    assert [each.missing for each in found.undecided] == [("articles.1.mower_deck_rests",)]


def test_a_machine_longer_than_the_deck_does_not_fit(base: Base, books: Rulebooks) -> None:
    """165 in on a deck of 120 in."""
    found = tried(base, "mini-excavator", "utility-single-10", books)
    assert (found.fit, found.reason) == (Fit.DOES_NOT_FIT, "it is longer than the deck")
    assert found.proved


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"attachments": None}, "nothing to hook 'Side-by-side, two seats' to"),
        ({"length": None}, "no articles.1.length"),
    ],
)
def test_what_cannot_be_arranged_is_undecided_and_says_why(
    fields: dict[str, Any],
    words: str,
    base: Base,
    books: Rulebooks,
    machine_of: Callable[..., Part],
) -> None:
    profile = pair(base, machine_of(**fields), part("trailer", "utility-single-10"))
    found = try_pair(profile, books, DAY, None)
    assert found.fit is Fit.UNDECIDED
    assert words in found.reason


def test_without_a_load_nothing_fits(books: Rulebooks) -> None:
    gear = read_gear(PROFILES / "gear" / "juniper-basin.yaml")
    profile = pair(
        without_base(PROFILES),
        part("machine", "side-by-side"),
        part("trailer", "utility-single-10"),
    )
    found = try_pair(profile, books, DAY, gear)
    assert found.fit is Fit.UNDECIDED
    missing = {field for each in found.undecided for field in each.missing}
    assert {"trip.places", "articles.1.parking_brake_set"} <= missing


def test_too_little_gear_does_not_fit(base: Base, books: Rulebooks) -> None:
    """A machine needs tiedowns at both ends, and one light strap is at one."""
    gear = read_gear(PROFILES / "gear" / "juniper-basin.yaml")
    few = replace(gear, tiedowns=(replace(gear.tiedowns[-1], count=1),))
    profile = pair(base, part("machine", "side-by-side"), part("trailer", "utility-single-10"))
    found = try_pair(profile, books, DAY, few)
    assert found.fit is Fit.DOES_NOT_FIT
    assert found.proved
    assert "us-machine-tiedowns-at-ends" in [each.rule.id for each in found.broken]
    assert not any("Not proved" in each for each in cell_words(cell_of(0, 0, found, US)))


def test_rules_of_one_hookup_are_not_said_to_stop_all(
    base: Base, books: Rulebooks, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With no steps for a proof the chart names what one full hook-up breaks, and says so."""
    monkeypatch.setattr(fleet, "_STEPS_OF_PROOF", 0)
    gear = read_gear(PROFILES / "gear" / "juniper-basin.yaml")
    few = replace(gear, tiedowns=(replace(gear.tiedowns[-1], count=1),))
    profile = pair(base, part("machine", "side-by-side"), part("trailer", "utility-single-10"))
    found = try_pair(profile, books, DAY, few)
    assert (found.fit, found.proved) == (Fit.DOES_NOT_FIT, False)
    words = list(cell_words(cell_of(0, 0, found, US)))
    assert words[1] == "Not proved."


def test_answers_about_the_machine_stay_with_it(bundled: Callable[[str], Profile]) -> None:
    """The load says how its machine was made ready; what it is belongs to that machine alone."""
    load = bundled("side-by-side-in-order").replaced({("articles", 0, "has_boom"): "no"})
    profile = pair(
        base_of(load, None),
        part("machine", "compact-tractor-loader"),
        part("trailer", "flat-tandem-16"),
    )
    article: Any = profile.merged.data["articles"]
    assert article[0]["parking_brake_set"] == "yes"
    assert (
        article[0]["has_boom"] == part("machine", "compact-tractor-loader").merged.data["has_boom"]
    )
    assert "placed" not in article[0]
    assert profile.stated.tiedowns


def test_what_a_load_says_its_own_machine_is_counts_for_no_other(
    bundled: Callable[[str], Profile], books: Rulebooks
) -> None:
    """Whether special methods are needed is a question of shape and weight."""
    base = base_of(bundled("mower-in-order"), None)
    found = tried(base, "side-by-side", "utility-single-10", books)
    assert found.fit is Fit.UNDECIDED
    missing = {field for each in found.undecided for field in each.missing}
    assert missing == {"articles.1.special_methods"}


def test_an_answer_that_the_trailer_excludes_is_left_out(
    bundled: Callable[[str], Profile],
) -> None:
    """The excavator's trailer has a breakaway device; the utility trailer has none."""
    base = base_of(bundled("mini-excavator-in-order"), None)
    on_its_own = pair(base, part("machine", "side-by-side"), part("trailer", "tilt-tandem-20"))
    on_utility = pair(base, part("machine", "side-by-side"), part("trailer", "utility-single-10"))
    assert "breakaway_connected" in on_its_own.merged.data["walkaround"]  # type: ignore[operator]
    assert "breakaway_connected" not in on_utility.merged.data["walkaround"]  # type: ignore[operator]
    assert "boom_rests" not in on_utility.merged.data["articles"][0]  # type: ignore[index,operator,call-overload]


def test_articles_that_differ_give_no_answer(bundled: Callable[[str], Profile]) -> None:
    load = bundled("gooseneck-two-articles-in-order")
    both = base_of(load.replaced({("articles", 0, "loose_parts_secured"): "no"}), None)
    assert "loose_parts_secured" in base_of(load, None).made_ready
    assert "loose_parts_secured" not in both.made_ready


def test_a_variance_of_one_load_counts_for_no_other(bundled: Callable[[str], Profile]) -> None:
    load = bundled("variance-late-first-stop")
    assert load.stated.variances
    base = base_of(load, None)
    assert not base.profile.stated.variances
    assert load.uses - base.profile.uses >= {"machines/side-by-side"}


def test_a_machine_file_of_another_kind_is_refused() -> None:
    with pytest.raises(ProblemsFoundError, match="machine"):
        read_part(PROFILES / "trailers" / "utility-single-10.yaml", "machine", None, Library())
