"""One number varied: which verdicts change, and at which value.

Expected values: the limit written out by hand, and the plain check on both sides of every change.
"""

import math
import re
from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from checker.advice.fields import NoSuchFieldError, find_numeric_field
from checker.advice.vary import Change, Varied, vary
from checker.cli.app import application
from checker.documents.problems import DataPath
from checker.documents.resources import shipped_folder
from checker.documents.schemas import definition
from checker.evaluation.check import check
from checker.load.build import Profile, field_path
from checker.load.convert import quantities
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.units.parsing import UnitError
from tests.shipped import only_rule

LB = 4.4482216152605  # N, exact
IN = 0.0254  # m, exact
DAY = date(2026, 5, 15)

Data = dict[str, Any]
Bundled = Callable[[str], Profile]
Written = Callable[[Data], Profile]
Rules = Callable[..., Rulebooks]


def told(change: Change) -> tuple[str, str, str]:
    return change.rule.id, str(change.before), str(change.after)


def only(found: Varied) -> Change:
    (change,) = found.changes
    return change


def rig() -> Data:
    """2000 lb of trailer and 1000 lb of crate right over a single axle at 150 in."""
    return {
        "trailer": {
            "gvwr": "5000 lb",
            "empty_weight": "2000 lb",
            "empty_tongue_weight": "0 lb",
            "suspension": "single",
            "axles": {"only": {"x": "150 in", "tyres": 2, "tyre_rating": "1600 lb"}},
        },
        "articles": [
            {
                "weight": "1000 lb",
                "cg": {"x": "10 in"},
                "placed": {"x": "140 in", "facing": "forward"},
            }
        ],
        "tow_vehicle": {"front_restoration": "none"},
    }


WITHIN = "trailer.gross_weight <= trailer.gvwr"


# --- where a verdict changes ----------------------------------------------------------------------


def test_a_rating_decides_at_the_weight_it_is_held_against(
    bundled: Bundled, books: Rulebooks
) -> None:
    """Hand-calculated: 920 lb of trailer and 1420 lb of machine."""
    ends = (1000 * LB, 3000 * LB)
    found = vary(bundled("side-by-side-in-order"), "trailer.gvwr", ends, books, DAY)
    (change,) = [each for each in found.changes if each.rule.id == "trailer-within-gvwr"]
    assert told(change) == ("trailer-within-gvwr", "not met", "met")
    assert change.value / LB == pytest.approx(2340, abs=1e-3)
    assert change.value / LB < 2340  # up to and with the value it is not met


def test_a_weight_decides_where_the_rating_is_full(bundled: Bundled, books: Rulebooks) -> None:
    """Hand-calculated: GVWR 2990 lb less 920 lb of trailer. At the limit itself it is still met."""
    ends = (1000 * LB, 3000 * LB)
    found = vary(bundled("side-by-side-in-order"), "articles.1.weight", ends, books, DAY)
    (change,) = [each for each in found.changes if each.rule.id == "trailer-within-gvwr"]
    assert told(change) == ("trailer-within-gvwr", "met", "not met")
    assert change.value / LB == pytest.approx(2070, abs=1e-3)


def test_a_number_that_is_in_the_way_of_nothing_changes_nothing(
    written: Written, rules: Rules
) -> None:
    """3000 lb is 13345 N."""
    found = vary(written(rig()), "trailer.gvwr", (1.4e4, 2e4), rules(fits=WITHIN), DAY)
    assert found.changes == ()


def test_the_order_of_the_two_ends_does_not_matter(written: Written, rules: Rules) -> None:
    books = rules(fits=WITHIN)
    up = vary(written(rig()), "trailer.gvwr", (1e4, 2e4), books, DAY)
    down = vary(written(rig()), "trailer.gvwr", (2e4, 1e4), books, DAY)
    assert down.changes == up.changes
    assert np.array_equal(down.values, up.values)
    assert (up.values[0], up.values[-1]) == (1e4, 2e4)


def test_two_equal_ends_change_nothing(written: Written, rules: Rules) -> None:
    found = vary(written(rig()), "trailer.gvwr", (1e4, 1e4), rules(fits=WITHIN), DAY)
    assert found.changes == ()
    assert [rule.id for rule in found.never_met] == ["fits"]


def test_changes_come_in_order_of_their_value(written: Written, rules: Rules) -> None:
    """Hand-calculated: with 2000 lb of trailer, at 500, 1500 and 2500 lb of crate."""
    books = rules(
        last="trailer.gross_weight <= limit; 4500 lb",
        first="trailer.gross_weight <= limit; 2500 lb",
        middle="trailer.gross_weight >= limit; 3500 lb",
    )
    found = vary(written(rig()), "articles.1.weight", (0.1 * LB, 4000 * LB), books, DAY)
    assert [told(change) for change in found.changes] == [
        ("first", "met", "not met"),
        ("middle", "not met", "met"),
        ("last", "met", "not met"),
    ]
    assert [change.value / LB for change in found.changes] == pytest.approx(
        [500, 1500, 2500], abs=1e-3
    )


def test_one_rule_may_change_more_than_once(written: Written, rules: Rules) -> None:
    """Hand-calculated: 100 lb either way of nothing on the tongue, at 125 and 155 in."""
    books = rules(even="abs(hitch.tongue_weight) <= limit; 100 lb")
    found = vary(written(rig()), "articles.1.placed.x", (60 * IN, 220 * IN), books, DAY)
    assert [told(change) for change in found.changes] == [
        ("even", "not met", "met"),
        ("even", "met", "not met"),
    ]
    assert [change.value / IN for change in found.changes] == pytest.approx([125, 155], abs=1e-3)


def test_rules_met_at_no_value_are_named(written: Written, rules: Rules) -> None:
    books = rules(
        fits=WITHIN,
        hopeless="trailer.gross_weight <= limit; 100 lb",
        advice="trailer.gross_weight <= limit; 100 lb; should",
    )
    found = vary(written(rig()), "trailer.gvwr", (1e4, 2e4), books, DAY)
    assert [rule.id for rule in found.never_met] == ["hopeless"]


SWEPT = [
    ("side-by-side-in-order", "articles.1.weight", (300 * LB, 3500 * LB)),
    ("too-far-forward", "articles.1.placed.x", (52 * IN, 137 * IN)),
    ("loader-tractor-in-order", "tiedowns.1.marked_working_load_limit", (100 * LB, 9000 * LB)),
    ("mini-excavator-in-order", "trip.speed", (5.0, 45.0)),
]


@pytest.mark.parametrize(("name", "field", "ends"), SWEPT)
def test_the_plain_check_agrees_on_both_sides_of_every_change(
    name: str, field: str, ends: tuple[float, float], bundled: Bundled, books: Rulebooks
) -> None:
    profile = bundled(name)
    found = vary(profile, field, ends, books, DAY)
    path, _ = find_numeric_field(profile, field)
    assert found.changes or field == "trip.speed"
    # How finely an edge is looked for: thrice into 64 steps, where a rule is slow into 12.
    above = (ends[1] - ends[0]) / 40 / 12**3 * 1.01
    for change in found.changes:
        asked = only_rule(books, change.rule.id)
        before, after = (verdicts(profile, path, change.value + up, asked) for up in (0.0, above))
        assert before[change.rule.id] is change.before, change
        assert after[change.rule.id] is change.after, change


def verdicts(
    profile: Profile, path: DataPath, value: float, books: Rulebooks
) -> dict[str, Verdict]:
    findings = check(profile.load({path: value}), books, DAY).findings
    return {each.rule.id: each.verdict for each in findings}


def test_between_two_changes_nothing_changes(bundled: Bundled, books: Rulebooks) -> None:
    profile, field = bundled("side-by-side-in-order"), "articles.1.weight"
    ends = (300 * LB, 3500 * LB)
    found = vary(profile, field, ends, books, DAY)
    path, _ = find_numeric_field(profile, field)
    at_start = verdicts(profile, path, ends[0], books)
    for value in np.linspace(*ends, 13):
        wanted = dict(at_start)
        for change in found.changes:
            if change.value < value:
                assert wanted[change.rule.id] is change.before
                wanted[change.rule.id] = change.after
        assert verdicts(profile, path, float(value), books) == wanted, value / LB


# --- counts and plain numbers ---------------------------------------------------------------------


def test_a_count_is_tried_whole(written: Written, rules: Rules) -> None:
    """Hand-calculated: 3000 lb on one tyre of 1600 lb is too much, on two it is not."""
    books = rules(tyres="axle.tyre_load <= axle.tyre_rating")
    found = vary(written(rig()), "trailer.axles.only.tyres", (1, 4), books, DAY)
    assert found.kind == "count"
    assert list(found.values) == [1, 2, 3, 4]
    assert (only(found).value, told(only(found))) == (1, ("tyres", "not met", "met"))


def test_a_count_between_broken_ends_is_tried_inside_them(written: Written, rules: Rules) -> None:
    books = rules(tyres="axle.tyre_load <= axle.tyre_rating")
    found = vary(written(rig()), "trailer.axles.only.tyres", (0.5, 3.5), books, DAY)
    assert list(found.values) == [1, 2, 3]


def test_a_count_not_stated_yet_can_be_varied(written: Written, rules: Rules) -> None:
    data = rig()
    del data["trailer"]["axles"]["only"]["tyres"]
    books = rules(tyres="axle.tyre_load <= axle.tyre_rating")
    found = vary(written(data), "trailer.axles.only.tyres", (1, 4), books, DAY)
    assert (only(found).value, told(only(found))) == (1, ("tyres", "not met", "met"))


def test_friction_can_be_varied(written: Written, rules: Rules) -> None:
    """Statics: untied goods are held sideways as far as they rub."""
    data = rig()
    data["articles"][0] |= {"friction": 0.3, "type": "palletised goods", "width": "4 ft"}
    data["articles"][0]["cg"] |= {"y": "0 in", "z": "1 in"}
    data["articles"][0]["placed"]["y"] = "0 in"
    data["articles"][0]["length"] = "40 in"
    data["tiedowns"] = []
    books = rules(held="article.holds_left >= limit; 0.5")
    found = vary(written(data), "articles.1.friction", (0.1, 0.9), books, DAY)
    assert found.kind == "number"
    assert told(only(found)) == ("held", "not met", "met")
    assert only(found).value == pytest.approx(0.5, abs=1e-4)


@pytest.mark.parametrize("ends", [(1.2, 1.8), (1.8, 1.2), (2.5, 2.5)])
def test_a_count_between_ends_without_a_whole_number_is_refused(
    written: Written, rules: Rules, ends: tuple[float, float]
) -> None:
    books = rules(tyres="axle.tyre_load <= axle.tyre_rating")
    span = f"{min(ends)}..{max(ends)}"
    wanted = f"^found '{re.escape(span)}', wanted a whole number, 0 or more, such as '4'$"
    with pytest.raises(UnitError, match=wanted):
        vary(written(rig()), "trailer.axles.only.tyres", ends, books, DAY)


# --- ends that the profile would not take ---------------------------------------------------------

FRICTION = (
    "friction coefficient between its wheels, tracks or base and the deck as it is. Take the low "
    "end of a range"
)

# The bounds stand in the schema of load profiles: what a profile refuses is refused here as well.
REFUSED = [
    ("articles.1.weight", (0.0, 3000 * LB), "found '0 lb', wanted more than zero"),
    ("articles.1.weight", (-5 * LB, 3000 * LB), "found '-5 lb', wanted more than zero"),
    ("articles.1.weight", (3000 * LB, -5 * LB), "found '-5 lb', wanted more than zero"),
    ("articles.1.weight", (1.0, math.inf), "found 'infinite', wanted a weight or rating such as"),
    ("articles.1.weight", (math.nan, 1.0), "found 'not stated', wanted a weight or rating such as"),
    ("trip.driving_time", (0.0, 7200.0), "found '0 h', wanted more than zero"),
    ("articles.1.length", (-1.0, 3.0), "found '-39.37 in', wanted more than zero"),
    ("articles.1.friction", (-1.0, 1.0), f"found '-1', wanted {FRICTION}, at least 0, such as 0.3"),
    ("articles.1.friction", (0.1, 2.1), f"found '2.1', wanted {FRICTION}, at most 2, such as 0.3"),
    ("trailer.axles.only.tyres", (0, 4), "found '0', wanted tyres on this axle, at least 1"),
    ("trailer.axles.only.tyres", (1, 1e15), "wanted tyres on this axle, at most 1000"),
    ("tow_vehicle.seats", (-1, 4), "found '-1', wanted a whole number, 0 or more, such as '4'"),
]


@pytest.mark.parametrize(("field", "ends", "said"), REFUSED)
def test_an_end_that_no_profile_may_state_is_refused(
    field: str, ends: tuple[float, float], said: str, written: Written, rules: Rules
) -> None:
    with pytest.raises(UnitError, match=re.escape(said)):
        vary(written(rig()), field, ends, rules(fits=WITHIN), DAY)


@pytest.mark.parametrize(
    ("field", "ends"),
    [
        ("articles.1.weight", (0.01 * LB, 1.0)),
        ("trailer.empty_tongue_weight", (0.0, 1.0)),
        ("articles.1.cg.y", (-1.0, 1.0)),
        ("articles.1.friction", (0.0, 2.0)),
        ("trailer.axles.only.tyres", (1, 1000)),
        ("tow_vehicle.seats", (0, 9)),
    ],
)
def test_an_end_at_the_bound_of_the_field_is_taken(
    field: str, ends: tuple[float, float], written: Written, rules: Rules
) -> None:
    found = vary(written(rig()), field, ends, rules(fits=WITHIN), DAY)
    assert (found.values[0], found.values[-1]) == ends


@pytest.mark.parametrize(
    ("field", "span", "said"),
    [
        ("articles.1.weight", "0 kg..3000 kg", "found '0 kg', wanted more than zero"),
        ("articles.1.weight", "10 kg..-3 kg", "found '-3 kg', wanted more than zero"),
        ("articles.1.friction", "-1..1", f"found '-1', wanted {FRICTION}, at least 0"),
        ("trip.driving_time", "0 h..2 h", "found '0 h', wanted more than zero"),
    ],
)
def test_the_command_refuses_it_in_the_words_it_was_given_in(
    field: str, span: str, said: str
) -> None:
    load = str(shipped_folder("profiles") / "loads" / "side-by-side-in-order.yaml")
    done = CliRunner().invoke(application(), ["vary", load, "--", field, span])
    assert done.exit_code == 2
    assert said in done.stderr


@pytest.mark.parametrize("name", ["gooseneck-two-articles-in-order", "mini-excavator-in-order"])
def test_every_number_of_a_load_is_worked_out_at_nothing_or_refused_in_words(
    name: str, bundled: Bundled, rules: Rules
) -> None:
    profile = bundled(name)
    books = rules(
        tongue="hitch.tongue_share >= 0",
        cargo="cargo.share_on_tongue >= 0",
        tyres="axle.tyre_load >= 0",
        side="trailer.heavier_side_share >= 0",
        places="trailer.cg_height >= trailer.lateral_cg",
        front="tow_vehicle.front_axle_unloading >= 0",
        stops="trip.longest_stretch_time >= 0",
    )
    varied, refused = [], []
    for path, _, _ in quantities(profile.merged.data, definition("load"), ()):
        field = field_path(path)
        try:
            vary(profile, field, (0, 0), books, DAY)
            varied.append(field)
        except UnitError:
            refused.append(field)
    assert "articles.1.friction" in varied
    assert "articles.1.weight" in refused


# --- a field the profile does not state -----------------------------------------------------------


@pytest.mark.parametrize("left_out", ["gvwr", "trailer and all"])
def test_a_field_not_in_the_profile_can_be_varied(
    written: Written, rules: Rules, left_out: str
) -> None:
    data = rig()
    data["trailer"].pop("gvwr")
    books = rules(coupler="hitch.coupler_rating <= limit; 3500 lb", fits=WITHIN)
    field = "trailer.gvwr" if left_out == "gvwr" else "trailer.coupler.rating"
    ends = (1000 * LB, 5000 * LB)
    found = vary(written(data), field, ends, books, DAY)
    wanted = {"trailer.gvwr": ("fits", 3000), "trailer.coupler.rating": ("coupler", 3500)}[field]
    (change,) = found.changes
    assert (change.rule.id, round(change.value / LB, 2)) == wanted


def test_a_distributing_hitch_not_in_the_profile_can_be_varied(
    written: Written, rules: Rules
) -> None:
    """Statics: half of what the tongue took off the front axle comes back at 50 %.

    400 lb on the tongue, 50 in behind the rear axle of a 100 in wheelbase lift 200 lb off it.
    """
    data = rig()
    data["trailer"]["empty_tongue_weight"] = "400 lb"
    data["tow_vehicle"] = {"wheelbase": "100 in", "ball_behind_rear_axle": "50 in"}
    books = rules(front="0 - tow_vehicle.front_axle_change <= limit; 100 lb")
    found = vary(written(data), "tow_vehicle.front_restoration", (0.0, 1.0), books, DAY)
    assert told(only(found)) == ("front", "not met", "met")
    assert only(found).value == pytest.approx(0.5, abs=1e-5)


def test_varying_a_field_leaves_the_profile_as_it_is(written: Written, rules: Rules) -> None:
    data = rig()
    data["trailer"].pop("gvwr")
    profile = written(data)
    vary(profile, "trailer.gvwr", (1e4, 2e4), rules(fits=WITHIN), DAY)
    assert math.isnan(profile.load().trailer.gvwr)


# --- the size of a tiedown, by which a table is read ----------------------------------------------


def test_the_size_of_an_unmarked_chain_reads_the_table_row_by_row(
    bundled: Bundled, books: Rulebooks
) -> None:
    profile = bundled("loader-tractor-in-order")
    found = vary(profile, "tiedowns.1.size", (0.1 * IN, 1 * IN), books, DAY)
    assert found.kind == "length"
    assert found.values.size > 1


# --- paths that lead nowhere ----------------------------------------------------------------------

NUMBERS = (
    "a number of this profile, such as trailer.gvwr, trailer.empty_weight, "
    "trailer.empty_tongue_weight, trailer.axles.only.x and 5 more"
)
OF_TRAILER = "; 'trailer' has gvwr, empty_weight, empty_tongue_weight, axles"

WRONG = {
    "trailer.gwvr": (
        f"found no field 'trailer.gwvr'; wanted {NUMBERS}; did you mean 'trailer.gvwr'?"
    ),
    "trailer.axles.main.x": (
        f"found no field 'trailer.axles.main.x'; wanted {NUMBERS}; "
        "did you mean 'trailer.axles.only.x'?"
    ),
    "trailer.axles.only.tyers": (
        f"found no field 'trailer.axles.only.tyers'; wanted {NUMBERS}; "
        "did you mean 'trailer.axles.only.tyres'?"
    ),
    "articles.1.wieght": (
        f"found no field 'articles.1.wieght'; wanted {NUMBERS}; did you mean 'articles.1.weight'?"
    ),
    "gvwr": f"found no field 'gvwr'; wanted {NUMBERS}; did you mean 'trailer.gvwr'?",
    "trailer.empty_wieght": (
        f"found no field 'trailer.empty_wieght'; wanted {NUMBERS}; "
        "did you mean 'trailer.empty_weight'?"
    ),
    "trailer.suspension": (
        f"found 'trailer.suspension', which is no number; wanted {NUMBERS}{OF_TRAILER}"
    ),
    "trailer.axles": (
        f"found 'trailer.axles', which is no number; wanted {NUMBERS}; 'trailer.axles' has only"
    ),
    "trailer.colour": f"found no field 'trailer.colour'; wanted {NUMBERS}{OF_TRAILER}",
    "title": f"found 'title', which is no number; wanted {NUMBERS}; the load has trailer, articles",
    "gear.tiedowns.1.count": (
        f"found 'gear.tiedowns.1.count', which no rule uses; wanted {NUMBERS}; "
        "the load has trailer, articles"
    ),
    "articles.2.weight": "found '2' in 'articles.2.weight'; wanted a number from 1 to 1",
    "articles.0.weight": "found '0' in 'articles.0.weight'; wanted a number from 1 to 1",
    "articles.first.weight": (
        "found 'first' in 'articles.first.weight'; wanted a number from 1 to 1"
    ),
    "articles.-1.weight": "found '-1' in 'articles.-1.weight'; wanted a number from 1 to 1",
    "tiedowns.1.size": (
        "found '1' in 'tiedowns.1.size'; wanted a field of another part, as it is empty"
    ),
    "articles.1.weight.most": (
        f"found no field 'articles.1.weight.most'; wanted {NUMBERS}; "
        "did you mean 'articles.1.weight'?"
    ),
    "": f"found no field ''; wanted {NUMBERS}; the load has trailer, articles",
}


@pytest.mark.parametrize("field", WRONG)
def test_a_path_that_is_no_number_says_what_would_be(
    field: str, written: Written, rules: Rules
) -> None:
    with pytest.raises(NoSuchFieldError, match=f"^{re.escape(WRONG[field])}$"):
        vary(written(rig()), field, (0, 1), rules(fits=WITHIN), DAY)


def test_a_word_of_the_trailer_means_no_number_of_a_tiedown(bundled: Bundled) -> None:
    """`suspension` and `pretension` are spelt alike, but the paths to them are not."""
    there = "; 'trailer' has built, gvwr, empty_weight, empty_tongue_weight, "
    with pytest.raises(NoSuchFieldError, match=there):
        find_numeric_field(bundled("side-by-side-in-order"), "trailer.suspension")


def test_every_number_of_a_bundled_load_can_be_named(bundled: Bundled) -> None:
    """The paths by which origins are told lead back to the field."""
    profile = bundled("gooseneck-two-articles-in-order")
    numbers = 0
    for field in profile.load().origins:
        try:
            path, kind = find_numeric_field(profile, field)
        except NoSuchFieldError:
            continue
        numbers += 1
        assert ".".join(str(p + 1) if isinstance(p, int) else p for p in path) == field
        assert kind
    assert numbers > 100
