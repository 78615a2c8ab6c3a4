"""What the tongue does to the tow vehicle: axle loads, gross weight, payload used."""

from checker.arithmetic import Number
from checker.facts.catalogue import fact
from checker.facts.view import View
from checker.mechanics import tow_vehicle

_LEVERS = ("tow_vehicle.wheelbase", "tow_vehicle.ball_behind_rear_axle")


@fact(
    "tow_vehicle.weight_alone",
    "load",
    "tow vehicle without the trailer",
    fields=("tow_vehicle.front_axle_weight", "tow_vehicle.rear_axle_weight"),
)
def weight_alone(view: View) -> Number:
    """Tow vehicle on the scale with people and gear aboard, no trailer."""
    return view.load.tow_vehicle.front_axle_weight + view.load.tow_vehicle.rear_axle_weight


@fact(
    "tow_vehicle.gross_weight",
    "load",
    "tow vehicle with the tongue weight",
    uses=("tow_vehicle.weight_alone", "hitch.tongue_weight"),
)
def gross_weight(view: View) -> Number:
    """Tow vehicle as it travels, tongue weight included."""
    return view["tow_vehicle.weight_alone"] + view["hitch.tongue_weight"]


@fact(
    "tow_vehicle.rear_axle_change",
    "load",
    "load the tongue adds to the rear axle",
    fields=_LEVERS,
    uses=("hitch.tongue_weight",),
)
def rear_axle_change(view: View) -> Number:
    """What the tongue weight adds to the tow vehicle's rear axle."""
    truck = view.load.tow_vehicle
    _, rear = tow_vehicle.axle_changes(
        view["hitch.tongue_weight"], truck.wheelbase, truck.ball_behind_rear_axle
    )
    return rear


@fact(
    "tow_vehicle.front_axle_change",
    "load",
    "change of load on the front axle",
    fields=_LEVERS,
    uses=("hitch.tongue_weight",),
)
def front_axle_change(view: View) -> Number:
    """What the tongue weight adds to the tow vehicle's front axle; negative when it lifts it."""
    truck = view.load.tow_vehicle
    front, _ = tow_vehicle.axle_changes(
        view["hitch.tongue_weight"], truck.wheelbase, truck.ball_behind_rear_axle
    )
    return front


@fact(
    "tow_vehicle.front_axle_load",
    "load",
    "load on the tow vehicle's front axle",
    fields=("tow_vehicle.front_axle_weight",),
    uses=("tow_vehicle.front_axle_change",),
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
)
def payload_used(view: View) -> Number:
    """People, gear and tongue weight together, held against the door placard."""
    return view.load.tow_vehicle.occupants_and_cargo + view["hitch.tongue_weight"]


@fact(
    "tow_vehicle.front_axle_unloading",
    "ratio",
    "share the front axle loses",
    fields=("tow_vehicle.front_axle_weight",),
    uses=("tow_vehicle.front_axle_change",),
)
def front_axle_unloading(view: View) -> Number:
    """Share of the front axle's load that the tongue lifts off it; negative when it adds load."""
    return -view["tow_vehicle.front_axle_change"] / view.load.tow_vehicle.front_axle_weight


@fact(
    "combination.weight",
    "load",
    "tow vehicle and loaded trailer",
    uses=("tow_vehicle.weight_alone", "trailer.gross_weight"),
)
def combination_weight(view: View) -> Number:
    """Tow vehicle and loaded trailer together."""
    return view["tow_vehicle.weight_alone"] + view["trailer.gross_weight"]
