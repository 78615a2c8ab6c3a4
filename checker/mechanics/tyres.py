"""What the tyres of an axle must be rated for, and the load index printed on a tyre."""

import numpy as np

from checker.mechanics.quantities import STANDARD_GRAVITY, as_number, quotient
from checker.units.arithmetic import RELATIVE_TOLERANCE, Number

# Kilograms one tyre carries, ten load indices to a line. Source: load index series of ISO 4000-1
# / ETRTO, from memory; to be held against a current edition before anyone relies on it. Every
# entry lies within 1.74 % of 45 kg * 10^(index / 80).
LOAD_INDEX_KG = {
    60: (250, 257, 265, 272, 280, 290, 300, 307, 315, 325),
    70: (335, 345, 355, 365, 375, 387, 400, 412, 425, 437),
    80: (450, 462, 475, 487, 500, 515, 530, 545, 560, 580),
    90: (600, 615, 630, 650, 670, 690, 710, 730, 750, 775),
    100: (800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030),
    110: (1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360),
    120: (1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850),
    130: (1900, 1950, 2000, 2060, 2120, 2180, 2240, 2300, 2360, 2430),
    140: (2500, 2575, 2650, 2725, 2800, 2900, 3000, 3075, 3150, 3250),
    150: (3350,),
}

_LOADS = STANDARD_GRAVITY * np.concatenate([np.array(line) for line in LOAD_INDEX_KG.values()])
_INDICES = min(LOAD_INDEX_KG) + np.arange(len(_LOADS), dtype=float)


def required_rating_per_tyre(gawr: Number, tyres: Number, rating_divisor: Number) -> Number:
    """Rating each tyre of an axle must carry so that together they carry the axle's rating.

    rating = gawr * rating_divisor / tyres. The divisor is what a tyre's rating is divided by
    before it counts: 1 for a trailer tyre, more for a passenger tyre on a trailer. Ratings in N,
    `tyres` a count, divisor a ratio. Source: 49 CFR 571.110 S4.2.2.1 and S4.2.2.2, and 571.120
    S5.1.2 above 10,000 lb GVWR (CFR, 2015 annual edition).
    """
    return quotient(gawr * rating_divisor, tyres)


def load_of_index(load_index: Number) -> Number:
    """Load one tyre with this load index carries, NaN where the table has no such index.

    `load_index` a whole number 60 to 150, result in N. Source: ISO 4000-1 / ETRTO series, from
    memory.
    """
    row = np.searchsorted(_INDICES, load_index).clip(max=len(_INDICES) - 1)
    return as_number(np.where(np.equal(_INDICES[row], load_index), _LOADS[row], np.nan))


def smallest_load_index(load: Number) -> Number:
    """Lowest load index of the table that carries a load, NaN where none does.

    `load` per tyre in N, result a whole number 60 to 150; anything lighter than the first entry
    gets the first. Source: ISO 4000-1 / ETRTO series, from memory.
    """
    # NaN sorts behind every number, so "not stated" and "too heavy" both fall off the end.
    row = np.searchsorted(_LOADS, load * (1.0 - RELATIVE_TOLERANCE))
    return as_number(np.append(_INDICES, np.nan)[row])
