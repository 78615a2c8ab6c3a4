"""The shapes of a drawing, in centimetres of the trailer, as the SVG template reads them."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Rect:
    """An upright rectangle on paper."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Mark:
    """A position on paper with its label."""

    x: float
    y: float
    label: str = ""
    title: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """A tiedown on paper: its course, its number, and its load state."""

    number: int
    points: str
    state: str
    """`free`, `full`, `over` or `unknown`, under the hardest push that a rule asks about."""
    badge: Mark


@dataclass(frozen=True, slots=True)
class Machine:
    """An article on paper: outline, front end, wheels, centre of gravity."""

    box: Rect
    nose: str
    label: str
    wheels: Sequence[Mark]
    cg: Mark | None
    over: Sequence[Rect]
    """The parts beyond the edges of the deck."""
    stops: Sequence[Rect]
    """The sides where something is stated to stop it."""
    loose: Sequence[str]
    """Arrows in the directions in which it is held less than a rule requires."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """One view: the size of the paper, of the type and of the tiedowns' numbers, and all shapes."""

    view: tuple[float, float, float, float]
    deck: Rect | None
    tongue: str
    ball: Mark | None
    wheels: Sequence[Rect]
    road: float | None = None
    rail: Rect | None = None
    machines: Sequence[Machine] = ()
    anchors: Sequence[Mark] = ()
    hooks: Sequence[Mark] = ()
    blocks: Sequence[Mark] = ()
    tiedowns: Sequence[Line] = ()
    ticks: Sequence[Mark] = ()
    type_size: float = 16.0
    badge: float = 13.0
    """Radius of the circle around a tiedown's number."""
