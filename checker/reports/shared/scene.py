"""Everything to draw of a load, to scale: the deck and everything on it, in plain metres.

x is measured rearward from the ball centre, y to the left, z up from the deck. A number is NaN
where the profile does not state it. The scene is of the load as stated, its first row. A drawing
leaves out what is not `in_plan` (seen from above) or not `in_side` (seen from the left), and lists
the fields in `missing`.
"""

import math
from collections.abc import Mapping

from msgspec import Struct


class Point(Struct, frozen=True):
    """A position on the trailer, in m."""

    x: float
    y: float
    z: float

    @property
    def in_plan(self) -> bool:
        """True if it can be drawn as seen from above."""
        return not math.isnan(self.x + self.y)

    @property
    def in_side(self) -> bool:
        """True if it can be drawn as seen from the left."""
        return not math.isnan(self.x + self.z)


class Box(Struct, frozen=True, kw_only=True):
    """An upright box along the trailer, by its six faces in m."""

    front: float
    rear: float
    right: float
    left: float
    bottom: float
    top: float

    @property
    def in_plan(self) -> bool:
        """True if it can be drawn as seen from above."""
        return not math.isnan(self.front + self.rear + self.right + self.left)

    @property
    def in_side(self) -> bool:
        """True if it can be drawn as seen from the left."""
        return not math.isnan(self.front + self.rear + self.bottom + self.top)


class Wheels(Struct, frozen=True):
    """One axle of the trailer: its name, its distance behind the ball, and its track, in m.

    `tyres` is how many there are, NaN where not stated.
    """

    name: str
    x: float
    track: float
    tyres: float


class NamedPoint(Struct, frozen=True):
    """A named position: an anchor, an attachment, a wheel. `part` is what it is on."""

    name: str
    at: Point
    part: str | None = None


class DrawnBlock(Struct, frozen=True):
    """A chock, cleat or rail: the direction it stops its article, and its strength in N.

    `pushes` is the unit direction in which it pushes the article; None where not stated.
    """

    name: str
    stops: str | None
    strength: float
    at: Point
    pushes: tuple[float, float, float] | None


class Projection(Struct, frozen=True):
    """How far, in m, an article reaches past one edge of the deck."""

    side: str
    by: float


class DrawnArticle(Struct, frozen=True, kw_only=True):
    """One article in its position.

    `facing` is the direction of its own front end; None where not stated. `stands_on` are its
    wheels, track ends or corners, named from the trailer; `blocked` the directions in which a
    structure or other cargo is stated to stop it.
    """

    name: str
    title: str
    type: str | None
    facing: str | None
    box: Box
    cg: Point
    stands_on: tuple[NamedPoint, ...]
    attachments: tuple[NamedPoint, ...]
    blocks: tuple[DrawnBlock, ...]
    blocked: tuple[str, ...]
    projections: tuple[Projection, ...]
    not_held: tuple[str, ...]
    """Ways in which rules want it held, and its tiedowns and blocks alone, without friction, do
    not hold it in place. Left out where the stretch of its tiedowns is not stated."""


class DrawnTiedown(Struct, frozen=True, kw_only=True):
    """One tiedown along its course, from its anchor on.

    `number` counts from 1 as in the profile; `article` is the index of the article in the scene.
    `working_load_limit` is that of the whole assembly in N. `carries` is, by direction, the share
    of that limit that it carries while the load pushes with the acceleration in `Scene.asked`,
    calculated from how the tiedowns stretch, without friction; more than 1 is too much. It has no
    entry for a direction in which that cannot be calculated, or in which the tiedowns do not hold
    the article.
    """

    number: int
    name: str
    title: str
    device: str | None
    article: int
    path: tuple[Point, ...]
    working_load_limit: float
    carries: Mapping[str, float]


class Scene(Struct, frozen=True, kw_only=True):
    """Everything to draw of a load.

    `deck` lies between `bottom` and `top` 0; `deck_height` is its height above the road. `ball` is
    the coupler end of the `tongue`, a line that ends at the middle of the deck's front edge.
    `trailer_width` is the widest point of the trailer alone, `overall_width` with its load.
    `front_structure` is None where the profile states none. `asked` are the largest accelerations
    in g, by direction, that rules of this check require the load to be held against. `missing` are
    the profile fields without which something is not drawn, each once.
    """

    deck: Box
    deck_height: float
    ball: Point
    tongue: tuple[Point, Point]
    trailer_width: float
    overall_width: float
    front_structure: Box | None
    axles: tuple[Wheels, ...]
    anchors: tuple[NamedPoint, ...]
    articles: tuple[DrawnArticle, ...]
    tiedowns: tuple[DrawnTiedown, ...]
    asked: Mapping[str, float]
    missing: tuple[str, ...]
