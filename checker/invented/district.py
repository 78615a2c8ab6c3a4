"""Parameters of the invented Juniper Basin Trail District: its months, crews and mistakes.

Every figure is invented, and chosen so that an audit has something to find.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

HAULS_BY_MONTH: Final = (2, 3, 6, 9, 15, 17, 16, 15, 13, 8, 4, 2)
"""Relative number of hauls a day, January to December; trails are built without snow."""

HAULS_BY_WEEKDAY: Final = (10, 10, 10, 10, 8, 2, 1)
"""Relative number of hauls a day, Monday to Sunday."""

MISSED_BY_MONTH: Final = (1.0, 1.0, 2.0, 1.8, 1.0, 0.8, 0.8, 1.5, 1.0, 1.0, 1.2, 1.0)
"""Factor on missed checks: crews are out of practice in spring and in a hurry in August."""

MUD_BY_MONTH: Final = (
    0.004,
    0.006,
    0.016,
    0.014,
    0.008,
    0.002,
    0.002,
    0.004,
    0.004,
    0.01,
    0.01,
    0.005,
)
"""Mean weight of mud and snow on a machine, as a share of its weight."""

PRESSURE_BY_MONTH: Final = (-2.0, -1.5, -0.5, 0.0, 0.5, 1.0, 1.5, 1.0, 0.5, -0.5, -1.0, -2.0)
"""Change of tyre pressure with temperature, in psi."""

USUAL_LOADS: Final[Mapping[str, int]] = MappingProxyType(
    {
        "loads/side-by-side-in-order": 24,
        "loads/mower-in-order": 22,
        "loads/compact-tractor-tail-first-in-order": 14,
        "loads/loader-tractor-in-order": 12,
        "loads/mini-excavator-in-order": 10,
        "loads/gooseneck-two-articles-in-order": 8,
        "loads/pallet-of-attachments": 6,
        "loads/variance-late-first-stop": 6,
    }
)
"""Relative frequency of the common bundled loads; every other load has 1."""

MISSED: Final[Mapping[str, float]] = MappingProxyType(
    {
        "walkaround.chains_crossed": 0.008,
        "walkaround.breakaway_connected": 0.005,
        "walkaround.coupler_pin_in": 0.004,
        "walkaround.plug_connected": 0.002,
        "walkaround.lamps_work": 0.008,
        "walkaround.tiedowns_tight": 0.006,
        "walkaround.strap_tails_secured": 0.012,
        "articles.1.parking_brake_set": 0.004,
        "articles.1.tracks_clean": 0.012,
    }
)
"""Checks of a walk-around, and the share of hauls on which the answer is no."""


@dataclass(frozen=True, slots=True)
class Crew:
    """A crew and its habits.

    `share` is its relative share of the hauls in `months`; `back` is how many inches too far back
    it places the machine; `haste` is in mph above the plan; `aboard` is in lb of people and tools
    above the usual; `missed` is a factor on all missed checks, `prone_to` on single ones;
    `unanswered` is the share of blank answers.
    """

    name: str
    share: float
    months: range = range(1, 13)
    back: float = 0.0
    haste: float = 0.0
    aboard: float = 0.0
    missed: float = 1.0
    prone_to: Mapping[str, float] = field(default_factory=dict)
    unanswered: float = 0.02


CREWS: Final = (
    Crew("Cinder Rim", 34, missed=0.4, unanswered=0.01),
    Crew("Dry Fork", 24, prone_to={"walkaround.chains_crossed": 9.0}),
    Crew("Sage Bench", 20, back=5.0),
    Crew("Willow Flat", 14, haste=4.0, unanswered=0.15),
    Crew("Summer hands", 14, months=range(5, 10), aboard=180.0, missed=2.5, unanswered=0.05),
)
