"""Bounds from what was measured on the walk-around, so that a measurement outvotes an answer."""

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


@fact(
    "walkaround.pressure_missing_at_least",
    "pressure",
    "pressure missing in the softest trailer tyre, as far as measured",
    instead=("walkaround.lowest_cold_pressure", "walkaround.placard_pressure"),
    source=STATED,
)
def pressure_missing_at_least(view: View) -> Number:
    """Placard pressure less lowest cold pressure; zero if either was not read. It may be more."""
    walked = view.load.walkaround
    gap = walked.placard_pressure - walked.lowest_cold_pressure
    return np.where(np.isnan(gap), 0.0, np.maximum(gap, 0.0))[()]


@fact(
    "walkaround.tread_depth_at_most",
    "length",
    "shallowest tread, as far as measured",
    instead=("walkaround.tread_depth", "walkaround.front_tread_depth"),
    source=STATED,
)
def tread_depth_at_most(view: View) -> Number:
    """The shallowest tread measured on any tyre, without bound if none was: it may be less."""
    walked = view.load.walkaround
    measured = np.fmin(walked.tread_depth, walked.front_tread_depth)
    return np.where(np.isnan(measured), np.inf, measured)[()]
