"""One load as frozen records of plain numbers: the declaration of every field of a profile.

Every number is in newtons, metres, seconds, radians or a plain share, a float or an array with one
row per variant of the load; NaN is "not stated", and infinite is a field's word for "there is
none". Answers are 1 (yes), 0 (no) or NaN. Named choices are their word, or None.

x is measured rearward, y to the left, z upward: on the trailer from the ball centre and the deck,
on an article from its own front end, its own centre line and the deck.

Annotations in the modules below are text (`from __future__ import annotations`). Only
`profile_schema.py` evaluates them, which saves every check the time.
"""

from collections.abc import Mapping

from msgspec import Struct

from checker.load.model.article import (
    Article,
    Attachment,
    Block,
    Blocking,
    CentreOfGravity,
    MachineAxle,
    MachineAxles,
    Placed,
)
from checker.load.model.gear import Gear, GearBlock, GearPiece
from checker.load.model.load import Load, LogRow, Origin, Variance
from checker.load.model.tiedown import Tiedown, TiedownAssembly
from checker.load.model.tow_vehicle import Ball, BallMount, Receiver, TowVehicle
from checker.load.model.trailer import (
    Anchor,
    Axle,
    Coupler,
    Deck,
    FrontStructure,
    SafetyChains,
    Trailer,
)
from checker.load.model.trip import Carrier, Driver, Trip
from checker.load.model.walkaround import Walkaround

KINDS: Mapping[str, type[Struct]] = {
    "load": Load,
    "trailer": Trailer,
    "tow-vehicle": TowVehicle,
    "machine": Article,
    "tiedown": Tiedown,
    "carrier": Carrier,
    "gear": Gear,
}
"""What a file of each kind describes."""

RECORDS: Mapping[str, type[Struct]] = {
    **KINDS,
    "anchor": Anchor,
    "attachment": Attachment,
    "axle": Axle,
    "ball": Ball,
    "ball_mount": BallMount,
    "block": Block,
    "blocking": Blocking,
    "centre_of_gravity": CentreOfGravity,
    "coupler": Coupler,
    "deck": Deck,
    "driver": Driver,
    "front_structure": FrontStructure,
    "gear_block": GearBlock,
    "gear_piece": GearPiece,
    "machine_axle": MachineAxle,
    "machine_axles": MachineAxles,
    "placed": Placed,
    "receiver": Receiver,
    "safety_chains": SafetyChains,
    "trip": Trip,
    "variance": Variance,
    "walkaround": Walkaround,
}
"""Every record that a file may hold, by its name in the schema."""

TAKEN_FROM: Mapping[str, str] = {"gear_piece": "tiedown"}
"""Records that are no file themselves, and the kind of file whose fields they take by `from`."""

__all__ = [
    "KINDS",
    "RECORDS",
    "TAKEN_FROM",
    "Anchor",
    "Article",
    "Attachment",
    "Axle",
    "Ball",
    "BallMount",
    "Block",
    "Blocking",
    "Carrier",
    "CentreOfGravity",
    "Coupler",
    "Deck",
    "Driver",
    "FrontStructure",
    "Gear",
    "GearBlock",
    "GearPiece",
    "Load",
    "LogRow",
    "MachineAxle",
    "MachineAxles",
    "Origin",
    "Placed",
    "Receiver",
    "SafetyChains",
    "Tiedown",
    "TiedownAssembly",
    "TowVehicle",
    "Trailer",
    "Trip",
    "Variance",
    "Walkaround",
]
