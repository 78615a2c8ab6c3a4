"""Intervals, exact tests and the correction, against scipy and by hand."""

from itertools import combinations, product
from math import comb

import numpy as np
import pytest
from scipy import stats

from checker.season.rates.statistics import (
    LEAST_P,
    above_by_clusters,
    convolved,
    holm,
    least_two_sided,
    marked_among_drawn,
    ranks,
    rate_interval,
    share_interval,
    sum_of_drawn,
    two_sided,
)


@pytest.mark.parametrize(("held", "hauls"), [(0, 1), (1, 1), (0, 10), (3, 10), (12, 40), (31, 610)])
def test_the_interval_of_a_share_is_wilsons(held: int, hauls: int) -> None:
    expected = stats.binomtest(held, hauls).proportion_ci(method="wilson")
    assert share_interval(held, hauls) == pytest.approx((expected.low, expected.high), abs=1e-12)


def test_of_no_haul_any_share_is_possible() -> None:
    assert share_interval(0, 0) == (0.0, 1.0)


@pytest.mark.parametrize("held", [0, 1, 7, 60])
def test_the_interval_of_a_rate_is_the_limit_of_wilsons_and_close_to_the_exact(held: int) -> None:
    low, high = rate_interval(held, 2.0)
    many = 10_000_000
    limit = stats.binomtest(held, many).proportion_ci(method="wilson")
    assert (low, high) == pytest.approx((limit.low * many / 2, limit.high * many / 2), rel=1e-4)
    # Garwood's exact interval differs by less than one event, which is 0.5 for each unit.
    exact = stats.chi2.ppf([0.025, 0.975], [2 * held, 2 * held + 2]) / 4
    assert (low, high) == pytest.approx(tuple(np.nan_to_num(exact)), abs=0.5)


@pytest.mark.parametrize(
    ("hauls", "marked", "drawn"), [(10, 4, 5), (650, 43, 40), (9, 9, 3), (9, 0, 3), (5, 3, 5)]
)
def test_one_stratum_is_fishers_test(hauls: int, marked: int, drawn: int) -> None:
    found = marked_among_drawn(np.array([hauls]), np.array([marked]), np.array([drawn]))
    expected = stats.hypergeom(hauls, marked, drawn)
    for number in range(max(0, drawn + marked - hauls), min(marked, drawn) + 1):
        table = [[number, marked - number], [drawn - number, hauls - marked - drawn + number]]
        above = stats.fisher_exact(table, alternative="greater").pvalue
        assert found.at_least(number) == pytest.approx(max(above, LEAST_P), rel=1e-9)
        assert found.at_most(number) == pytest.approx(max(expected.cdf(number), LEAST_P), rel=1e-9)


def test_several_strata_are_every_way_to_deal_them() -> None:
    hauls, marked, drawn = np.array([4, 5, 3, 6]), np.array([2, 1, 3, 4]), np.array([2, 3, 1, 4])
    ways = [
        [sum(index < some for index in each) for each in combinations(range(total), number)]
        for total, some, number in zip(hauls, marked, drawn, strict=True)
    ]
    sums = [sum(each) for each in product(*ways)]
    found = marked_among_drawn(hauls, marked, drawn)
    assert found.first == min(sums)
    for number in range(min(sums), max(sums) + 1):
        expected = sum(each >= number for each in sums) / len(sums)
        assert found.at_least(number) == pytest.approx(expected, rel=1e-12)
    assert found.least_above == pytest.approx(sums.count(max(sums)) / len(sums))
    assert two_sided(found, max(sums)) == pytest.approx(2 * found.least_above)
    assert least_two_sided(found) == pytest.approx(
        2 * min(sums.count(min(sums)), sums.count(max(sums))) / len(sums)
    )


def test_thousands_of_strata_agree_with_convolutions_one_by_one() -> None:
    draw = np.random.default_rng(1)
    hauls = draw.integers(1, 60, 1500)
    marked, drawn = draw.integers(0, hauls // 4 + 1), draw.integers(0, hauls + 1)
    found = marked_among_drawn(hauls, marked, drawn)
    plain = np.ones(1)
    for total, some, number in zip(hauls, marked, drawn, strict=True):
        plain = np.convolve(plain, stats.hypergeom(total, some, number).pmf(np.arange(some + 1)))
    mean = int((drawn * marked / hauls).sum())
    for number in (mean - 100, mean, mean + 60, mean + 150):
        assert found.at_least(number) == pytest.approx(max(plain[number:].sum(), LEAST_P), rel=1e-8)


def test_ranks_are_scipys_and_many_are_above_or_below_the_middle() -> None:
    values = [0.3, 0.0, 0.0, 0.7, 0.3, 0.3]
    assert ranks(values).tolist() == (2 * stats.rankdata(values)).tolist()
    assert ranks([float(each) for each in range(201)]).sum() == 100


def test_the_sum_of_ranks_is_every_way_to_draw_them() -> None:
    values = ranks([0.1, 0.2, 0.2, 0.5, 0.9, 0.0, 0.2])
    sums = [int(sum(each)) for each in combinations(values.tolist(), 3)]
    found = sum_of_drawn(values, 3)
    for number in range(min(sums), max(sums) + 1):
        expected = sum(each >= number for each in sums) / comb(7, 3)
        assert found.at_least(number) == pytest.approx(expected, rel=1e-12)


def test_the_sum_of_ranks_without_ties_is_wilcoxons_test() -> None:
    one, others = [0.9, 0.8, 0.35], [0.1, 0.2, 0.3, 0.4, 0.5]
    doubled = ranks([*one, *others])
    expected = stats.mannwhitneyu(one, others, alternative="greater", method="exact").pvalue
    assert sum_of_drawn(doubled, 3).at_least(int(doubled[:3].sum())) == pytest.approx(expected)


def test_two_blocks_of_ranks_add_up() -> None:
    block = ranks([0.1, 0.9])
    both = convolved(sum_of_drawn(block, 1), sum_of_drawn(block, 1))
    assert both.at_least(8) == pytest.approx(0.25)  # the higher one of two in both: 1/2 x 1/2


def test_excesses_of_clusters_are_as_far_out_as_their_own_spread() -> None:
    # By hand: the sum is 3, that of the squares 1 + 4 + 4 = 9.
    found = above_by_clusters(np.array([-1.0, 2.0, 2.0, 0.0]))
    assert found == pytest.approx(stats.norm.sf(3 / 3))
    assert above_by_clusters(np.zeros(3)) == 1.0
    assert above_by_clusters(np.ones(400)) == LEAST_P


def test_holms_correction_by_hand() -> None:
    # 0.01 x 4, 0.02 x 3, 0.03 x 2 is no more than the one before it, 0.5 x 1.
    assert holm([0.03, 0.01, 0.5, 0.02]) == pytest.approx([0.06, 0.04, 0.5, 0.06])
    assert holm([0.9, 0.8]) == [1.0, 1.0]
    assert holm([]) == []
