"""Answers and fields that contradict each other, as one list.

Each entry names two statements and what to do about them. Questions that may be answered `yes`
where there is no such part (gate, ramps, accessories) contradict nothing. Neither does
`brakes_work`, which asks about the tow vehicle's brakes too.
"""

from typing import Final

from checker.load.plausible.entry import Entry, Grade, excluded

_NO_CHAIN: Final = "trailer.safety_chains.count is 0"
_NO_DEVICE: Final = "trailer.breakaway_fitted is no"
_NO_BRAKES: Final = "trailer.brakes is none"
_ONE_OF_TWO: Final = "change the one that is wrong"
_CHAINS: Final = f"safety chains, or `no` here: {_ONE_OF_TWO}"
_BREAKAWAY: Final = f"a breakaway device, or `no` here: {_ONE_OF_TWO}"
_BRAKED: Final = f"brakes of some kind, or none of this: {_ONE_OF_TWO}"


def _chains(answer: str) -> Entry:
    field = f"walkaround.{answer}"
    return excluded(f"no-chain-{answer}".replace("_", "-"), f"{field} is yes", _NO_CHAIN, _CHAINS)


def _article(part: str, lacks: str, answer: str, what: str) -> Entry:
    return excluded(
        f"{part}-{answer}".replace("_", "-"),
        f"articles.*.{answer} is yes",
        f"articles.*.{lacks} is no",
        f"{what}, or no answer here: {_ONE_OF_TWO}",
    )


def _block(way: str) -> Entry:
    return excluded(
        f"block-{way}",
        f"articles.*.blocking.{way} is no",
        f"articles.*.blocks.*.stops is {way}",
        f"`{way}: yes`, or no block that stops it {way}",
    )


def _pulls(one: str, other: str) -> Entry:
    return Entry(
        f"pulls-{one}-and-{other}",
        Grade.REFUSED,
        (
            "tiedowns.*.path is direct",
            f"tiedowns.*.pulls has {one}",
            f"tiedowns.*.pulls has {other}",
        ),
        f"a direct tiedown that pulls {one} and {other}",
        "one of the two ways: a direct tiedown pulls from one attachment to one anchor",
        at="tiedowns.*.pulls",
    )


CONTRADICTIONS: Final[tuple[Entry, ...]] = (
    Entry(
        "attachment-rated-and-not",
        Grade.REFUSED,
        (
            "articles.*.attachments.*.working_load_limit is no rating exists",
            "articles.*.attachments.*.lashing_capacity stated",
        ),
        "{a} beside {b}",
        "the lashing capacity alone, or no rating at all",
        of_hauls=False,
    ),
    excluded(
        "friction-beside-surfaces",
        "articles.*.friction stated",
        "articles.*.surfaces stated",
        "a friction coefficient, or the surfaces and their condition: one of the two",
    ),
    # Safety chains.
    _chains("chains_connected"),
    _chains("chains_crossed"),
    _chains("chains_slack_right"),
    _chains("chains_apart_from_coupling"),
    _chains("chains_even_about_centre"),
    _chains("chains_meet_at_one_point"),
    _chains("chain_points_apart"),
    excluded(
        "no-chain-breaking-strength",
        "trailer.safety_chains.breaking_strength stated",
        _NO_CHAIN,
        f"safety chains, or no breaking strength of them: {_ONE_OF_TWO}",
    ),
    excluded(
        "one-chain-crossed",
        "walkaround.chains_crossed is yes",
        "trailer.safety_chains.count is 1",
        "two chains, or `no` here: one chain cannot cross",
    ),
    # Brakes and breakaway device.
    excluded("no-brakes-on-axle", "trailer.axles.*.brakes is yes", _NO_BRAKES, _BRAKED),
    excluded("no-brakes-breakaway-fitted", "trailer.breakaway_fitted is yes", _NO_BRAKES, _BRAKED),
    excluded(
        "no-brakes-breakaway-works",
        "walkaround.breakaway_works_all_brakes is yes",
        _NO_BRAKES,
        _BRAKED,
    ),
    excluded(
        "no-brakes-breakaway-holds", "trailer.breakaway_hold_time > 0min", _NO_BRAKES, _BRAKED
    ),
    excluded("no-breakaway-holds", "trailer.breakaway_hold_time > 0min", _NO_DEVICE, _BREAKAWAY),
    excluded(
        "no-breakaway-connected", "walkaround.breakaway_connected is yes", _NO_DEVICE, _BREAKAWAY
    ),
    excluded(
        "no-breakaway-charged",
        "walkaround.breakaway_battery_charged is yes",
        _NO_DEVICE,
        _BREAKAWAY,
    ),
    excluded(
        "no-breakaway-works",
        "walkaround.breakaway_works_all_brakes is yes",
        _NO_DEVICE,
        _BREAKAWAY,
    ),
    # Coupling and axles.
    excluded(
        "in-bed-full-trailer",
        "trailer.full_trailer is yes",
        "trailer.coupling is gooseneck|fifth wheel",
        "`no`: part of such a trailer's weight rests on the tow vehicle",
    ),
    excluded(
        "fifth-wheel-locked",
        "walkaround.fifth_wheel_locked is yes",
        "trailer.coupling is ball|pintle",
        f"a gooseneck or fifth wheel, or no answer here: {_ONE_OF_TWO}",
    ),
    excluded(
        "fifth-wheel-secured",
        "walkaround.fifth_wheel_secured is yes",
        "trailer.coupling is ball|pintle",
        f"a gooseneck or fifth wheel, or no answer here: {_ONE_OF_TWO}",
    ),
    Entry(
        "single-with-axles",
        Grade.REFUSED,
        ("trailer.suspension is single", "#trailer.axles > 1"),
        "a single axle beside several of them",
        "one axle, or `equalised` or `independent`",
        at="trailer.suspension",
    ),
    excluded(
        "level-deck-on-tilted-trailer",
        "walkaround.trailer_level is no",
        "trailer.deck_level is yes",
        f"the same answer to both, or `deck_level: no`: {_ONE_OF_TWO}",
    ),
    Entry(
        "equalised-with-one-axle",
        Grade.REFUSED,
        ("trailer.suspension is equalised", "#trailer.axles is 1"),
        "axles that share their load beside one axle",
        "`single`, or every axle of the trailer",
        at="trailer.suspension",
    ),
    *(
        Entry(
            f"level-deck-{side}-ball",
            Grade.REFUSED,
            ("trailer.deck_level is yes", f"trailer.ball_below_level {off}"),
            "{a} beside {b}",
            "`no`, or a ball at the height at which the deck stands level",
        )
        for side, off in (("low", "> 0in"), ("high", "< 0in"))
    ),
    # Articles.
    _article("no-boom", "has_boom", "boom_rests", "a boom"),
    _article("no-slewing", "slews", "slew_locked", "an upper structure that turns"),
    _article("no-mower-deck", "has_mower_deck", "mower_deck_rests", "a mower deck"),
    _article(
        "no-roof", "has_roof_or_windscreen", "roof_and_windscreen_secured", "a roof or windscreen"
    ),
    _article("not-articulated", "articulated", "articulation_locked", "an articulated machine"),
    _article("no-neighbour", "beside_another", "touches_its_neighbour", "a neighbour"),
    _article("no-neighbour", "beside_another", "kept_from_its_neighbour", "a neighbour"),
    Entry(
        "alone-beside-another",
        Grade.REFUSED,
        ("articles.*.beside_another is yes", "#articles is 1"),
        "an article beside another, and no other article",
        "`no`, or the other article too",
    ),
    Entry(
        "touching-from-afar",
        Grade.REFUSED,
        (
            "articles.*.touches_front_structure is yes",
            "articles.*.placed.x > trailer.front_structure.x + 12in",
        ),
        "{a} beside {b}, with the front structure at {third}",
        "`no`, or the place of the article's end against it",
    ),
    *map(_block, ("forward", "rearward", "left", "right")),
    # Tiedowns.
    excluded(
        "unmarked-with-mark",
        "tiedowns.*.unmarked is yes",
        "tiedowns.*.marked_working_load_limit stated",
        f"no mark, or `unmarked: no`: {_ONE_OF_TWO}",
    ),
    Entry(
        "grade-of-no-chain",
        Grade.REFUSED,
        (
            "tiedowns.*.grade is 30|43|70|80|100",
            "tiedowns.*.device is webbing|wire rope|manila rope|polypropylene rope|polyester rope"
            "|nylon rope|double braided nylon rope|unidentified synthetic rope|steel strapping",
        ),
        "{a} beside {b}",
        "a chain, or no grade: only chains are marked with one",
    ),
    excluded(
        "direct-to-far-anchor",
        "tiedowns.*.path is direct",
        "tiedowns.*.far_anchor stated",
        "`same side` or `other side`, or no far anchor: a direct tiedown ends on the article",
    ),
    excluded(
        "direct-over",
        "tiedowns.*.path is direct",
        "tiedowns.*.over stated",
        "`same side` or `other side`, or nothing it passes over",
    ),
    excluded(
        "over-to-attachment",
        "tiedowns.*.path is same side|other side",
        "tiedowns.*.attachment stated",
        "`direct`, or no attachment: a tiedown over or around an article ends at two anchors",
    ),
    _pulls("forward", "rearward"),
    _pulls("left", "right"),
    # Walk-around answers and readings.
    excluded(
        "edges-protected-and-not",
        "walkaround.edges_protected is yes",
        "tiedowns.*.on_sharp_edge is yes",
        f"a protector at every edge, or `no` here: {_ONE_OF_TWO}",
    ),
    excluded(
        "knotted-and-undamaged",
        "walkaround.tiedowns_undamaged is yes",
        "walkaround.tiedowns_free_of_knots is no",
        "`no` to the first: it asks about knots too",
    ),
    Entry(
        "straight-and-off-the-path",
        Grade.REFUSED,
        ("walkaround.tracks_straight is yes", "walkaround.path_deviation > 3in"),
        "{a} beside {b}",
        "`no`, or a reading of 3 in at most, which is what the question asks",
    ),
    # Trip and carrier.
    excluded(
        "national-network-off-the-road",
        "trip.network is national network",
        "trip.public_road is no",
        f"a public road, or no network: {_ONE_OF_TWO}",
    ),
    excluded(
        "across-a-state-line",
        "trip.interstate is no",
        "trip.places crosses US",
        "`yes`, or the places of one state",
    ),
    excluded(
        "government-and-personal",
        "carrier.personal_and_unpaid is yes",
        "carrier.government is yes",
        f"`no` to one of them: {_ONE_OF_TWO}",
    ),
)
