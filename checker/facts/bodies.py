"""An article of a load as the rigid body that statics asks for, one for each row of the load."""

from collections.abc import Iterator
from typing import Literal, TypeAlias

import numpy as np

from checker.facts.articles import along_deck
from checker.facts.tiedowns import Place, course, point_on_trailer
from checker.facts.view import View
from checker.load.model import Article, Attachment, Tiedown
from checker.mechanics import restraint_body as body
from checker.mechanics.elastic import Spring
from checker.mechanics.tiedown_geometry import direction_cosines
from checker.units.arithmetic import NOT_STATED, Number

Limit: TypeAlias = Literal["working load limit", "breaking strength"]

STOPS = {
    "forward": (1.0, 0.0, 0.0),
    "rearward": (-1.0, 0.0, 0.0),
    "left": (0.0, -1.0, 0.0),
    "right": (0.0, 1.0, 0.0),
}
"""The way a block pushes the article that it stops from moving this way."""

BODY_FIELDS = (
    "articles.*.weight",
    "articles.*.cg.y",
    "articles.*.cg.z",
    "articles.*.placed.x",
    "articles.*.placed.y",
    "articles.*.placed.facing",
    "articles.*.type",
    "tiedowns",
    "tiedowns.*.attachment",
    "tiedowns.*.over",
)
BODY_INSTEAD = (
    "articles.*.length",
    "articles.*.width",
    "articles.*.axles.front.x",
    "articles.*.axles.front.weight",
    "articles.*.axles.front.track",
    "articles.*.axles.rear.x",
    "articles.*.axles.rear.weight",
    "articles.*.axles.rear.track",
    "articles.*.attachments.*.x",
    "articles.*.attachments.*.y",
    "articles.*.attachments.*.z",
    "articles.*.blocks.*.stops",
    "articles.*.blocks.*.strength",
    "articles.*.blocks.*.x",
    "articles.*.blocks.*.y",
    "articles.*.blocks.*.z",
    "trailer.anchors.*.x",
    "trailer.anchors.*.y",
    "trailer.anchors.*.z",
    "tiedowns.*.anchor",
    "tiedowns.*.far_anchor",
    "tiedowns.*.path",
    "tiedowns.*.device",
)
BODY_FACTS = ("article.cg_position", "article.cg_lateral")


def bodies(view: View, limit: Limit, *, friction: bool) -> Iterator[body.Body]:
    """The article in view with all that holds it, row by row.

    A machine stands on its wheels or track ends, anything else on the corners of its base. Wheels
    rub only while its brake or gearbox holds them.
    """
    article = view.article
    rubs = view["article.friction_along_deck"] if friction else 0.0
    tiedowns = _tiedowns_with_limits(view, limit)
    for row in range(view.load.rows):
        yield body.Body(
            weight=_at(article.weight, row),
            centre_of_gravity=_vector(
                (view["article.cg_position"], view["article.cg_lateral"], article.cg.z), row
            ),
            tiedowns=tuple(
                body.Tiedown(name, _at(most, row), tuple(_pulls(tiedown, row)))
                for name, tiedown, most in tiedowns
            ),
            contacts=tuple(
                body.Contact(name, _vector(place, row), _at(rubs, row))
                for name, place in supports(article)
            ),
            blocks=tuple(
                body.Block(
                    block.name,
                    _at(block.strength, row),
                    _vector(on_trailer(article, block.x, block.y, block.z), row),
                    STOPS.get(block.stops or "", (NOT_STATED,) * 3),
                )
                for block in article.blocks
            ),
        )


def springs(view: View, row: int) -> tuple[Spring, ...] | None:
    """How the article's tiedowns stretch; None where that is not stated for all of them."""
    made = []
    for subject in view.facts.subjects("tiedown"):
        seen = view.facts.view(subject)
        tiedown = seen.tiedown
        if tiedown.article is not view.article or tiedown.device == "winch line":
            continue
        length = _at(seen["tiedown.length"], row)
        stretch = _at(tiedown.stretch_at_limit, row) * length
        limit, drawn = _at(seen["tiedown.working_load_limit"], row), _at(tiedown.pretension, row)
        if (
            tiedown.device is None
            or np.isnan([length, stretch, limit, drawn]).any()
            or stretch <= 0
        ):
            return None
        made.append(Spring(limit / stretch, drawn))
    return tuple(made)


def _at(value: Number, row: int) -> float:
    rows = np.atleast_1d(value)
    return float(rows[row] if len(rows) > 1 else rows[0])


def _vector(place: Place, row: int) -> body.Vector:
    x, y, z = place
    return _at(x, row), _at(y, row), _at(z, row)


def on_trailer(article: Article, x: Number, y: Number, z: Number) -> Place:
    """A place given in the article's own frame, on the trailer."""
    return point_on_trailer(article, Attachment(name="", x=x, y=y, z=z))


def supports(article: Article) -> Iterator[tuple[str, Place]]:
    """Where the article stands on the deck, named from the trailer."""
    if article.type in ("wheeled machine", "tracked machine", "road vehicle"):
        ends = [(each.x, each.track) for each in (article.axles.front, article.axles.rear)]
    elif article.type is None:
        ends = [(NOT_STATED, NOT_STATED)] * 2
    else:
        ends = [(0.0, article.width), (article.length, article.width)]
    turned = article.placed.facing == "rearward"
    for end, (x, across) in zip(("front", "rear"), ends, strict=True):
        for side, sign in (("left", 1.0), ("right", -1.0)):
            place = (along_deck(article, x), article.placed.y + sign * across / 2, 0.0)
            seen = {"front": "rear", "rear": "front"}[end] if turned else end
            yield f"{seen} {side}", place


def _tiedowns_with_limits(view: View, limit: Limit) -> list[tuple[str, Tiedown, Number]]:
    fact = {
        "working load limit": "tiedown.counted_working_load_limit",
        "breaking strength": "tiedown.counted_breaking_strength",
    }[limit]
    tiedowns = view.load.tiedowns or ()
    return [
        # What may be a winch line cannot be counted on, nor left out.
        (
            subject.name,
            tiedowns[subject.index],
            view.facts.value(fact, subject) if tiedowns[subject.index].device else NOT_STATED,
        )
        for subject in view.facts.subjects("tiedown")
        if tiedowns[subject.index].article is view.article
        and tiedowns[subject.index].device != "winch line"
    ]


def _pulls(tiedown: Tiedown, row: int) -> Iterator[body.Pull]:
    """Where and which way the tiedown pulls: at its attachment, or at each point it runs over."""
    stations = course(tiedown)
    if tiedown.path == "direct":
        yield _pull(stations[1], stations[0], row)
        return
    for before, place, after in zip(stations, stations[1:], stations[2:], strict=False):
        yield _pull(place, before, row)
        yield _pull(place, after, row)


def _pull(place: Place, toward: Place, row: int) -> body.Pull:
    direction, _ = direction_cosines(_vector(place, row), _vector(toward, row))
    return body.Pull(_vector(place, row), _vector(direction, row))
