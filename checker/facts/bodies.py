"""An article of a load as the rigid bodies that statics asks for, one for each row of the load."""

from collections.abc import Iterator, Sequence
from typing import Literal, TypeAlias

import numpy as np
from msgspec.structs import replace

from checker.facts.articles import along_deck
from checker.facts.tiedowns import Place, course, point_on_trailer
from checker.facts.view import Subject, View
from checker.load.model import Article, Attachment, Tiedown
from checker.mechanics.quantities import quotient
from checker.mechanics.restraint.arrays import Array, Vector
from checker.mechanics.restraint.bodies import Blocks, Bodies, Contacts, Tiedowns
from checker.mechanics.restraint.spring_set import Springs
from checker.mechanics.tiedown_geometry import direction_cosines
from checker.units.arithmetic import NOT_STATED, Number

Limit: TypeAlias = Literal["working load limit", "breaking strength", "lashing capacity"]

STOPS: dict[str, Vector] = {
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


def bodies(view: View, limit: Limit) -> Bodies:
    """The article in view with all that holds it, in every row.

    A machine stands on its wheels or track ends, anything else on the corners of its base. Wheels
    rub only while its brake or gearbox holds them.
    """
    found: Bodies = view.facts.once(("bodies", view.subject), lambda: _without_limits(view))
    stated = view.load.tiedowns or ()
    limits = [_limit(view, limit, each, stated[each.index]) for each in _tiedowns(view)]
    tiedowns = replace(found.tiedowns, limits=_in_rows(limits, view.load.rows))
    return replace(found, tiedowns=tiedowns)


def _without_limits(view: View) -> Bodies:
    """The bodies with tiedowns that hold nothing: most numbers are the same for every limit."""
    article, rows = view.article, view.load.rows
    rubs = view["article.friction_along_deck"]
    stated = view.load.tiedowns or ()
    tiedowns = _tiedowns(view)
    pulls = [
        (index, place, direction)
        for index, each in enumerate(tiedowns)
        for place, direction in _pulls(stated[each.index])
    ]
    stands_on = list(supports(article))
    center = (view["article.cg_position"], view["article.cg_lateral"], article.cg.z)
    return Bodies(
        weights=_in_rows([article.weight], rows)[0],
        centres=_in_rows(center, rows),
        tiedowns=Tiedowns(
            names=tuple(subject.name for subject in tiedowns),
            limits=np.zeros((len(tiedowns), rows)),
            owners=tuple(index for index, _, _ in pulls),
            points=_places([place for _, place, _ in pulls], rows),
            directions=_places([direction for _, _, direction in pulls], rows),
        ),
        contacts=Contacts(
            names=tuple(name for name, _ in stands_on),
            points=_places([place for _, place in stands_on], rows),
            frictions=_in_rows([rubs] * len(stands_on), rows),
        ),
        blocks=Blocks(
            names=tuple(block.name for block in article.blocks),
            strengths=_in_rows([block.strength for block in article.blocks], rows),
            points=_places(
                [on_trailer(article, block.x, block.y, block.z) for block in article.blocks], rows
            ),
            directions=_places(
                [STOPS.get(block.stops or "", (NOT_STATED,) * 3) for block in article.blocks], rows
            ),
        ),
    )


def springs(view: View) -> Springs:
    """How the article's tiedowns stretch in every row; NaN where that is not stated."""
    rows = view.load.rows
    stiffnesses, pretensions = [], []
    for subject in _tiedowns(view):
        seen = view.facts.view(subject)
        stretch = seen.tiedown.stretch_at_limit * seen["tiedown.length"]
        limit = _known_device(seen.tiedown, seen["tiedown.working_load_limit"])
        stiffness = quotient(limit, stretch)
        # What does not stretch, or has no limit to stretch to, is not described by it.
        is_spring = np.isfinite(stiffness) & np.greater(stiffness, 0.0)
        stiffnesses.append(np.where(is_spring, stiffness, NOT_STATED)[()])
        pretensions.append(seen.tiedown.pretension)
    return Springs(_in_rows(stiffnesses, rows), _in_rows(pretensions, rows))


def _in_rows(values: Sequence[Number], rows: int) -> Array:
    """Values that may differ by row as an array (values, rows)."""
    every = np.empty((len(values), rows))
    for index, value in enumerate(values):
        every[index] = value
    return every


def _places(places: Sequence[Place], rows: int) -> Array:
    """Places or directions as an array (places, 3, rows)."""
    return _in_rows([value for place in places for value in place], rows).reshape(-1, 3, rows)


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


def _tiedowns(view: View) -> Sequence[Subject]:
    """The tiedowns that hold the article; a winch line is none."""
    stated = view.load.tiedowns or ()
    return [
        subject
        for subject in view.facts.subjects("tiedown")
        if stated[subject.index].article is view.article
        and stated[subject.index].device != "winch line"
    ]


def _limit(view: View, limit: Limit, subject: Subject, tiedown: Tiedown) -> Number:
    fact = {
        "working load limit": "tiedown.counted_working_load_limit",
        "breaking strength": "tiedown.counted_breaking_strength",
        "lashing capacity": "tiedown.counted_lashing_capacity",
    }[limit]
    return _known_device(tiedown, view.facts.value(fact, subject))


def _known_device(tiedown: Tiedown, limit: Number) -> Number:
    """The limit of a tiedown; what may be a winch line cannot be counted on, nor left out."""
    return limit if tiedown.device else NOT_STATED


def _pulls(tiedown: Tiedown) -> Iterator[tuple[Place, Place]]:
    """Each place where the tiedown pulls at the article, with the direction cosines of the pull.

    A direct tiedown pulls once, at its attachment; at a point that one runs over, both of its parts
    pull.
    """
    stations = course(tiedown)
    if tiedown.path == "direct":
        yield stations[1], direction_cosines(stations[1], stations[0])[0]
        return
    for before, place, after in zip(stations, stations[1:], stations[2:], strict=False):
        yield place, direction_cosines(place, before)[0]
        yield place, direction_cosines(place, after)[0]
