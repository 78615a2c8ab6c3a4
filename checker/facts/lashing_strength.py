"""What a lashing may carry in the calculations at LC: its weakest part, as the label counts it.

The LC on a label is that of the whole lashing, so hooks and a tensioner whose rating is not stated
limit nothing of their own. The points at its ends are no part of it: without their ratings nothing
is known. A part without an LC counts at its working load limit, which is never more.
"""

from functools import reduce

import numpy as np

from checker.facts.catalogue import ANSWER, STATED, fact
from checker.facts.tiedown_ratings import end_points
from checker.facts.view import View
from checker.load.model import Anchor, Attachment
from checker.units.arithmetic import NONE, NOT_STATED, Number

_WEAKEST = (
    "Directive 2014/47/EU Annex III I.3, text seen: the strength of lashing points counts; "
    "CSS Code annex 13, text seen: of components in series the weakest governs"
)
_ENDS = (
    "tiedowns.*.path",
    "tiedowns.*.anchor",
    "tiedowns.*.far_anchor",
    "tiedowns.*.attachment",
)


def _lc_or_wll(lashing_capacity: Number, working_load_limit: Number) -> Number:
    return np.where(np.isnan(lashing_capacity), working_load_limit, lashing_capacity)[()]


@fact(
    "tiedown.fittings_lashing_capacity",
    "load",
    "LC of its hooks and tensioner, as far as they are rated apart",
    each="tiedown",
    instead=(
        "tiedowns.*.hooks_lashing_capacity",
        "tiedowns.*.hooks_working_load_limit",
        "tiedowns.*.tensioner_lashing_capacity",
        "tiedowns.*.tensioner_working_load_limit",
    ),
    source="LC of EN 12195-2 is that of the assembled lashing, secondary copy; " + _WEAKEST,
)
def fittings_lashing_capacity(view: View) -> Number:
    """The lower of the two ratings; infinite where neither is stated: the label covers both."""
    tiedown = view.tiedown
    hooks = _lc_or_wll(tiedown.hooks_lashing_capacity, tiedown.hooks_working_load_limit)
    tensioner = _lc_or_wll(tiedown.tensioner_lashing_capacity, tiedown.tensioner_working_load_limit)
    return np.fmin(np.fmin(hooks, tensioner), NONE)


@fact(
    "tiedown.points_lashing_capacity",
    "load",
    "LC of the points at both its ends",
    each="tiedown",
    fields=_ENDS,
    instead=(
        "trailer.anchors.*.lashing_capacity",
        "trailer.anchors.*.working_load_limit",
        "articles.*.attachments.*.lashing_capacity",
        "articles.*.attachments.*.working_load_limit",
    ),
    source=_WEAKEST + "; half of a point that holds both ends of a loop, GDV 3.4.3, text seen",
)
def points_lashing_capacity(view: View) -> Number:
    """The lower rating of the points that it hooks to, infinite where none exists.

    A point to which both ends run carries the tension twice and counts at half.
    """
    one, other = end_points(view.tiedown)
    share = 0.5 if one is not None and one is other else 1.0
    return share * np.minimum(_of_point(one), _of_point(other))


def _of_point(point: Anchor | Attachment | None) -> Number:
    if point is None:
        return NOT_STATED
    return _lc_or_wll(point.lashing_capacity, point.working_load_limit)


_PARTS = ("tiedown.fittings_lashing_capacity", "tiedown.points_lashing_capacity")


def weakest(view: View, strength: Number) -> Number:
    """A strength of the tiedown in view, or that of a weaker part."""
    return reduce(np.minimum, (strength, *(view[part] for part in _PARTS)))


for _name, _field, _label in (
    ("lashing_strength", "lashing_capacity", "LC of its weakest part"),
    ("lashing_tension", "standard_tension", "STF, or LC of a weaker part"),
):

    @fact(
        f"tiedown.{_name}",
        "load",
        _label,
        each="tiedown",
        uses=(f"tiedown.{_field}", *_PARTS),
        source=_WEAKEST,
    )
    def limited(view: View, field: str = f"tiedown.{_field}") -> Number:
        """The figure on the label, or the rating of a weaker hook, tensioner or point."""
        return weakest(view, view[field])


@fact(
    "tiedown.has_lc_by_its_standard",
    ANSWER,
    "its label has an LC and names its standard",
    each="tiedown",
    instead=("tiedowns.*.lashing_capacity", "tiedowns.*.conforms_to_standard"),
    source=STATED,
)
def has_lc_by_its_standard(view: View) -> Number:
    """Both are stated; no where either is not, because nothing can be taken from that label."""
    named = np.equal(view.tiedown.conforms_to_standard, 1)
    return np.where(named & np.isfinite(view.tiedown.lashing_capacity), 1.0, 0.0)[()]


@fact(
    "tiedown.counted_lashing_capacity",
    "load",
    "LC as far as it can be counted on",
    each="tiedown",
    fields=("tiedowns.*.path",),
    uses=("tiedown.lashing_strength", "tiedown.lashing_tension"),
    source="statics; a tiedown that does not tighten as the load moves keeps its pre-tension",
)
def counted_lashing_capacity(view: View) -> Number:
    """LC of a direct tiedown's weakest part; of one over the article what STF leaves in it."""
    match view.tiedown.path:
        case None:
            return NOT_STATED
        case "direct":
            return view["tiedown.lashing_strength"]
    return view["tiedown.lashing_tension"]
