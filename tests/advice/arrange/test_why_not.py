"""Why a load has no arrangement, what would help, and which gear is never needed."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from checker.advice.arrange.arrangement import arrange
from checker.advice.arrange.helps import Help
from checker.advice.arrange.influence import Reads
from checker.advice.arrange.what_if import gear_needs
from checker.advice.arrange.why_not import WhyNot, why_not
from checker.load.build import Profile
from checker.load.model import Gear
from checker.reports.shared.arrangement_help import gear_need_lines, why_not_data, why_not_lines
from checker.rulebooks.model import Rulebooks
from checker.units.formatting import US
from checker.units.parsing import parse

DAY = date(2026, 6, 11)
POUND = parse("1 lb", "load").value
PLENTY = 600.0
"""Seconds, so that a busy machine ends no search."""

MIDDLE = "abs(trailer.lateral_cg) <= limit; 0.1 in"
"""Few places are left, so that a search over all of them is short."""
NOSE, TAIL = "hitch.tongue_share >= limit; 12.3 %", "hitch.tongue_share <= limit; 12.6 %"
"""So it is with these: the side-by-side stands with 12.5 % today, the mower with 12.4 %."""

TOGETHER = "article.aggregate_working_load_limit >= limit; 1025 lb"

Bundled = Callable[[str], Profile]
Rules = Callable[..., Rulebooks]


def _gear(profile: Profile, **counts: int) -> Gear:
    """The gear of the load with other counts, by its short names with underscores."""
    assert profile.gear
    named = {each.name.replace(" ", "_"): each for each in profile.gear.tiedowns}
    pieces = tuple(replace(named[name], count=count) for name, count in counts.items())
    return replace(profile.gear, tiedowns=pieces)


def _helps(why: WhyNot) -> Mapping[str, Help]:
    """The changes by their kind; the check of each arrangement breaks no must-rule."""
    for each in why.helps:
        unmet = [
            finding.rule.id
            for finding in each.arrangement.check.findings
            if finding.rule.level == "must" and finding.verdict.value == "not met"
        ]
        assert not unmet
    return {each.kind: each for each in why.helps}


def _only_anchors(profile: Profile, *names: str, rating: str | None = None) -> Profile:
    """The load on a trailer with these of its anchors, of that rating."""
    data: Any = profile.merged.data
    anchors = {name: dict(data["trailer"]["anchors"][name]) for name in names}
    for each in anchors.values():
        each["working_load_limit"] = rating or each["working_load_limit"]
    return profile.replaced({("trailer", "anchors"): anchors})


def test_rules_that_exclude_each_other_wherever_it_stands(bundled: Bundled, rules: Rules) -> None:
    """A tongue of at least 14 % and of at most 7 % is nowhere; each alone is somewhere.

    The rule of 99 % stands between them and excludes nothing.
    """
    books = rules(
        heavy="hitch.tongue_share >= limit; 14 %",
        light="hitch.tongue_share <= limit; 7 %",
        idle="hitch.tongue_share <= limit; 99 %",
    )
    why = why_not(bundled("mower-in-order"), books, DAY, seconds=PLENTY)
    assert why.proved
    (stop,) = why.stops
    assert (stop.reads, stop.passed) == (Reads.PLACES, 0)
    assert sorted(each.id for each in stop.rules) == ["heavy", "light"]
    assert not why.helps
    lines = "\n".join(why_not_lines(why, US))
    assert "There is no arrangement. That is proved" in lines
    assert "[heavy]" in lines
    assert "[idle]" not in lines
    assert "No single change tried" in lines


def test_the_smallest_strap_and_the_fewest_more(bundled: Bundled, rules: Rules) -> None:
    """Each direct tiedown counts half: four of 400 lb make 800 lb, and 1,025 lb are wanted.

    4 x 500 / 2 = 1,000 lb is too little and 4 x 550 / 2 = 1,100 lb enough; so are 6 x 400 / 2.
    """
    profile = bundled("under-rated-straps")
    books = rules(middle=MIDDLE, nose=NOSE, tail=TAIL, together=TOGETHER)
    why = why_not(profile, books, DAY, _gear(profile, light_straps=4), seconds=PLENTY)
    assert why.proved
    assert [each.id for each in why.stops[-1].rules] == ["together"]
    assert why.stops[-1].reads is Reads.TIEDOWNS
    helps = _helps(why)
    assert helps["more pieces"].figure == 6
    assert helps["stronger tiedowns"].figure / POUND == pytest.approx(550)
    assert helps["stronger tiedowns"].pieces == 4
    assert list(helps)[:2] == ["more pieces", "stronger tiedowns"]
    lines = list(why_not_lines(why, US))
    assert "- Carry 6 of 'light straps' in all." in lines
    data = why_not_data(why)
    assert data["proved"] is True
    assert data["would_help"][0] == {
        "change": "more pieces",
        "name": "light straps",
        "closest": True,
        "count": 6,
        "pieces": 6,
    }


def test_a_thin_strap_is_not_rated_for_a_truck(bundled: Bundled, rules: Rules) -> None:
    """As the test above, with a rule that a strap of more than 1,000 lb is not believable."""
    profile = bundled("under-rated-straps")
    books = rules(
        middle=MIDDLE,
        nose=NOSE,
        tail=TAIL,
        together=TOGETHER,
        believable="tiedown.marked_working_load_limit <= limit; 1000 lb",
    )
    why = why_not(profile, books, DAY, _gear(profile, light_straps=4), seconds=PLENTY)
    assert _helps(why)["stronger tiedowns"].figure / POUND == pytest.approx(550)


def test_the_smallest_rating_of_anchors(bundled: Bundled, rules: Rules) -> None:
    """Anchors of 300 lb make four straps of 3,333 lb worth 600 lb together; 550 lb make 1,100."""
    profile = bundled("under-rated-straps")
    corners = ("front-left", "front-right", "rear-left", "rear-right")
    books = rules(middle=MIDDLE, nose=NOSE, tail=TAIL, together=TOGETHER)
    weak = _only_anchors(profile, *corners, rating="300 lb")
    why = why_not(weak, books, DAY, _gear(profile, **{"2_in_straps": 4}), seconds=PLENTY)
    assert _helps(why)["stronger anchors"].figure / POUND == pytest.approx(550)


def test_the_anchor_that_is_missing_on_one_side(bundled: Bundled, rules: Rules) -> None:
    """Three anchors take three tiedowns; the fourth belongs across from the one alone."""
    profile = bundled("mower-in-order")
    books = rules(middle=MIDDLE, nose=NOSE, tail=TAIL, four="article.tiedown_count >= limit; 4")
    three = _only_anchors(profile, "front-left", "rear-left", "rear-right")
    why = why_not(three, books, DAY, _gear(profile, **{"2_in_straps": 4}), seconds=PLENTY)
    found = _helps(why)["another anchor"]
    alone = next(each for each in profile.stated.trailer.anchors if each.name == "front-left")
    assert found.name == "front-left"
    assert found.at == pytest.approx((alone.x, -alone.y))
    assert "Fit an anchor like 'front-left'" in "\n".join(why_not_lines(why, US))


def test_a_rule_that_no_arrangement_changes(bundled: Bundled, rules: Rules) -> None:
    """The mower must weigh 1,000 lb or less: scales in steps of 50 lb show 1,000 lb."""
    books = rules(middle=MIDDLE, lighter="article.weight <= limit; 1000 lb")
    why = why_not(bundled("mower-in-order"), books, DAY, seconds=PLENTY)
    assert [each.id for each in why.fixed] == ["lighter"]
    assert not why.stops
    helps = _helps(why)
    assert helps["a lighter article"].figure / POUND == pytest.approx(1000)
    assert list(helps) == ["a lighter article"]


def test_other_files_of_the_folder(bundled: Bundled, rules: Rules) -> None:
    """The mower stands on the trailer of 2,990 lb; three others of the folder are rated higher."""
    books = rules(middle=MIDDLE, rated="trailer.gvwr >= limit; 5000 lb")
    why = why_not(bundled("mower-in-order"), books, DAY, seconds=PLENTY)
    assert {each.file for each in why.helps} == {
        "trailers/flat-tandem-16",
        "trailers/gooseneck-20",
        "trailers/tilt-tandem-20",
    }
    assert _helps(why)
    assert "(trailers/flat-tandem-16)" in "\n".join(why_not_lines(why, US))


def test_time_that_runs_out_is_no_proof(bundled: Bundled, rules: Rules) -> None:
    """With no time nothing was tried, and all of it is named."""
    books = rules(middle=MIDDLE, nose=NOSE, tail=TAIL, four="article.tiedown_count >= limit; 4")
    why = why_not(bundled("mower-in-order"), books, DAY, seconds=0.0)
    assert (why.proved, why.decided) == (False, False)
    assert "trailers/flat-tandem-16" in why.not_tried
    lines = "\n".join(why_not_lines(why, US))
    assert "before it was decided" in lines
    assert "proved" not in lines


def test_gear_that_is_never_needed(bundled: Bundled, rules: Rules) -> None:
    """Four tiedowns are wanted: of six straps two stay behind, light straps would do as well.

    By counts alone all kinds are alike, but for the changes against today's four straps.
    """
    profile = bundled("mower-in-order")
    books = rules(middle=MIDDLE, nose=NOSE, tail=TAIL, four="article.tiedown_count >= limit; 4")
    gear = _gear(profile, **{"2_in_straps": 6}, light_straps=4)
    found = arrange(profile, books, DAY, gear)
    assert found
    straps, light = gear_needs(found, books, DAY, seconds=PLENTY)
    assert (straps.used, straps.without, straps.one_less) == (4, "worse", "as good")
    assert (light.used, light.without) == (0, "as good")
    lines = list(gear_need_lines((straps, light)))
    assert lines[0] == "Never needed: 'light straps'."
    assert "2 pieces can stay behind" in lines[1]


def test_gear_that_it_cannot_do_without(bundled: Bundled, rules: Rules) -> None:
    """Four straps and no other gear for four tiedowns: with three there is none."""
    profile = bundled("mower-in-order")
    books = rules(middle=MIDDLE, nose=NOSE, tail=TAIL, four="article.tiedown_count >= limit; 4")
    found = arrange(profile, books, DAY, _gear(profile, **{"2_in_straps": 4}))
    assert found
    (straps,) = gear_needs(found, books, DAY, seconds=PLENTY)
    assert (straps.used, straps.without, straps.one_less) == (4, "impossible", "impossible")
