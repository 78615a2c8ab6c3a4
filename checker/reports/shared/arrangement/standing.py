"""Where an article stands, in the figures of a tape."""

import math

from checker.facts.bodies import on_trailer
from checker.load.model import Article, Load
from checker.units.arithmetic import as_stated
from checker.units.formatting import System, show

_ROLLING = ("wheeled machine", "tracked machine", "road vehicle")
_HAIR = 5e-4
"""In m, less than a tape can read."""


def rolls(article: Article) -> bool:
    """True for an article that is driven on."""
    return article.type in _ROLLING or as_stated(article.self_propelled) == 1


def _tape(metres: float, system: System) -> str:
    """A distance as a tape reads it: a metric one to the millimetre."""
    return show(round(abs(metres), 3 if "length" in system.metric else 6), "length", system)


def standing_words(load: Load, article: Article, system: System) -> str:
    """How to bring an article to its place, measured from the rail, the ball and the sides."""
    forward = article.placed.facing == "forward"
    end, other = ("front", "front") if forward else ("rear", "rear")
    if rolls(article):
        how = "Drive it on forwards" if forward else "Back it on, so that its front faces the rear,"
        how = f"{how} until its {end} end is"
    else:
        how = f"Set it down with its own front toward the {'coupler' if forward else 'rear'}: its "
        how += f"{other} end"
    front = as_stated(article.placed.x)
    place, rail = _rail(load)
    at = f"{how} {_from_rail(front - place, rail, system)}, {_tape(front, system)} behind the ball"
    return f"{at}. {_wheels(article, place, rail, system)}{_across(load, article, system)}"


def _rail(load: Load) -> tuple[float, str]:
    """What a tape is held to at the front, in m behind the ball, and its name."""
    structure = as_stated(load.trailer.front_structure.x)
    if not math.isnan(structure):
        return structure, "the front rail"
    return as_stated(load.trailer.deck.front), "the front edge of the deck"


def _from_rail(distance: float, rail: str, system: System) -> str:
    if abs(distance) < _HAIR:
        return f"at {rail}"
    return f"{_tape(distance, system)} {'behind' if distance > 0 else 'ahead of'} {rail}"


def _wheels(article: Article, place: float, rail: str, system: System) -> str:
    """Where the wheels or track ends nearest the coupler are: easier to see from the seat."""
    forward = article.placed.facing == "forward"
    axle = article.axles.front if forward else article.axles.rear
    end = "front" if forward else "rear"
    if article.type not in _ROLLING or math.isnan(as_stated(axle.x)):
        return ""
    distance = as_stated(on_trailer(article, axle.x, 0.0, 0.0)[0]) - place
    what = "The hubs of its {} wheels are" if article.type != "tracked machine" else ""
    what = (what or "The {} end of its tracks is").format(end)
    side = "behind" if distance > 0 else "ahead of"
    return f"{what} then {_tape(distance, system)} {side} {rail}. "


def _across(load: Load, article: Article, system: System) -> str:
    left = as_stated(article.placed.y)
    free = (as_stated(load.trailer.deck.width) - as_stated(article.width)) / 2
    if abs(left) < _HAIR:
        middle = "In the middle between the sides"
        if free > _HAIR:
            return f"{middle}: {_tape(free, system)} of deck free on each."
        return f"{middle}." if abs(free) <= _HAIR else f"{middle}, wider than the deck."
    way, other = ("left", "right") if left > 0 else ("right", "left")
    words = f"Its centre line {_tape(left, system)} {way} of the middle of the deck"
    near, far = free - abs(left), free + abs(left)
    if near < -_HAIR:
        return f"{words}."
    return (
        f"{words}: {_tape(near, system)} of deck free on the trailer's {way}, "
        f"{_tape(far, system)} on its {other}."
    )


def moved_words(today: Article, plan: Article, system: System) -> list[str]:
    """How an article stands otherwise than the load states; empty where it does not."""
    if not today.placed.facing or math.isnan(as_stated(today.placed.x + today.placed.y)):
        return ["the load does not state how it stands"]
    found = []
    if today.placed.facing != plan.placed.facing:
        found.append(f"faces {plan.placed.facing}, not {today.placed.facing}")
    along = as_stated(plan.placed.x) - as_stated(today.placed.x)
    if abs(along) > _HAIR:
        way = "further back" if along > 0 else "further forward"
        found.append(f"{_tape(along, system)} {way}")
    across = as_stated(plan.placed.y) - as_stated(today.placed.y)
    if abs(across) > _HAIR:
        found.append(f"{_tape(across, system)} further {'left' if across > 0 else 'right'}")
    return found
