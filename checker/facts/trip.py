"""The haul: distance, time, speed and the stops where the crew checks the load again."""

import itertools
from functools import reduce

import numpy as np

from checker.facts.catalogue import ANSWER, STATED, fact
from checker.facts.stated import add_choice
from checker.facts.view import View
from checker.mechanics.quantities import quotient
from checker.units.arithmetic import NOT_STATED, Number, is_none, negated

add_choice(
    "trip.on_national_network",
    "trip.network",
    ("national network",),
    "The trip is on the US National Network of roads.",
)


@fact(
    "trip.clearance_posted",
    ANSWER,
    "a lowest clearance on the way is known",
    fields=("trip.lowest_clearance",),
    source=STATED,
)
def clearance_posted(view: View) -> Number:
    """A bridge, wire or roof limits the height on the way; no where none is posted."""
    return negated(is_none(view.load.trip.lowest_clearance))


@fact(
    "trip.average_speed",
    "speed",
    "average speed",
    fields=("trip.distance", "trip.driving_time"),
    sums=("trip.distance / trip.driving_time",),
)
def average_speed(view: View) -> Number:
    """Distance divided by driving time."""
    return quotient(view.load.trip.distance, view.load.trip.driving_time)


@fact(
    "trip.first_check",
    "length",
    "first stop to check the load",
    fields=("trip.load_checks",),
    instead=("trip.load_checks.*", "trip.distance"),
    source=STATED,
)
def first_check(view: View) -> Number:
    """Distance from the start to the first planned load check; the whole trip if there is none.

    A check at mile 0 is the one before leaving and does not count.
    """
    stops = view.load.trip.load_checks
    if stops is None:
        return NOT_STATED
    on_the_road: list[Number] = [
        np.where(np.less_equal(stop, 0), np.inf, stop)[()] for stop in stops
    ]
    first = reduce(np.minimum, on_the_road, np.array(np.inf))
    return np.where(np.isinf(first), view.load.trip.distance, first)[()]


@fact(
    "trip.longest_stretch",
    "length",
    "longest stretch between load checks",
    fields=("trip.load_checks", "trip.distance"),
    instead=("trip.load_checks.*",),
    source="arithmetic; runs from the last check, the first stretch not counted",
)
def longest_stretch(view: View) -> Number:
    """Longest distance from one load check to the next or to the end of the trip."""
    stops = view.load.trip.load_checks
    if stops is None:
        return NOT_STATED
    if not stops:
        return view.load.trip.distance
    places: list[Number] = [*np.sort(np.broadcast_arrays(*stops), axis=0)]
    stretches = [
        after - before for before, after in itertools.pairwise([*places, view.load.trip.distance])
    ]
    return reduce(np.maximum, stretches)


@fact(
    "trip.longest_stretch_time",
    "duration",
    "longest time between load checks",
    uses=("trip.longest_stretch", "trip.average_speed"),
    source="arithmetic, at the trip's average speed",
    sums=("trip.longest_stretch / trip.average_speed",),
)
def longest_stretch_time(view: View) -> Number:
    """Driving time over the longest stretch between load checks, at average speed."""
    return quotient(view["trip.longest_stretch"], view["trip.average_speed"])


@fact(
    "trip.touches_us",
    ANSWER,
    "the trip touches the United States",
    fields=("trip.places",),
    source=STATED,
)
def touches_us(view: View) -> Number:
    """The trip touches the United States."""
    places = view.load.trip.places
    return NOT_STATED if places is None else float(any(p.split("-")[0] == "US" for p in places))


def _touches_outside(view: View, country: str, part: str) -> Number:
    """Yes if a place lies in the country and not in that part of it, a county of it included."""
    places = view.load.trip.places
    if places is None:
        return NOT_STATED
    parts = ["-".join(place.split("-")[:2]) for place in places]
    return float(any(each.split("-")[0] == country and each != part for each in parts))


@fact(
    "trip.touches_us_outside_hawaii",
    ANSWER,
    "the trip touches the United States outside Hawaii",
    fields=("trip.places",),
    source=STATED,
)
def touches_us_outside_hawaii(view: View) -> Number:
    """The trip touches the United States outside Hawaii; `US` without a state counts."""
    return _touches_outside(view, "US", "US-HI")


@fact(
    "trip.touches_canada_outside_bc",
    ANSWER,
    "the trip touches Canada outside British Columbia",
    fields=("trip.places",),
    source=STATED,
)
def touches_canada_outside_bc(view: View) -> Number:
    """The trip touches Canada outside British Columbia; `CA` without a province counts."""
    return _touches_outside(view, "CA", "CA-BC")


@fact(
    "trip.may_be_on_national_network",
    ANSWER,
    "the trip is not stated to keep off the National Network",
    fields=("trip.network",),
    source=STATED,
)
def may_be_on_national_network(view: View) -> Number:
    """No only where the trip is stated to be off the US National Network of roads."""
    return float(view.load.trip.network in (None, "national network"))
