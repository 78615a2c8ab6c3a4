"""Outlines of profiles: which fields matter most, in the order a crew finds them.

Example figures only show the form. Where a word is chosen or an answer given there is none: a line
that somebody uncommented and forgot to change must not answer for the crew.
"""

from typing import Final

from checker.documents.document import Data
from checker.upkeep.drafting.draft import CHOSEN

TRAILER: Final[dict[str, Data]] = {
    "coupling": CHOSEN,
    "gvwr": "2990 lb",
    "empty_weight": "940 lb",
    "empty_tongue_weight": "110 lb",
    "brakes": CHOSEN,
    "breakaway_fitted": CHOSEN,
    "full_trailer": CHOSEN,
    "axles": {
        "main": {
            "x": "10 ft 4 in",
            "rating": "2600 lb",
            "tyres": 2,
            "tyre_rating": "1360 lb",
            "brakes": CHOSEN,
        }
    },
    "suspension": CHOSEN,
    "track": "86 in",
    "overall_width": "92 in",
    "deck": {"front": "46 in", "rear": "166 in", "width": "76 in", "height": "24 in"},
    "anchors": {
        "front-left": {
            "x": "47 in",
            "y": "24 in",
            "z": "1 in",
            "type": CHOSEN,
            "encloses_hook": CHOSEN,
            "working_load_limit": "5000 lb",
        }
    },
    "coupler": {"size": "2 in", "rating": "3500 lb", "tongue_rating": "525 lb"},
    "safety_chains": {"count": 2, "breaking_strength": "5000 lb"},
    "front_structure": {"x": "46 in", "height": "24 in", "width": "76 in", "rating": "1500 lbf"},
}

TOW_VEHICLE: Final[dict[str, Data]] = {
    "gvwr": "7100 lb",
    "gcwr": "15500 lb",
    "front_axle_rating": "3750 lb",
    "rear_axle_rating": "4150 lb",
    "front_axle_weight": "3420 lb",
    "rear_axle_weight": "2740 lb",
    "wheelbase": "145 in",
    "ball_behind_rear_axle": "48 in",
    "payload_rating": "1580 lb",
    "occupants_and_cargo": "640 lb",
    "seats": 5,
    "front_restoration": "none",
    "largest_trailer_weight": "9000 lb",
    "receiver": {"rating": "7500 lb", "tongue_rating": "750 lb"},
    "ball_mount": {"rating": "7500 lb", "tongue_rating": "750 lb"},
    "ball": {"size": "2 in", "rating": "7500 lb"},
}

MACHINE: Final[dict[str, Data]] = {
    "type": CHOSEN,
    "weight": "1180 lb",
    "length": "7 ft",
    "width": "62 in",
    "height": "50 in",
    "axles": {
        "front": {"x": "1 ft", "weight": "340 lb", "track": "46 in"},
        "rear": {"x": "5 ft 2 in", "weight": "840 lb", "track": "46 in"},
    },
    "cg": {"x": "47.6 in", "y": "0 in", "z": "19 in"},
    "attachments": {
        "front-left": {
            "x": "6 in",
            "y": "16 in",
            "z": "12 in",
            "part": CHOSEN,
            "working_load_limit": "3000 lb",
        }
    },
    "friction": 0.3,
    "articulated": CHOSEN,
    "has_boom": CHOSEN,
    "slews": CHOSEN,
    "has_mower_deck": CHOSEN,
    "has_roof_or_windscreen": CHOSEN,
}

TIEDOWN: Final[dict[str, Data]] = {
    "device": CHOSEN,
    "size": "2 in",
    "grade": CHOSEN,
    "marked_working_load_limit": "3333 lb",
    "unmarked": CHOSEN,
    "hooks_working_load_limit": "3333 lb",
    "hooks_grade": CHOSEN,
    "tensioner_working_load_limit": "3333 lb",
    "tensioner_grade": CHOSEN,
    "breaking_strength": "10000 lb",
    "adjustable": CHOSEN,
    "conforms_to_standard": CHOSEN,
}

CARRIER: Final[dict[str, Data]] = {
    "government": CHOSEN,
    "follows_federal_rules": CHOSEN,
    "personal_and_unpaid": CHOSEN,
    "gear": "gear/juniper-basin",
}

GEAR: Final[dict[str, Data]] = {
    "tiedowns": [
        # No entry stands without its count.
        {"count": 6, "from": "tiedowns/ratchet-strap-2in", "name": "long straps", "length": "27 ft"}
    ],
    "blocks": [
        {
            "count": 4,
            "title": "Rubber chock",
            "strength": "2000 lbf",
            "height": "8 in",
            "chocks_wheels": CHOSEN,
            "cannot_come_loose": CHOSEN,
        }
    ],
}

LOAD: Final[dict[str, Data]] = {
    "trailer": "trailers/utility-single-10",
    "tow_vehicle": "tow-vehicles/half-ton",
    "articles": [
        {
            "from": "machines/zero-turn-mower",
            "name": "mower",
            "placed": {"x": "60 in", "y": "0 in", "facing": CHOSEN},
            "blocking": dict.fromkeys(("forward", "rearward", "left", "right"), CHOSEN),
            "parking_brake_set": CHOSEN,
            "in_park": CHOSEN,
            "chocked": CHOSEN,
            "accessories_lowered": CHOSEN,
            "accessories_secured": CHOSEN,
            "loose_parts_secured": CHOSEN,
            "fully_contained": CHOSEN,
            "special_methods": CHOSEN,
            "touches_front_structure": CHOSEN,
            "securement_route": CHOSEN,
        }
    ],
    "tiedowns": [
        {
            "from": "tiedowns/ratchet-strap-2in",
            "article": "mower",
            "anchor": "front-left",
            "attachment": "front-left",
            "path": CHOSEN,
            "pulls": CHOSEN,
            "looped_on_itself": CHOSEN,
            "on_sharp_edge": CHOSEN,
        }
    ],
    "carrier": "carriers/juniper-basin",
    "gear": "gear/juniper-basin",
    "driver": {"licence": CHOSEN},
    "trip": {
        "date": "2026-06-30",
        "places": ["US-UT"],
        "public_road": CHOSEN,
        "interstate": CHOSEN,
        "distance": "20 mi",
        "driving_time": "35 min",
        "load_checks": ["8 mi"],
        "speed": "55 mph",
    },
    "walkaround": {
        "ball_seated": CHOSEN,
        "coupler_pin_in": CHOSEN,
        "chains_connected": CHOSEN,
        "plug_connected": CHOSEN,
        "jack_raised": CHOSEN,
        "tiedowns_tight": CHOSEN,
        "tiedowns_seated": CHOSEN,
        "tiedowns_undamaged": CHOSEN,
        "tiedowns_cannot_release": CHOSEN,
        "load_cannot_shift": CHOSEN,
        "nothing_can_fall": CHOSEN,
        "gate_locked": CHOSEN,
        "ramps_locked": CHOSEN,
        "lamps_work": CHOSEN,
        "brakes_work": CHOSEN,
        "tyres_sound": CHOSEN,
        "tyre_pressures_right": CHOSEN,
        "trailer_level": CHOSEN,
    },
    "variances": [
        {
            "rule": "first-load-check-early",
            "because": "The canyon road has no place to stop before mile 30.",
            "conditions": "At most 35 mph up to there.",
            "by": "M. Quill, safety officer",
            "from": "2026-05-01",
            "until": "2026-11-01",
        }
    ],
}
