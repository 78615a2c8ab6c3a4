"""The rating of each tiedown as an assembly, and how much of it the law counts."""

from functools import reduce
from typing import Final

import numpy as np

from checker.facts.catalogue import ANSWER, STATED, fact
from checker.facts.unmarked import UnmarkedRatings
from checker.facts.view import View
from checker.load.model import Anchor, Attachment, Tiedown
from checker.units.arithmetic import NOT_STATED, Number, negated

DEVICE_RATING: Final = "tiedown.device_rating"

_DEVICE = ("tiedowns.*.marked_working_load_limit",)
_UNMARKED = (
    "tiedowns.*.unmarked",
    "tiedowns.*.device",
    "tiedowns.*.grade",
    "tiedowns.*.size",
    "tiedowns.*.thickness",
    "tiedowns.*.nominal_strength",
)
_ALL_ENDS = (
    "tiedowns.*.path",
    "tiedowns.*.anchor",
    "tiedowns.*.far_anchor",
    "tiedowns.*.attachment",
)
_PARTS = (
    "tiedowns.*.hooks_working_load_limit",
    "tiedowns.*.tensioner_working_load_limit",
    "trailer.anchors.*.working_load_limit",
    "articles.*.attachments.*.working_load_limit",
    *_ALL_ENDS,
)


@fact(
    "tiedown.is_marked",
    ANSWER,
    "a working load limit can be read on it",
    each="tiedown",
    fields=("tiedowns.*.unmarked",),
    instead=("tiedowns.*.marked_working_load_limit",),
    source=STATED,
)
def is_marked(view: View) -> Number:
    """A working load limit can be read on it: it is stated, or stated not to be unmarked."""
    tiedown = view.tiedown
    marked = np.isfinite(tiedown.marked_working_load_limit)
    return np.where(marked, 1.0, negated(tiedown.unmarked))[()]


def tables_used(tiedown: Tiedown, unmarked: UnmarkedRatings) -> list[str]:
    """The tables that give a tiedown its rating; none where a mark does."""
    marked = np.isfinite(tiedown.marked_working_load_limit).all()
    if marked or not np.equal(tiedown.unmarked, 1).any():
        return []
    return unmarked.tables_of(tiedown)


@fact(
    DEVICE_RATING,
    "load",
    "rating of the strap, chain or rope itself",
    each="tiedown",
    fields=_DEVICE,
    instead=_UNMARKED,
    source="marked value, or the table in force for unmarked devices",
)
def device_rating(view: View) -> Number:
    """The marked working load limit; for a device stated to be unmarked, the table's value.

    An unmarked wire rope or steel strapping with a stated nominal strength counts the lower of the
    table and one quarter of that strength.
    """
    tiedown = view.tiedown
    table = view.facts.unmarked.of(tiedown)
    quarter = tiedown.nominal_strength / 4
    if tiedown.device in ("wire rope", "steel strapping"):
        table = np.fmin(table, quarter)
    printed = np.where(np.equal(tiedown.unmarked, 1), table, np.nan)
    marked = tiedown.marked_working_load_limit
    return np.where(np.isnan(marked), printed, marked)[()]


@fact(
    "tiedown.working_load_limit",
    "load",
    "working load limit of the assembly",
    each="tiedown",
    fields=_PARTS,
    uses=("tiedown.device_rating",),
    source="49 CFR 393.108(a): weakest part of the assembly, the points at both its ends included",
    sums=(
        "min(tiedown.device_rating, tiedown.hooks_working_load_limit, "
        "tiedown.tensioner_working_load_limit, tiedown.anchor.working_load_limit)",
    ),
)
def working_load_limit(view: View) -> Number:
    """The lowest rating of strap or chain, hooks, tensioner and the points at both ends.

    The ends are an anchor and a point on the article, or two anchors where it runs over or around
    the article. A point for which no rating exists limits nothing.
    """
    tiedown = view.tiedown
    parts = (
        view["tiedown.device_rating"],
        tiedown.hooks_working_load_limit,
        tiedown.tensioner_working_load_limit,
    )
    ends = (each.working_load_limit if each else NOT_STATED for each in end_points(tiedown))
    return reduce(np.minimum, (*parts, *ends))


def end_points(tiedown: Tiedown) -> tuple[Anchor | None, Anchor | Attachment | None]:
    """The points at both ends; None for one that is not stated."""
    match tiedown.path:
        case None:
            return tiedown.anchor, None
        case "direct":
            return tiedown.anchor, tiedown.attachment
    return tiedown.anchor, tiedown.far_anchor


@fact(
    "tiedown.working_load_limit_at_most",
    "load",
    "working load limit as far as stated",
    each="tiedown",
    instead=_PARTS,
    uses=("tiedown.device_rating",),
    source="weakest part of the assembly among those stated",
)
def working_load_limit_at_most(view: View) -> Number:
    """The lowest rating among the parts that are stated; the true limit may be less."""
    tiedown = view.tiedown
    parts = [
        view["tiedown.device_rating"],
        tiedown.hooks_working_load_limit,
        tiedown.tensioner_working_load_limit,
    ]
    parts += [point.working_load_limit for point in end_points(tiedown) if point]
    return reduce(np.fmin, parts)


@fact(
    "tiedown.counted_limit",
    "load",
    "working load limit as counted in the sum",
    each="tiedown",
    fields=("tiedowns.*.path",),
    uses=("tiedown.working_load_limit",),
    source="49 CFR 393.106(d)(1)-(3); half where the path is unclear is our reading",
    sums=(
        "tiedown.working_load_limit / 2",
        "tiedown.working_load_limit",
    ),
)
def counted_limit(view: View) -> Number:
    """Half the assembly's limit, or all of it when it ends on the trailer's other side."""
    return _credit(view.tiedown) * view["tiedown.working_load_limit"]


@fact(
    "tiedown.counted_limit_at_most",
    "load",
    "working load limit as counted in the sum, as far as stated",
    each="tiedown",
    instead=("tiedowns.*.path",),
    uses=("tiedown.working_load_limit_at_most",),
    source="49 CFR 393.106(d)(1)-(3)",
    sums=(
        "tiedown.working_load_limit_at_most / 2",
        "tiedown.working_load_limit_at_most",
    ),
)
def counted_limit_at_most(view: View) -> Number:
    """The greatest counted limit possible: what is not stated counts at its best."""
    credit = 1.0 if view.tiedown.path is None else _credit(view.tiedown)
    return credit * view["tiedown.working_load_limit_at_most"]


def _credit(tiedown: Tiedown) -> Number:
    """Share of the limit that counts: all of it across to the other side, else half."""
    match tiedown.path:
        case None:
            return NOT_STATED
        case "other side":
            return 1.0
    return 0.5
