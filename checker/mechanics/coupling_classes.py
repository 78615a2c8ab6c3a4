"""Strength classes of ball couplings and the test forces of receivers, as printed in Maryland.

Source of every figure here: COMAR 11.13.08.10 (Table 1) and 11.13.08.04, for trailers up to
10,000 lb. Figures are in pounds and in the order of the print, so that they can be read
against it; the functions take and give newtons.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.mechanics.quantities import POUND_FORCE, as_number
from checker.units.arithmetic import RELATIVE_TOLERANCE, Number


class PrintedForce(NamedTuple):
    """A force printed as pounds, as a multiple of the trailer's gross weight, or as both."""

    pounds: float
    share_of_gross: float


class CouplingClass(NamedTuple):
    """One line of the coupling table: up to which gross weight, and the least breaking forces."""

    number: int
    up_to_pounds: float
    longitudinal_tension: PrintedForce
    longitudinal_compression: PrintedForce
    transverse: PrintedForce
    vertical_tension: PrintedForce
    vertical_compression: PrintedForce


class BreakingForces(NamedTuple):
    """Least breaking forces of a coupling, N."""

    longitudinal_tension: Number
    longitudinal_compression: Number
    transverse: Number
    vertical_tension: Number
    vertical_compression: Number


class ReceiverTest(NamedTuple):
    """One force of a receiver's strength test: the step it belongs to and where it points."""

    step: str
    direction: str
    force: PrintedForce


def _pounds(value: float) -> PrintedForce:
    return PrintedForce(value, 0.0)


def _times_gross(share: float) -> PrintedForce:
    return PrintedForce(0.0, share)


# Class 4 is printed with 1.3 upward and 1.4 downward, while classes 1 to 3 have equal pairs.
COUPLING_CLASSES = (
    CouplingClass(
        1, 2000, _pounds(6000), _pounds(6000), _pounds(2000), _pounds(2500), _pounds(2500)
    ),
    CouplingClass(
        2, 3500, _pounds(10500), _pounds(10500), _pounds(3000), _pounds(4500), _pounds(4500)
    ),
    CouplingClass(
        3, 5000, _pounds(15000), _pounds(15000), _pounds(4000), _pounds(7000), _pounds(7000)
    ),
    CouplingClass(
        4,
        10000,
        _times_gross(3.0),
        _times_gross(3.0),
        _times_gross(1.0),
        _times_gross(1.3),
        _times_gross(1.4),
    ),
)

WEIGHT_CARRYING_TESTS = (
    ReceiverTest("1", "vertical, down", PrintedForce(480, 0.47)),
    ReceiverTest("1", "longitudinal, compression", PrintedForce(480, 0.47)),
    ReceiverTest("2 and 3", "longitudinal, tension then compression", PrintedForce(1530, 0.23)),
    ReceiverTest("2 and 3", "vertical, down", PrintedForce(0, 0.15)),
    ReceiverTest("4 and 5", "transverse, left then right", PrintedForce(500, 0.20)),
)

# Step 1 of this test is held together with a moment of 51,000, printed without a readable unit;
# it is left out until the unit is seen.
WEIGHT_DISTRIBUTING_TESTS = (
    ReceiverTest("1", "vertical, down", PrintedForce(1650, 0.045)),
    ReceiverTest("2 and 3", "longitudinal, tension then compression", PrintedForce(2070, 0.067)),
    ReceiverTest("2 and 3", "vertical, down", PrintedForce(0, 0.15)),
    ReceiverTest("4 and 5", "transverse, left then right", PrintedForce(500, 0.20)),
)

_UP_TO = POUND_FORCE * np.array([line.up_to_pounds for line in COUPLING_CLASSES])
_NUMBERS = np.array([*(line.number for line in COUPLING_CLASSES), np.nan])
_BEYOND_TABLE = [(np.nan, np.nan)] * len(BreakingForces._fields)
# Indexed by pounds or share, then by force, then by line of the table.
_FORCES = np.array([*(line[2:] for line in COUPLING_CLASSES), _BEYOND_TABLE]).T


def _table_row(gross_weight: Number) -> NDArray[np.intp]:
    """The index of a line of the coupling table; one past the last where no class reaches."""
    # NaN sorts behind every number, so "not stated" and "too heavy" both fall off the end.
    return np.asarray(np.searchsorted(_UP_TO, gross_weight * (1.0 - RELATIVE_TOLERANCE)))


def coupling_class(gross_weight: Number) -> Number:
    """Coupling class a trailer needs: 1 to 4, NaN above the table.

    `gross_weight` is the most the trailer may weigh (MGTW), in N. The print leaves a pound
    between two classes; a weight in that gap belongs to the stronger class.
    Source: COMAR 11.13.08.10 Table 1.
    """
    return as_number(_NUMBERS[_table_row(gross_weight)])


def least_breaking_forces(gross_weight: Number) -> BreakingForces:
    """Least breaking forces that a trailer's coupling must have, in the class it needs.

    force = printed pounds, or printed multiple * gross weight in class 4. `gross_weight` (MGTW)
    and results in N, NaN above the table. Source: COMAR 11.13.08.10 Table 1.
    """
    pounds, share = _FORCES[..., _table_row(gross_weight)]
    forces = POUND_FORCE * pounds + share * gross_weight
    return BreakingForces(*(as_number(force) for force in forces))


def receiver_test_forces(tests: Sequence[ReceiverTest], gross_weight: Number) -> list[Number]:
    """The test forces of a receiver, in the order of the print.

    force = printed pounds + printed share * gross weight of the trailer it is tested for.
    Weight and results in N. Source: COMAR 11.13.08.10.
    """
    return [
        POUND_FORCE * test.force.pounds + test.force.share_of_gross * gross_weight for test in tests
    ]
