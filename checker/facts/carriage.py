"""The carrier, and the weights that licence and carrier rules use."""

from functools import reduce

import numpy as np

from checker.facts.catalogue import fact
from checker.facts.stated import add_choice
from checker.facts.view import View
from checker.units.arithmetic import Number

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


@fact(
    "combination.weight_or_rating",
    "load",
    "combination's rating or weight, whichever is greatest",
    fields=("tow_vehicle.gcwr", "tow_vehicle.gvwr", "trailer.gvwr"),
    uses=("combination.weight", "tow_vehicle.gross_weight", "trailer.gross_weight"),
    source="49 CFR 383.5, gross combination weight rating (1) and (2)",
    sums=("max(tow_vehicle.gcwr, tow_vehicle.gvwr + trailer.gvwr, combination.weight)",),
)
def combination_weight_or_rating(view: View) -> Number:
    """The greatest of the labelled GCWR, the sum of both GVWRs and the sum of both weights."""
    ratings = view.load.tow_vehicle.gvwr + view.load.trailer.gvwr
    return np.maximum(np.maximum(view.load.tow_vehicle.gcwr, ratings), view["combination.weight"])


@fact(
    "combination.weight_or_rating_at_least",
    "load",
    "combination's rating or weight as far as stated",
    instead=("tow_vehicle.gcwr", "tow_vehicle.gvwr", "trailer.gvwr"),
    uses=("combination.weight",),
    source="49 CFR 383.5, gross combination weight rating (1) and (2)",
)
def combination_weight_or_rating_at_least(view: View) -> Number:
    """The greatest combination rating or weight as far as stated; the true figure may be more."""
    truck, trailer = view.load.tow_vehicle, view.load.trailer
    known = [truck.gcwr, truck.gvwr + trailer.gvwr, view["combination.weight"]]
    return _largest_stated([*known, truck.gvwr, trailer.gvwr])
