"""Facts about all tiedowns of an article together: sums, counts, corners, directions."""

import numpy as np

from checker.facts.catalogue import ANSWER, COMMON_PRACTICE, fact
from checker.facts.tiedowns import WAYS
from checker.facts.view import View
from checker.units.arithmetic import NOT_STATED, Number, all_of, any_of, both, either, negated


def _total(values: list[Number] | None) -> Number:
    """Sum over tiedowns: zero if the profile states that there are none, NaN if it does not say."""
    return NOT_STATED if values is None else sum(values, start=0.0)


@fact(
    "article.tiedown_count",
    "count",
    "tiedowns",
    each="article",
    fields=("tiedowns",),
    uses=("tiedown.is_winch_line",),
    source="count; a winch line is not a tiedown",
    sums=("sum(1 - tiedown.is_winch_line)",),
)
def tiedown_count(view: View) -> Number:
    """How many tiedowns hold the article, without winch lines."""
    lines = view.of_tiedowns("tiedown.is_winch_line")
    return _total(None if lines is None else [negated(line) for line in lines])


@fact(
    "article.aggregate_working_load_limit",
    "load",
    "aggregate working load limit",
    each="article",
    fields=("tiedowns",),
    uses=("tiedown.counted_limit", "tiedown.is_winch_line"),
    source="49 CFR 393.106(d)",
    sums=("sum(tiedown.counted_limit)",),
)
def aggregate_working_load_limit(view: View) -> Number:
    """Half of each tiedown's limit, or all of it where it crosses to the other side, added up."""
    return _total(_of_tiedowns_proper(view, "tiedown.counted_limit"))


@fact(
    "article.aggregate_working_load_limit_at_most",
    "load",
    "aggregate working load limit as far as stated",
    each="article",
    fields=("tiedowns",),
    uses=("tiedown.counted_limit_at_most", "tiedown.is_winch_line"),
    source="49 CFR 393.106(d)",
    sums=("sum(tiedown.counted_limit_at_most)",),
)
def aggregate_working_load_limit_at_most(view: View) -> Number:
    """The greatest aggregate possible: parts that are not stated count as strong enough."""
    return _total(_of_tiedowns_proper(view, "tiedown.counted_limit_at_most", if_unknown=1.0))


@fact(
    "article.rated_sum",
    "load",
    "working load limits together",
    each="article",
    fields=("tiedowns",),
    uses=("tiedown.working_load_limit", "tiedown.is_winch_line"),
    source=COMMON_PRACTICE,
    sums=("sum(tiedown.working_load_limit)",),
)
def rated_sum(view: View) -> Number:
    """Working load limits of all tiedowns of the article, added up in full."""
    return _total(_of_tiedowns_proper(view, "tiedown.working_load_limit"))


@fact(
    "article.rated_sum_at_most",
    "load",
    "working load limits together as far as stated",
    each="article",
    fields=("tiedowns",),
    uses=("tiedown.working_load_limit_at_most", "tiedown.is_winch_line"),
    source=COMMON_PRACTICE,
    sums=("sum(tiedown.working_load_limit_at_most)",),
)
def rated_sum_at_most(view: View) -> Number:
    """The greatest rated sum possible: parts that are not stated count as strong enough."""
    return _total(_of_tiedowns_proper(view, "tiedown.working_load_limit_at_most", if_unknown=1.0))


def _of_tiedowns_proper(
    view: View, name: str, *, if_unknown: float = NOT_STATED
) -> list[Number] | None:
    """A fact of each tiedown; zero for a winch line, times `if_unknown` if it is not stated."""
    values, lines = view.of_tiedowns(name), view.of_tiedowns("tiedown.is_winch_line")
    if values is None or lines is None:
        return None
    return [_unless_winch_line(*each, if_unknown) for each in zip(values, lines, strict=True)]


def _unless_winch_line(value: Number, line: Number, if_unknown: float) -> Number:
    counted = np.where(np.isnan(line), np.multiply(value, if_unknown), value)
    return np.where(np.equal(line, 1), 0.0, counted)[()]


for _way in WAYS:

    @fact(
        f"article.tiedowns_pulling_{_way}",
        "count",
        f"tiedowns that pull it {_way}",
        each="article",
        fields=("tiedowns",),
        uses=(f"tiedown.pulls_{_way}", "tiedown.is_winch_line"),
        source="geometry, 3 degrees or more out of square; else as stated by eye",
    )
    def tiedowns_pulling(view: View, way: str = _way) -> Number:
        """How many of its tiedowns pull the article this way."""
        return _total(_of_tiedowns_proper(view, f"tiedown.pulls_{way}"))


for _moving, _pulling in (
    ("forward", "rearward"),
    ("rearward", "forward"),
    ("left", "right"),
    ("right", "left"),
):

    @fact(
        f"article.held_from_moving_{_moving}",
        ANSWER,
        f"held from moving {_moving}",
        each="article",
        fields=("tiedowns",),
        instead=(f"articles.*.blocking.{_moving}",),
        uses=(f"tiedown.pulls_{_pulling}", "tiedown.is_winch_line"),
        source="geometry; a tiedown that pulls the other way, or blocking",
    )
    def held_from_moving(view: View, moving: str = _moving, pulling: str = _pulling) -> Number:
        """A tiedown pulls the other way, or a structure, other cargo or blocking stops it."""
        pulls = _of_tiedowns_proper(view, f"tiedown.pulls_{pulling}")
        blocked: Number = getattr(view.article.blocking, moving)
        # Blocking that is not stated counts as missing.
        stopped = np.where(np.isnan(blocked), 0.0, blocked)[()]
        held = NOT_STATED if pulls is None else any_of(pulls)
        return either(stopped, held)


@fact(
    "article.held_down",
    ANSWER,
    "held down on the deck",
    each="article",
    fields=("tiedowns",),
    uses=("tiedown.pulls_down", "tiedown.is_winch_line"),
    source="geometry, 3 degrees or more out of flat; else as stated by eye",
)
def held_down(view: View) -> Number:
    """At least one tiedown pulls the article down on the deck."""
    pulls = _of_tiedowns_proper(view, "tiedown.pulls_down")
    return NOT_STATED if pulls is None else any_of(pulls)


@fact(
    "article.rated_pull_down",
    "load",
    "downward pull of its tiedowns at their limits",
    each="article",
    fields=("tiedowns",),
    uses=("tiedown.rated_pull_down", "tiedown.is_winch_line"),
    source="statics; engineering and not part of any legal sum",
)
def rated_pull_down(view: View) -> Number:
    """How hard its direct tiedowns, each at its working load limit, press it on the deck."""
    return _total(_of_tiedowns_proper(view, "tiedown.rated_pull_down"))


_CORNERS = (
    ("front_left", (True, True)),
    ("front_right", (True, False)),
    ("rear_left", (False, True)),
    ("rear_right", (False, False)),
)


def _at_corner(view: View, *, front: bool, left: bool) -> list[Number] | None:
    """For each tiedown, whether it holds that corner; one over the article holds none.

    One over a wheel does: it is drawn tight over the tyre at that corner.
    """
    directs = view.of_tiedowns("tiedown.holds_one_corner")
    fronts = view.of_tiedowns("tiedown.at_front")
    lefts = view.of_tiedowns("tiedown.at_left")
    lines = view.of_tiedowns("tiedown.is_winch_line")
    if directs is None or fronts is None or lefts is None or lines is None:
        return None
    return [
        all_of(
            (
                direct,
                negated(line),
                at_front if front else negated(at_front),
                at_left if left else negated(at_left),
            )
        )
        for direct, at_front, at_left, line in zip(directs, fronts, lefts, lines, strict=True)
    ]


_CORNER_FACTS = (
    "tiedown.holds_one_corner",
    "tiedown.at_front",
    "tiedown.at_left",
    "tiedown.is_winch_line",
)


@fact(
    "article.corners_held",
    "count",
    "corners with a tiedown of their own",
    each="article",
    fields=("tiedowns",),
    uses=_CORNER_FACTS,
    source=COMMON_PRACTICE,
)
def corners_held(view: View) -> Number:
    """At how many of its four corners a tiedown is attached; a winch line does not count."""
    held = [_at_corner(view, front=front, left=left) for _, (front, left) in _CORNERS]
    counted = [any_of(corner) for corner in held if corner is not None]
    return sum(counted, start=0.0) if counted else NOT_STATED


@fact(
    "article.anchors_used",
    "count",
    "anchors used, each counted once",
    each="article",
    fields=(
        "tiedowns",
        "tiedowns.*.path",
        "tiedowns.*.anchor",
        "tiedowns.*.far_anchor",
    ),
    uses=("tiedown.is_winch_line",),
    source=COMMON_PRACTICE,
)
def anchors_used(view: View) -> Number:
    """How many different anchors of the trailer its tiedowns use."""
    tiedowns = view.load.tiedowns
    if tiedowns is None:
        return NOT_STATED
    mine = [each for each in tiedowns if each.article is view.article]
    proper = [each for each in mine if each.device != "winch line"]
    anchors = [
        anchor
        for each in proper
        for anchor in ([each.anchor] if each.path == "direct" else [each.anchor, each.far_anchor])
    ]
    if any(each.device is None or each.path is None for each in proper) or None in anchors:
        return NOT_STATED
    return float(len({anchor.name for anchor in anchors if anchor}))


for _end, _way in (("front", "forward"), ("rear", "rearward")):

    @fact(
        f"article.{_end}_tiedowns",
        "count",
        f"tiedowns at its {_end}",
        each="article",
        fields=("tiedowns",),
        uses=("tiedown.at_front", "tiedown.is_winch_line"),
        source="geometry",
    )
    def tiedowns_at_end(view: View, end: str = _end) -> Number:
        """How many tiedowns are attached to this half of it; front is nearer the coupler."""
        fronts = _of_tiedowns_proper(view, "tiedown.at_front")
        if fronts is None or end == "front":
            return _total(fronts)
        return view["article.tiedown_count"] - _total(fronts)

    @fact(
        f"article.{_end}_tiedowns_pulling_{_way}",
        "count",
        f"tiedowns at its {_end} that pull {_way}",
        each="article",
        fields=("tiedowns",),
        uses=(f"tiedown.pulls_{_way}", "tiedown.at_front", "tiedown.is_winch_line"),
        source=COMMON_PRACTICE,
    )
    def pulling_outward(view: View, end: str = _end, way: str = _way) -> Number:
        """How many tiedowns at this end pull outward, away from the article's middle."""
        pulls = _of_tiedowns_proper(view, f"tiedown.pulls_{way}")
        fronts = view.of_tiedowns("tiedown.at_front")
        if pulls is None or fronts is None:
            return NOT_STATED
        at_end = fronts if end == "front" else [negated(front) for front in fronts]
        return _total([both(pull, here) for pull, here in zip(pulls, at_end, strict=True)])
