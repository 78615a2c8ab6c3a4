"""How hard each article is held in every direction, as a round diagram with what rules require."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from checker.evaluation.check import Check
from checker.facts.restraint import WAYS, article_as_stated
from checker.mechanics.restraint.held_set import HeldSet, heading
from checker.reports.shared.scene import Scene
from checker.reports.shared.words import MOST_G, g_words
from checker.units.arithmetic import more_than

_HEADINGS = 36
RADIUS = 100.0
"""Radius of the outermost ring, in the drawing's own units; the middle is at 0, 0."""

# Seen from above like the drawing of the load: forward is to the left, the left side at the bottom.
_WAYS: Mapping[str, float] = {
    "forward": 0.0,
    "left": math.pi / 2,
    "rearward": math.pi,
    "right": 3 * math.pi / 2,
}
_HALF_ARC = math.radians(40)
# Beside the rim, or above and below it: a name of the largest type fits the paper.
_NAMES: Mapping[str, tuple[float, float, str]] = {
    "forward": (-RADIUS - 6, 7.0, "end"),
    "left": (0.0, RADIUS + 22, "middle"),
    "rearward": (RADIUS + 6, 7.0, "start"),
    "right": (0.0, -RADIUS - 6, "middle"),
}


@dataclass(frozen=True, slots=True)
class RequiredHold:
    """One direction: what is held and required, in words, the arc to draw, where its name goes."""

    way: str
    held: str
    wanted: str
    enough: bool
    verdict: str
    arc: str
    name_at: tuple[float, float, str]
    """Position of its name on paper, and which end of the name is there."""


@dataclass(frozen=True, slots=True)
class Round:
    """The diagram of one article: the outline of what is held, rings, and what is required."""

    article: str
    outline: str
    rings: Sequence[tuple[float, str]]
    clipped: str
    """Where the outline is cut off, in words; empty where all of it is drawn."""
    cuts: Sequence[str]
    """The pieces of the rim where the outline is cut off, as lines to draw."""
    ways: Sequence[RequiredHold]


def rounds(check: Check, scene: Scene) -> Iterator[Round]:
    """A diagram for each article whose restraint can be calculated."""
    facts = check.facts
    if facts.load.tiedowns is None:
        return
    asked = {way: scene.asked[way] for way in _WAYS if way in scene.asked}
    angles = [2.0 * math.pi * number / _HEADINGS for number in range(_HEADINGS)]
    directions = [*(heading(angle) for angle in angles), *(WAYS[way] for way in _WAYS)]
    for article in facts.subjects("article"):
        body = article_as_stated(facts.view(article))
        if not body.stated[0]:
            continue
        every = HeldSet(body).largest(directions)[:, 0].tolist()
        accelerations = every[:_HEADINGS]
        held = dict(zip(_WAYS, every[_HEADINGS:], strict=True))
        top = _scale([*asked.values(), *held.values()])
        points = [
            _at(angle, min(held_g, top) / top * RADIUS)
            for angle, held_g in zip(angles, accelerations, strict=True)
        ]
        yield Round(
            article=article.name,
            outline=" ".join(f"{x:.1f},{y:.1f}" for x, y in points),
            rings=_rings(top),
            clipped=_clipped(max(accelerations), top),
            cuts=list(_cuts([a for a, g in zip(angles, accelerations, strict=True) if g > top])),
            ways=[_wanted(way, held[way], asked.get(way), top) for way in _WAYS],
        )


def _scale(accelerations: Sequence[float]) -> float:
    """The outermost ring, in g: above what is required, and not far above the least held."""
    most = max(1.0, *(min(each, 2.0) for each in accelerations))
    return math.ceil(most / 0.5) * 0.5


def _clipped(most: float, top: float) -> str:
    """That the outline ends at the outer ring, where more is held than it shows."""
    if most <= top:
        return ""
    return f"The chart ends at {top:g} g: where it touches the rim, more is held."


def _cuts(headings: Sequence[float]) -> Iterator[str]:
    """A piece of the rim for each heading in which more is held than the chart shows."""
    for angle in headings:
        ends = (_at(angle + turn * math.pi / _HEADINGS, RADIUS) for turn in (-1, 1))
        yield " ".join(f"{x:.1f},{y:.1f}" for x, y in ends)


def _rings(top: float) -> list[tuple[float, str]]:
    steps = round(top / 0.5)
    return [(RADIUS * step / steps, f"{step * 0.5:g} g") for step in range(1, steps + 1)]


def _at(angle: float, radius: float) -> tuple[float, float]:
    """A heading as a point on paper; angles turn to the left side from forward."""
    return -radius * math.cos(angle), radius * math.sin(angle)


def _wanted(way: str, held: float, asked: float | None, top: float) -> RequiredHold:
    angle = _WAYS[way]
    enough = asked is None or more_than(asked, held) != 1
    if asked is None:
        return RequiredHold(way, g_words(held), "", enough, "no rule", "", _NAMES[way])
    radius = min(asked, top) / top * RADIUS
    (x1, y1), (x2, y2) = _at(angle - _HALF_ARC, radius), _at(angle + _HALF_ARC, radius)
    arc = f"M{x1:.1f} {y1:.1f}A{radius:.1f} {radius:.1f} 0 0 0 {x2:.1f} {y2:.1f}"
    held_words = g_words(min(held, MOST_G))
    verdict = "enough" if enough else "NOT ENOUGH"
    return RequiredHold(way, held_words, f"{asked:g} g", enough, verdict, arc, _NAMES[way])
