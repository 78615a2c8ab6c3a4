"""The content of a drawing in words: tiedowns with their load, articles with their positions."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from checker.reports.shared.scene import DrawnTiedown, Scene
from checker.reports.shared.words import join_words
from checker.units.formatting import FORCE, System, show

_NEARLY_FULL = 0.7


@dataclass(frozen=True, slots=True)
class Carried:
    """One row of the table beside the drawing: a tiedown with its load."""

    number: int
    name: str
    title: str
    limit: str
    share: str
    state: str


def tiedown_state(tiedown: DrawnTiedown, loose: Sequence[str]) -> str:
    """The state of a tiedown under the hardest push that a rule asks about.

    The shares leave friction out. A tiedown is called over its limit only in directions in which
    its article is held too little with friction as well.
    """
    known = {way: share for way, share in tiedown.carries.items() if not math.isnan(share)}
    if not known:
        return "unknown"
    if any(share > 1 for way, share in known.items() if way in loose):
        return "over"
    return "full" if max(known.values()) >= _NEARLY_FULL else "free"


def tiedown_rows(scene: Scene, system: System, loose: Mapping[str, Sequence[str]]) -> list[Carried]:
    """Every tiedown in words, with its limit and the share of it that it carries."""
    found = []
    for each in scene.tiedowns:
        state = tiedown_state(each, loose.get(scene.articles[each.article].name, ()))
        share = "share not known"
        if each.carries:
            way, most = max(each.carries.items(), key=lambda pair: pair[1])
            pushed = f"pushed {way} with {scene.asked[way]:g} of the weight"
            share = f"{most:.0%} of it when {pushed}".replace("%", " %")
            share += "; friction carries part of that" if most > 1 and state != "over" else ""
        limit = each.working_load_limit
        words = "limit not stated" if math.isnan(limit) else show(limit, FORCE, system, digits=3)
        found.append(Carried(each.number, each.name, each.title, words, share, state))
    return found


def position_words(scene: Scene, system: System) -> list[str]:
    """The position of each article in words, for those who do not see the drawing."""

    def at(metres: float) -> str:
        return "?" if math.isnan(metres) else show(metres, "length", system, digits=3)

    return [
        f"{each.title}: from {at(each.box.front)} to {at(each.box.rear)} behind the ball, "
        f"faces {each.facing or '?'}, centre of gravity at {at(each.cg.x)}"
        + "".join(f"; reaches {at(past.by)} past the {past.side}" for past in each.projections)
        for each in scene.articles
    ]


def missing_words(scene: Scene) -> str:
    """The fields that are missing to draw the rest."""
    return join_words(scene.missing) if scene.missing else ""
