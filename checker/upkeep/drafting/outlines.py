"""The kinds of file that can be drafted: which fields matter most, in the order a crew finds them.

Example figures only show the form. Where a word is chosen or an answer given there is none: a line
that somebody uncommented and forgot to change must not answer for the crew.
"""

from collections.abc import Callable, Mapping, Set
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, Final

from checker.documents.document import Data

_CHOSEN: Final = None
"""Stands where the crew chooses a word or answers."""

_TRAILER: Final[dict[str, Data]] = {
    "coupling": _CHOSEN,
    "gvwr": "2990 lb",
    "empty_weight": "940 lb",
    "empty_tongue_weight": "110 lb",
    "brakes": _CHOSEN,
    "breakaway_fitted": _CHOSEN,
    "full_trailer": _CHOSEN,
    "axles": {
        "main": {
            "x": "10 ft 4 in",
            "rating": "2600 lb",
            "tyres": 2,
            "tyre_rating": "1360 lb",
            "brakes": _CHOSEN,
        }
    },
    "suspension": _CHOSEN,
    "track": "86 in",
    "overall_width": "92 in",
    "deck": {"front": "46 in", "rear": "166 in", "width": "76 in", "height": "24 in"},
    "anchors": {
        "front-left": {
            "x": "47 in",
            "y": "24 in",
            "z": "1 in",
            "type": _CHOSEN,
            "encloses_hook": _CHOSEN,
            "working_load_limit": "5000 lb",
        }
    },
    "coupler": {"size": "2 in", "rating": "3500 lb", "tongue_rating": "525 lb"},
    "safety_chains": {"count": 2, "breaking_strength": "5000 lb"},
    "front_structure": {"x": "46 in", "height": "24 in", "width": "76 in", "rating": "1500 lbf"},
}

_TOW_VEHICLE: Final[dict[str, Data]] = {
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

_MACHINE: Final[dict[str, Data]] = {
    "type": _CHOSEN,
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
            "part": _CHOSEN,
            "working_load_limit": "3000 lb",
        }
    },
    "friction": 0.3,
    "articulated": _CHOSEN,
    "has_boom": _CHOSEN,
    "slews": _CHOSEN,
    "has_mower_deck": _CHOSEN,
    "has_roof_or_windscreen": _CHOSEN,
}

_TIEDOWN: Final[dict[str, Data]] = {
    "device": _CHOSEN,
    "size": "2 in",
    "grade": _CHOSEN,
    "marked_working_load_limit": "3333 lb",
    "unmarked": _CHOSEN,
    "hooks_working_load_limit": "3333 lb",
    "hooks_grade": _CHOSEN,
    "tensioner_working_load_limit": "3333 lb",
    "tensioner_grade": _CHOSEN,
    "breaking_strength": "10000 lb",
    "adjustable": _CHOSEN,
    "conforms_to_standard": _CHOSEN,
}

_CARRIER: Final[dict[str, Data]] = {
    "government": _CHOSEN,
    "follows_federal_rules": _CHOSEN,
    "personal_and_unpaid": _CHOSEN,
}


def _is_weighed(machine: Mapping[str, Any]) -> bool:
    """True if the weight on some axle is stated, from which the centre of gravity follows."""
    return any("weight" in axle for axle in machine.get("axles", {}).values())


def _is_chain(tiedown: Mapping[str, Any]) -> bool:
    return tiedown.get("device") == "chain"


_NOT_ASKED: Final = frozenset(
    {
        # A variance belongs to an existing load; a draft needs none.
        "variances",
        # Stated by eye, where positions are not measured.
        "pulls",
        # Asked for where a rule needs them, once the rest is stated.
        *("walkaround", "blocking", "driver", "front_structure", "touches_front_structure"),
        *("parking_brake_set", "in_park", "chocked", "accessories_lowered", "accessories_secured"),
        *("loose_parts_secured", "fully_contained", "special_methods", "securement_route"),
        *("load_checks", "interstate", "driving_time"),
    }
)
_ASKED_IF: Final[Mapping[str, Mapping[str, Callable[[Mapping[str, Any]], bool]]]] = {
    "trailer": {
        "axles.*.brakes": lambda stated: stated.get("brakes") not in (None, "none"),
    },
    "machine": {"cg.x": lambda stated: not _is_weighed(stated)},
    "tiedown": {
        "grade": _is_chain,
        "hooks_grade": _is_chain,
        "tensioner_grade": _is_chain,
        "unmarked": lambda stated: "marked_working_load_limit" not in stated,
    },
    "load": {
        "tiedowns.*.article": lambda stated: len(stated.get("articles", ())) > 1,
    },
}

_LOAD: Final[dict[str, Data]] = {
    "trailer": "trailers/utility-single-10",
    "tow_vehicle": "tow-vehicles/half-ton",
    "articles": [
        {
            "from": "machines/zero-turn-mower",
            "name": "mower",
            "placed": {"x": "60 in", "y": "0 in", "facing": _CHOSEN},
            "blocking": dict.fromkeys(("forward", "rearward", "left", "right"), _CHOSEN),
            "parking_brake_set": _CHOSEN,
            "in_park": _CHOSEN,
            "chocked": _CHOSEN,
            "accessories_lowered": _CHOSEN,
            "accessories_secured": _CHOSEN,
            "loose_parts_secured": _CHOSEN,
            "fully_contained": _CHOSEN,
            "special_methods": _CHOSEN,
            "touches_front_structure": _CHOSEN,
            "securement_route": _CHOSEN,
        }
    ],
    "tiedowns": [
        {
            "from": "tiedowns/ratchet-strap-2in",
            "article": "mower",
            "anchor": "front-left",
            "attachment": "front-left",
            "path": _CHOSEN,
            "pulls": _CHOSEN,
            "looped_on_itself": _CHOSEN,
            "on_sharp_edge": _CHOSEN,
        }
    ],
    "carrier": "carriers/juniper-basin",
    "driver": {"licence": _CHOSEN},
    "trip": {
        "date": "2026-06-30",
        "places": ["US-UT"],
        "public_road": _CHOSEN,
        "interstate": _CHOSEN,
        "distance": "20 mi",
        "driving_time": "35 min",
        "load_checks": ["8 mi"],
        "speed": "55 mph",
    },
    "walkaround": {
        "ball_seated": _CHOSEN,
        "coupler_pin_in": _CHOSEN,
        "chains_connected": _CHOSEN,
        "plug_connected": _CHOSEN,
        "jack_raised": _CHOSEN,
        "tiedowns_tight": _CHOSEN,
        "tiedowns_seated": _CHOSEN,
        "tiedowns_undamaged": _CHOSEN,
        "tiedowns_cannot_release": _CHOSEN,
        "load_cannot_shift": _CHOSEN,
        "nothing_can_fall": _CHOSEN,
        "gate_locked": _CHOSEN,
        "ramps_locked": _CHOSEN,
        "lamps_work": _CHOSEN,
        "brakes_work": _CHOSEN,
        "tyres_sound": _CHOSEN,
        "tyre_pressures_right": _CHOSEN,
        "trailer_level": _CHOSEN,
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


@dataclass(frozen=True, slots=True)
class Draft:
    """The outline of a new file of one kind."""

    kind: str
    opening: tuple[str, ...]
    """Comment lines at its top."""
    stated: dict[str, Data]
    """The fields stated before any answer; valid as it is."""
    outline: dict[str, Data]
    """The fields that matter most, with an example of each.

    Lists and mappings by name have one entry, as a model for all.
    """
    every_field: bool
    """Whether all other fields of the schema follow as comments."""
    questions: dict[str, Data]
    """The part of the outline that is asked for."""
    conditions: Mapping[str, Callable[[Mapping[str, Any]], bool]] = field(default_factory=dict)
    """Fields that are asked for only where this is true of what is stated so far."""


def drafts(day: date) -> Mapping[str, Draft]:
    """Every kind of draft by name; `day` is the first day of a new rulebook."""
    return {
        "load": _profile(
            "load",
            _LOAD,
            "A load: what goes where, held how, on which trip. It refers to files below the folder",
            "`profiles`, written without .yaml; fields beside `from` replace those of that file.",
        ),
        "trailer": _profile(
            "trailer",
            _TRAILER,
            "A trailer. Park it level. x runs rearward from the middle of the coupler ball, y to",
            "the left seen in driving direction (right is negative), z up from the deck.",
        ),
        "tow-vehicle": _profile(
            "tow-vehicle",
            _TOW_VEHICLE,
            "A tow vehicle. Weigh each axle without the trailer, with the people, fuel and tools",
            "it hauls with.",
        ),
        "machine": _profile(
            "machine",
            _MACHINE,
            "A machine or other article. Measure from its own front end, y to its own left. State",
            "`axles` or `cg.x`, whichever you have. Weigh it as carried.",
        ),
        "tiedown": _profile(
            "tiedown",
            _TIEDOWN,
            "One kind of strap, chain or rope: what is marked on it, its hooks and its tensioner.",
            "Where it runs is said in each load.",
        ),
        "carrier": _profile(
            "carrier", _CARRIER, "Who hauls. The answers decide which rules bind the crew."
        ),
        "rulebook": _rulebook(day),
    }


def _without(outline: Mapping[str, Data], left_out: Set[str]) -> dict[str, Data]:
    """The outline without some fields, whatever they stand in."""

    def asked(data: Data) -> Data:
        if isinstance(data, dict):
            return {key: asked(inner) for key, inner in data.items() if key not in left_out}
        return [asked(each) for each in data] if isinstance(data, list) else data

    return {key: asked(inner) for key, inner in outline.items() if key not in left_out}


def _profile(kind: str, outline: dict[str, Data], *opening: str) -> Draft:
    title = f"New {kind.replace('-', ' ')}"
    return Draft(
        kind=kind,
        opening=(
            *opening,
            "To state a field, take `# ` off its line and off those it stands under, and put in",
            "what you found: the figures only show how to write one. A line left as it is counts",
            "as not stated, which is never zero, never no and never a pass.",
        ),
        stated={"kind": kind, "title": title},
        outline={"title": _CHOSEN, **outline},
        every_field=True,
        questions={"title": _CHOSEN, **_without(outline, _NOT_ASKED)},
        conditions=_ASKED_IF.get(kind, {}),
    )


def _rulebook(day: date) -> Draft:
    """A rulebook with one rule of common practice, whose proofs cover its figure and its day."""
    before = day - timedelta(days=1)

    def proof(name: str, speed: str, expect: str, origin: str, on: date = day) -> Data:
        given: dict[str, Data] = {"trip.speed": speed}
        return {
            "name": name,
            "on": on.isoformat(),
            "given": given,
            "expect": expect,
            "origin": origin,
        }

    rule: dict[str, Data] = {
        "id": "our-top-speed",
        "title": "Trailers go no faster than we allow",
        "question": "trip",
        "requires": "trip.speed <= fastest",
        "thresholds": {
            "fastest": {
                "stricter": "lower",
                "values": [{"value": "55 mph", "from": day.isoformat(), "common_practice": "yes"}],
            }
        },
        "common_practice": "yes",
        "basis": "common practice",
        "level": "should",
        "because": "Sway and stopping distance grow with speed.",
        "fix": "Plan the trip slower, or take another road.",
        "proofs": [
            proof("at the limit, on the first day", "55 mph", "met", "our practice: 55 is allowed"),
            proof("just over", "55.05 mph", "not met", "our practice: more than 55 mph"),
            proof("just under", "54.95 mph", "met", "our practice: less than 55 mph"),
            proof("the day before", "50 mph", "not stated", "no figure yet", before),
        ],
    }
    left_out = {"for_each": _CHOSEN, "when": _CHOSEN, "shows": _CHOSEN, "source": _CHOSEN}
    return Draft(
        kind="rulebook",
        opening=(
            "A rulebook with one rule to put yours in place of. Every number is a threshold with a",
            "day and a source, and the proofs guard it: run `cinchbook prove --rules FOLDER`.",
            "Lines that begin with `# ` are further fields.",
        ),
        stated={
            "kind": "rulebook",
            "id": "our-rules",
            "title": "New rulebook",
            "jurisdiction": "any",
            "proved_on": day.isoformat(),
            "rules": [rule],
        },
        outline={
            "id": _CHOSEN,
            "title": _CHOSEN,
            "jurisdiction": _CHOSEN,
            "proved_on": _CHOSEN,
            "applies": {"when": _CHOSEN, "because": _CHOSEN, "proofs": _CHOSEN},
            "rules": [
                {
                    **dict.fromkeys(rule),
                    **left_out,
                    "at": _CHOSEN,
                    "about": _CHOSEN,
                    "usual_at_limit": _CHOSEN,
                }
            ],
        },
        every_field=False,
        questions=dict.fromkeys(("id", "title", "jurisdiction")),
    )
