"""Builds the scene of a checked load: positions in metres, and the load of each tiedown."""

import math
from collections.abc import Iterator, Mapping
from typing import TypeAlias

from msgspec.structs import fields

from checker.evaluation.check import Check
from checker.facts.bodies import STOPS, on_trailer, supports
from checker.facts.restraint import WAYS, carried
from checker.facts.tiedowns import course
from checker.facts.view import Facts, Subject
from checker.load.model import Load
from checker.reports.shared.scene import (
    Box,
    DrawnArticle,
    DrawnBlock,
    DrawnTiedown,
    NamedPoint,
    Point,
    Projection,
    Scene,
    Wheels,
)
from checker.reports.shared.scene_gaps import missing_fields
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import Number, as_stated, more_than


def build_scene(check: Check) -> Scene:
    """The scene of a checked load, as stated."""
    load, facts = check.load, check.facts
    trailer = load.trailer
    deck = _deck(load)
    height = as_stated(trailer.deck.height)
    ball = Point(0.0, 0.0, as_stated(trailer.ball_height) - height)
    asked = _asked(check)
    front_structure = _front_structure_box(load)
    articles = facts.subjects("article")
    stretched_out = {each.index: _stretched_out(facts, each, asked) for each in articles}
    return Scene(
        deck=deck,
        deck_height=height,
        ball=ball,
        tongue=(ball, Point(deck.front, 0.0, 0.0)),
        trailer_width=as_stated(trailer.overall_width),
        overall_width=as_stated(facts.value("load.overall_width", None)),
        front_structure=front_structure,
        axles=tuple(
            Wheels(axle.name, as_stated(axle.x), as_stated(trailer.track), as_stated(axle.tyres))
            for axle in trailer.axles
        ),
        anchors=tuple(
            NamedPoint(anchor.name, _point((anchor.x, anchor.y, anchor.z)), anchor.type)
            for anchor in trailer.anchors
        ),
        articles=tuple(_article(facts, each, deck, stretched_out[each.index]) for each in articles),
        tiedowns=tuple(_tiedowns(facts, stretched_out)),
        asked=asked,
        missing=tuple(dict.fromkeys(missing_fields(facts, front_structure))),
    )


def _point(position: tuple[Number, Number, Number]) -> Point:
    x, y, z = position
    return Point(as_stated(x), as_stated(y), as_stated(z))


def _deck(load: Load) -> Box:
    deck = load.trailer.deck
    half = as_stated(deck.width) / 2
    return Box(
        front=as_stated(deck.front),
        rear=as_stated(deck.rear),
        right=-half,
        left=half,
        bottom=0.0,
        top=0.0,
    )


def _front_structure_box(load: Load) -> Box | None:
    """A face without depth ahead of the load; None where no part of it is stated."""
    structure = load.trailer.front_structure
    numbers = [as_stated(getattr(structure, each.name)) for each in fields(structure)]
    if all(map(math.isnan, numbers)):
        return None
    half = as_stated(structure.width) / 2
    return Box(
        front=as_stated(structure.x),
        rear=as_stated(structure.x),
        right=-half,
        left=half,
        bottom=0.0,
        top=as_stated(structure.height),
    )


def _article(facts: Facts, subject: Subject, deck: Box, tensions: "_TensionsByWay") -> DrawnArticle:
    article = facts.load.articles[subject.index]
    front, middle = as_stated(article.placed.x), as_stated(article.placed.y)
    half = as_stated(article.width) / 2
    box = Box(
        front=front,
        rear=front + as_stated(article.length),
        right=middle - half,
        left=middle + half,
        bottom=0.0,
        top=as_stated(article.height),
    )
    return DrawnArticle(
        name=article.name,
        title=article.title,
        type=article.type,
        facing=article.placed.facing,
        box=box,
        cg=Point(
            as_stated(facts.value("article.cg_position", subject)),
            as_stated(facts.value("article.cg_lateral", subject)),
            as_stated(article.cg.z),
        ),
        stands_on=tuple(NamedPoint(name, _point(position)) for name, position in supports(article)),
        attachments=tuple(
            NamedPoint(
                point.name, _point(on_trailer(article, point.x, point.y, point.z)), point.part
            )
            for point in article.attachments
        ),
        blocks=tuple(
            DrawnBlock(
                name=block.name,
                stops=block.stops,
                strength=as_stated(block.strength),
                at=_point(on_trailer(article, block.x, block.y, block.z)),
                pushes=STOPS.get(block.stops or ""),
            )
            for block in article.blocks
        ),
        blocked=tuple(
            way
            for way in ("forward", "rearward", "left", "right")
            if as_stated(getattr(article.blocking, way)) == 1
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
    """The hardest push in each direction that a decided rule compares with what is held."""
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
"""By direction, the tension in N of each tiedown by name; None where they do not hold it."""


def _tiedowns(facts: Facts, stretched_out: Mapping[int, _TensionsByWay]) -> Iterator[DrawnTiedown]:
    for subject in facts.subjects("tiedown"):
        tiedown = facts.view(subject).tiedown
        article = next(
            number for number, each in enumerate(facts.load.articles) if each is tiedown.article
        )
        limit = as_stated(facts.value("tiedown.working_load_limit", subject))
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
    """How an article's tiedowns share each required push; empty where not stated."""
    return {
        way: dict(zip(each.names, each.tensions[:, 0].tolist(), strict=True))
        if each.held[0]
        else None
        for way, each in carried(facts.view(subject), asked).items()
        if each.stated[0] and each.names
    }
