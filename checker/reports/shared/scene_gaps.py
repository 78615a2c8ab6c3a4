"""The profile fields that are missing to draw a load to scale."""

import math
from collections.abc import Iterator

import numpy as np

from checker.facts.view import Facts
from checker.load.model import Article, Tiedown
from checker.reports.shared.scene import Box
from checker.units.arithmetic import as_stated


def missing_fields(facts: Facts, front_structure: Box | None) -> Iterator[str]:
    """Missing fields without which something of the load cannot be drawn to scale."""
    load = facts.load
    trailer = load.trailer
    yield from _unstated("trailer.deck", trailer.deck, "front", "rear", "width", "height")
    yield from _unstated("trailer", trailer, "ball_height", "track")
    if front_structure:
        structure = trailer.front_structure
        yield from _unstated("trailer.front_structure", structure, "x", "width", "height")
    if not trailer.axles:
        yield "trailer.axles"
    for axle in trailer.axles:
        yield from _unstated(f"trailer.axles.{axle.name}", axle, "x")
    for anchor in trailer.anchors:
        yield from _unstated(f"trailer.anchors.{anchor.name}", anchor, "x", "y", "z")
    if not (load.articles or load.deck_empty):
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
        if value is None or (
            isinstance(value, float | np.ndarray) and math.isnan(as_stated(value))
        ):
            yield f"{path}.{name}"
