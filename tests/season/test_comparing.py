"""Comparison of audits: pairs made by hand, with differences worked out by hand."""

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.season.comparing import Compared, Comparison, Turn, compare
from checker.season.rates.then_and_now import ChangeResult
from checker.season.record import (
    COMPARED_BY,
    Count,
    LoadExposure,
    Record,
    RuleCount,
    count_of_hauls,
    count_of_rule,
)
from checker.season.totals import RuleTally, Tally, WorstHaul

MIRRORED = {
    Turn.NEW: Turn.FIXED,
    Turn.FIXED: Turn.NEW,
    Turn.WORSE: Turn.BETTER,
    Turn.BETTER: Turn.WORSE,
    Turn.NOT_DECIDED_THEN: Turn.NOT_DECIDED_NOW,
    Turn.NOT_DECIDED_NOW: Turn.NOT_DECIDED_THEN,
    Turn.SAME: Turn.SAME,
}


def rule(asked: int, broken: int = 0, undecided: int = 0, level: str = "must") -> RuleCount:
    return RuleCount("A rule", level, Count(asked, broken, undecided))


def haul(row: int, outcome: str = "hold", broken: tuple[str, ...] = ("a",)) -> WorstHaul:
    return WorstHaul(row, "load", "2026-05-14", "north", outcome, None, broken, (), (), (), ())


def record(
    rules: Mapping[str, RuleCount] | None = None,
    *worst: WorstHaul,
    held: int | None = None,
    refused: int = 0,
    refused_rows: tuple[int, ...] = (),
    by: Mapping[str, Mapping[str, Count]] | None = None,
    digest: str = "log",
) -> Record:
    """An audit of 100 hauls."""
    on_hold = sum(each.outcome == "hold" for each in worst) if held is None else held
    return Record(
        version="1.0",
        log="hauls.csv",
        digest=digest,
        near=0.05,
        rulebooks={},
        tables={},
        amendments={},
        read=100 + refused,
        refused=refused,
        refused_rows=frozenset(refused_rows),
        totals=Tally(100, on_hold, 0, 0, 0),
        rules=rules or {},
        by={kind: (by or {}).get(kind, {}) for kind in COMPARED_BY},
        worst=worst,
    )


def test_what_is_counted_as_asked_broken_and_undecided() -> None:
    """5 not met, 2 of them under a variance; 2 not stated, 1 too close; 7 met, 4 do not apply."""
    assert count_of_rule(RuleTally([5, 2, 1, 7, 4], excused=2)) == Count(15, 3, 3)
    assert Count(15, 3, 3).share == 0.25
    assert count_of_hauls(Tally(10, 3, 2, 1, 1)) == Count(10, 3, 2)


@pytest.mark.parametrize(
    ("then", "now", "turn"),
    [
        (Count(10, 0), Count(10, 1), Turn.NEW),
        (Count(10, 1), Count(10, 0), Turn.FIXED),
        # 1 of 10 and 1 of 9; 1 of 10 and 2 of 20; 1 of 10 and 1 of 11.
        (Count(10, 1), Count(9, 1), Turn.WORSE),
        (Count(10, 1), Count(20, 2), Turn.SAME),
        (Count(10, 1), Count(11, 1), Turn.BETTER),
        # Undecided hauls are no part of the share: 1 of 10 both times, then 2 of 10.
        (Count(10, 1), Count(50, 1, 40), Turn.SAME),
        (Count(10, 1), Count(50, 2, 40), Turn.WORSE),
        # What is not asked any more, or only left unstated, is not mended; and the other way round.
        (Count(10, 1), Count(), Turn.NOT_DECIDED_NOW),
        (Count(10, 1), Count(10, 0, 10), Turn.NOT_DECIDED_NOW),
        (Count(10, 1), Count(10, 0, 9), Turn.FIXED),
        (Count(), Count(10, 1), Turn.NOT_DECIDED_THEN),
        (Count(10, 0, 10), Count(10, 1), Turn.NOT_DECIDED_THEN),
        # As floats, 1/3 of 3 * 10^17 hauls and one more would be equal.
        (Count(3 * 10**17, 10**17), Count(3 * 10**17, 10**17 + 1), Turn.WORSE),
    ],
)
def test_how_a_count_turns(then: Count, now: Count, turn: Turn) -> None:
    assert Compared("a", then, now).turn is turn
    assert Compared("a", now, then).turn is MIRRORED[turn]


def test_rules_stand_must_first_then_by_how_they_turn_and_by_how_much() -> None:
    then = record(
        {
            "worse by 10 %": rule(100, 10),
            "worse by 20 %": rule(100, 10),
            "a should": rule(100, level="should"),
            "never broken": rule(100),
            "mended": rule(100, 5),
            "gone": rule(100, 5),
        }
    )
    now = record(
        {
            "worse by 10 %": rule(100, 20),
            "worse by 20 %": rule(100, 30),
            "a should": rule(100, 90, level="should"),
            "never broken": rule(100),
            "mended": rule(100),
            "not asked then": rule(100, 1),
        }
    )
    found = compare(then, now)
    assert [each.name for each in found.rules] == [
        "worse by 20 %",
        "worse by 10 %",
        "not asked then",
        "mended",
        "gone",
        "a should",
    ]
    assert [str(each.turn) for each in found.rules] == [
        "worse",
        "worse",
        "not decided then",
        "mended",
        "not decided now",
        "new",
    ]
    assert found.rule("gone") == rule(100, 5)


def test_who_is_on_hold_is_compared_by_name() -> None:
    then = record(by={"crew": {"north": Count(10, 2), "south": Count(5, 1)}, "machine": {}})
    now = record(by={"crew": {"north": Count(40, 4), "": Count(3, 1)}})
    by = compare(then, now).by
    assert {kind: [(each.name, str(each.turn)) for each in by[kind]] for kind in by} == {
        "trailer": [],
        "machine": [],
        "tow vehicle": [],
        "crew": [("", "not decided then"), ("north", "better"), ("south", "not decided now")],
    }


def test_rulebooks_are_told_apart_by_id_and_by_digest() -> None:
    then = replace(record(), rulebooks={"same": "1", "changed": "1", "gone": "1"})
    now = replace(record(), rulebooks={"added": "1", "changed": "2", "same": "1"})
    found = compare(then, now)
    assert (found.rulebooks.added, found.rulebooks.gone, found.rulebooks.changed) == (
        ("added",),
        ("gone",),
        ("changed",),
    )
    assert not found.same_inputs
    assert not compare(then, replace(then, near=0.1)).same_inputs
    assert not compare(then, replace(then, version="1.1")).same_inputs
    assert not compare(then, replace(then, tables={"a": "1"})).same_inputs
    assert not compare(then, replace(then, amendments={"a": "1"})).same_inputs
    assert compare(then, then).same_inputs


def test_hauls_of_one_log_are_compared_one_by_one() -> None:
    then = record(
        None,
        haul(1),
        haul(2, broken=("a", "b")),
        haul(3),
        haul(4, "open", ()),
        haul(7),
        refused=1,
        refused_rows=(6,),
    )
    now = record(
        None, haul(1), haul(2, broken=("b", "c")), haul(4), haul(5), haul(6), haul(7, "open", ())
    )
    hauls = compare(then, now).hauls
    assert hauls is not None
    told = [
        [(each.row, each.then, each.now, each.broken, each.no_longer_broken) for each in some]
        for some in (hauls.put_on_hold, hauls.off_hold, hauls.held_otherwise)
    ]
    assert told == [
        [
            (4, "open", "hold", ("a",), ()),
            (5, "not on hold", "hold", ("a",), ()),
            (6, "refused", "hold", ("a",), ()),
        ],
        [(3, "hold", "not on hold", (), ("a",)), (7, "hold", "open", (), ("a",))],
        [(2, "hold", "hold", ("c",), ("a",))],
    ]
    assert hauls.not_compared == 0


def test_only_hauls_that_both_audits_tell_of_are_compared() -> None:
    # Then 3 hauls were on hold and one of them is remembered; now the one on hold is.
    then, now = record(None, haul(1), haul(3, "open", ()), held=3), record(None, haul(2))
    hauls = compare(then, now).hauls
    assert hauls is not None
    assert [each.row for each in hauls.off_hold] == [1]  # now all on hold are remembered
    assert hauls.put_on_hold == ()  # row 2 may have been on hold then
    assert hauls.not_compared == 3  # row 2, and two of then that nobody knows
    # A refused row that is not told by its number may be any.
    hauls = compare(record(None, refused=2, refused_rows=(9,)), now).hauls
    assert hauls is not None
    assert (hauls.put_on_hold, hauls.not_compared) == ((), 1)


def test_rows_of_another_log_are_other_hauls() -> None:
    assert compare(record(None, haul(1)), record(None, haul(2), digest="other")).hauls is None


def of_one_load(held: int, undecided: int, hauls: int, digest: str) -> Record:
    """All hauls are of one load and crew, and one rule holds them and leaves them open."""
    count = Count(hauls, held, undecided)
    of_rule = RuleCount("A rule", "must", count, {"load": (held, undecided)})
    return replace(
        record({"a": of_rule}, by={"crew": {"north": count}, "trailer": {"t": count}}),
        digest=digest,
        totals=Tally(hauls, held, undecided),
        loads={"load": count},
        exposures={
            "load": LoadExposure(
                {"trailer": ["t"], "machine": [], "tow vehicle": []},
                {"north": (hauls - undecided, held)},
                "load",
            )
        },
    )


def test_where_many_hauls_are_open_nothing_is_called_a_change() -> None:
    """614 of 3000 were on hold and all others open: hauls on hold are all that was decided."""
    then, now = of_one_load(614, 2386, 3000, "then"), of_one_load(3870, 300, 20000, "now")
    for found in (compare(then, now), compare(now, then)):
        each = [*found.rules, *found.by["crew"], *found.by["trailer"]]
        changes = [found.on_hold, *(one.change for one in each)]
        assert [change and (change.result, change.p) for change in changes] == [
            (ChangeResult.TOO_OPEN, None)
        ] * 4
        assert [one.shown_turn for one in each] == [None] * 3


@pytest.mark.parametrize(
    ("undecided", "result"), [(25, ChangeResult.LESS), (26, ChangeResult.TOO_OPEN)]
)
def test_up_to_a_quarter_of_the_hauls_may_be_open(undecided: int, result: ChangeResult) -> None:
    """60 of 75 decided hauls on hold, then 10 of 100: scipy.stats.fisher_exact gives under 1e-9."""
    then, now = of_one_load(60, undecided, 100, "then"), of_one_load(10, 0, 100, "now")
    found = compare(then, now).on_hold
    assert found is not None
    assert found.result is result


def test_open_hauls_of_the_loads_of_both_count_alone_too() -> None:
    """60 of 100 hauls of the load of both were open then; other loads do not make up for them."""
    then, now = of_one_load(40, 60, 100, "then"), of_one_load(10, 0, 100, "now")
    loads = {**then.loads, "of then alone": Count(900)}
    found = compare(replace(then, totals=Tally(1000, 40, 60), loads=loads), now).on_hold
    assert found is not None
    assert found.result is ChangeResult.TOO_OPEN


def test_of_the_same_log_too_a_rule_undecided_in_many_hauls_is_neither_better_nor_fixed() -> None:
    """Undecided in 80 of 100 hauls then: not met in 20 of 20 then and in 20 of 100 now."""
    then, now = of_one_load(20, 80, 100, "log"), of_one_load(20, 0, 100, "log")
    (found,) = compare(then, now).rules
    assert (found.turn, found.shown_turn, found.too_open) == (Turn.BETTER, None, True)


def counts() -> st.SearchStrategy[Count]:
    """Counts that are possible for hauls."""
    three = st.tuples(*[st.integers(0, 4)] * 3)
    return three.map(lambda each: Count(sum(each), each[0], each[1]))


@st.composite
def records(draw: st.DrawFn) -> Record:
    names = st.dictionaries(st.sampled_from("abcd"), counts(), max_size=4)
    rules = {
        name: RuleCount(name, draw(st.sampled_from(["must", "should"])), count)
        for name, count in draw(names).items()
    }
    rows = draw(st.permutations(range(1, 7)))
    refused = draw(st.integers(0, 2))
    outcomes = st.sampled_from(["hold", "open", "no rule broken"])
    worst = [
        haul(row, outcome, ("a", "b")[: draw(st.integers(1, 2))] if outcome == "hold" else ())
        for row, outcome in zip(rows, draw(st.lists(outcomes, max_size=4)), strict=False)
    ]
    return replace(
        record(
            rules,
            *worst,
            held=sum(each.outcome == "hold" for each in worst) + draw(st.integers(0, 1)),
            refused=refused + draw(st.integers(0, 1)),
            refused_rows=tuple(rows[4 : 4 + refused]),
            by={"crew": draw(names), "trailer": draw(names)},
            digest=draw(st.sampled_from(["one", "one", "other"])),
        ),
        rulebooks=draw(st.dictionaries(st.sampled_from("xyz"), st.sampled_from("12"))),
    )


def turns(found: Comparison) -> dict[tuple[str, str], Turn]:
    kinds = {"rule": found.rules, **found.by}
    return {(kind, each.name): each.turn for kind, some in kinds.items() for each in some}


@given(records())
def test_an_audit_held_against_itself_says_nothing_new(one: Record) -> None:
    found = compare(one, one)
    assert found.nothing_changed
    assert found.same_inputs
    assert found.same_log
    assert set(turns(found).values()) <= {Turn.SAME}


@given(records(), records())
def test_the_other_way_round_is_the_mirror_image(one: Record, other: Record) -> None:
    there, back = compare(one, other), compare(other, one)
    assert turns(back) == {each: MIRRORED[turn] for each, turn in turns(there).items()}
    assert there.nothing_changed == back.nothing_changed
    assert (set(there.rulebooks.added), set(there.rulebooks.changed)) == (
        set(back.rulebooks.gone),
        set(back.rulebooks.changed),
    )
    assert (there.hauls is None) == (back.hauls is None)
    if there.hauls and back.hauls:
        assert there.hauls.not_compared == back.hauls.not_compared
        for some, others in (
            (there.hauls.put_on_hold, back.hauls.off_hold),
            (there.hauls.off_hold, back.hauls.put_on_hold),
            (there.hauls.held_otherwise, back.hauls.held_otherwise),
        ):
            assert [(each.row, each.then, each.now, each.broken) for each in some] == [
                (each.row, each.now, each.then, each.no_longer_broken) for each in others
            ]
