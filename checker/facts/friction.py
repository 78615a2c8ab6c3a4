"""Friction under an article: as stated, or by a printed table for the surfaces it names."""

import math

from checker.facts.catalogue import fact
from checker.facts.view import View
from checker.mechanics.standards.friction import AT_MOST, NAMED_PAIRS, SurfacePair, design_friction
from checker.units.arithmetic import Number


@fact(
    "article.friction",
    "number",
    "friction",
    each="article",
    fields=("articles.*.friction", "articles.*.surface_condition"),
    instead=("articles.*.surfaces",),
    source=(
        "as stated, or of the surfaces named: CTU Code annex 7 appendix 2, text seen but for two "
        "lines; sliding friction by a trailer's manual of 2019, secondary copy"
    ),
)
def friction(view: View) -> Number:
    """Friction coefficient under it, as stated or by the table for the surfaces named."""
    article = view.article
    if article.surfaces is None or article.surface_condition is None:
        return article.friction
    return friction_between(NAMED_PAIRS[article.surfaces], article.surface_condition)


def friction_between(pair: SurfacePair, condition: str) -> Number:
    """Friction of a pair of surfaces in a condition; NaN where none is printed.

    Swept clean it is the printed figure, dry or wet; else the least of what is printed and of the
    ceiling for that condition.
    """
    match condition:
        case "swept clean and dry":
            return pair.dry
        case "swept clean and wet":
            return pair.wet
    printed = [pair.dry, pair.wet, *([pair.greasy] if condition == "oil or grease" else [])]
    return design_friction(
        [each for each in printed if not math.isnan(each)], AT_MOST[condition], 1.0
    )
