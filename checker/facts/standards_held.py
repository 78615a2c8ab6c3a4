"""How much of its weight an article is held against by the calculations of a place, in g.

A place names a force and leaves open how to show it, so the best figure that is shown counts. Each
has a second one, *as far as shown*, known as soon as one way of showing it is: it can only prove a
rule met. Where the calculation of the place itself is known, the figure is.

Two things that the sums leave out are seen to here. A single lashing lets an article turn round it:
lashings from the article count where two at least pull against the same way. And what does not
slide may tip.
"""

from collections.abc import Callable
from functools import reduce
from typing import NamedTuple

import numpy as np

from checker.facts.catalogue import fact
from checker.facts.standards_sums import (
    BLOCKS,
    FRICTION_CONVERSION,
    GEOMETRY,
    POINTS,
    WAYS,
    acting,
    blocking,
    friction_under,
)
from checker.facts.view import View
from checker.mechanics.quantities import STANDARD_GRAVITY
from checker.units.arithmetic import NOT_STATED, Number

_PAIR = 2.0


class _Held(NamedTuple):
    """A figure in g, NaN unless all that it needs is known; and what of it is shown."""

    known: Number
    shown: Number


def _best(*figures: Number) -> _Held:
    return _Held(reduce(np.maximum, figures), reduce(np.fmax, figures))


def _lesser(one: _Held, other: _Held) -> _Held:
    """The lesser of two figures; known too where one is known and the other shown to be no less."""
    known = np.minimum(one.known, other.known)
    known = np.where(np.less_equal(one.known, other.shown), one.known, known)
    known = np.where(np.less_equal(other.known, one.shown), other.known, known)
    return _Held(known[()], np.minimum(one.shown, other.shown))


def _of_a_pair(view: View, way: str, held: Number, alone: Number, *, loops: bool) -> Number:
    """What direct lashings hold where two pull against that way; else what holds alone."""
    if view.load.tiedowns is None:
        return NOT_STATED
    count = acting(view, way, loops=loops)
    either_way = np.where(np.greater_equal(count, _PAIR), held, alone)
    return np.where(np.isnan(count), NOT_STATED, either_way)[()]


def _alone(view: View, way: str) -> Number:
    """What friction and blocks hold without a lashing, friction as under direct lashings."""
    rubbed = FRICTION_CONVERSION * friction_under(view, way)
    return rubbed + blocking(view, way) / view["article.weight"]


def _sliding(view: View, way: str, direct: str) -> _Held:
    """Held from sliding: by direct lashings, or by lashings over it as in EN 12195-1."""
    held = view[f"article.{direct}_{way}"]
    return _best(
        _of_a_pair(view, way, held, _alone(view, way), loops=True),
        view[f"article.en_12195_1_friction_sliding_{way}"],
    )


def _en_sliding(view: View, way: str) -> _Held:
    return _sliding(view, way, "en_12195_1_direct_sliding")


def _ctu_sliding(view: View, way: str) -> _Held:
    return _sliding(view, way, "ctu_code_direct")


def _or_limit_analysis(view: View, way: str, sums: _Held) -> _Held:
    """The better of a calculation at LC and limit analysis at working load limits."""
    limit_analysis = view[f"article.holds_{way}"]
    known = np.where(np.isnan(sums.known), NOT_STATED, np.fmax(sums.known, limit_analysis))[()]
    return _Held(known, np.fmax(sums.shown, limit_analysis))


def _tipping(view: View, way: str, *figures: Number) -> _Held:
    """The best of what holds it from tipping; its own weight is shown before any lashing is."""
    best = _best(*figures)
    return _Held(best.known, np.fmax(best.shown, view[f"article.stands_{way}"]))


def _en_sums(view: View, way: str) -> _Held:
    tipping = _tipping(
        view,
        way,
        view[f"article.en_12195_1_direct_tilting_{way}"],
        view[f"article.en_12195_1_friction_tilting_{way}"],
    )
    return _lesser(_en_sliding(view, way), tipping)


def _by_en(view: View, way: str) -> _Held:
    return _or_limit_analysis(view, way, _en_sums(view, way))


def _by_either(view: View, way: str) -> _Held:
    """As `_by_en`; limit analysis decides alone where the label has no LC."""
    sums, limit_analysis = _en_sums(view, way), view[f"article.holds_{way}"]
    return _Held(np.fmax(sums.known, limit_analysis), np.fmax(sums.shown, limit_analysis))


def _by_guide(view: View, way: str) -> _Held:
    direct = _of_a_pair(view, way, view[f"article.australia_direct_{way}"], 0.0, loops=False)
    tipping = _tipping(view, way, view[f"article.en_12195_1_direct_tilting_{way}"])
    return _or_limit_analysis(view, way, _lesser(_best(direct), tipping))


class _Figure(NamedTuple):
    """A figure that each way has, by name and in words, with what it needs."""

    name: str
    label: str
    work_out: Callable[[View, str], _Held]
    source: str
    uses: tuple[str, ...]


_EN_SUMS = ("article.en_12195_1_direct_sliding_{}", "article.en_12195_1_friction_sliding_{}")
_EN_MOMENTS = (
    "article.en_12195_1_direct_tilting_{}",
    "article.en_12195_1_friction_tilting_{}",
    "article.stands_{}",
)
_ALONE = ("article.weight", "article.friction", "article.free_to_roll")
_AT_LIMITS = "limit analysis at working load limits, the better"

_FIGURES = (
    _Figure(
        "en_12195_1_sliding_{}",
        "held from sliding {}, EN 12195-1",
        _en_sliding,
        "EN 12195-1:2010 5.4.2, 5.5.2, 5.5.3.1, GDV's forms 1a and 1b; two lashings each way",
        (*_EN_SUMS, *_ALONE),
    ),
    _Figure(
        "ctu_code_sliding_{}",
        "held from sliding {}, CTU Code",
        _ctu_sliding,
        "CTU Code annex 7 balance; lashings over it as in EN 12195-1; two lashings each way",
        ("article.ctu_code_direct_{}", _EN_SUMS[1], *_ALONE),
    ),
    _Figure(
        "holds_{}_by_en_12195_1",
        "held against moving {}, by EN 12195-1 or at working load limits",
        _by_en,
        f"EN 12195-1:2010 against sliding and tipping, or {_AT_LIMITS}",
        (*_EN_SUMS, *_EN_MOMENTS, *_ALONE, "article.holds_{}"),
    ),
    _Figure(
        "holds_{}_as_labelled",
        "held against moving {}, by EN 12195-1 or at working load limits, as it is labelled",
        _by_either,
        f"EN 12195-1:2010 against sliding and tipping, or {_AT_LIMITS}; known with either label",
        (*_EN_SUMS, *_EN_MOMENTS, *_ALONE, "article.holds_{}"),
    ),
    _Figure(
        "holds_{}_by_lashing_capacity",
        "held against moving {}, by LC and angle or at working load limits",
        _by_guide,
        f"Load Restraint Guide 2018 pp. 281-282 and moments of EN 12195-1 5.5.3.2, or {_AT_LIMITS}",
        (
            "article.australia_direct_{}",
            _EN_MOMENTS[0],
            "article.stands_{}",
            "article.holds_{}",
        ),
    ),
)


def _add(figure: _Figure, way: str) -> None:
    uses = tuple(each.format(way) for each in figure.uses)
    name, label = f"article.{figure.name.format(way)}", figure.label.format(way)
    needs = {"fields": GEOMETRY, "instead": (*POINTS, *BLOCKS), "uses": uses}

    def held(view: View) -> _Held:
        return view.facts.once((name, view.subject), lambda: figure.work_out(view, way))

    @fact(name, "gravities", label, each="article", source=figure.source, **needs)
    def known(view: View) -> Number:
        """Share of its weight that is held this way, by the best calculation shown."""
        return held(view).known

    @fact(
        f"{name}_at_least",
        "gravities",
        f"{label}, as far as shown",
        each="article",
        source=figure.source,
        **needs,
    )
    def shown(view: View) -> Number:
        """Share of its weight that is held this way by what is stated so far; it may be more."""
        return held(view).shown


for _figure in _FIGURES:
    for _way in WAYS:
        _add(_figure, _way)


@fact("standard.gravity", "acceleration", "standard gravity", source="3rd CGPM, 1901")
def standard_gravity(view: View) -> Number:
    """What a multiple of gravity is counted in, for a law that names metres per second squared."""
    del view  # the same for every load
    return STANDARD_GRAVITY


@fact(
    "article.holds_up_as_labelled",
    "gravities",
    "held against moving up, at LC or at working load limits, as it is labelled",
    each="article",
    uses=("article.holds_up", "article.holds_up_at_lashing_capacity"),
    source="limit analysis at LC and STF, or at working load limits, the better",
)
def holds_up_as_labelled(view: View) -> Number:
    """Largest acceleration upward, in g, that its tiedowns hold by either label."""
    return np.fmax(view["article.holds_up"], view["article.holds_up_at_lashing_capacity"])
