"""Statistics of counts: intervals of rates, exact tests within strata, and a correction for many.

Pure functions over numpy arrays. Probabilities come from the exact distribution of what is counted
if labels were dealt at random within each stratum, but for `above_by_clusters`, which is normal and
approximate; nothing is simulated.
"""

from collections.abc import Iterator, Sequence
from math import comb, sqrt
from statistics import NormalDist
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

CONFIDENCE: Final = 0.95
"""Share of intervals that hold the true rate."""

LEAST_P: Final = 1e-12
"""No probability is given as smaller: below it the dropped ends of a distribution may count."""

_Z: Final = NormalDist().inv_cdf(0.5 + CONFIDENCE / 2)
_DROPPED: Final = 1e-25
_MOST_RANKED: Final = 200
"""Most values of one stratum that are ranked; of more, only above or below the middle is used."""


def share_interval(held: int, hauls: int) -> tuple[float, float]:
    """The interval of a share of hauls, 0 to 1; (0, 1) if there is no haul.

    (p + z²/2n ± z sqrt(p(1 - p)/n + z²/4n²)) / (1 + z²/n): E. B. Wilson, J. Amer. Statist. Assoc.
    22 (1927), p. 209-212. Brown, Cai and DasGupta, Statist. Sci. 16 (2001), p. 101-133, prefer it
    for few trials: that of the normal distribution misses too often, that of Clopper and Pearson is
    wider than it says.
    """
    if not hauls:
        return 0.0, 1.0
    share, square = held / hauls, _Z**2 / hauls
    half = sqrt(share * (1 - share) * square + square**2 / 4)
    low, high = ((share + square / 2 + sign * half) / (1 + square) for sign in (-1, 1))
    return (0.0 if held == 0 else low), (1.0 if held == hauls else high)


def rate_interval(held: int, exposure: float) -> tuple[float, float]:
    """The interval of a number per unit of exposure, such as of holds per mile.

    (x + z²/2 ± z sqrt(x + z²/4)) / exposure, the rates r with (x - r e)² = z² r e: the form that
    Wilson's interval takes for rare events. Raises ZeroDivisionError without exposure.
    """
    half = _Z * sqrt(held + _Z**2 / 4)
    low, high = ((held + _Z**2 / 2 + sign * half) / exposure for sign in (-1, 1))
    return (0.0 if held == 0 else low), high


class Distribution(NamedTuple):
    """Probabilities of the whole numbers from `first` on."""

    first: int
    probabilities: NDArray[np.float64]

    def at_least(self, number: int) -> float:
        """Probability of this number or a greater one, LEAST_P to 1."""
        return self._limited(self.probabilities[max(number - self.first, 0) :])

    def at_most(self, number: int) -> float:
        """Probability of this number or a smaller one, LEAST_P to 1."""
        return self._limited(self.probabilities[: max(number - self.first + 1, 0)])

    @property
    def least_above(self) -> float:
        """The smallest probability that `at_least` can give."""
        return self._limited(self.probabilities[-1:])

    @property
    def least_below(self) -> float:
        """The smallest probability that `at_most` can give."""
        return self._limited(self.probabilities[:1])

    @staticmethod
    def _limited(part: NDArray[np.float64]) -> float:
        return float(min(max(part.sum(), LEAST_P), 1.0))


def two_sided(distribution: Distribution, number: int) -> float:
    """Probability of a number as far out on either side: twice that of its own side, at most 1."""
    return min(2 * min(distribution.at_least(number), distribution.at_most(number)), 1.0)


def least_two_sided(distribution: Distribution) -> float:
    """The smallest probability that `two_sided` can give."""
    return min(2 * min(distribution.least_above, distribution.least_below), 1.0)


def marked_among_drawn(
    hauls: NDArray[np.int64], marked: NDArray[np.int64], drawn: NDArray[np.int64]
) -> Distribution:
    """The number of marked hauls among those drawn, summed over strata.

    In each stratum `drawn` of the `hauls`, of which `marked` are marked, are drawn at random:
    P(x) = C(marked, x) C(hauls - marked, drawn - x) / C(hauls, drawn). Sums of strata are
    convolutions. It is the exact test of a common odds ratio of 1 in several 2 by 2 tables:
    N. Mantel and W. Haenszel, J. Nat. Cancer Inst. 22 (1959), p. 719-748, state the conditions;
    C. R. Mehta, N. R. Patel and R. Gray, J. Amer. Statist. Assoc. 80 (1985), p. 969-973, the exact
    distribution. One stratum is R. A. Fisher's exact test.
    """
    least = np.maximum(drawn + marked - hauls, 0)
    widths = np.minimum(drawn, marked) - least + 1
    logs = np.concatenate(([0.0], np.cumsum(np.log(np.arange(1, int(hauls.max(initial=0)) + 1)))))
    found = Distribution(int(least.sum()), np.ones(1))
    # Strata whose number can take about as many values share a table.
    classes = np.ceil(np.log2(widths)).astype(int)
    for each in np.unique(classes[widths > 1]).tolist():
        rows = classes == each
        some = (column[rows, None] for column in (hauls, marked, drawn, least))
        table = _hypergeometric(np.stack(list(some)), int(widths[rows].max()), logs)
        found = convolved(found, _sum_of_rows(table))
    return found


def _hypergeometric(
    strata: NDArray[np.int64], width: int, logs: NDArray[np.float64]
) -> NDArray[np.float64]:
    """One row a stratum, from its least number on; `logs` are those of the factorials."""
    hauls, marked, drawn, least = strata
    number = least + np.arange(width)
    possible = number <= np.minimum(drawn, marked)
    number = np.where(possible, number, least)
    rest = hauls - marked
    # What does not depend on the number is left to the division by the sum.
    exponents = -(
        logs[number] + logs[marked - number] + logs[drawn - number] + logs[rest - drawn + number]
    )
    exponents -= np.where(possible, exponents, -np.inf).max(axis=1, keepdims=True)
    found = np.where(possible, np.exp(exponents), 0.0)
    return np.asarray(found / found.sum(axis=1, keepdims=True))


def _sum_of_rows(table: NDArray[np.float64]) -> Distribution:
    """The distribution of the sum of independent numbers, one a row, each from 0 on."""
    first = 0
    while len(table) > 1:
        if len(table) % 2:
            nothing = np.zeros((1, table.shape[1]))
            nothing[0, 0] = 1.0
            table = np.concatenate((table, nothing))
        one, other = table[::2], table[1::2]
        width = table.shape[1]
        if len(one) < width:
            table = np.stack(list(map(np.convolve, one, other)))
        else:
            table = np.zeros((len(one), 2 * width - 1))
            for index in range(width):
                table[:, index : index + width] += one[:, [index]] * other
        # Ends that no row needs are dropped, so that the width grows with the spread alone.
        used = np.flatnonzero((table > _DROPPED).any(axis=0))
        first += int(used[0]) * len(table)
        table = table[:, used[0] : used[-1] + 1]
    return Distribution(first, table[0])


def convolved(one: Distribution, other: Distribution) -> Distribution:
    """The distribution of the sum of two independent numbers."""
    found = np.convolve(one.probabilities, other.probabilities)
    used = np.flatnonzero(found > _DROPPED)
    kept = found[used[0] : used[-1] + 1]
    return Distribution(one.first + other.first + int(used[0]), kept)


def above_by_clusters(excesses: NDArray[np.float64]) -> float:
    """Probability of as large a sum of excesses by chance, each of a cluster of its own.

    The normal probability above sum(e) / sqrt(sum(e²)): the variance is taken from the clusters, so
    that hauls of one cluster may depend on each other in any way. K.-Y. Liang and S. L. Zeger,
    Biometrika 73 (1986), p. 13-22. Approximate; wants ten clusters or more. LEAST_P to 1.
    """
    size = sqrt(float((excesses**2).sum()))
    if not size:
        return 1.0
    return max(NormalDist().cdf(-float(excesses.sum()) / size), LEAST_P)


def least_by_clusters(clusters: int) -> float:
    """The least probability that so many clusters can give: all excesses equal, and above 0."""
    return max(NormalDist().cdf(-sqrt(clusters)), LEAST_P)


def ranks(values: Sequence[float]) -> NDArray[np.int64]:
    """Twice the rank of each value, the smallest first; equal values share the mean of theirs.

    Of more than 200 values only 1 for one above the median, else 0, so that counting stays quick.
    """
    found = np.asarray(values, dtype=np.float64)
    if len(found) > _MOST_RANKED:
        return (found > np.median(found)).astype(np.int64)
    _, places, numbers = np.unique(found, return_inverse=True, return_counts=True)
    last = np.cumsum(numbers)
    return np.asarray((2 * last - numbers + 1)[places], dtype=np.int64)


def sum_of_drawn(values: NDArray[np.int64], drawn: int) -> Distribution:
    """The sum of `drawn` of the values, whole numbers from 0 on, drawn at random.

    Summed over strata of ranks it is the exact test of F. Wilcoxon within blocks: Biometrics
    Bull. 1 (1945), p. 80-83; P. van Elteren, Bull. Internat. Statist. Inst. 37 (1960), p. 351-361.
    """
    if values.max(initial=0) <= 1:
        marked = np.array([int(values.sum())])
        return marked_among_drawn(np.array([len(values)]), marked, np.array([drawn]))
    size = int(np.sort(values)[len(values) - drawn :].sum()) + 1
    ways = np.zeros((drawn + 1, size))
    ways[0, 0] = 1.0
    for value in values.tolist():
        # Each value counts once: sums of few values are read before they are added to.
        for number in range(drawn, 0, -1):
            ways[number, value:] += ways[number - 1, : size - value]
    found = ways[drawn] / comb(len(values), drawn)
    used = np.flatnonzero(found)
    return Distribution(int(used[0]), found[used[0] : used[-1] + 1])


def holm(found: Sequence[float]) -> list[float]:
    """Each probability corrected for being one of several, at most 1, in the order given.

    The k-th smallest of m is multiplied by m - k + 1, and none is smaller than the one before.
    Whatever holds between the tests, at most the share a of all seasons without any effect has one
    of a or less: S. Holm, Scand. J. Statist. 6 (1979), p. 65-70.
    """
    corrected = [1.0] * len(found)
    for number, index in _from_smallest(found):
        corrected[index] = number
    return corrected


def _from_smallest(found: Sequence[float]) -> Iterator[tuple[float, int]]:
    most = 0.0
    for place, index in enumerate(sorted(range(len(found)), key=found.__getitem__)):
        most = max(most, min(found[index] * (len(found) - place), 1.0))
        yield most, index
