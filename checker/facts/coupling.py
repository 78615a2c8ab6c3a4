"""The connection of trailer and tow vehicle: coupling, chains, brakes; and the front structure."""

from functools import reduce

import numpy as np

from checker.facts.catalogue import ANSWER, STATED, fact
from checker.facts.stated import add_choice
from checker.facts.view import View
from checker.units.arithmetic import NOT_STATED, Number, any_of

for _name, _field, _words, _meaning in (
    ("hitch.is_ball", "coupling", ("ball",), "The trailer couples to a ball behind the truck."),
    (
        "hitch.is_in_bed",
        "coupling",
        ("gooseneck", "fifth wheel"),
        "The trailer couples over the tow vehicle's rear axle: gooseneck or fifth wheel.",
    ),
    ("hitch.is_fifth_wheel", "coupling", ("fifth wheel",), "The trailer couples by a fifth wheel."),
    (
        "trailer.has_brakes",
        "brakes",
        ("electric", "surge", "hydraulic", "air"),
        "The trailer has brakes of its own.",
    ),
    (
        "trailer.has_surge_brakes",
        "brakes",
        ("surge",),
        "The trailer has overrun brakes, applied by its own push on the coupler.",
    ),
    ("trailer.has_electric_brakes", "brakes", ("electric",), "The trailer's brakes are electric."),
    (
        "trailer.rear_end_guarded",
        "rear_guard",
        ("fitted", "none needed"),
        "The trailer has a rear impact guard, or is one that needs none.",
    ),
):
    add_choice(_name, f"trailer.{_field}", _words, _meaning)


@fact(
    "hitch.chain_strength_together",
    "load",
    "breaking strength of the safety chains together",
    fields=("trailer.safety_chains.count", "trailer.safety_chains.breaking_strength"),
    sums=("trailer.safety_chains.count * trailer.safety_chains.breaking_strength",),
)
def chain_strength_together(view: View) -> Number:
    """Breaking strengths of all safety chains added up."""
    chains = view.load.trailer.safety_chains
    return chains.count * chains.breaking_strength


@fact(
    "front_structure.touched",
    ANSWER,
    "an article touches the front structure",
    uses=("article.touches_front_structure",),
    source=STATED,
)
def front_structure_touched(view: View) -> Number:
    """Some article touches the headerboard or front rail."""
    answers = view.of_articles("article.touches_front_structure")
    return any_of(answers) if answers or view.load.deck_empty else NOT_STATED


@fact(
    "front_structure.height_that_blocks",
    "length",
    "height that blocks every article touching it",
    uses=("article.touches_front_structure", "article.height"),
    source="geometry; a structure as high as the article certainly blocks it",
)
def height_that_blocks(view: View) -> Number:
    """Height of the tallest article that touches the front structure."""
    return _largest_touching(view, "article.height")


@fact(
    "front_structure.width_that_blocks",
    "length",
    "width that blocks every article touching it",
    uses=("article.touches_front_structure", "article.width"),
    source="geometry; a structure as wide as the article certainly blocks it",
)
def width_that_blocks(view: View) -> Number:
    """Width of the widest article that touches the front structure."""
    return _largest_touching(view, "article.width")


def _largest_touching(view: View, size: str) -> Number:
    touching = view.of_articles("article.touches_front_structure")
    sizes = view.of_articles(size)
    counted = [
        np.where(np.equal(touches, 0), 0.0, extent)
        for touches, extent in zip(touching, sizes, strict=True)
    ]
    return reduce(np.maximum, counted)[()] if counted else NOT_STATED
