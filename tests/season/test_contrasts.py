"""What is counted for comparisons, and what a comparison names or leaves unsaid."""

from datetime import date
from itertools import product

import numpy as np
import pytest
from scipy import stats

from checker.season.rates.contrasts import Contrast, Result
from checker.season.rates.correcting import FEWEST, LEVEL
from checker.season.rates.exposure import Carried, Coded, Exposure, Exposures, count_exposures
from checker.season.rates.then_and_now import ChangeResult, change
from checker.season.season_comparisons import compare_within
from checker.season.totals import Tally

SIX_DIGITS = 1e-5
"""Probabilities are rounded to six digits, so that every processor gives the same bytes."""

Hauled = tuple[str, str, str, int, int]
"""Load, crew and month; decided hauls and those on hold."""


def exposures(hauled: list[Hauled], carried: dict[str, Carried] | None = None) -> Exposures:
    """Those of some hauls; every load has a trailer, a machine and a tow vehicle of its own."""
    found = Exposures()
    for load, crew, month, decided, held in hauled:
        other = Exposures()
        other.hauled = {load: {crew: {month: Exposure(decided, held)}}}
        other.carried[load] = (carried or {}).get(load, Carried(load, (load,), load))
        found.add(other)
    return found


def contrast(of: Exposures, kind: str, name: str) -> Contrast:
    """The comparison of one group."""
    (found,) = [
        each for each in compare_within(of).contrasts if (each.kind, each.name) == (kind, name)
    ]
    return found


def test_hauls_are_counted_by_load_crew_and_month() -> None:
    none = np.nan
    found = count_exposures(
        Coded(["one", "two"], np.array([0, 0, 1, 0, 0, 0])),
        Coded(["", "north"], np.array([1, 1, 1, 0, 1, 1])),
        Coded(["2026-05", "2026-06"], np.array([0, 0, 0, 0, 1, 0])),
        decided=np.array([True, True, True, True, True, False]),
        held=np.array([True, False, False, True, False, False]),
        metres=np.array([1000.4, none, 1e308, 5.0, 7.0, 9.0]),
    )
    # The last haul is open; 1e308 m is no distance.
    assert found.hauled == {
        "one": {
            "north": {"2026-05": Exposure(2, 1, 1, 1, 1000), "2026-06": Exposure(1, 0, 1, 0, 7)},
            "": {"2026-05": Exposure(1, 1, 1, 1, 5)},
        },
        "two": {"north": {"2026-05": Exposure(1, 0, 0, 0, 0)}},
    }


def test_counts_add_up() -> None:
    one, other = (exposures([("one", "north", "2026-05", 3, number)]) for number in (1, 2))
    one.add(other)
    assert one.hauled == {"one": {"north": {"2026-05": Exposure(6, 3)}}}


def test_a_crew_that_gets_the_hard_load_is_not_the_worse_crew() -> None:
    month = "2026-05"
    of = exposures(
        [
            ("hard", "north", month, 300, 90),
            ("hard", "south", month, 60, 18),
            ("easy", "north", month, 60, 1),
            ("easy", "south", month, 300, 5),
        ]
    )
    found = contrast(of, "crew", "north")
    # The shares within each load are the same, 30 % and 1/60, so as many are expected as found;
    # of all its hauls north has 91 of 360 on hold, south 23 of 360.
    assert (found.compared_held, found.expected) == (91, pytest.approx(90 + 1))
    assert found.result is Result.UNEXPLAINED
    assert stats.fisher_exact([[91, 269], [23, 337]], alternative="greater").pvalue < 1e-6


def test_a_worse_crew_is_named_with_fishers_probability() -> None:
    of = exposures([("one", "north", "2026-05", 40, 12), ("one", "south", "2026-05", 610, 31)])
    found = contrast(of, "crew", "north")
    expected = stats.fisher_exact([[12, 28], [31, 579]], alternative="greater").pvalue
    assert found.p == pytest.approx(expected, rel=SIX_DIGITS)
    # Both crews can be compared; the only month, trailer and so on have nothing beside them.
    assert found.corrected == pytest.approx(2 * expected, rel=SIX_DIGITS)
    assert found.corrected is not None
    assert found.corrected < LEVEL
    assert (found.result, found.within) == (Result.MORE, ("load", "month"))
    assert (found.others, found.others_held) == (610, 31)
    assert found.expected == pytest.approx(40 * 31 / 610, rel=SIX_DIGITS)
    for kind in ("month", "trailer", "machine", "tow vehicle"):
        (alone,) = [each for each in compare_within(of).contrasts if each.kind == kind]
        assert alone.result is Result.ALONE


def test_a_crew_of_the_bad_months_is_compared_within_them() -> None:
    hauled = [
        ("one", "summer", "2026-07", 100, 30),
        ("one", "north", "2026-07", 100, 30),
        ("one", "north", "2026-01", 400, 8),
    ]
    found = contrast(exposures(hauled), "crew", "summer")
    assert (found.within, found.others, found.result) == (
        ("load", "month"),
        100,
        Result.UNEXPLAINED,
    )


def test_where_few_share_a_month_the_load_alone_is_the_same() -> None:
    hauled = [("one", "north", f"2026-{month:02}", 3, 0) for month in range(1, 7)]
    hauled += [("one", "south", f"2026-{month:02}", 3, 0) for month in range(6, 13)]
    found = contrast(exposures(hauled), "crew", "north")
    assert (found.within, found.compared, found.others) == (("load",), 18, 21)


def test_of_few_hauls_nothing_is_said() -> None:
    few = FEWEST - 1
    of = exposures([("one", "north", "2026-05", few, few), ("one", "south", "2026-05", 99, 1)])
    assert contrast(of, "crew", "north").result is Result.TOO_FEW
    assert contrast(of, "crew", "north").p is None


def test_where_no_outcome_could_be_named_there_is_too_little_to_say() -> None:
    # One haul on hold of 20: if it is one of the 10 of north, the probability is a half.
    of = exposures([("one", "north", "2026-05", 10, 1), ("one", "south", "2026-05", 10, 0)])
    found = contrast(of, "crew", "north")
    assert (found.p, found.least, found.result) == (
        pytest.approx(0.5),
        pytest.approx(0.5),
        Result.TOO_FEW,
    )


def test_crews_that_nobody_named_are_no_group() -> None:
    of = exposures([("one", "", "2026-05", 50, 50), ("one", "north", "2026-05", 50, 0)])
    assert [each.name for each in compare_within(of).contrasts if each.kind == "crew"] == ["north"]


def fleet(machines: int, held: dict[str, int]) -> Exposures:
    """Every machine on each of four trailers, 50 hauls each; `held` by trailer, of each load."""
    carried = {
        f"{machine} on {trailer}": Carried(trailer, (str(machine),), "truck")
        for machine in range(machines)
        for trailer in ("T1", "T2", "T3", "T4")
    }
    return exposures(
        [(load, "north", "2026-05", 50, held[each.trailer]) for load, each in carried.items()],
        carried,
    )


def test_a_failing_trailer_is_named_by_its_loads() -> None:
    found = contrast(fleet(6, {"T1": 2, "T2": 12, "T3": 3, "T4": 1}), "trailer", "T2")
    # Of four loads of each machine the one on T2 is the worst: 1/4, six times.
    assert found.p == pytest.approx(0.25**6, rel=SIX_DIGITS)
    assert found.result is Result.MORE


def test_one_bad_load_does_not_make_a_failing_trailer() -> None:
    of = fleet(6, {"T1": 2, "T2": 2, "T3": 3, "T4": 1})
    of.hauled["0 on T2"]["north"]["2026-05"] = Exposure(50, 50)
    found = contrast(of, "trailer", "T2")
    # By its hauls it would be named beyond any doubt: 60 of 300, others 36 of 900.
    assert stats.fisher_exact([[60, 240], [36, 864]], alternative="greater").pvalue < 1e-12
    # Ranks of the four loads: 1, 2, 3 and 4 once, T2 the last; 1, 2.5, 2.5 and 4 five times.
    sums = [sum(each) for each in product((1, 2, 3, 4), *[(1, 2.5, 2.5, 4)] * 5)]
    expected = sum(each >= 4 + 5 * 2.5 for each in sums) / len(sums)
    assert found.p == pytest.approx(expected, rel=SIX_DIGITS)
    assert found.result is Result.UNEXPLAINED


def test_a_trailer_whose_loads_are_its_own_cannot_be_told_apart() -> None:
    carried = {each: Carried(f"T {each}", (each,), "truck") for each in ("one", "two")}
    hauled = [("one", "north", "2026-05", 90, 60), ("two", "north", "2026-05", 90, 0)]
    found = contrast(exposures(hauled, carried), "trailer", "T one")
    assert (found.compared, found.result) == (0, Result.ALONE)


def test_a_load_of_two_machines_counts_for_both() -> None:
    carried = {
        "both": Carried("T", ("loader", "mower"), "truck"),
        "mower": Carried("T", ("mower",), "truck"),
    }
    hauled = [("both", "north", "2026-05", 20, 10), ("mower", "north", "2026-05", 20, 0)]
    of = exposures(hauled, carried)
    assert contrast(of, "machine", "loader").decided == 20
    mower = contrast(of, "machine", "mower")
    assert (mower.decided, mower.compared, mower.result) == (40, 0, Result.ALONE)


def test_no_hauls_no_comparisons() -> None:
    assert compare_within(Exposures()).contrasts == []


def test_before_and_after_a_change_are_compared_by_load_and_crew() -> None:
    hauled = [
        ("one", "north", "2026-05", 40, 12),
        ("one", "north", "2026-06", 9, 9),
        ("one", "north", "2026-07", 40, 1),
        ("one", "south", "2026-07", 50, 50),
    ]
    of = exposures(hauled)
    # June is of both sides; south has nothing before.
    found = compare_within(of, date(2026, 6, 15)).since
    assert found is not None
    assert (found.then, found.then_broken, found.now, found.now_broken) == (40, 12, 40, 1)
    expected = stats.fisher_exact([[1, 39], [12, 28]]).pvalue
    assert found.p == pytest.approx(expected, rel=SIX_DIGITS)
    assert found.result is ChangeResult.LESS
    # From the first of a month on, the month belongs to what is after.
    since_june = compare_within(of, date(2026, 6, 1)).since
    assert since_june is not None
    assert (since_june.then, since_june.now) == (40, 49)
    # Before anything, there is nothing to compare with.
    nothing = compare_within(of, date(2026, 1, 1)).since
    assert nothing is not None
    assert (nothing.p, nothing.result) == (None, ChangeResult.NO_LOAD)


def test_a_month_over_few_loads_is_too_little_to_say() -> None:
    """Ten loads, all 8,000 hauls of May on hold and none of June: only ten faults, perhaps one."""
    hauled = [
        (f"load {load}", "north", month, 800, held)
        for load in range(10)
        for month, held in (("2026-05", 800), *((f"2026-{each:02}", 0) for each in range(6, 13)))
    ]
    # Its probability cannot be below that of a normal number above the root of ten, 0.00078, and
    # among more than 32 comparisons none of that size is named.
    others = [
        (f"load {load}", crew, "2026-06", 800, 0)
        for load in range(10)
        for crew in "abcdefghijklmnopqrstuvwxyz"
    ]
    found = contrast(exposures(hauled + others), "month", "2026-05")
    assert found.least == pytest.approx(stats.norm.cdf(-(10**0.5)), rel=SIX_DIGITS)
    assert found.result is Result.TOO_FEW


def test_one_load_hauled_with_many_trailers_is_one_load() -> None:
    rigs = {
        f"mower (T-{each})": Carried(f"T-{each}", ("mower",), "truck", "mower")
        for each in range(12)
    }
    hauled = [
        (rig, "north", month, 50, held)
        for rig in rigs
        for month, held in (("2026-05", 40), ("2026-06", 0))
    ]
    found = contrast(exposures(hauled, rigs), "month", "2026-05")
    assert (found.least, found.result) == (1.0, Result.TOO_FEW)


@pytest.mark.parametrize(
    ("opens", "result"),
    [
        # 14 open of 54 hauls are 25.9 %, 13 of 53 are 24.5 %; of the others none is open.
        ((13, 0), Result.MORE),
        ((14, 0), Result.TOO_OPEN),
        # As many of the others open: 14 of 54 and 150 of 760 differ by 6 %.
        ((14, 150), Result.MORE),
    ],
)
def test_groups_of_which_more_are_open_than_of_the_others_are_not_compared(
    opens: tuple[int, int], result: Result
) -> None:
    """12 of 40 against 31 of 610 decided hauls, which the test names (p under 0.001)."""
    of = exposures([("one", "north", "2026-05", 40, 12), ("one", "south", "2026-05", 610, 31)])
    own, others = Tally(40 + opens[0], 12, opens[0]), Tally(610 + opens[1], 31, opens[1])
    both = Tally(own.hauls + others.hauls, 43, sum(opens))
    by = {"crew": {"north": own, "south": others}, "month": {"2026-05": both}}
    crews = {each.name: each for each in compare_within(of, None, by).contrasts}
    assert crews["north"].result is result
    assert (crews["north"].p is None) == (result is Result.TOO_OPEN)


def test_a_change_with_many_open_hauls_before_it_is_not_judged() -> None:
    """12 of 40 decided hauls on hold before, 1 of 40 after; before, 14 more were open."""
    of = exposures([("one", "north", "2026-05", 40, 12), ("one", "north", "2026-07", 40, 1)])
    by = {"month": {"2026-05": Tally(54, 12, 14), "2026-07": Tally(40, 1)}}
    found = compare_within(of, date(2026, 7, 1), by).since
    assert found is not None
    assert (found.result, found.p) == (ChangeResult.TOO_OPEN, None)


def test_one_load_with_many_crews_is_one_load_before_and_after_a_change() -> None:
    """Ten crews on one load, which goes on hold for good in July: no more than one fault."""
    hauled = [
        ("one", f"crew {crew}", month, 50, held)
        for crew in range(10)
        for month, held in (("2026-06", 0), ("2026-07", 50))
    ]
    by_hauls = compare_within(exposures(hauled), date(2026, 7, 1), {"month": {}}).since
    parts = (
        {f"one ({crew})": (50, 0) for crew in range(10)},
        {f"one ({crew})": (50, 50) for crew in range(10)},
    )
    apart, together = change(*parts), change(*parts, loads=dict.fromkeys(parts[0], "one"))
    assert by_hauls is not None
    # Ten loads would be tested as ten; one load leaves the hauls alone, as any few loads do.
    assert apart.p is not None
    assert apart.p > 1e-4 > (together.p or 0)
    assert by_hauls.p == together.p
