"""How many hauls to look at by hand, which ones, and what it says if some of them are wrong.

Attribute sampling from a finite population, without replacement: each haul agrees with the evidence
or deviates. The number of deviations in a sample is then hypergeometric, so everything here is
computed exactly, in whole numbers. For a large population the size becomes the ln(1 - confidence)
/ ln(1 - tolerable rate) of the binomial tables. Source: W. G. Cochran, Sampling Techniques, 3rd
ed. 1977, section 3.6 (from memory).
"""

import hashlib
import re
from collections.abc import Iterable
from fractions import Fraction
from math import ceil, comb
from typing import Final

from msgspec import Struct

MOST_SAMPLED: Final = 1_000
"""Most hauls in a sample: each is checked again by itself, and looked at by a person."""

EXAMPLE: Final = "95 %, 5 %"
_WANTED = (
    "the confidence and the tolerable rate, and a seed if you choose your own: "
    f"'{EXAMPLE}' or '{EXAMPLE}, seed 4711'"
)
_SHARE = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,6})?) ?%")
_SEED = re.compile(r"seed +(\S.{0,99})")


class SampleRequest(Struct, frozen=True):
    """How sure an auditor wants to be that fewer hauls than a tolerable share deviate.

    `seed` selects the hauls; None for the digest of the log.
    """

    confidence: Fraction
    rate: Fraction
    seed: str | None = None

    @property
    def risk(self) -> Fraction:
        """The chance of finding none where as many deviate as is no longer tolerable."""
        return 1 - self.confidence

    def size(self, hauls: int) -> int:
        """The least number of hauls to look at so that finding no deviation is enough.

        With a sample of that size, a population in which the tolerable share or more deviate shows
        none with at most the chance `risk`. All hauls where they are too few for less.
        """
        too_many = ceil(self.rate * hauls)
        sound, all_ways = 1, 1
        for size in range(hauls + 1):
            # The ways to draw only sound ones, of all ways to draw so many in order.
            if sound <= self.risk * all_ways:
                return size
            sound *= hauls - too_many - size
            all_ways *= hauls - size
        return hauls

    def fewer_than(self, hauls: int, sample: int, found: int) -> int:
        """The least number of deviations that the sample rules out, if `found` are found in it.

        With the confidence asked for, fewer than that many of all hauls deviate. One more than all
        where nothing is ruled out.
        """
        low, high = found, hauls + 1
        while low < high:
            middle = (low + high) // 2
            if _chance_of_at_most(found, hauls, sample, middle) <= self.risk:
                high = middle
            else:
                low = middle + 1
        return low


def _chance_of_at_most(found: int, hauls: int, sample: int, deviating: int) -> Fraction:
    """The chance of finding at most `found` deviations in a sample."""
    ways = sum(
        comb(deviating, number) * comb(hauls - deviating, sample - number)
        for number in range(min(found, sample) + 1)
        if deviating <= hauls
    )
    return Fraction(ways, comb(hauls, sample))


def read_request(text: str) -> SampleRequest:
    """The sample asked for; raises ValueError with what was found and what would be accepted."""
    first, _, rest = text.partition(",")
    second, comma, last = rest.partition(",")
    shares = [_SHARE.fullmatch(each.strip()) for each in (first, second)]
    seed = _SEED.fullmatch(last.strip())
    if not all(shares) or (comma and not seed):
        message = f"found the sample '{text}'; wanted {_WANTED}"
        raise ValueError(message)
    confidence, rate = (Fraction(each[1]) / 100 for each in shares if each)
    if not (Fraction(1, 2) <= confidence < 1 and 0 < rate < 1):
        message = (
            f"found the sample '{text}'; wanted a confidence from 50 % to less than 100 %, and a "
            "tolerable rate above 0 % and below 100 %"
        )
        raise ValueError(message)
    request = SampleRequest(confidence, rate, seed[1] if seed else None)
    if not _is_small_enough(request):
        message = (
            f"found the sample '{text}', for which more than {MOST_SAMPLED:,} hauls may be needed; "
            f"wanted a lower confidence or a higher rate, such as '{EXAMPLE}'"
        )
        raise ValueError(message)
    return request


def _is_small_enough(request: SampleRequest) -> bool:
    """True if the largest sample suffices of a population without end, and so of every one."""
    return (1 - request.rate) ** MOST_SAMPLED <= request.risk


def in_order_drawn(rows: Iterable[int], seed: str) -> list[int]:
    """The rows in the order in which they are drawn: by SHA-256 of `seed row`, the least first.

    The order depends on nothing else, and anybody can compute it with a common tool.
    """
    return sorted(rows, key=lambda row: hashlib.sha256(f"{seed} {row}".encode()).digest())
