"""The deck of a trailer and its load, drawn in characters to scale.

Front is at the left, as seen from the trailer's left side. In the plan the trailer's left side is
the lower one.
"""

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from checker.reports.shared.canvas import CELL_ASPECT, Canvas, Position, Scale
from checker.reports.shared.scene import Box, DrawnArticle, Point, Scene
from checker.units.formatting import System

_HALF_ROWS = 8
"""Rows at most on either side of the centre line, seen from above."""
_SIDE_ROWS = 15
_LEAST_HEIGHT = 0.5
_ROLLING = ("wheeled machine", "tracked machine", "road vehicle")
_NUMBERED = "tiedowns, at their anchors"
_TICK_STEPS = (1, 2, 5, 10, 20, 50)
_TICK_ROOM = 6
"""Columns at least from one figure of the ruler to the next."""


class Marks(Struct, frozen=True):
    """The characters of a drawing. Frames are corners row by row, then level and upright side."""

    ball: str
    tongue: str
    deck: str
    rail: str
    axle: str
    wheel: str
    machine: str
    looks_forward: str
    looks_rearward: str
    stands: str
    free_anchor: str
    course: str
    attachment: str
    block: str
    weight: str
    road: str
    tick: str
    level: str


FINE = Marks(
    ball="◉",
    tongue="─",
    deck="┌┐└┘─│",
    rail="┃",
    axle="┊",
    wheel="(O)",
    machine="╔╗╚╝═║",
    looks_forward="◄",
    looks_rearward="►",
    stands="▪",
    free_anchor="o",
    course="·",
    attachment="•",
    block="■",
    weight="X",
    road="▔",
    tick="┴",
    level="─",
)
PLAIN = Marks(
    ball="@",
    tongue="-",
    deck="++++-|",
    rail="#",
    axle=":",
    wheel="(O)",
    machine="[][]=|",
    looks_forward="<",
    looks_rearward=">",
    stands="w",
    free_anchor="o",
    course=".",
    attachment="*",
    block="%",
    weight="X",
    road="~",
    tick="+",
    level="-",
)


class Drawing(Struct, frozen=True):
    """The lines of a drawing, and the meaning of the marks in it."""

    lines: tuple[str, ...]
    legend: tuple[tuple[str, str], ...]


def plan(scene: Scene, columns: int, system: System, *, plain: bool) -> Drawing | None:
    """The load from above; None where the size of the deck is not stated."""
    if not scene.deck.in_plan:
        return None
    marks = PLAIN if plain else FINE
    boxes = [scene.deck, *(each.box for each in scene.articles if each.box.in_plan)]
    half = max(
        [scene.trailer_width / 2 if scene.trailer_width > 0 else 0.0]
        + [axle.track / 2 for axle in scene.axles if axle.track > 0]
        + [max(abs(box.left), abs(box.right)) for box in boxes]
    )
    length = max([box.rear for box in boxes] + [axle.x for axle in scene.axles if axle.x > 0])
    start = min([0.0] + [box.front for box in boxes])
    step = max((length - start) / (columns - 2), half / (CELL_ASPECT * _HALF_ROWS))
    rows = round(half / (CELL_ASPECT * step))
    scale = Scale(step, (start, -rows * CELL_ASPECT * step))
    width = min(columns, scale.column(length) + 2)
    pen = _Pen(Canvas(scale, width, 2 * rows + 1), marks, "plan")
    _trailer_from_above(scene, pen)
    _load(scene, pen)
    _wheels(scene, pen)
    return _finished(pen, _ruler(scale, width, system, marks))


def side(scene: Scene, columns: int, system: System, *, plain: bool) -> Drawing | None:
    """The load from the left; None where the size of the deck is not stated."""
    if not scene.deck.in_side:
        return None
    marks = PLAIN if plain else FINE
    boxes = [each.box for each in scene.articles if each.box.in_side]
    structure = scene.front_structure
    tops = [box.top for box in boxes] + [structure.top if structure and structure.in_side else 0.0]
    top = max(*tops, _LEAST_HEIGHT)
    bottom = scene.deck_height if scene.deck_height > 0 else 0.0
    length = max([scene.deck.rear] + [box.rear for box in boxes])
    start = min([0.0] + [box.front for box in boxes])
    step = max((length - start) / (columns - 2), (top + bottom) / (CELL_ASPECT * _SIDE_ROWS))
    scale = Scale(step, (start, -top))
    width = min(columns, scale.column(length) + 2)
    pen = _Pen(Canvas(scale, width, scale.row(bottom) + 1), marks, "side")
    _trailer_from_the_side(scene, pen, width)
    _load(scene, pen)
    return _finished(pen, _ruler(scale, width, system, marks))


def _finished(pen: "_Pen", ruler: Sequence[str]) -> Drawing:
    """The drawing without empty lines above and below it, and the legend of visible marks."""
    lines = pen.canvas.lines()
    drawn = [number for number, line in enumerate(lines) if line]
    seen = "\n".join(lines)
    return Drawing(
        (*lines[drawn[0] : drawn[-1] + 1], *ruler),
        tuple((mark, what) for mark, what in pen.legend if mark in seen or what == _NUMBERED),
    )


class _Pen:
    """A canvas of one view, and the legend of what was drawn."""

    def __init__(self, canvas: Canvas, marks: Marks, seen: str) -> None:
        self.canvas = canvas
        self.marks = marks
        self.seen = seen
        self.legend: dict[tuple[str, str], None] = {}

    def position(self, point: Point) -> Position:
        return (point.x, point.y) if self.seen == "plan" else (point.x, -point.z)

    def shows(self, thing: Point | Box) -> bool:
        return thing.in_plan if self.seen == "plan" else thing.in_side

    def spot(self, point: Point, mark: str, meaning: str) -> None:
        if self.shows(point):
            self.canvas.mark(self.position(point), mark)
            self.legend[mark, meaning] = None

    def corners(self, box: Box) -> tuple[Position, Position]:
        if self.seen == "plan":
            return (box.front, box.right), (box.rear, box.left)
        return (box.front, -box.top), (box.rear, -box.bottom)


def _trailer_from_above(scene: Scene, pen: _Pen) -> None:
    marks, canvas = pen.marks, pen.canvas
    canvas.line([pen.position(point) for point in scene.tongue], marks.tongue)
    canvas.frame(*pen.corners(scene.deck), marks.deck)
    for axle in scene.axles:
        if not math.isnan(axle.x):
            edges = [(axle.x, scene.deck.right), (axle.x, scene.deck.left)]
            canvas.line(edges, marks.axle)
            for edge in edges:
                canvas.mark(edge, marks.deck[4])
            pen.legend[marks.axle, "trailer axle"] = None
    _rail(scene, pen)
    pen.spot(scene.ball, marks.ball, "ball")
    if canvas.scale.column(scene.deck.front) > len("RIGHT"):
        for word, across in (("RIGHT", scene.deck.right), ("LEFT", scene.deck.left)):
            column = canvas.scale.column(0.0)
            for number, letter in enumerate(word):
                canvas.put(column + number, canvas.scale.row(across), letter)


def _wheels(scene: Scene, pen: _Pen) -> None:
    """Wheels of the trailer, except where a tiedown's number needs the cell."""
    for axle in scene.axles:
        for sign in (-1, 1):
            wheel = Point(axle.x, sign * axle.track / 2, 0.0)
            if wheel.in_plan and not pen.canvas.is_labelled(pen.position(wheel), pen.marks.wheel):
                pen.spot(wheel, pen.marks.wheel, "trailer wheel")


def _trailer_from_the_side(scene: Scene, pen: _Pen, width: int) -> None:
    marks, canvas, deck = pen.marks, pen.canvas, scene.deck
    if all(map(pen.shows, scene.tongue)):
        canvas.line([pen.position(point) for point in scene.tongue], marks.tongue)
    canvas.line([(deck.front, 0.0), (deck.rear, 0.0)], marks.level)
    if scene.deck_height > 0:
        road = canvas.scale.row(scene.deck_height)
        for column in range(width):
            canvas.put(column, road, marks.road)
        pen.legend[marks.road, "road"] = None
        for axle in scene.axles:
            if not math.isnan(axle.x):
                for number, character in enumerate(marks.wheel, -1):
                    canvas.put(canvas.scale.column(axle.x) + number, road - 1, character)
                pen.legend[marks.wheel, "trailer wheel"] = None
    _rail(scene, pen)
    pen.spot(scene.ball, marks.ball, "ball")


def _rail(scene: Scene, pen: _Pen) -> None:
    structure = scene.front_structure
    if structure and pen.shows(structure):
        pen.canvas.line(pen.corners(structure), pen.marks.rail)
        pen.legend[pen.marks.rail, "front rail or headboard"] = None


def _load(scene: Scene, pen: _Pen) -> None:
    """Draws machines first, then tiedowns, so that no outline hides a tiedown."""
    marks = pen.marks
    letters = "ABCDEFGHIJKLMNOPQRSTUVWYZ" if len(scene.articles) > 1 else ""
    for article in scene.articles:
        _outline(article, pen)
    for tiedown in scene.tiedowns:
        path = [point for point in tiedown.path if pen.shows(point)]
        if len(path) == len(tiedown.path):
            pen.canvas.line([pen.position(point) for point in path], marks.course)
    for article in scene.articles:
        for spot in article.stands_on if article.type in _ROLLING else ():
            pen.spot(spot.at, marks.stands, "wheel or track end of a machine")
    for anchor in scene.anchors:
        pen.spot(anchor.at, marks.free_anchor, "anchor")
    for tiedown in scene.tiedowns:
        for point in tiedown.path[1:2] if len(tiedown.path) == 2 else tiedown.path[1:-1]:
            pen.spot(point, marks.attachment, "where a tiedown holds the load")
    for article in scene.articles:
        for block in article.blocks:
            pen.spot(block.at, marks.block, "block")
    for letter, article in zip(letters, scene.articles, strict=False):
        if pen.shows(article.box):
            first, _ = pen.corners(article.box)
            inside = pen.canvas.scale.step
            pen.canvas.label((first[0] + 2 * inside, first[1] + CELL_ASPECT * inside), letter)
            pen.legend[letter, article.title] = None
    for numbers, position in _numbers(scene, pen):
        pen.canvas.label(position, numbers)
        pen.legend["1, 2 ...", _NUMBERED] = None
    for article in scene.articles:
        pen.spot(article.cg, marks.weight, "centre of gravity of what is on the deck")


def _outline(article: DrawnArticle, pen: _Pen) -> None:
    marks = pen.marks
    if not pen.shows(article.box):
        return
    first, last = pen.corners(article.box)
    pen.canvas.frame(first, last, marks.machine)
    pen.legend[marks.machine[4] * 2, "outline of what is on the deck"] = None
    looks, at = {
        "forward": (marks.looks_forward, first[0]),
        "rearward": (marks.looks_rearward, last[0]),
    }.get(article.facing or "", (None, 0.0))
    if looks:
        (column, top), (_, bottom) = pen.canvas.cell((at, first[1])), pen.canvas.cell((at, last[1]))
        for row in range(top + 1, bottom):
            pen.canvas.put(column, row, looks)
        pen.legend[looks, "its own front end"] = None


def _numbers(scene: Scene, pen: _Pen) -> Iterator[tuple[str, Position]]:
    """The numbers of the tiedowns that hook within one cell, once for each such cell."""
    found: dict[tuple[int, int], tuple[Position, list[str]]] = {}
    for tiedown in scene.tiedowns:
        ends = tiedown.path[:1] if len(tiedown.path) == 2 else (tiedown.path[0], tiedown.path[-1])
        for point in ends:
            if pen.shows(point):
                position = pen.position(point)
                numbers = found.setdefault(pen.canvas.cell(position), (position, []))[1]
                if str(tiedown.number) not in numbers:
                    numbers.append(str(tiedown.number))
    for position, numbers in found.values():
        yield ",".join(numbers), position


def ruler_unit(system: System) -> tuple[float, str]:
    """The unit of the ruler: its size in m, and its name."""
    return (1.0, "m") if "length" in system.metric else (0.3048, "ft")


def _ruler(scale: Scale, width: int, system: System, marks: Marks) -> Sequence[str]:
    """A line with ticks, and below it their distance behind the ball."""
    unit, _ = ruler_unit(system)
    columns_of_unit = unit / scale.step
    every = next(
        (each for each in _TICK_STEPS if each * columns_of_unit >= _TICK_ROOM), _TICK_STEPS[-1]
    )
    line, figures = [marks.level] * width, [" "] * width
    number, column = 0, scale.column(0.0)
    while column < width:
        line[column] = marks.tick
        if column + len(str(number)) <= width:
            figures[column : column + len(str(number))] = str(number)
        number += every
        column = scale.column(number * unit)
    return ["".join(line), "".join(figures).rstrip()]
