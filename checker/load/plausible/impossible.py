"""Figures that no load can have: a typing error, a wrong unit, a figure in the wrong field.

`found` says what is wrong, `wanted` what would be accepted.
"""

from typing import Final

from checker.load.plausible.entry import Entry, Grade, impossible

_AXLES: Final = ("articles.*.axles.front.weight", "articles.*.axles.rear.weight")
_BOTH_AXLES: Final = " + ".join(_AXLES)
_ITS_PLACE: Final = "articles.*.placed"
_OTHER: Final = "articles.+.placed"


def _axle_sum(name: str, where: str, total: str) -> Entry:
    return Entry(
        name,
        Grade.REFUSED,
        (where,),
        f"axle weights that add to {{{total}}}",
        "the article's weight, {third}",
        at="articles.*.axles",
        # Axle scales and a weight taken on another day seldom agree better than 2 %; a larger gap
        # is a slip. Axle weights that are scaled with the weight of a haul are as the profile's.
        of_hauls=(*_AXLES, "articles.*.weight"),
    )


def _cg_off_axles(side: str, sign: str) -> Entry:
    """The stated centre of gravity does not fit the weights on both axles.

    They may differ by 2 % of the distance between the axles, as the weights themselves may.
    """
    front, rear = "articles.*.axles.front", "articles.*.axles.rear"
    weights = (f"{front}.weight", f"{rear}.weight")
    stated = " + ".join(f"articles.*.cg.x * {weight}" for weight in weights)
    slack = " ".join(
        f"{'+' if (end is rear) is (sign == '>') else '-'} 0.02 * {end}.x * {weight}"
        for end in (rear, front)
        for weight in weights
    )
    weighed = f"{front}.x * {front}.weight + {rear}.x * {rear}.weight {slack}"
    return Entry(
        f"cg-{side}-of-axle-weights",
        Grade.REFUSED,
        (f"{stated} {sign} {weighed}",),
        "a centre of gravity {first} behind the front end, not where the axle weights put it",
        "the place that the weights on both axles give, or no `cg.x`",
        # The `cg.x` of a haul stands before the axle weights of its profile.
        of_hauls=_AXLES,
    )


def _inside(name: str, one: str, other: str) -> Entry:
    """The middle of one article lies within the length and width of another."""
    middle = f"{one}.placed.x + 0.5 * {one}.length"
    return Entry(
        name,
        Grade.REFUSED,
        (
            f"{other}.placed.x < {middle}",
            f"{middle} < {other}.placed.x + {other}.length",
            *_side_by_side_overlap("2in"),
        ),
        "an article that stands in the place of another",
        "places that do not overlap by half an article's length",
        at="articles.+.placed.x",
    )


def _side_by_side_overlap(more_than: str) -> tuple[str, str]:
    """Two articles side by side overlap in width by more than a length."""
    halves = "0.5 * articles.*.width + 0.5 * articles.+.width"
    return (
        f"{_ITS_PLACE}.y - {_OTHER}.y < {halves} - {more_than}",
        f"{_OTHER}.y - {_ITS_PLACE}.y < {halves} - {more_than}",
    )


IMPOSSIBLE: Final[tuple[Entry, ...]] = (
    # Tiedowns: a working load limit is a share of what breaks the part.
    impossible(
        "limit-at-breaking-strength",
        "tiedowns.*.marked_working_load_limit >= tiedowns.*.breaking_strength",
        "a working load limit of {first} on a part that breaks at {second}",
        "a limit well below the breaking strength: read the mark again",
    ),
    impossible(
        "capacity-at-breaking-strength",
        "tiedowns.*.lashing_capacity >= tiedowns.*.breaking_strength",
        "a lashing capacity of {first} on a part that breaks at {second}",
        "about half of the breaking strength: read the mark again",
    ),
    impossible(
        "hand-tension-at-lashing-capacity",
        "tiedowns.*.standard_tension >= tiedowns.*.lashing_capacity",
        "a standard hand tension of {first} with a lashing capacity of {second}",
        "a tension below the lashing capacity: read the label again",
    ),
    *(
        impossible(
            f"{name}-capacity-below-limit",
            f"{part}lashing_capacity < {part}working_load_limit",
            "a lashing capacity of {first} beside a working load limit of {second}",
            "a working load limit no higher than the lashing capacity of the same part",
        )
        for name, part in (
            ("anchor", "trailer.anchors.*."),
            ("attachment", "articles.*.attachments.*."),
            ("hooks", "tiedowns.*.hooks_"),
            ("tensioner", "tiedowns.*.tensioner_"),
        )
    ),
    impossible(
        "limit-at-nominal-strength",
        "tiedowns.*.marked_working_load_limit >= tiedowns.*.nominal_strength",
        "a working load limit of {first} on a part of nominal strength {second}",
        "a limit well below the nominal strength: read the mark again",
    ),
    impossible(
        "hand-tension-at-breaking-strength",
        "tiedowns.*.standard_tension >= tiedowns.*.breaking_strength",
        "a standard hand tension of {first} in a part that breaks at {second}",
        "a tension well below the breaking strength",
    ),
    impossible(
        "pretension-at-breaking-strength",
        "tiedowns.*.pretension >= tiedowns.*.breaking_strength",
        "a tension of {first} in a part that breaks at {second}",
        "a tension well below the breaking strength",
    ),
    # The trailer.
    impossible(
        "deck-order",
        "trailer.deck.front > trailer.deck.rear",
        "a deck that ends before it begins",
        "no more than deck.rear",
    ),
    impossible(
        "tongue-above-trailer",
        "trailer.empty_tongue_weight > trailer.empty_weight",
        "an empty tongue heavier than the empty trailer",
        "no more than empty_weight",
    ),
    impossible(
        "deck-wider-than-trailer",
        "trailer.deck.width > trailer.overall_width",
        "a deck {first} wide on a trailer {second} wide",
        "a deck no wider than the trailer at its widest",
    ),
    impossible(
        "track-wider-than-trailer",
        "trailer.track > trailer.overall_width",
        "a track of {first} on a trailer {second} wide",
        "a track, between wheel centres, below the overall width",
    ),
    impossible(
        "deck-longer-than-trailer",
        "trailer.deck.rear - trailer.deck.front > trailer.overall_length",
        "a deck {more} long on a trailer {third} long",
        "a deck no longer than the trailer, tongue included",
    ),
    impossible(
        "axle-behind-trailer",
        "trailer.axles.*.x > trailer.overall_length",
        "an axle {first} behind the ball on a trailer {second} long",
        "an axle under the trailer",
    ),
    Entry(
        "axles-at-one-place",
        Grade.REFUSED,
        (
            "trailer.axles.*.x - trailer.axles.+.x < 1in",
            "trailer.axles.+.x - trailer.axles.*.x < 1in",
        ),
        "two axles at one place, {first} behind the ball",
        "a place of its own for each axle",
        at="trailer.axles.+.x",
    ),
    impossible(
        "front-structure-behind-deck",
        "trailer.front_structure.x > trailer.deck.rear",
        "a front structure {first} behind the ball, behind the deck's rear edge at {second}",
        "a place at the front of the deck",
    ),
    # Anchors.
    Entry(
        "anchors-at-one-point",
        Grade.REFUSED,
        (
            "trailer.anchors.*.x - trailer.anchors.+.x < 0.001m",
            "trailer.anchors.+.x - trailer.anchors.*.x < 0.001m",
            "trailer.anchors.*.y - trailer.anchors.+.y < 0.001m",
            "trailer.anchors.+.y - trailer.anchors.*.y < 0.001m",
            "trailer.anchors.*.z - trailer.anchors.+.z < 0.001m",
            "trailer.anchors.+.z - trailer.anchors.*.z < 0.001m",
        ),
        "two anchors at one point",
        "one name for one anchor, or the place of each",
        at="trailer.anchors.+.x",
    ),
    impossible(
        "anchor-behind-trailer",
        "trailer.anchors.*.x > trailer.overall_length + 24in",
        "an anchor {first} behind the ball on a trailer {second} long",
        "an anchor on the trailer",
    ),
    impossible(
        "anchor-behind-deck",
        "trailer.anchors.*.x > trailer.deck.rear + 60in",
        "an anchor {first} behind the ball, far behind the deck's rear edge at {second}",
        "an anchor on the trailer",
    ),
    impossible(
        "anchor-beside-trailer",
        "|trailer.anchors.*.y| > 0.5 * trailer.overall_width + 6in",
        "an anchor {first} from the centre line of a trailer {second} wide",
        "an anchor on the trailer, measured from the centre line",
    ),
    impossible(
        "anchor-beside-deck",
        "|trailer.anchors.*.y| > 0.5 * trailer.deck.width + 36in",
        "an anchor {first} from the centre line of a deck {second} wide",
        "an anchor on the trailer, measured from the centre line",
    ),
    # Articles.
    _axle_sum("axles-above-weight", f"{_BOTH_AXLES} > 1.02 * articles.*.weight", "more"),
    _axle_sum("axles-below-weight", f"{_BOTH_AXLES} < 0.98 * articles.*.weight", "less"),
    _cg_off_axles("ahead", "<"),
    _cg_off_axles("behind", ">"),
    impossible(
        "cg-behind-article",
        "articles.*.cg.x > articles.*.length",
        "a centre of gravity behind its rear end",
        "no more than length",
    ),
    impossible(
        "axle-order",
        "articles.*.axles.front.x > articles.*.axles.rear.x",
        "a front axle behind the rear one",
        "no more than axles.rear.x",
    ),
    impossible(
        "axle-behind-article",
        "articles.*.axles.rear.x > articles.*.length",
        "a rear axle behind its rear end",
        "no more than length",
    ),
    impossible(
        "front-track-wider-than-article",
        "articles.*.axles.front.track > articles.*.width",
        "a track of {first} on an article {second} wide",
        "a track, between wheel centres, below the width",
    ),
    impossible(
        "rear-track-wider-than-article",
        "articles.*.axles.rear.track > articles.*.width",
        "a track of {first} on an article {second} wide",
        "a track, between wheel centres, below the width",
    ),
    impossible(
        "projection-wider-than-article",
        "articles.*.projecting_width > articles.*.width",
        "a part {first} wide that sticks out of an article {second} wide",
        "no wider than the article",
    ),
    impossible(
        "friction-above-one",
        "articles.*.friction > 1",
        "a friction coefficient of {more}",
        "1 at most; tyres on a dry deck come to 0.3 to 0.6",
    ),
    impossible(
        "article-behind-deck",
        f"{_ITS_PLACE}.x > trailer.deck.rear",
        "an article that stands {first} behind the ball, behind the deck's rear edge at {second}",
        "a place on the deck",
    ),
    impossible(
        "article-ahead-of-deck",
        f"{_ITS_PLACE}.x + articles.*.length < trailer.deck.front",
        "an article that ends {less} behind the ball, ahead of the deck's front edge at {third}",
        "a place on the deck",
    ),
    impossible(
        "article-beside-deck",
        f"|{_ITS_PLACE}.y| > 0.5 * trailer.deck.width + 0.5 * articles.*.width",
        "an article whose centre line is {more} from the trailer's, all of it beside the deck",
        "a place on the deck, measured from the centre line",
    ),
    _inside("article-in-place-of-a-later-one", "articles.*", "articles.+"),
    _inside("article-in-place-of-an-earlier-one", "articles.+", "articles.*"),
    # The trip and the tow vehicle.
    Entry(
        "farther-than-speed-allows",
        Grade.REFUSED,
        # People round: half as fast again is no rounding.
        ("trip.distance > 1.5 * trip.speed * trip.driving_time",),
        "{first} in {third}, which takes far more than {second}, the highest speed planned",
        "a longer driving time, a shorter distance or a higher speed",
        at="trip.distance",
        of_hauls=False,
    ),
    impossible(
        "combination-below-vehicle",
        "tow_vehicle.gcwr < tow_vehicle.gvwr",
        "a combination rating of {first} below the vehicle's own, {second}",
        "a gross combination weight rating above the gross vehicle weight rating",
    ),
)
