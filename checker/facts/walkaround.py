"""Lower bounds from what was measured on the walk-around: the true figure may be greater."""

import numpy as np

from checker.facts.catalogue import STATED, fact
from checker.facts.view import View
from checker.units.arithmetic import Number


@fact(
    "walkaround.path_deviation_at_least",
    "length",
    "how far the trailer runs off the path, as far as measured",
    instead=("walkaround.path_deviation",),
    source=STATED,
)
def path_deviation_at_least(view: View) -> Number:
    """The measured deviation, or zero if none was measured: the true figure may be greater."""
    measured = view.load.walkaround.path_deviation
    return np.where(np.isnan(measured), 0.0, measured)[()]
