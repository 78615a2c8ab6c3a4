"""Which fields of an outline the guide asks for."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from checker.documents.document import Data


def _is_weighed(machine: Mapping[str, Any]) -> bool:
    """True if the weight on some axle is stated, from which the centre of gravity follows."""
    return any("weight" in axle for axle in machine.get("axles", {}).values())


def _is_chain(tiedown: Mapping[str, Any]) -> bool:
    return tiedown.get("device") == "chain"


_NOT_ASKED: Final = frozenset(
    {
        # A variance belongs to an existing load; a draft needs none.
        "variances",
        # No rule reads it.
        "gear",
        # Stated by eye, where positions are not measured.
        "pulls",
        # Asked for where a rule needs them, once the rest is stated.
        *("walkaround", "blocking", "driver", "front_structure", "touches_front_structure"),
        *("parking_brake_set", "in_park", "chocked", "accessories_lowered", "accessories_secured"),
        *("loose_parts_secured", "fully_contained", "special_methods", "securement_route"),
        *("load_checks", "interstate", "driving_time"),
    }
)
ASKED_IF: Final[Mapping[str, Mapping[str, Callable[[Mapping[str, Any]], bool]]]] = {
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
"""By kind of file, the fields asked for only where this is true of what is stated so far."""


def asked_for(outline: Mapping[str, Data]) -> dict[str, Data]:
    """The part of an outline that is asked for, at every depth."""

    def asked(data: Data) -> Data:
        if isinstance(data, dict):
            return asked_for(data)
        return [asked(each) for each in data] if isinstance(data, list) else data

    return {key: asked(inner) for key, inner in outline.items() if key not in _NOT_ASKED}
