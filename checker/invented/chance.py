"""Random numbers that are the same on every platform and under every version of numpy."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

_UNIT: Final = 2.0**-53


class Chance:
    """A random number generator with a fixed seed.

    It uses only the raw bits of PCG64, which numpy keeps stable between versions, unlike its
    distributions. All code that uses the numbers only adds, multiplies, compares and rounds, which
    gives the same bits on every platform; logarithms and sines do not.
    """

    def __init__(self, seed: int) -> None:
        self._bits = np.random.PCG64(seed)

    def shares(self, count: int) -> NDArray[np.float64]:
        """Uniformly distributed numbers from 0 to below 1."""
        raw: NDArray[np.uint64] = self._bits.random_raw(count)
        return (raw >> np.uint64(11)).astype(np.float64) * _UNIT

    def scatter(self, count: int) -> NDArray[np.float64]:
        """Bell-shaped numbers: mean 0, standard deviation 1/2, range -3/2 to 3/2."""
        first, second, third = (self.shares(count) for _ in range(3))
        return first + second + third - 1.5
