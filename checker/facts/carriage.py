"""The carrier, and the weights that licence and carrier rules use."""

from functools import reduce

import numpy as np

from checker.facts.catalogue import ANSWER, STATED, fact
from checker.facts.stated import add_choice
from checker.facts.view import View
from checker.units.arithmetic import NOT_STATED, Number

for _name, _words, _meaning in (
    ("driver.is_learner", ("learner or restricted",), "The driver's licence is a learner's."),
    ("driver.holds_b96", ("b96", "be", "c1e"), "The driver's licence is B96 or higher."),
    ("driver.holds_be", ("be", "c1e"), "The driver's licence is BE or higher."),
    ("driver.holds_c1e", ("c1e",), "The driver's licence is C1E."),
    (
        "driver.holds_heavy_trailer",
        ("heavy trailer", "group a"),
        "The driver's licence covers heavy trailers.",
    ),
    (
        "driver.holds_heavy_vehicle",
        ("heavy vehicle",),
        "The driver's licence covers heavy vehicles.",
    ),
):
    add_choice(_name, "driver.licence", _words, _meaning)

add_choice(
    "driver.holds_group_a", "driver.licence", ("group a",), "The driver's licence is group A."
)
add_choice(
    "driver.holds_group_b",
    "driver.licence",
    ("group a", "group b"),
    "The driver's licence is group B, or the higher group A.",
)
add_choice(
    "driver.holds_group_c",
    "driver.licence",
    ("group a", "group b", "group c"),
    "The driver's licence is group C, or the higher group B or A.",
)


@fact(
    "carrier.relieved_as_farm",
    ANSWER,
    "the carrier states a covered farm vehicle",
    fields=("carrier.covered_farm_vehicle",),
    source=STATED,
)
def relieved_as_farm(view: View) -> Number:
    """Yes only where the profile states a covered farm vehicle; left out, nobody is relieved."""
    return np.equal(view.load.carrier.covered_farm_vehicle, 1).astype(float)[()]


def _largest_stated(values: list[Number]) -> Number:
    """The largest of the stated values: the true figure is at least this."""
    return reduce(np.fmax, values)


@fact(
    "trailer.weight_or_rating",
    "load",
    "trailer's rating or weight, whichever is greater",
    fields=("trailer.gvwr",),
    uses=("trailer.gross_weight",),
    source="49 CFR 383.5 and 390.5, the greater of rating and actual weight",
    sums=("max(trailer.gvwr, trailer.gross_weight)",),
)
def trailer_weight_or_rating(view: View) -> Number:
    """The greater of the trailer's GVWR and its actual gross weight."""
    return np.maximum(view.load.trailer.gvwr, view["trailer.gross_weight"])


@fact(
    "trailer.weight_or_rating_at_least",
    "load",
    "trailer's rating or weight as far as stated",
    instead=("trailer.gvwr",),
    uses=("trailer.gross_weight",),
    source="49 CFR 383.5 and 390.5, the greater of rating and actual weight",
)
def trailer_weight_or_rating_at_least(view: View) -> Number:
    """The greater of trailer GVWR and gross weight as far as stated; it may be more."""
    return _largest_stated([view.load.trailer.gvwr, view["trailer.gross_weight"]])


@fact(
    "tow_vehicle.weight_or_rating",
    "load",
    "tow vehicle's rating or weight, whichever is greater",
    fields=("tow_vehicle.gvwr",),
    uses=("tow_vehicle.gross_weight",),
    source="49 CFR 383.5 and 390.5, the greater of rating and actual weight",
    sums=("max(tow_vehicle.gvwr, tow_vehicle.gross_weight)",),
)
def tow_vehicle_weight_or_rating(view: View) -> Number:
    """The greater of the tow vehicle's GVWR and its actual weight with the tongue weight."""
    return np.maximum(view.load.tow_vehicle.gvwr, view["tow_vehicle.gross_weight"])


def _rating_on_label(view: View) -> Number:
    """The maker's GCWR where the label shows it, 0 where it does not or there is none to show."""
    truck = view.load.tow_vehicle
    on_label = np.asarray(truck.gcwr_on_label)
    if_printed = np.where(on_label == 1, truck.gcwr, NOT_STATED)
    return np.where(on_label == 0, 0.0, if_printed)[()]


def _sum_of_greater(view: View) -> Number:
    """Each unit's rating or weight, whichever is greater, added up."""
    truck = np.maximum(view.load.tow_vehicle.gvwr, view["tow_vehicle.weight_alone"])
    return truck + view["trailer.weight_or_rating"]


@fact(
    "combination.weight_or_rating",
    "load",
    "combination's rating or weight, whichever is greatest",
    fields=("tow_vehicle.gcwr", "tow_vehicle.gcwr_on_label", "tow_vehicle.gvwr", "trailer.gvwr"),
    uses=("tow_vehicle.weight_alone", "trailer.weight_or_rating"),
    source="49 CFR 383.5, gross combination weight rating (1) and (2)",
    sums=("max(tow_vehicle.gvwr, tow_vehicle.weight_alone) + trailer.weight_or_rating",),
)
def combination_weight_or_rating(view: View) -> Number:
    """The GCWR on the label, or each unit's rating or weight added up, whichever is greatest.

    Of one unit the rating may count and of the other the weight. A GCWR of which nobody says
    whether the label shows it leaves the figure open only where it is more than that sum.
    """
    total, truck = _sum_of_greater(view), view.load.tow_vehicle
    open_but_less = np.isnan(truck.gcwr_on_label) & np.asarray(truck.gcwr <= total)
    label = np.where(open_but_less, 0.0, _rating_on_label(view))[()]
    return np.maximum(label, total)


@fact(
    "combination.weight_or_rating_at_least",
    "load",
    "combination's rating or weight as far as stated",
    instead=("tow_vehicle.gcwr", "tow_vehicle.gcwr_on_label", "tow_vehicle.gvwr", "trailer.gvwr"),
    uses=("tow_vehicle.weight_alone", "trailer.weight_or_rating_at_least"),
    source="49 CFR 383.5, gross combination weight rating (1) and (2)",
)
def combination_weight_or_rating_at_least(view: View) -> Number:
    """The greatest combination rating or weight as far as stated; the true figure may be more."""
    truck = _largest_stated([view.load.tow_vehicle.gvwr, view["tow_vehicle.weight_alone"]])
    trailer = view["trailer.weight_or_rating_at_least"]
    return _largest_stated([_rating_on_label(view), truck + trailer, truck, trailer])
