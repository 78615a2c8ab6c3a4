"""Numbers as people write them, `1,570`, `2 5/16`, `2½`, `1.5e3`, read as exact fractions."""

import re
from typing import Final

A_SIZE_THAT_OCCURS: Final = "a number of a size that can occur"
LARGEST_SIZE: Final = 1e99
"""No figure of a load is near it; three of them can be multiplied without an overflow."""
_LARGEST_EXPONENT: Final = 400  # beyond a float's range already; keeps 1e999999999 from being built

_VULGAR: Final = {
    "½": (1, 2),
    "¼": (1, 4),
    "¾": (3, 4),
    "⅛": (1, 8),
    "⅜": (3, 8),
    "⅝": (5, 8),
    "⅞": (7, 8),
}

# A comma is read only between strict groups of three, and never after a leading zero: `0,157` is
# a decimal comma, not one hundred and fifty-seven.
_WHOLE = r"(?:[1-9][0-9]{0,2}(?:,[0-9]{3})+(?![0-9,])|[0-9]+)"
NUMBER: Final = re.compile(
    rf"""(?P<sign>[+-]?)
    (?:
        (?:(?P<whole>{_WHOLE})(?:[ ]+|-))?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)
      | (?P<before>{_WHOLE}?)[ ]?(?P<vulgar>[{"".join(_VULGAR)}])
      | (?P<decimal>{_WHOLE}(?:\.[0-9]+)?|\.[0-9]+)(?:[eE](?P<exponent>[+-]?[0-9]+))?
    )""",
    re.VERBOSE,
)


class NumberError(ValueError):
    """A number that may be read in two ways, or is too large; `wanted` says what to write."""

    def __init__(self, wanted: str) -> None:
        """Keep what would be accepted."""
        self.wanted = wanted
        super().__init__(wanted)


def exact_fraction(number: re.Match[str]) -> tuple[int, int]:
    """The exact numerator and denominator of a match of NUMBER. Raises NumberError."""
    sign = -1 if number["sign"] == "-" else 1
    if number["decimal"] is not None:
        digits, _, decimals = number["decimal"].replace(",", "").partition(".")
        exponent = number["exponent"] or "0"
        if abs(int(exponent)) > _LARGEST_EXPONENT:
            raise NumberError(A_SIZE_THAT_OCCURS)
        power = int(exponent) - len(decimals)
        top = sign * int(digits + decimals)
        return (top * 10**power, 1) if power >= 0 else (top, 10**-power)
    if number["vulgar"]:
        top, bottom = _VULGAR[number["vulgar"]]
        whole = number["before"]
    else:
        top, bottom = int(number["top"]), int(number["bottom"])
        whole = number["whole"]
        # `21/2` is more often `2 1/2` with its space lost than ten and a half.
        if top >= bottom:
            raise NumberError("a fraction below 1, or a whole number and a fraction as in '2 5/16'")
    return sign * (int((whole or "0").replace(",", "")) * bottom + top), bottom
