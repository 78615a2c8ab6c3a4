"""Which faults are one cause, how many hauls each cause holds, and what to put right first."""

from collections.abc import Sequence
from itertools import permutations

import pytest

from checker.rulebooks.rule_text import Side
from checker.season.causes.causes import Causes
from checker.season.hauls.faults import Fault, FaultTally, faults_of
from checker.season.totals import Totals
from tests.shipped import shipped_rules

TOO_LIGHT = Fault("tongue-share-ball", Side.BELOW)
TOO_HEAVY = Fault("tongue-share-ball", Side.ABOVE)
LAMPS = (Fault("lamps-work"), Fault("us-lamps-work"))
PIN = Fault("coupler-pin-in")
# A wheel loader under two tiedowns: both at one anchor, two corners free, and the heavy machine
# rule wants four. All three read tiedowns.*.
TOO_FEW = (
    Fault("four-corners-held", Side.BELOW),
    Fault("anchor-for-each-tiedown", Side.BELOW),
    Fault("us-machine-four-tiedowns", Side.BELOW),
)
SHOULD = Fault("machine-weight-on-tongue", Side.ABOVE)


def key(*faults: Fault) -> str:
    return " ".join(sorted(each.key for each in faults))


def causes(*sets: tuple[int, Sequence[Fault]]) -> Causes:
    tallies = {key(*faults): FaultTally(hauls) for hauls, faults in sets}
    return Causes(tallies, shipped_rules(), {})


def named(found: Causes) -> list[tuple[list[Fault], int, int]]:
    return [([fault for fault, _ in each.faults], each.hauls, each.alone) for each in found.all]


def test_a_key_names_its_faults() -> None:
    faults = (TOO_LIGHT, PIN, Fault("us-tread", Side.BELOW, as_saved=True))
    assert set(faults_of(key(*faults))) == set(faults)


@pytest.mark.parametrize("rules", [LAMPS, TOO_FEW])
def test_rules_that_fail_for_one_reason_are_one_cause(rules: tuple[Fault, ...]) -> None:
    assert named(causes((3, rules))) == [(list(rules), 3, 3)]


def test_the_sides_of_a_limit_are_two_causes() -> None:
    assert named(causes((11, [TOO_LIGHT]), (2, [TOO_HEAVY]))) == [
        ([TOO_LIGHT], 11, 11),
        ([TOO_HEAVY], 2, 2),
    ]


def test_rules_that_read_other_fields_are_two_causes_though_they_come_together() -> None:
    # A crew that forgets lamps and pin in the same hauls forgets two things.
    assert named(causes((9, [*LAMPS, PIN]))) == [([PIN], 9, 0), (list(LAMPS), 9, 0)]


def test_rules_that_read_a_common_field_are_two_causes_where_they_come_apart() -> None:
    # Both read the article's weight; 2 of 12 hauls with either have both, and 2 of 4 are few.
    over = Fault("trailer-within-gvwr", Side.ABOVE)
    found = causes((8, [TOO_LIGHT]), (2, [TOO_LIGHT, over]), (2, [over]))
    assert named(found) == [([TOO_LIGHT], 10, 8), ([over], 4, 2)]


@pytest.mark.parametrize(("extra", "one_cause"), [(4, True), (3, False)])
def test_a_rare_consequence_belongs_to_its_cause_where_it_is_often_enough(
    extra: int, one_cause: bool
) -> None:
    # 4 of 5 hauls are the share asked for, 5 the least number; 3 of 4 are neither.
    uplift = Fault("us-load-distributed", Side.ABOVE)
    found = causes((90, [TOO_LIGHT]), (extra, [TOO_LIGHT, uplift]), (1, [uplift]))
    assert ((uplift, extra) in found.all[0].faults) == one_cause
    # Without the head it is a cause of its own, of all its hauls or of the one without.
    assert named(found)[1] == ([uplift], 1 if one_cause else extra + 1, 1)


def listed(found: Causes) -> list[tuple[str, int, list[tuple[Fault, int]]]]:
    return [(each.level, each.hauls, list(each.faults)) for each in found.all]


def test_a_should_rule_joins_the_must_that_it_comes_with_and_holds_no_haul_of_its_own() -> None:
    # Of the 6 hauls with the should-rule 5 break the must-rule; the sixth is on hold for nothing.
    assert listed(causes((5, [TOO_HEAVY, SHOULD]), (1, [SHOULD]))) == [
        ("must", 5, [(TOO_HEAVY, 5), (SHOULD, 5)]),
        ("should", 1, [(SHOULD, 1)]),
    ]


def test_a_cause_counts_the_hauls_with_the_fault_that_names_it() -> None:
    # 18 hauls have a free corner. 4 others fail the machine rule alone, 1 that and the anchor rule:
    # no corner of these is free, and "a tiedown at each corner" helps none of them.
    corner, anchor, machine = TOO_FEW
    sets = [(12, TOO_FEW), (6, [corner]), (4, [machine]), (1, [anchor, machine])]
    for order in permutations(sets):
        found = causes(*order)
        assert listed(found) == [
            ("must", 18, [(corner, 18), (machine, 12), (anchor, 12)]),
            ("must", 5, [(machine, 5), (anchor, 1)]),
        ]
        repairs = [(each.cause.head, each.off_hold) for each in found.first(5)]
        assert repairs == [(corner, 18), (machine, 23)]


def test_hauls_without_the_head_are_divided_until_each_is_in_a_cause() -> None:
    corner, anchor, machine = TOO_FEW
    sets = [(10, TOO_FEW), (5, [corner]), (4, [machine]), (2, [anchor]), (1, [PIN, anchor])]
    assert named(causes(*sets)) == [
        ([corner, machine, anchor], 15, 15),
        ([machine], 4, 4),
        ([anchor], 3, 2),
        ([PIN], 1, 0),
    ]


def test_what_comes_first_takes_most_hauls_off_hold() -> None:
    # By hand: the lamps free 5 at once, the pin 4; then the light tongue alone 1 and both pairs
    # with it, 1 + 2 + 6. The 6 hauls with pin and tongue are freed by neither alone.
    found = causes(
        (5, LAMPS), (4, [PIN]), (1, [TOO_LIGHT]), (2, [*LAMPS, TOO_LIGHT]), (6, [PIN, TOO_LIGHT])
    )
    assert [(each.cause.head, each.off_hold) for each in found.first(5)] == [
        (LAMPS[0], 5),
        (PIN, 9),
        (TOO_LIGHT, 18),
    ]
    assert [each.off_hold for each in found.first(1)] == [5]


def test_nothing_comes_first_where_nothing_is_on_hold() -> None:
    assert not causes((2, [SHOULD])).first(3)
    assert not causes().all


def test_a_profile_that_breaks_the_rule_by_itself_is_told_from_rows_that_do() -> None:
    saved = TOO_LIGHT._replace(as_saved=True)
    tallies = {
        saved.key: FaultTally(4, {"load": {"too-far-back": 4}}, {"articles.1.placed.x": 4}),
        TOO_LIGHT.key: FaultTally(
            10,
            {"load": {"in-order": 10}},
            {"articles.1.placed.x": 9, "articles.1.weight": 8, "trip.speed": 10, "trip.date": 1},
        ),
    }
    departs = {"articles.1.placed.x": 20, "articles.1.weight": 900, "trip.speed": 900}
    (only,) = Causes(tallies, shipped_rules(), departs).all
    assert (only.hauls, only.as_saved, only.in_rows) == (14, {"too-far-back": 4}, 10)
    # The speed is not behind a tongue weight. Most rows of the season state another weight than
    # the profile, few another place: that tells more.
    assert list(only.stated.items()) == [("articles.1.placed.x", 9), ("articles.1.weight", 8)]


def test_the_counts_add_up_in_any_order() -> None:
    parts = [
        {TOO_LIGHT.key: FaultTally(1, {"crew": {"a": 1}}, {"trip.speed": 1})},
        {TOO_LIGHT.key: FaultTally(2, {"crew": {"b": 2}}), key(*LAMPS): FaultTally(1)},
        {key(*LAMPS): FaultTally(4, {"crew": {"a": 4}})},
    ]
    found = []
    for order in permutations(parts):
        totals = Totals()
        for part in order:
            copies = {
                name: FaultTally(each.hauls, {k: {**v} for k, v in each.by.items()}, each.departs)
                for name, each in part.items()
            }
            totals.add(Totals(faults=copies))
        found.append(totals.faults)
    assert all(each == found[0] for each in found)
    assert found[0][TOO_LIGHT.key] == FaultTally(3, {"crew": {"a": 1, "b": 2}}, {"trip.speed": 1})
