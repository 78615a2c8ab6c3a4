"""The load drawn to scale, from above and from the left, in centimetres of the trailer."""

import dataclasses
import math
from collections.abc import Iterator, Mapping, Sequence

from msgspec.structs import replace

from checker.reports.shared.html.drawing_words import tiedown_state
from checker.reports.shared.html.shapes import Drawing, Line, Machine, Mark, Rect
from checker.reports.shared.scene import Box, DrawnArticle, Point, Scene
from checker.units.formatting import System

_CM = 100.0
_TYRE_RADIUS, _TYRE_WIDTH = 33.0, 20.0
"""The size of a wheel's mark: no profile states the true size."""
_EDGE = 45.0
_LEAST_TYPE = 16.0
_OF_WIDTH, _OF_HEIGHT = 0.0315, 0.0575
"""The least type as a share of the paper: above 7 pt in the 93 mm by 45 mm that a printed view has,
some 11 px on a phone."""
_PLAN_FOOT, _SIDE_FOOT = 2.1, 2.5
"""The height of the scale at the foot of the paper as a multiple of the type."""
_BADGE, _BEYOND = 0.8, 32.0
"""Radius of a tiedown's number as a share of the type; what it stands off, and its line, in cm."""


def from_above(scene: Scene, system: System, loose: Mapping[str, Sequence[str]]) -> Drawing:
    """The plan: the ball on the left, the trailer's left side at the bottom.

    `loose` names, for each article, the ways in which it is held less than a rule requires.
    """
    return _Plan(scene, system, loose).drawing()


def from_the_left(scene: Scene, system: System, loose: Mapping[str, Sequence[str]]) -> Drawing:
    """The side view: the ball on the left, the road at the bottom."""
    return _Side(scene, system, loose).drawing()


class _View:
    """What both views share; a view defines where a position of the trailer is on paper."""

    def __init__(self, scene: Scene, system: System, loose: Mapping[str, Sequence[str]]) -> None:
        self.scene = scene
        self.system = system
        self.loose = loose
        start, self.end = self.span()
        self.left, self.right = start * _CM - 25, self.end * _CM + _EDGE
        self.type_size = max(
            _LEAST_TYPE, _OF_WIDTH * (self.right - self.left), self.type_for_height()
        )

    def drawing(self) -> Drawing:
        rail = self.scene.front_structure
        return dataclasses.replace(
            self.trailer(),
            rail=self.rect(rail, least=5.0) if rail else None,
            machines=self.machines(),
            anchors=self.anchors(),
            hooks=self.hooks(),
            blocks=self.blocks(),
            tiedowns=list(self.lines()),
            ticks=list(self.ticks(0.0, self.end + 0.3)),
            type_size=round(self.type_size, 1),
            badge=round(_BADGE * self.type_size, 1),
        )

    def type_for_height(self) -> float:
        """The least type that can be read at the height of the paper, which grows with it."""
        raise NotImplementedError

    def trailer(self) -> Drawing:
        """Deck, tongue, ball, wheels and road."""
        raise NotImplementedError

    def across(self, position: Point) -> float:
        raise NotImplementedError

    def seen(self, position: Point) -> bool:
        raise NotImplementedError

    def faces(self, box: Box) -> tuple[float, float] | None:
        """Upper and lower edge of a box on paper; None where it cannot be drawn."""
        raise NotImplementedError

    def mark(self, position: Point, label: str = "", title: str = "") -> Mark:
        return Mark(round(position.x * _CM, 1), round(self.across(position), 1), label, title)

    def rect(self, box: Box, least: float = 0.0) -> Rect | None:
        faces = self.faces(box)
        if faces is None:
            return None
        top, bottom = faces
        width = max((box.rear - box.front) * _CM, least)
        return Rect(
            round(box.front * _CM, 1), round(top, 1), round(width, 1), round(bottom - top, 1)
        )

    def machine(self, each: DrawnArticle, number: int) -> Machine | None:
        box = self.rect(each.box)
        if box is None:
            return None
        wheels = [self.mark(spot.at) for spot in each.stands_on if self.seen(spot.at)]
        return Machine(
            box=box,
            nose=_nose(box, each.facing),
            label=chr(ord("A") + number) if number < 26 else str(number + 1),
            wheels=wheels,
            cg=self.mark(each.cg) if self.seen(each.cg) else None,
            over=list(self.past(each)),
            stops=list(self.stops(each, box)),
            loose=[_arrow(box, way) for way in self.loose.get(each.name, ()) if self.shows(way)],
        )

    def past(self, each: DrawnArticle) -> Iterator[Rect]:
        """The parts of an article beyond the edges of the deck that are visible in this view."""
        deck = self.scene.deck
        for past in each.projections:
            beyond = {
                "front": replace(each.box, rear=deck.front),
                "rear": replace(each.box, front=deck.rear),
                "left": replace(each.box, right=deck.left),
                "right": replace(each.box, left=deck.right),
            }[past.side]
            drawn = self.rect(beyond)
            if drawn and self.shows(
                {"front": "forward", "rear": "rearward"}.get(past.side, past.side)
            ):
                yield drawn

    def stops(self, each: DrawnArticle, box: Rect) -> Iterator[Rect]:
        """A bar on each side where something is stated to stop it."""
        raise NotImplementedError

    def shows(self, way: str) -> bool:
        """True if a direction along the deck can be drawn in this view."""
        raise NotImplementedError

    def lines(self) -> Iterator[Line]:
        taken: list[tuple[float, float]] = []
        for each in self.scene.tiedowns:
            run = [point for point in each.path if self.seen(point)]
            if len(run) > 1:
                x, y = run[0].x * _CM, self.across(run[0])
                y += self.outward(y)
                wide = 2 * _BADGE * self.type_size
                while any(abs(x - a) < wide and abs(y - b) < wide for a, b in taken):
                    x += wide + 1
                taken.append((x, y))
                points = " ".join(f"{p.x * _CM:.1f},{self.across(p):.1f}" for p in run)
                badge = Mark(round(x, 1), round(y, 1), str(each.number), each.name)
                loose = self.loose.get(self.scene.articles[each.article].name, ())
                yield Line(each.number, points, tiedown_state(each, loose), badge)

    def outward(self, y: float) -> float:
        """The distance of a tiedown's number beside its anchor."""
        raise NotImplementedError

    def ticks(self, start: float, end: float) -> Iterator[Mark]:
        """A scale along the trailer: every 2 ft or half metre, with as many figures as fit."""
        metric = "length" in self.system.metric
        step, unit, size = (0.5, "m", 0.5) if metric else (0.6096, "ft", 2)
        numbers = range(math.ceil(start / step), math.floor(end / step) + 1)
        longest = max((len(f"{number * size:g}") for number in numbers), default=0)
        every = math.ceil(0.6 * (longest + 1) * self.type_size / (step * _CM))
        for number in numbers:
            label = f"{number * size:g}" if number else f"0 {unit}"
            label = "" if number % every else label
            yield Mark(round(number * step * _CM, 1), 0.0, label)

    def span(self) -> tuple[float, float]:
        """The distance from the ball to whatever reaches farthest back, in m."""
        scene = self.scene
        ends = [0.0, scene.deck.rear, *(axle.x for axle in scene.axles)]
        ends += [end for each in scene.articles for end in (each.box.front, each.box.rear)]
        ends += [spot.at.x for spot in scene.anchors]
        known = [end for end in ends if not math.isnan(end)]
        return min(known), max(known)

    def blocks(self) -> list[Mark]:
        return [
            self.mark(block.at, title=f"{block.name}, stops it {block.stops}")
            for each in self.scene.articles
            for block in each.blocks
            if self.seen(block.at)
        ]

    def anchors(self) -> list[Mark]:
        return [self.mark(s.at, title=s.name) for s in self.scene.anchors if self.seen(s.at)]

    def hooks(self) -> list[Mark]:
        used = [point for each in self.scene.tiedowns for point in each.path[1:]]
        return [self.mark(point) for point in used if self.seen(point)]

    def machines(self) -> list[Machine]:
        drawn = (self.machine(each, number) for number, each in enumerate(self.scene.articles))
        return [machine for machine in drawn if machine is not None]


class _Plan(_View):
    def across(self, position: Point) -> float:
        return position.y * _CM

    def seen(self, position: Point) -> bool:
        return position.in_plan

    def faces(self, box: Box) -> tuple[float, float] | None:
        return (box.right * _CM, box.left * _CM) if box.in_plan else None

    def outward(self, y: float) -> float:
        return math.copysign(self.edge(self.type_size) - 11.0, y)

    def edge(self, type_size: float) -> float:
        """The margin beside the trailer, with room for the tiedowns' numbers."""
        return _BADGE * type_size + _BEYOND

    def half_width(self) -> float:
        scene = self.scene
        widths = [scene.overall_width, scene.trailer_width, 2 * scene.deck.left]
        widths += [axle.track + _TYRE_WIDTH / _CM for axle in scene.axles]
        return max((w for w in widths if not math.isnan(w)), default=2.0) / 2 * _CM

    def type_for_height(self) -> float:
        fixed, grows = 2 * (self.half_width() + _BEYOND), 2 * _BADGE + _PLAN_FOOT
        return _OF_HEIGHT * fixed / (1 - _OF_HEIGHT * grows)

    def stops(self, each: DrawnArticle, box: Rect) -> Iterator[Rect]:
        if "forward" in each.blocked:
            yield Rect(box.x - 8, box.y, 8, box.height)
        if "rearward" in each.blocked:
            yield Rect(box.x + box.width, box.y, 8, box.height)
        if "right" in each.blocked:
            yield Rect(box.x, box.y - 8, box.width, 8)
        if "left" in each.blocked:
            yield Rect(box.x, box.y + box.height, box.width, 8)

    def shows(self, way: str) -> bool:
        return way in ("forward", "rearward", "left", "right")

    def trailer(self) -> Drawing:
        scene = self.scene
        half = self.half_width() + self.edge(self.type_size)
        deck = self.rect(scene.deck)
        tongue = ""
        if deck:
            near, far = deck.y + deck.height, deck.y
            tongue = f"{deck.x},{far} 0,0 {deck.x},{near}"
        wheels = [
            Rect(
                round(axle.x * _CM - _TYRE_RADIUS, 1),
                round(side * axle.track / 2 * _CM - _TYRE_WIDTH / 2, 1),
                2 * _TYRE_RADIUS,
                _TYRE_WIDTH,
            )
            for axle in scene.axles
            for side in (-1, 1)
            if not math.isnan(axle.x + axle.track)
        ]
        return Drawing(
            view=(
                self.left,
                round(-half, 1),
                self.right - self.left,
                round(2 * half + _PLAN_FOOT * self.type_size, 1),
            ),
            deck=deck,
            tongue=tongue,
            ball=Mark(0.0, 0.0),
            wheels=wheels,
        )


class _Side(_View):
    def across(self, position: Point) -> float:
        return -position.z * _CM

    def seen(self, position: Point) -> bool:
        return position.in_side

    def faces(self, box: Box) -> tuple[float, float] | None:
        return (-box.top * _CM, -box.bottom * _CM) if box.in_side else None

    def stops(self, each: DrawnArticle, box: Rect) -> Iterator[Rect]:
        # Its height is not stated; a headboard with a stated height is drawn separately.
        del each, box
        return iter(())

    def outward(self, y: float) -> float:
        return math.copysign(26.0, y + 1.0)

    def shows(self, way: str) -> bool:
        return way in ("forward", "rearward")

    def above_and_below(self) -> tuple[float, float]:
        """How far the drawing reaches above and below the deck."""
        height = self.scene.deck_height
        tops = [each.box.top for each in self.scene.articles]
        tops += [self.scene.front_structure.top] if self.scene.front_structure else []
        top = max((t for t in tops if not math.isnan(t)), default=1.0) * _CM
        return top + _EDGE, 60.0 if math.isnan(height) else height * _CM

    def type_for_height(self) -> float:
        return _OF_HEIGHT * sum(self.above_and_below()) / (1 - _OF_HEIGHT * _SIDE_FOOT)

    def trailer(self) -> Drawing:
        scene = self.scene
        above, below = self.above_and_below()
        road = None if math.isnan(scene.deck_height) else below
        deck = None
        if not math.isnan(scene.deck.front + scene.deck.rear):
            length = (scene.deck.rear - scene.deck.front) * _CM
            deck = Rect(round(scene.deck.front * _CM, 1), 0.0, round(length, 1), 8.0)
        ball = self.mark(scene.ball) if self.seen(scene.ball) else None
        tongue = f"{ball.x},{ball.y} {deck.x},6" if ball and deck else ""
        wheels = [
            Rect(round(axle.x * _CM, 1), round(below - _TYRE_RADIUS, 1), _TYRE_RADIUS, 0.0)
            for axle in scene.axles
            if not math.isnan(axle.x)
        ]
        return Drawing(
            view=(
                self.left,
                -above,
                self.right - self.left,
                round(above + below + _SIDE_FOOT * self.type_size, 1),
            ),
            deck=deck,
            tongue=tongue,
            ball=ball,
            wheels=wheels,
            road=road,
        )


def _nose(box: Rect, facing: str | None) -> str:
    """An arrow head at the article's own front end; empty where that is not known."""
    middle = box.y + box.height / 2
    half = min(box.height / 2, 22.0)
    if facing == "forward":
        return f"{box.x + 24},{middle - half} {box.x + 4},{middle} {box.x + 24},{middle + half}"
    if facing == "rearward":
        end = box.x + box.width
        return f"{end - 24},{middle - half} {end - 4},{middle} {end - 24},{middle + half}"
    return ""


_ARROW = ((0, -9), (26, -9), (26, -20), (50, 0), (26, 20), (26, 9), (0, 9))
"""An arrow to the right from the edge of a box."""


def _arrow(box: Rect, way: str) -> str:
    """An arrow out of a box on paper in one of the four directions along the deck."""
    middle_x, middle_y = box.x + box.width / 2, box.y + box.height / 2
    start, turn = {
        "forward": ((box.x - 4, middle_y), (-1, 0)),
        "rearward": ((box.x + box.width + 4, middle_y), (1, 0)),
        "left": ((middle_x, box.y + box.height + 4), (0, 1)),
        "right": ((middle_x, box.y - 4), (0, -1)),
    }[way]
    points = (
        (
            start[0] + along * turn[0] - beside * turn[1],
            start[1] + along * turn[1] + beside * turn[0],
        )
        for along, beside in _ARROW
    )
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
