"""Random numbers that are the same on every platform and under every version of numpy."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

_UNIT: Final = 2.0**-53


class Chance:
    """Draws from one seed.

    Of numpy only the raw bits of PCG64 are used, which it promises not to change, as it does not
    for its distributions. What is made of them here and in those who draw is adding, multiplying,
    comparing and rounding, which give the same bits everywhere; logarithms and sines do not.
    """

    def __init__(self, seed: int) -> None:
        self._bits = np.random.PCG64(seed)

    def shares(self, count: int) -> NDArray[np.float64]:
        """Numbers from 0 up to but not at 1, each as likely as the other."""
        raw: NDArray[np.uint64] = self._bits.random_raw(count)
        return (raw >> np.uint64(11)).astype(np.float64) * _UNIT

    def scatter(self, count: int) -> NDArray[np.float64]:
        """Numbers about 0 with a standard deviation of 1/2, none beyond 3/2: a bell of three."""
        first, second, third = (self.shares(count) for _ in range(3))
        return first + second + third - 1.5
