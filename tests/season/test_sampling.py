"""Sizes of samples against printed tables, and against the distributions of scipy."""

import hashlib
from fractions import Fraction

import pytest
from scipy.stats import binom, hypergeom

from checker.season.records.sampling import (
    MOST_SAMPLED,
    SampleRequest,
    in_order_drawn,
    read_request,
)

MANY = 10**9
"""So many hauls that drawing one changes nothing for the next."""


def request(confidence: int, rate: int) -> SampleRequest:
    return SampleRequest(Fraction(confidence, 100), Fraction(rate, 100))


@pytest.mark.parametrize(
    ("confidence", "sizes"),
    [
        # Tables for tests of controls with no expected deviation, as in textbooks of auditing:
        # from memory, and each is the least n with (1 - rate)^n <= 1 - confidence.
        (95, {1: 299, 2: 149, 3: 99, 4: 74, 5: 59, 6: 49, 7: 42, 8: 36, 9: 32, 10: 29, 15: 19}),
        (90, {2: 114, 3: 76, 4: 57, 5: 45, 6: 38, 7: 32, 8: 28, 9: 25, 10: 22, 15: 15, 20: 11}),
        (99, {1: 459, 5: 90}),
    ],
)
def test_sizes_are_those_of_the_tables(confidence: int, sizes: dict[int, int]) -> None:
    assert {rate: request(confidence, rate).size(MANY) for rate in sizes} == sizes


@pytest.mark.parametrize("hauls", [1, 7, 58, 59, 60, 150, 1_000, 3_609, 100_000])
@pytest.mark.parametrize(("confidence", "rate"), [(95, 5), (90, 10), (99, 2), (50, 50)])
def test_a_size_is_the_least_that_suffices(hauls: int, confidence: int, rate: int) -> None:
    size = request(confidence, rate).size(hauls)
    deviating = -(-hauls * rate // 100)
    risk = 1 - confidence / 100
    assert hypergeom.pmf(0, hauls, deviating, size) <= risk * (1 + 1e-9)
    assert size == 0 or hypergeom.pmf(0, hauls, deviating, size - 1) > risk
    assert size <= request(confidence, rate).size(MANY)


@pytest.mark.parametrize(("hauls", "sample"), [(150, 45), (3_609, 59), (100_000, 299)])
@pytest.mark.parametrize("found", [0, 1, 3])
def test_what_is_ruled_out_is_what_scipy_says(hauls: int, sample: int, found: int) -> None:
    fewer = request(95, 5).fewer_than(hauls, sample, found)
    assert hypergeom.cdf(found, hauls, fewer, sample) <= 0.05
    assert hypergeom.cdf(found, hauls, fewer - 1, sample) > 0.05
    # The limit of a population without end is higher, and near where the sample is a small part.
    assert binom.cdf(found, sample, fewer / hauls) < 0.055 or hauls == 150


def test_a_sample_of_the_size_asked_for_supports_what_is_asked() -> None:
    for hauls in (40, 150, 3_609):
        asked = request(95, 5)
        assert asked.fewer_than(hauls, asked.size(hauls), 0) <= -(-hauls * 5 // 100)


def test_nothing_is_ruled_out_by_a_sample_in_which_all_deviate() -> None:
    assert request(95, 5).fewer_than(20, 4, 4) == 21


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("95 %, 5 %", (95, 5, None)),
        ("95%,5%", (95, 5, None)),
        ("99.5 %, 0.75 %, seed 4711", (Fraction("99.5"), Fraction("0.75"), "4711")),
        ("90%, 10%, seed a, b", (90, 10, "a, b")),
    ],
)
def test_a_request_is_read(text: str, asked: tuple[int | Fraction, int | Fraction, str]) -> None:
    confidence, rate, seed = asked
    found = read_request(text)
    assert (found.confidence * 100, found.rate * 100, found.seed) == (confidence, rate, seed)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("95", "found the sample '95'; wanted the confidence and the tolerable rate"),
        ("95 %", "wanted the confidence and the tolerable rate, and a seed if you choose your own"),
        ("95 %, 5 %, 7", "'95 %, 5 %' or '95 %, 5 %, seed 4711'"),
        ("0.95, 0.05", "wanted the confidence and the tolerable rate"),
        ("40 %, 5 %", "wanted a confidence from 50 % to less than 100 %"),
        ("100 %, 5 %", "wanted a confidence from 50 % to less than 100 %"),
        ("95 %, 0 %", "a tolerable rate above 0 % and below 100 %"),
        ("99.9 %, 0.1 %", "for which more than 1,000 hauls may be needed"),
    ],
)
def test_a_request_that_says_something_else_is_refused(text: str, message: str) -> None:
    with pytest.raises(ValueError, match="found the sample") as refused:
        read_request(text)
    assert message in str(refused.value)


def test_the_largest_request_is_drawn() -> None:
    # ln 0.01 / ln 0.9955 = 1021.1; ln 0.01 / ln 0.9954 = 998.8.
    assert read_request("99 %, 0.46 %").size(MANY) == 999 <= MOST_SAMPLED
    with pytest.raises(ValueError, match="more than 1,000 hauls"):
        read_request("99 %, 0.45 %")


def test_rows_are_drawn_by_a_digest_that_anybody_can_compute() -> None:
    rows = list(range(2, 2_002))
    drawn = in_order_drawn(rows, "4711")
    assert sorted(drawn) == rows
    assert drawn == in_order_drawn(reversed(rows), "4711")
    assert drawn != in_order_drawn(rows, "4712")
    # printf '4711 17' | sha256sum
    first = hashlib.sha256(b"4711 " + str(drawn[0]).encode()).hexdigest()
    assert all(hashlib.sha256(f"4711 {row}".encode()).hexdigest() >= first for row in rows)


def test_every_row_is_drawn_as_often() -> None:
    """Of 40 rows 10 are drawn 2,000 times; chi-squared of 39 degrees stays below its 0.1 % limit.

    72.05 by scipy's chi2.isf(0.001, 39), and drawn without replacement the sum is smaller still.
    """
    times = dict.fromkeys(range(40), 0)
    for seed in range(2_000):
        for row in in_order_drawn(times, str(seed))[:10]:
            times[row] += 1
    assert sum((number - 500) ** 2 / 500 for number in times.values()) < 72.05
