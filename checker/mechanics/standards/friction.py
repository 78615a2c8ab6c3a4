"""Friction factors: the CTU Code's table of surfaces, and the effect of dirt and motion."""

import math
from collections.abc import Sequence
from functools import reduce
from typing import NamedTuple

import numpy as np

from checker.mechanics.quantities import as_number
from checker.units.arithmetic import NOT_STATED, Number

_NOT_PRINTED = math.nan
_TEXT_SEEN = "text seen"
_FROM_MEMORY = "from memory"
_SECONDARY = "secondary copy"


class SurfacePair(NamedTuple):
    """One line of a table: friction of two surfaces swept clean, and what grease leaves of it."""

    one: str
    other: str
    dry: float
    wet: float
    status: str
    greasy: float = _NOT_PRINTED

    @property
    def name(self) -> str:
        """The name of the pair in a load profile."""
        return f"{self.one} on {self.other}"


# CTU Code Annex 7 Appendix 2 (UNECE web edition) in the order of the print; the text read ended
# before the last two lines. Table B.1 of EN 12195-1:2010 Annex B has the same values for wood,
# plastic, steel crates, concrete and anti-slip material (from memory).
CTU_CODE_FRICTION = (
    SurfacePair("sawn timber", "plywood laminate", 0.45, 0.45, _TEXT_SEEN),
    SurfacePair("sawn timber", "grooved aluminium", 0.40, 0.40, _TEXT_SEEN),
    SurfacePair("sawn timber", "stainless sheet", 0.30, 0.30, _TEXT_SEEN),
    SurfacePair("sawn timber", "shrink film", 0.30, 0.30, _TEXT_SEEN),
    SurfacePair("planed wood", "plywood laminate", 0.30, 0.30, _TEXT_SEEN),
    SurfacePair("planed wood", "grooved aluminium", 0.25, 0.25, _TEXT_SEEN),
    SurfacePair("planed wood", "stainless sheet", 0.20, 0.20, _TEXT_SEEN),
    SurfacePair("plastic pallet", "plywood laminate", 0.20, 0.20, _TEXT_SEEN),
    SurfacePair("plastic pallet", "grooved aluminium", 0.15, 0.15, _TEXT_SEEN),
    SurfacePair("plastic pallet", "stainless sheet", 0.15, 0.15, _TEXT_SEEN),
    SurfacePair("cardboard", "cardboard", 0.50, _NOT_PRINTED, _TEXT_SEEN),
    SurfacePair("cardboard", "wood pallet", 0.50, _NOT_PRINTED, _TEXT_SEEN),
    SurfacePair("big bag", "wood pallet", 0.40, _NOT_PRINTED, _TEXT_SEEN),
    SurfacePair("metal unpainted rough", "metal unpainted rough", 0.40, _NOT_PRINTED, _TEXT_SEEN),
    SurfacePair("metal painted rough", "metal painted rough", 0.30, _NOT_PRINTED, _TEXT_SEEN),
    SurfacePair("metal painted smooth", "metal painted smooth", 0.20, _NOT_PRINTED, _TEXT_SEEN),
    SurfacePair("metal smooth", "metal smooth", 0.20, _NOT_PRINTED, _TEXT_SEEN),
    SurfacePair("steel crate", "plywood laminate", 0.45, 0.45, _TEXT_SEEN),
    SurfacePair("steel crate", "grooved aluminium", 0.30, 0.30, _TEXT_SEEN),
    SurfacePair("steel crate", "stainless sheet", 0.20, 0.20, _TEXT_SEEN),
    SurfacePair("concrete rough", "sawn wood", 0.70, 0.70, _TEXT_SEEN),
    SurfacePair("concrete smooth", "sawn wood", 0.55, 0.55, _FROM_MEMORY),
    SurfacePair("rubber antislip", "any clean", 0.60, 0.60, _FROM_MEMORY),
)

# Sliding friction as a trailer's operating manual of 2019 prints it ("Material pairs", a secondary
# copy of figures like those of VDI 2700): the lower end of each range. For a tyre on a steel deck
# it prints 0.1 to 0.2 without saying whether wet or greasy.
SLIDING_FRICTION = (
    SurfacePair("wood", "wood", 0.20, 0.20, _SECONDARY, 0.05),
    SurfacePair("metal", "wood", 0.20, 0.20, _SECONDARY, 0.02),
    SurfacePair("metal", "metal", 0.10, 0.10, _SECONDARY, 0.01),
    SurfacePair("concrete", "wood", 0.30, 0.30, _SECONDARY, 0.10),
    SurfacePair("rubber tyre", "steel deck", 0.30, 0.10, _SECONDARY),
    SurfacePair("antislip mat", "any deck", 0.60, _NOT_PRINTED, _SECONDARY),
    SurfacePair("plastic or mesh pallet", "screen-print floor", 0.25, _NOT_PRINTED, _SECONDARY),
)

NAMED_PAIRS = {pair.name: pair for pair in (*CTU_CODE_FRICTION, *SLIDING_FRICTION)}

AT_MOST = {"not swept": 0.3, "snow, ice or frost": 0.2, "oil or grease": 0.1}
"""The most that counts where surfaces are not swept clean, CTU Code and EN 12195-1 from memory."""

_BY_SURFACES = {frozenset((pair.one, pair.other)): pair for pair in CTU_CODE_FRICTION}


def static_friction(one: str, other: str, wet: Number) -> Number:
    """Static friction factor of two surfaces swept clean, in either order.

    `wet` 1 or 0. NaN where the table has no such pair, or no value for it wet. Source: CTU Code
    Annex 7 Appendix 2, text seen (UNECE web edition) but for two lines from memory; the status
    is in `CTU_CODE_FRICTION`.
    """
    pair = _BY_SURFACES.get(frozenset((one, other)))
    if pair is None:
        return as_number(np.full(np.shape(wet), NOT_STATED))
    when_dry = np.where(np.equal(wet, 0), pair.dry, NOT_STATED)
    return as_number(np.where(np.equal(wet, 1), pair.wet, when_dry))


def design_friction(interfaces: Sequence[Number], at_most: Number, conversion: Number) -> Number:
    """Friction factor a balance may count with: the weakest layer, dirty or clean, at rest or not.

    conversion * min(interfaces, at_most). `interfaces` are the static factors of every joint of
    the stack; `at_most` is the ceiling for surfaces not swept, icy or greasy, infinite where they
    are clean; `conversion` the share left for direct lashing, 1 for blocking and top-over.
    Source: weakest joint and conversion CTU Code Annex 7 Appendix 2, text seen; ceilings from
    memory.
    """
    return as_number(conversion * reduce(np.minimum, interfaces, np.asarray(at_most)))
