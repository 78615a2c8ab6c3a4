"""Crates on a deck with lashings of stated directions, for sums whose figures are published.

The points that a lashing hooks to are as strong as nothing else, unless a test says otherwise.
"""

import math
from collections.abc import Mapping
from typing import Any

CASE_G = 9.81
"""The rounded gravity of the published cases."""

Data = dict[str, Any]
Vector = tuple[float, float, float]
STRONG = {"working_load_limit": "9999 kN"}
UNRATED = {"working_load_limit": "no rating exists"}


def amount(text: str) -> float:
    """A given quantity in newtons, metres, radians or plain, masses as the case weighs them."""
    number, unit = text.split()
    factor = {
        "t": 1000 * CASE_G,
        "kg": CASE_G,
        "kgf": CASE_G,
        "tf": 1000 * CASE_G,
        "kN": 1000.0,
        "daN": 10.0,
        "m": 1.0,
        "mm": 0.001,
        "deg": math.pi / 180,
        "1": 1.0,
    }
    return float(number) * factor[unit]


def metres(*place: float) -> dict[str, str]:
    return {axis: f"{at!r} m" for axis, at in zip("xyz", place, strict=True)}


def goods(weight: float, **more: Any) -> Data:
    """A crate 2 m long and wide on the middle of a deck, its front end 3 m behind the ball."""
    crate = {
        "type": "palletised goods",
        "weight": f"{weight!r} N",
        "length": "2 m",
        "width": "2 m",
        "cg": {"x": "1 m", "y": "0 m", "z": "0.5 m"},
        "placed": {"x": "3 m", "y": "0 m", "facing": "forward"},
        **more,
    }
    return {"trailer": {"anchors": {}}, "articles": [crate], "tiedowns": []}


def add_direct(data: Data, place: Vector, pull: Vector, **tiedown: Any) -> None:
    """A lashing from a place on the article (its own frame) in a direction on the trailer."""
    article, number = data["articles"][0], len(data["tiedowns"])
    name = f"point-{number}"
    article.setdefault("attachments", {})[name] = metres(*place) | UNRATED
    # The crate faces forward with its front end 3 m behind the ball.
    anchor = (3.0 + place[0] + pull[0], place[1] + pull[1], place[2] + pull[2])
    data["trailer"]["anchors"][name] = metres(*anchor) | STRONG
    data["tiedowns"].append(
        {"path": "direct", "device": "webbing", "anchor": name, "attachment": name, **tiedown}
    )


def add_over(data: Data, angle: float, x: float = 1.0, **tiedown: Any) -> None:
    """A lashing across the top, 1 m high, both legs equally steep down to the deck."""
    article, number = data["articles"][0], len(data["tiedowns"])
    name, out = f"over-{number}", math.cos(angle) / math.sin(angle)
    article.setdefault("attachments", {}).update(
        {f"{name}-left": metres(x, 1.0, 1.0), f"{name}-right": metres(x, -1.0, 1.0)}
    )
    data["trailer"]["anchors"] |= {
        f"{name}-left": metres(3.0 + x, 1.0 + out, 0.0) | STRONG,
        f"{name}-right": metres(3.0 + x, -1.0 - out, 0.0) | STRONG,
    }
    data["tiedowns"].append(
        {
            "path": "other side",
            "device": "webbing",
            "anchor": f"{name}-left",
            "far_anchor": f"{name}-right",
            "over": [f"{name}-left", f"{name}-right"],
            **tiedown,
        }
    )


WAY_SIGNS = {"forward": (1.0, 0.0), "rearward": (-1.0, 0.0), "left": (0.0, -1.0)}
"""Where along x and y a lashing has to pull to hold against moving this way."""


def pull_against(way: str, angle: float, plan: float, side: float) -> Vector:
    """A metre of lashing at an angle to the deck and, seen from above, to the way held."""
    along_x, along_y = WAY_SIGNS[way]
    across_x, across_y = -along_y * side, along_x * side
    flat = math.cos(angle)
    return (
        flat * (along_x * math.cos(plan) + across_x * math.sin(plan)),
        flat * (along_y * math.cos(plan) + across_y * math.sin(plan)),
        -math.sin(angle),
    )


def pairs(vectors: list[Vector], weight: float, given: Mapping[str, str], force: str) -> Data:
    """Direct lashings with these pulls, hooked to the crate's top edges one behind the other."""
    data = goods(weight, friction=amount(given["friction_factor"]))
    for index, pull in enumerate(vectors):
        place = (0.5 + index / 4, 1.0 if pull[1] >= 0 else -1.0, 1.5)
        add_direct(data, place, pull, lashing_capacity=force)
    return data
