"""One value takes a shorter way through the arithmetic than many; both must agree, also on NaN.

Expected values are worked out by hand; the rows are held against the same values one at a time.
"""

import itertools
import math

import numpy as np
import pytest

from checker.units.arithmetic import at_least, both, either, equal, more_than

NAN = math.nan
LIMIT = 2200.0
BARELY = LIMIT * 1e-10  # within the tolerance of 1e-9
CLEARLY = LIMIT * 1e-8  # beyond it


@pytest.mark.parametrize(
    ("left", "at_least_limit", "more_than_limit", "equal_to_limit"),
    [
        (LIMIT - CLEARLY, 0, 0, 0),
        (LIMIT - BARELY, 1, 0, 1),
        (LIMIT, 1, 0, 1),
        (LIMIT + BARELY, 1, 0, 1),
        (LIMIT + CLEARLY, 1, 1, 0),
        (-LIMIT, 0, 0, 0),
        (NAN, NAN, NAN, NAN),
    ],
)
def test_comparisons_at_and_about_a_limit(
    left: float, at_least_limit: float, more_than_limit: float, equal_to_limit: float
) -> None:
    for compare, expected in (
        (at_least, at_least_limit),
        (more_than, more_than_limit),
        (equal, equal_to_limit),
    ):
        assert compare(left, LIMIT) == pytest.approx(expected, abs=0, nan_ok=True)
        if math.isnan(left):
            assert math.isnan(compare(LIMIT, left))


@pytest.mark.parametrize(
    ("left", "right", "and_gives", "or_gives"),
    [
        # Kleene's tables
        (0.0, 0.0, 0, 0),
        (0.0, 1.0, 0, 1),
        (1.0, 1.0, 1, 1),
        (NAN, 0.0, 0, NAN),
        (NAN, 1.0, NAN, 1),
        (NAN, NAN, NAN, NAN),
    ],
)
def test_and_or_of_three_values(
    left: float, right: float, and_gives: float, or_gives: float
) -> None:
    for one, other in ((left, right), (right, left)):
        assert both(one, other) == pytest.approx(and_gives, abs=0, nan_ok=True)
        assert either(one, other) == pytest.approx(or_gives, abs=0, nan_ok=True)


VALUES = (NAN, -LIMIT, 0.0, 1.0, LIMIT - CLEARLY, LIMIT - BARELY, LIMIT, LIMIT + BARELY, math.inf)
TRUTHS = (NAN, 0.0, 1.0)


@pytest.mark.filterwarnings("ignore:invalid value:RuntimeWarning")  # inf - inf
@pytest.mark.parametrize(
    ("work", "values"),
    [(at_least, VALUES), (more_than, VALUES), (equal, VALUES), (both, TRUTHS), (either, TRUTHS)],
)
def test_rows_agree_with_one_value_at_a_time(work, values) -> None:
    pairs = list(itertools.product(values, repeat=2))
    singles = [work(left, right) for left, right in pairs]
    assert all(isinstance(single, float) for single in singles)
    left, right = (np.array(column) for column in zip(*pairs, strict=True))
    np.testing.assert_array_equal(work(left, right), singles)
    for (one, other), single in zip(pairs, singles, strict=True):
        np.testing.assert_array_equal(work(np.array([one, one]), other), [single, single])
        np.testing.assert_array_equal(work(one, np.array([other, other])), [single, single])


def test_rows_that_all_agree_are_one_number() -> None:
    rows = np.array([LIMIT, LIMIT + 1])
    assert at_least(rows, LIMIT) == 1.0
    assert more_than(rows - 1, LIMIT) == 0.0
    assert np.shape(at_least(rows, LIMIT + 1)) == (2,)
    assert np.shape(more_than(rows, LIMIT)) == (2,)
    assert np.isnan(at_least(np.array([LIMIT, NAN]), LIMIT)).tolist() == [False, True]
    assert np.isnan(more_than(np.array([LIMIT, NAN]), LIMIT)).tolist() == [False, True]
