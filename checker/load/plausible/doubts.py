"""Figures that may be true and are far outside the usual, with the reason for each bound.

The bounds are wide on purpose: they catch a wrong unit, a digit too many and a figure in the wrong
field. They judge nothing. Where no source is named they are common practice.
"""

from typing import Final

from checker.load.plausible.entry import Entry, Grade, at_least, at_most, doubtful, usually

_UNIT: Final = "a figure in another unit, or a digit too many or too few, looks like this"
_OVER_DECK: Final = "the figure may be measured from another point than the ball or the centre line"
_EN_2: Final = "EN 12195-2, from memory"
_MADE_OF: Final = "tiedowns.*.device is"
_TYPE: Final = "articles.*.type is"
_MACHINES: Final = "wheeled machine|tracked machine|road vehicle"
_SCALE: Final = "a weight in another unit, or of another thing, looks like this"
_BESIDE: Final = (
    "the wheels would stand beside the deck: over its edge, or on rails that its width leaves out"
)


def _overlap(by: str) -> tuple[str, ...]:
    """Two articles whose lengths and widths overlap by more than a given length."""
    one, other = "articles.*.placed", "articles.+.placed"
    halves = "0.5 * articles.*.width + 0.5 * articles.+.width"
    return (
        f"{other}.x < {one}.x + articles.*.length - {by}",
        f"{one}.x < {other}.x + articles.+.length - {by}",
        f"{one}.y - {other}.y < {halves} - {by}",
        f"{other}.y - {one}.y < {halves} - {by}",
    )


DOUBTS: Final[tuple[Entry, ...]] = (
    # Tiedowns.
    doubtful(
        "limit-above-a-third",
        # A mark is rounded up: 3,335 lb on a strap that breaks at 10,000 lb.
        "tiedowns.*.marked_working_load_limit > 0.34 * tiedowns.*.breaking_strength",
        "a working load limit of {first} on a part that breaks at {second}",
        "a third of the breaking strength at most",
        "the breaking strength, or a fitting's, may stand where the limit belongs",
    ),
    doubtful(
        "limit-above-a-third-of-nominal",
        "tiedowns.*.marked_working_load_limit > 0.34 * tiedowns.*.nominal_strength",
        "a working load limit of {first} on a part of nominal strength {second}",
        "a third of the nominal strength at most",
        "the nominal strength, or a fitting's, may stand where the limit belongs",
    ),
    doubtful(
        "capacity-above-half",
        "tiedowns.*.lashing_capacity > 0.55 * tiedowns.*.breaking_strength",
        "a lashing capacity of {first} on a part that breaks at {second}",
        "half of the breaking strength",
        "a lashing capacity is half of the breaking strength by its standard",
        _EN_2,
    ),
    doubtful(
        "hand-tension-above-half",
        "tiedowns.*.standard_tension > 0.55 * tiedowns.*.lashing_capacity",
        "a standard hand tension of {first} with a lashing capacity of {second}",
        "half of the lashing capacity at most",
        "the lashing capacity, or the hand force, may stand where the tension belongs",
        _EN_2,
    ),
    doubtful(
        "hand-force-not-that-of-labels",
        "tiedowns.*.standard_hand_force > 1.1 * tiedowns.*.standard_tension",
        "a hand force of {first} with a standard hand tension of {second}",
        "a hand force of 50 daN, below the tension that it leaves",
        "SHF and STF may have changed places: STF is the larger figure",
        _EN_2,
    ),
    doubtful(
        "pretension-above-limit",
        "tiedowns.*.pretension > tiedowns.*.marked_working_load_limit",
        "a tension of {first} in a tiedown of working load limit {second}",
        "a tension below the working load limit",
        _UNIT,
    ),
    *usually(
        "tiedowns.*.size",
        "0.7in",
        "5in",
        "webbing is 1 to 4 in wide",
        "tiedowns.*.device is webbing",
    ),
    *usually(
        "tiedowns.*.size",
        "0.15in",
        "1.1in",
        "chains are 3/16 to 1 in",
        "tiedowns.*.device is chain",
    ),
    *usually(
        "tiedowns.*.size",
        "0.15in",
        "2.5in",
        "ropes are 1/4 to 2 in",
        f"{_MADE_OF} wire rope|manila rope|polypropylene rope|polyester rope|nylon rope",
    ),
    doubtful(
        "stretch-above-half",
        "tiedowns.*.stretch_at_limit > 50%",
        "{more} longer at the working load limit",
        "a few percent; ropes of nylon some 30 %",
        _UNIT,
    ),
    # Anchors and the deck.
    doubtful(
        "anchor-outside-deck",
        "|trailer.anchors.*.y| > 0.5 * trailer.deck.width + 4in",
        "an anchor {first} from the centre line of a deck {second} wide",
        "no farther out than half the deck's width",
        _OVER_DECK,
    ),
    doubtful(
        "anchor-ahead-of-deck",
        "trailer.anchors.*.x < trailer.deck.front - 24in",
        "an anchor {first} behind the ball, ahead of the deck's front edge at {second}",
        "a place on the deck",
        _OVER_DECK,
    ),
    doubtful(
        "anchor-past-deck",
        "trailer.anchors.*.x > trailer.deck.rear + 6in",
        "an anchor {first} behind the ball, behind the deck's rear edge at {second}",
        "a place on the deck",
        _OVER_DECK,
    ),
    *usually(
        "trailer.anchors.*.z", "-24in", "72in", "anchors are at the deck, its frame or a headboard"
    ),
    doubtful(
        "wheels-outside-deck-front",
        "|articles.*.placed.y| + 0.5 * articles.*.axles.front.track > 0.5 * trailer.deck.width",
        "a front track of {second} on a deck {third} wide",
        "wheel centres on the deck, with the article's centre line where it is stated",
        _BESIDE,
    ),
    doubtful(
        "wheels-outside-deck-rear",
        "|articles.*.placed.y| + 0.5 * articles.*.axles.rear.track > 0.5 * trailer.deck.width",
        "a rear track of {second} on a deck {third} wide",
        "wheel centres on the deck, with the article's centre line where it is stated",
        _BESIDE,
    ),
    # Articles.
    Entry(
        "articles-overlap",
        Grade.DOUBTFUL,
        _overlap("2in"),
        "an article whose place overlaps another's",
        "places beside or behind each other",
        "only a boom, bucket or fork may reach over a neighbour",
        at="articles.+.placed.x",
    ),
    doubtful(
        "cg-beside-article",
        "|articles.*.cg.y| > 0.5 * articles.*.width",
        "a centre of gravity {first} from the centre line of an article {second} wide",
        "no farther out than half its width",
        "it lies within the outline, and is measured from the article's own centre line",
    ),
    doubtful(
        "cg-above-article",
        "articles.*.cg.z > articles.*.height",
        "a centre of gravity {first} above the deck in an article {second} high",
        "a height below the article's own",
        "it lies within the outline, and both are measured from the deck",
    ),
    doubtful(
        "attachment-behind-article",
        "articles.*.attachments.*.x > articles.*.length + 6in",
        "an attachment {first} behind the front end of an article {second} long",
        "a point on the article",
        "it is measured from the article's own front end, not from the ball",
    ),
    doubtful(
        "attachment-beside-article",
        "|articles.*.attachments.*.y| > 0.5 * articles.*.width + 6in",
        "an attachment {first} from the centre line of an article {second} wide",
        "a point on the article",
        "it is measured from the article's own centre line",
    ),
    doubtful(
        "attachment-above-article",
        "articles.*.attachments.*.z > articles.*.height + 6in",
        "an attachment {first} above the deck on an article {second} high",
        "a point on the article",
        "both are measured from the deck",
    ),
    Entry(
        "article-close-to-tow-vehicle",
        Grade.DOUBTFUL,
        ("trailer.coupling is ball|pintle", "articles.*.placed.x < 24in"),
        "an article {second} behind the ball",
        "24 in at least behind the coupling: nearer, it meets the tow vehicle in a turn",
        "a bumper and tailgate reach back to the ball, and swing across the tongue in a turn",
        at="articles.*.placed.x",
    ),
    *usually("articles.*.weight", "30lb", "50000lb", _SCALE),
    *at_least("articles.*.weight", "100lb", _SCALE, f"{_TYPE} wheeled machine"),
    *at_least("articles.*.weight", "300lb", _SCALE, f"{_TYPE} tracked machine|road vehicle"),
    *usually("articles.*.length", "12in", "600in", _UNIT),
    *at_least("articles.*.length", "36in", _UNIT, f"{_TYPE} {_MACHINES}"),
    *usually("articles.*.width", "8in", "192in", _UNIT),
    *at_least("articles.*.width", "24in", _UNIT, f"{_TYPE} {_MACHINES}"),
    *usually("articles.*.height", "2in", "168in", _UNIT),
    *at_least("articles.*.height", "18in", _UNIT, f"{_TYPE} {_MACHINES}"),
    *usually("articles.*.axles.front.track", "18in", "120in", _UNIT),
    *usually("articles.*.axles.rear.track", "18in", "120in", _UNIT),
    # The trailer.
    *usually("trailer.gvwr", "500lb", "100000lb", _SCALE),
    *usually("trailer.empty_weight", "100lb", "40000lb", _SCALE),
    *usually("trailer.track", "36in", "102in", _UNIT),
    *usually("trailer.deck.width", "30in", "144in", _UNIT),
    *usually("trailer.deck.height", "4in", "72in", _UNIT),
    *usually("trailer.overall_width", "36in", "144in", _UNIT),
    *usually("trailer.overall_length", "72in", "720in", _UNIT),
    *usually("trailer.ball_height", "6in", "66in", _UNIT),
    *usually("trailer.empty_cg_height", "6in", "84in", _UNIT),
    *usually("trailer.axles.*.rating", "500lb", "30000lb", _SCALE),
    *usually("trailer.axles.*.tyres", "2", "8", "an axle has two wheels, or two pairs or more"),
    *usually("trailer.axles.*.tyre_rating", "300lb", "12000lb", _SCALE),
    *usually("trailer.coupler.size", "1.5in", "4in", "balls are 1 7/8 to 3 in"),
    *at_most("trailer.safety_chains.count", "4", "two chains, sometimes one or four"),
    *usually("trailer.safety_chains.breaking_strength", "500lb", "200000lb", _SCALE),
    Entry(
        "axles-close",
        Grade.DOUBTFUL,
        (
            "trailer.axles.*.x - trailer.axles.+.x < 20in",
            "trailer.axles.+.x - trailer.axles.*.x < 20in",
        ),
        "axles at {first} and {second} behind the ball",
        "20 in apart at least",
        "two tyres would touch",
        at="trailer.axles.+.x",
    ),
    doubtful(
        "axle-ahead-of-deck",
        "trailer.axles.*.x < trailer.deck.front",
        "an axle {first} behind the ball, ahead of the deck's front edge at {second}",
        "an axle below the deck",
        _OVER_DECK,
    ),
    doubtful(
        "deck-past-trailer",
        "trailer.deck.rear > trailer.overall_length + 12in",
        "a deck that ends {first} behind the ball on a trailer {second} long, tongue included",
        "a rear edge nearer to the ball than the trailer is long",
        _OVER_DECK,
    ),
    doubtful(
        "tongue-rating-above-half",
        "trailer.coupler.tongue_rating > 0.5 * trailer.coupler.rating",
        "a tongue rating of {first} on a coupler for trailers of {second}",
        "a tenth to a quarter of the trailer rating",
        "the two ratings stand beside each other on the stamp, and are mixed up",
    ),
    doubtful(
        "level-deck-with-low-ball",
        ("trailer.deck_level is yes", "|trailer.ball_below_level| > 1in"),
        "a ball {second} off the height at which the deck stands level, and a level deck",
        "`deck_level: no`, or a figure near 0",
        "with the ball off that height the deck does not stand level",
    ),
    # The tow vehicle.
    *usually("tow_vehicle.gvwr", "2000lb", "100000lb", _SCALE),
    *usually("tow_vehicle.gcwr", "3000lb", "200000lb", _SCALE),
    *usually("tow_vehicle.front_axle_rating", "1000lb", "25000lb", _SCALE),
    *usually("tow_vehicle.rear_axle_rating", "1000lb", "60000lb", _SCALE),
    *usually("tow_vehicle.front_axle_weight", "700lb", "25000lb", _SCALE),
    *usually("tow_vehicle.rear_axle_weight", "500lb", "60000lb", _SCALE),
    *usually("tow_vehicle.wheelbase", "70in", "320in", _UNIT),
    *usually("tow_vehicle.overall_length", "120in", "540in", _UNIT),
    *usually("tow_vehicle.ball_behind_rear_axle", "-48in", "120in", _UNIT),
    *usually("tow_vehicle.ball.size", "1.5in", "4in", "balls are 1 7/8 to 3 in"),
    doubtful(
        "ball-ahead-of-axle",
        ("trailer.coupling is ball", "tow_vehicle.ball_behind_rear_axle < 0in"),
        "a ball {second} behind the rear axle: ahead of it, for a coupler behind the bumper",
        "a figure above 0, or `coupling: gooseneck`",
        "only a gooseneck or fifth wheel is coupled ahead of the rear axle",
    ),
    # The walk-around and the trip.
    *usually("walkaround.placard_pressure", "10psi", "140psi", _UNIT),
    *usually("walkaround.lowest_cold_pressure", "5psi", "150psi", _UNIT),
    doubtful(
        "crooked-with-a-small-reading",
        ("walkaround.tracks_straight is no", "walkaround.path_deviation <= 3in"),
        "{b} beside {a}",
        "more than 3 in, which is what the question asks",
        "the answer says that the trailer does not follow the tow vehicle",
    ),
    *at_most("walkaround.tread_depth", "1in", _UNIT),
    *at_most("walkaround.front_tread_depth", "1in", _UNIT),
    *usually("walkaround.flag_size", "6in", "48in", _UNIT),
    *usually("trip.speed", "3mph", "90mph", _UNIT),
    *at_most("trip.steepest_grade", "35%", "the steepest public roads come to 35 %"),
    *at_most("trip.distance", "4000mi", _UNIT),
    *at_most("trip.driving_time", "80h", _UNIT),
    Entry(
        "farther-than-planned-speed",
        Grade.DOUBTFUL,
        ("trip.distance > 1.1 * trip.speed * trip.driving_time",),
        "{first} in {third}, which takes more than {second}, the highest speed planned",
        "a driving time that fits the distance",
        "the times of stops to look at the load follow from both",
        of_hauls=False,
    ),
    Entry(
        "check-past-the-end",
        Grade.DOUBTFUL,
        ("trip.load_checks.* > trip.distance",),
        "a stop to check the load after {first} on a trip of {second}",
        "a stop on the way",
        "distances are measured from the start",
        at="trip.load_checks.*",
        of_hauls=False,
    ),
)
