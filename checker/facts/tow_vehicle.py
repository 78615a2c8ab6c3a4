"""What the trailer does to the tow vehicle: axle loads, gross weight, payload used."""

import numpy as np

from checker.facts.catalogue import ANSWER, STATED, fact
from checker.facts.stated import add_choice
from checker.facts.view import View
from checker.mechanics import tow_vehicle
from checker.mechanics.quantities import quotient
from checker.units.arithmetic import Number, is_none, negated

for _name, _words, _meaning in (
    ("tow_vehicle.is_car", ("car", "off-road car"), "The tow vehicle is registered as a car."),
    ("tow_vehicle.is_off_road_car", ("off-road car",), "It is registered as an off-road car."),
    ("tow_vehicle.is_lorry", ("lorry",), "The tow vehicle is registered as a lorry."),
):
    add_choice(_name, "tow_vehicle.registered_as", _words, _meaning)

_LEVERS = ("tow_vehicle.wheelbase", "tow_vehicle.ball_behind_rear_axle")


@fact(
    "tow_vehicle.limits_unbraked_trailers",
    ANSWER,
    "its maker limits trailers without brakes",
    fields=("tow_vehicle.largest_unbraked_trailer_weight",),
    source=STATED,
)
def limits_unbraked_trailers(view: View) -> Number:
    """The maker gives a largest weight for trailers without brakes."""
    return negated(is_none(view.load.tow_vehicle.largest_unbraked_trailer_weight))


@fact(
    "tow_vehicle.limits_trailers",
    ANSWER,
    "its maker limits trailers",
    fields=("tow_vehicle.largest_trailer_weight",),
    source=STATED,
)
def limits_trailers(view: View) -> Number:
    """The maker gives a largest weight for trailers."""
    return negated(is_none(view.load.tow_vehicle.largest_trailer_weight))


@fact(
    "tow_vehicle.weight_alone",
    "load",
    "tow vehicle without the trailer",
    fields=("tow_vehicle.front_axle_weight", "tow_vehicle.rear_axle_weight"),
    sums=("tow_vehicle.front_axle_weight + tow_vehicle.rear_axle_weight",),
)
def weight_alone(view: View) -> Number:
    """Tow vehicle on the scale with people and gear aboard, without the trailer."""
    return view.load.tow_vehicle.front_axle_weight + view.load.tow_vehicle.rear_axle_weight


@fact(
    "tow_vehicle.empty_weight",
    "load",
    "empty tow vehicle",
    fields=("tow_vehicle.occupants_and_cargo",),
    uses=("tow_vehicle.weight_alone",),
    sums=("tow_vehicle.weight_alone - tow_vehicle.occupants_and_cargo",),
)
def empty_weight(view: View) -> Number:
    """Tow vehicle without people, gear and trailer."""
    return view["tow_vehicle.weight_alone"] - view.load.tow_vehicle.occupants_and_cargo


def _levelling(view: View) -> tuple[Number, Number, Number]:
    """Changes of front axle, rear axle and trailer axles by a weight-distributing hitch.

    Zero where the profile states that none is fitted, NaN where it does not say.
    """
    truck = view.load.tow_vehicle
    none_fitted = np.equal(is_none(truck.front_restoration), 1)
    if none_fitted.all():
        return 0.0, 0.0, 0.0
    to_axle = view["trailer.axle_group_position"]
    moment = tow_vehicle.levelling_moment_for_front_restoration(
        view["hitch.tongue_weight"],
        truck.ball_behind_rear_axle,
        to_axle,
        np.where(none_fitted, 0.0, truck.front_restoration),
    )
    changes = tow_vehicle.levelling_changes(
        moment, truck.wheelbase, truck.ball_behind_rear_axle, to_axle
    )
    front, rear, trailer = (np.where(none_fitted, 0.0, change)[()] for change in changes)
    return front, rear, trailer


_LEVELLED = ("hitch.tongue_weight", "trailer.axle_group_position")


@fact(
    "hitch.load_moved_to_trailer",
    "load",
    "load a weight-distributing hitch moves to the trailer's axles",
    fields=("tow_vehicle.front_restoration",),
    instead=_LEVERS,
    uses=_LEVELLED,
)
def load_moved_to_trailer(view: View) -> Number:
    """What a weight-distributing hitch moves from the tow vehicle to the trailer axles."""
    _, _, trailer = _levelling(view)
    return trailer


@fact(
    "tow_vehicle.gross_weight",
    "load",
    "tow vehicle with the tongue weight",
    uses=("tow_vehicle.weight_alone", "hitch.tongue_weight", "hitch.load_moved_to_trailer"),
    sums=("tow_vehicle.weight_alone + hitch.tongue_weight - hitch.load_moved_to_trailer",),
)
def gross_weight(view: View) -> Number:
    """Tow vehicle as it travels, with its part of the trailer's weight."""
    carried = view["hitch.tongue_weight"] - view["hitch.load_moved_to_trailer"]
    return view["tow_vehicle.weight_alone"] + carried


@fact(
    "tow_vehicle.rear_axle_change",
    "load",
    "load the tongue adds to the rear axle",
    fields=(*_LEVERS, "tow_vehicle.front_restoration"),
    uses=_LEVELLED,
    sums=(
        "hitch.tongue_weight * (tow_vehicle.wheelbase + "
        "tow_vehicle.ball_behind_rear_axle) / tow_vehicle.wheelbase",
    ),
)
def rear_axle_change(view: View) -> Number:
    """What the trailer adds to the tow vehicle's rear axle."""
    truck = view.load.tow_vehicle
    _, rear = tow_vehicle.axle_changes(
        view["hitch.tongue_weight"], truck.wheelbase, truck.ball_behind_rear_axle
    )
    _, levelled, _ = _levelling(view)
    return rear + levelled


@fact(
    "tow_vehicle.front_axle_change",
    "load",
    "change of load on the front axle",
    fields=(*_LEVERS, "tow_vehicle.front_restoration"),
    uses=_LEVELLED,
    sums=("-hitch.tongue_weight * tow_vehicle.ball_behind_rear_axle / tow_vehicle.wheelbase",),
)
def front_axle_change(view: View) -> Number:
    """What the trailer adds to the tow vehicle's front axle; negative when it lifts it."""
    truck = view.load.tow_vehicle
    front, _ = tow_vehicle.axle_changes(
        view["hitch.tongue_weight"], truck.wheelbase, truck.ball_behind_rear_axle
    )
    levelled, _, _ = _levelling(view)
    return front + levelled


@fact(
    "hitch.ball_drop",
    "length",
    "how far the tongue weight lowers the ball",
    fields=("tow_vehicle.front_spring_rate", "tow_vehicle.rear_spring_rate", *_LEVERS),
    uses=("hitch.tongue_weight",),
)
def ball_drop(view: View) -> Number:
    """How far the tongue weight lowers the ball on the tow vehicle's springs."""
    truck = view.load.tow_vehicle
    return tow_vehicle.ball_drop(
        view["hitch.tongue_weight"],
        truck.wheelbase,
        truck.ball_behind_rear_axle,
        truck.rear_spring_rate,
        truck.front_spring_rate,
    )


@fact(
    "tow_vehicle.front_axle_load",
    "load",
    "load on the tow vehicle's front axle",
    fields=("tow_vehicle.front_axle_weight",),
    uses=("tow_vehicle.front_axle_change",),
    sums=("tow_vehicle.front_axle_weight + tow_vehicle.front_axle_change",),
)
def front_axle_load(view: View) -> Number:
    """Tow vehicle's front axle with the trailer coupled."""
    return view.load.tow_vehicle.front_axle_weight + view["tow_vehicle.front_axle_change"]


@fact(
    "tow_vehicle.rear_axle_load",
    "load",
    "load on the tow vehicle's rear axle",
    fields=("tow_vehicle.rear_axle_weight",),
    uses=("tow_vehicle.rear_axle_change",),
    sums=("tow_vehicle.rear_axle_weight + tow_vehicle.rear_axle_change",),
)
def rear_axle_load(view: View) -> Number:
    """Tow vehicle's rear axle with the trailer coupled."""
    return view.load.tow_vehicle.rear_axle_weight + view["tow_vehicle.rear_axle_change"]


@fact(
    "tow_vehicle.payload_used",
    "load",
    "payload used",
    fields=("tow_vehicle.occupants_and_cargo",),
    uses=("hitch.tongue_weight",),
    sums=("tow_vehicle.occupants_and_cargo + hitch.tongue_weight",),
)
def payload_used(view: View) -> Number:
    """People, gear and tongue weight together; the door placard limits it."""
    return view.load.tow_vehicle.occupants_and_cargo + view["hitch.tongue_weight"]


@fact(
    "tow_vehicle.front_axle_unloading",
    "ratio",
    "share the front axle loses",
    fields=("tow_vehicle.front_axle_weight",),
    uses=("tow_vehicle.front_axle_change",),
    sums=("-tow_vehicle.front_axle_change / tow_vehicle.front_axle_weight",),
)
def front_axle_unloading(view: View) -> Number:
    """Share of the front axle's load that the tongue lifts off it; negative when it adds load."""
    change = view["tow_vehicle.front_axle_change"]
    return quotient(-change, view.load.tow_vehicle.front_axle_weight)


@fact(
    "tow_vehicle.front_axle_gain",
    "ratio",
    "share the front axle gains",
    fields=("tow_vehicle.front_axle_weight",),
    uses=("tow_vehicle.front_axle_change",),
    sums=("tow_vehicle.front_axle_change / tow_vehicle.front_axle_weight",),
)
def front_axle_gain(view: View) -> Number:
    """Share of the front axle's load that the trailer adds to it; negative when it lifts it."""
    change = view["tow_vehicle.front_axle_change"]
    return quotient(change, view.load.tow_vehicle.front_axle_weight)


@fact(
    "combination.weight",
    "load",
    "tow vehicle and loaded trailer",
    uses=("tow_vehicle.weight_alone", "trailer.gross_weight"),
    sums=("tow_vehicle.weight_alone + trailer.gross_weight",),
)
def combination_weight(view: View) -> Number:
    """Tow vehicle and loaded trailer together."""
    return view["tow_vehicle.weight_alone"] + view["trailer.gross_weight"]
