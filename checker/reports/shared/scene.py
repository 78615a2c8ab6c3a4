"""What there is to draw of a load, to scale: the deck and everything on it, in plain metres.

x is measured rearward from the ball centre, y to the left, z up from the deck. A number is NaN
where the profile does not state it: the scene is of the load as stated, its first row. Whoever
draws it leaves out what is not `in_plan` (seen from above) or not `in_side` (seen from the left),
and tells what `missing` names.
"""

import math
from collections.abc import Iterator, Mapping
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from msgspec.structs import fields

from checker.evaluation.check import Check
from checker.facts.bodies import STOPS, bodies, on_trailer, springs, supports
from checker.facts.restraint import WAYS
from checker.facts.tiedowns import course
from checker.facts.view import Facts, Subject
from checker.load.model import Article, Load, Tiedown
from checker.mechanics.elastic import stretched
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import Number, more_than


class Point(Struct, frozen=True):
    """A place on the trailer, in m."""

    x: float
    y: float
    z: float

    @property
    def in_plan(self) -> bool:
        """Whether it can be drawn as seen from above."""
        return not math.isnan(self.x + self.y)

    @property
    def in_side(self) -> bool:
        """Whether it can be drawn as seen from the left."""
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
        """Whether it can be drawn as seen from above."""
        return not math.isnan(self.front + self.rear + self.right + self.left)

    @property
    def in_side(self) -> bool:
        """Whether it can be drawn as seen from the left."""
        return not math.isnan(self.front + self.rear + self.bottom + self.top)


class Wheels(Struct, frozen=True):
    """One axle of the trailer: its name, its place behind the ball, wheel centre to wheel centre.

    In m; `tyres` is how many there are, NaN where not stated.
    """

    name: str
    x: float
    track: float
    tyres: float


class Spot(Struct, frozen=True):
    """A named place: an anchor, an attachment, a wheel of a machine. `part` is what it is on."""

    name: str
    at: Point
    part: str | None = None


class DrawnBlock(Struct, frozen=True):
    """A chock, cleat or rail: which way it stops its article, and with what strength in N.

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
    """One unit of cargo where it stands.

    `facing` is which way its own front end looks; None where not stated. `stands_on` are its
    wheels, track ends or corners, named from the trailer; `blocked` the ways in which a structure
    or other cargo is said to stop it.
    """

    name: str
    title: str
    type: str | None
    facing: str | None
    box: Box
    cg: Point
    stands_on: tuple[Spot, ...]
    attachments: tuple[Spot, ...]
    blocks: tuple[DrawnBlock, ...]
    blocked: tuple[str, ...]
    projections: tuple[Projection, ...]
    not_held: tuple[str, ...]
    """Ways in which rules want it held, and its tiedowns and blocks alone, without friction, do
    not hold it in place. Left out where the stretch of its tiedowns is not stated."""


class DrawnTiedown(Struct, frozen=True, kw_only=True):
    """One tiedown along its course, from its anchor on.

    `number` counts from 1 as in the profile; `article` is the place of the article in the scene.
    `working_load_limit` is that of the whole assembly in N. `carries` is the share of that limit
    it carries while the load pushes one way with the acceleration in `Scene.asked`, worked out by
    how the tiedowns stretch, without friction; more than 1 is too much. It has no entry for a
    way in which that cannot be worked out, or in which the tiedowns do not hold the article.
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
    """All there is to draw of a load.

    `deck` lies between `bottom` and `top` 0; `deck_height` is its height above the road. `ball`
    is the coupler end of the `tongue`, a line that ends at the middle of the deck's front edge.
    `trailer_width` is the widest point of the trailer alone, `overall_width` with its load.
    `front_structure` is None where the profile speaks of none. `asked` are the largest
    accelerations in g, by way, that rules of this check want the load held against.
    `missing` are the profile fields without which something is not drawn, without repeats.
    """

    deck: Box
    deck_height: float
    ball: Point
    tongue: tuple[Point, Point]
    trailer_width: float
    overall_width: float
    front_structure: Box | None
    axles: tuple[Wheels, ...]
    anchors: tuple[Spot, ...]
    articles: tuple[DrawnArticle, ...]
    tiedowns: tuple[DrawnTiedown, ...]
    asked: Mapping[str, float]
    missing: tuple[str, ...]


def scene_of(check: Check) -> Scene:
    """The scene of a checked load, as stated."""
    load, facts = check.load, check.facts
    trailer = load.trailer
    deck = _deck(load)
    height = _first(trailer.deck.height)
    ball = Point(0.0, 0.0, _first(trailer.ball_height) - height)
    asked = _asked(check)
    articles = facts.subjects("article")
    stretched_out = {each.index: _stretched_out(facts, each, asked) for each in articles}
    return Scene(
        deck=deck,
        deck_height=height,
        ball=ball,
        tongue=(ball, Point(deck.front, 0.0, 0.0)),
        trailer_width=_first(trailer.overall_width),
        overall_width=_first(facts.value("load.overall_width", None)),
        front_structure=_front_structure(load),
        axles=tuple(
            Wheels(axle.name, _first(axle.x), _first(trailer.track), _first(axle.tyres))
            for axle in trailer.axles
        ),
        anchors=tuple(
            Spot(anchor.name, _point((anchor.x, anchor.y, anchor.z)), anchor.type)
            for anchor in trailer.anchors
        ),
        articles=tuple(_article(facts, each, deck, stretched_out[each.index]) for each in articles),
        tiedowns=tuple(_tiedowns(facts, stretched_out)),
        asked=asked,
        missing=tuple(dict.fromkeys(_missing(facts))),
    )


def _first(value: Number) -> float:
    """The number as stated: the first row."""
    return float(np.atleast_1d(value)[0])


def _point(place: tuple[Number, Number, Number]) -> Point:
    x, y, z = place
    return Point(_first(x), _first(y), _first(z))


def _deck(load: Load) -> Box:
    deck = load.trailer.deck
    half = _first(deck.width) / 2
    return Box(
        front=_first(deck.front),
        rear=_first(deck.rear),
        right=-half,
        left=half,
        bottom=0.0,
        top=0.0,
    )


def _front_structure(load: Load) -> Box | None:
    """A face without depth ahead of the load; None where no part of it is stated."""
    structure = load.trailer.front_structure
    numbers = [_first(getattr(structure, each.name)) for each in fields(structure)]
    if all(map(math.isnan, numbers)):
        return None
    half = _first(structure.width) / 2
    return Box(
        front=_first(structure.x),
        rear=_first(structure.x),
        right=-half,
        left=half,
        bottom=0.0,
        top=_first(structure.height),
    )


def _article(facts: Facts, subject: Subject, deck: Box, tensions: "_TensionsByWay") -> DrawnArticle:
    article = facts.load.articles[subject.index]
    front, middle = _first(article.placed.x), _first(article.placed.y)
    half = _first(article.width) / 2
    box = Box(
        front=front,
        rear=front + _first(article.length),
        right=middle - half,
        left=middle + half,
        bottom=0.0,
        top=_first(article.height),
    )
    return DrawnArticle(
        name=article.name,
        title=article.title,
        type=article.type,
        facing=article.placed.facing,
        box=box,
        cg=Point(
            _first(facts.value("article.cg_position", subject)),
            _first(facts.value("article.cg_lateral", subject)),
            _first(article.cg.z),
        ),
        stands_on=tuple(Spot(name, _point(place)) for name, place in supports(article)),
        attachments=tuple(
            Spot(point.name, _point(on_trailer(article, point.x, point.y, point.z)), point.part)
            for point in article.attachments
        ),
        blocks=tuple(
            DrawnBlock(
                name=block.name,
                stops=block.stops,
                strength=_first(block.strength),
                at=_point(on_trailer(article, block.x, block.y, block.z)),
                pushes=STOPS.get(block.stops or ""),
            )
            for block in article.blocks
        ),
        blocked=tuple(
            way
            for way in ("forward", "rearward", "left", "right")
            if _first(getattr(article.blocking, way)) == 1
        ),
        projections=tuple(_projections(box, deck)),
        not_held=tuple(way for way, found in tensions.items() if found is None),
    )


def _projections(box: Box, deck: Box) -> Iterator[Projection]:
    for side, reach, edge in (
        ("front", -box.front, -deck.front),
        ("rear", box.rear, deck.rear),
        ("left", box.left, deck.left),
        ("right", -box.right, -deck.right),
    ):
        if more_than(reach, edge) == 1:
            yield Projection(side, reach - edge)


def _asked(check: Check) -> dict[str, float]:
    """The hardest push each way that a rule decided here compares with what is held."""
    asked: dict[str, float] = {}
    for finding in check.findings:
        if finding.verdict is Verdict.DOES_NOT_APPLY:
            continue
        values = [
            value.quantity.value
            for _, value in finding.thresholds
            if value.quantity.kind == "gravities"
        ]
        for way in WAYS:
            if values and f"article.holds_{way}" in finding.rule.requires.names:
                asked[way] = max(asked.get(way, 0.0), *values)
    return asked


_TensionsByWay: TypeAlias = Mapping[str, Mapping[str, float] | None]
"""By way, the tension in N of each tiedown by its name; None where they do not hold it."""


def _tiedowns(facts: Facts, stretched_out: Mapping[int, _TensionsByWay]) -> Iterator[DrawnTiedown]:
    for subject in facts.subjects("tiedown"):
        tiedown = facts.view(subject).tiedown
        article = next(
            number for number, each in enumerate(facts.load.articles) if each is tiedown.article
        )
        limit = _first(facts.value("tiedown.working_load_limit", subject))
        yield DrawnTiedown(
            number=subject.index + 1,
            name=subject.name,
            title=tiedown.title,
            device=tiedown.device,
            article=article,
            path=tuple(map(_point, course(tiedown))),
            working_load_limit=limit,
            carries={
                way: tensions[subject.name] / limit
                for way, tensions in stretched_out[article].items()
                if tensions is not None and subject.name in tensions
            },
        )


def _stretched_out(facts: Facts, subject: Subject, asked: Mapping[str, float]) -> _TensionsByWay:
    """How the tiedowns of an article share each push that is asked; empty where not stated."""
    view = facts.view(subject)
    stretch = springs(view, 0)
    body = next(bodies(view, "working load limit", friction=False))
    if not stretch or not body.is_stated:
        return {}
    found = {way: stretched(body, stretch, WAYS[way], most) for way, most in asked.items()}
    names = [tiedown.name for tiedown in body.tiedowns]
    return {
        way: dict(zip(names, each.tensions, strict=True)) if each.held else None
        for way, each in found.items()
    }


def _missing(facts: Facts) -> Iterator[str]:
    """Fields without which something of the load cannot be drawn to scale."""
    load = facts.load
    trailer = load.trailer
    yield from _unstated("trailer.deck", trailer.deck, "front", "rear", "width", "height")
    yield from _unstated("trailer", trailer, "ball_height", "track")
    if _front_structure(load):
        structure = trailer.front_structure
        yield from _unstated("trailer.front_structure", structure, "x", "width", "height")
    if not trailer.axles:
        yield "trailer.axles"
    for axle in trailer.axles:
        yield from _unstated(f"trailer.axles.{axle.name}", axle, "x")
    for anchor in trailer.anchors:
        yield from _unstated(f"trailer.anchors.{anchor.name}", anchor, "x", "y", "z")
    if not load.articles:
        yield "articles"
    for subject in facts.subjects("article"):
        article = load.articles[subject.index]
        yield from _missing_of_article(f"articles.{subject.index + 1}", article)
        yield from facts.missing("article.cg_position", subject)
        yield from facts.missing("article.cg_lateral", subject)
    if load.tiedowns is None:
        yield "tiedowns"
    for number, tiedown in enumerate(load.tiedowns or (), 1):
        yield from _missing_of_tiedown(f"tiedowns.{number}", tiedown)


def _missing_of_article(path: str, article: Article) -> Iterator[str]:
    yield from _unstated(path, article, "type", "length", "width", "height")
    yield from _unstated(f"{path}.placed", article.placed, "x", "y", "facing")
    yield from _unstated(f"{path}.cg", article.cg, "z")
    if article.type in ("wheeled machine", "tracked machine", "road vehicle"):
        for end in ("front", "rear"):
            axle = getattr(article.axles, end)
            yield from _unstated(f"{path}.axles.{end}", axle, "x", "track")
    for point in article.attachments:
        yield from _unstated(f"{path}.attachments.{point.name}", point, "x", "y", "z")
    for block in article.blocks:
        yield from _unstated(f"{path}.blocks.{block.name}", block, "stops", "x", "y", "z")


def _missing_of_tiedown(path: str, tiedown: Tiedown) -> Iterator[str]:
    yield from _unstated(path, tiedown, "path", "anchor")
    if tiedown.path in (None, "direct"):
        yield from _unstated(path, tiedown, "attachment")
    elif not tiedown.over:
        yield f"{path}.over"
    if tiedown.path == "other side":
        yield from _unstated(path, tiedown, "far_anchor")


def _unstated(path: str, record: object, *names: str) -> Iterator[str]:
    """Those fields of a record that are neither a number nor a word nor a reference."""
    for name in names:
        value = getattr(record, name)
        if value is None or (isinstance(value, float | np.ndarray) and math.isnan(_first(value))):
            yield f"{path}.{name}"
