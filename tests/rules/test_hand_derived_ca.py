"""The Canadian rulebooks held against whole bundled loads, every verdict derived by hand.

Figures come from the profiles as stated and from the rules' texts, not from the program. Arithmetic
stands beside each verdict, in lb and in as the profiles have it; 1 in is 25.4 mm, 1 lb is
0.45359237 kg. Where an acceleration is held, one balance of forces and moments shows it; where it
is not, the most that straps and friction could do falls short of it.
"""

from collections.abc import Callable
from datetime import date

import pytest

from checker.documents.resources import shipped_folder
from checker.evaluation.check import Check, check
from checker.load.build import read_profile
from checker.load.model import Load
from checker.rulebooks.model import Rulebook, Rulebooks

DAY = date(2026, 6, 1)
Replaced = dict[tuple[str | int, ...], str]

IN_ORDER = "side-by-side-in-order"
REAR_ONLY = "rear-straps-only"
LIGHT_STRAPS = "under-rated-straps"

MET, NOT_MET, OPEN, NONE = "met", "not met", "not stated", "does not apply"

# Answers and figures that all three loads share: edges protected, nothing knotted or damaged,
# hooks seated, straps tight, ball seated, pin in; machines, not road vehicles; the two machines
# weigh 1,420 lb = 644 kg and 2,050 lb = 930 kg, under 4,500 kg; first load check after 12 mi =
# 19.3 km or 15 mi = 24.1 km, within 80 km.
EVERYWHERE = {
    "ca-machine-four-tiedowns": MET,
    "ca-machine-tiedown-strength": MET,
    "ca-light-vehicle-two-tiedowns": NONE,
    "ca-edge-protection": MET,
    "ca-no-bare-edge": MET,
    "ca-checked-before-driving": MET,
    "ca-first-load-check": MET,
    "ca-load-check-duty-change": MET,  # answered
    "ca-load-check-hours": MET,  # under an hour from the first check to the end
    "ca-load-check-distance": MET,  # the trips are shorter than 240 km
    "ca-tiedown-marked": MET,  # every strap's tag is stated
}

# Side-by-side, 1,420 lb, nose at 52 in, wheels at 66 and 142 in, centre of gravity at 109.35 in and
# 25 in up. Straps of 3,333 lb, hooks and tensioners too, anchors 5,000 lb.
# Front straps run (-8, 10, -14) in, 18.97 in long: 0.4216 forward, 0.5270 out, 0.7379 down.
# Rear straps run (11, 10, -15) in, 21.12 in long: 0.5209 rearward, 0.4735 out, 0.7103 down.
SIDE_BY_SIDE = {
    # 0.8 x 1420 = 1136 lb. Two rear straps at 1136/(2 x 0.5209) = 1090 lb hold it without
    # friction, and press with 1549 lb. About the front wheels: 1420 x 43.35 - 1136 x 25 +
    # 1136 x 16 + 1549 x 87 = 186,100 lb in, so the rear wheels carry 2449 lb of 2969 and the
    # front ones 520.
    "ca-held-forward": MET,
    # 0.5 x 1420 = 710 lb. Two front straps at 842 lb, pressing with 1243 lb. About the rear wheels:
    # 1420 x 32.65 - 710 x 25 + 710 x 15 + 1243 x 87 = 147,400: front 1939 lb of 2663, rear 724.
    "ca-held-rearward": MET,
    # 710 lb to the left. Right straps at 780 lb in front and 631 behind: 411 + 299 = 710 lb; 329 lb
    # forward against 329 rearward. 411 x 54.35 - 299 x 43.65 = 9290 lb in of turning is left, 122
    # lb at each axle 76 in apart, under 0.3 x 1200 lb. About the left wheels the right ones carry
    # 67,400 / 49 = 1376 lb of 2443: all press.
    "ca-held-sideways": MET,
    "ca-downward-force": MET,  # 2 x 3333 x (0.7379 + 0.7103) = 9654 >= 0.2 x 1420 = 284
    "ca-aggregate-working-load-limit": MET,  # 4 x 3333 / 2 = 6666 >= 1420 / 2 = 710
    "ca-count-short-light": NONE,  # 104 in = 2.64 m, longer than 1.52
    "ca-count-short-heavy": NONE,
    "ca-count-medium-length": MET,  # 1.52 < 2.64 <= 3.04: two; has four
    "ca-count-long": NONE,  # not over 3.04 m
    "ca-count-blocked": NONE,  # nothing in front
    "ca-front-structure-strength": NONE,  # does not touch the rail
    "ca-tall-front-structure-strength": NONE,
}

# The same machine with its nose at 46 in against the rail, rear straps only. They run
# (17, 10, -15) in, 24.78 in long: 0.6861 rearward, 0.4036 out, 0.6053 down.
AGAINST_THE_RAIL = {
    # Straps at 1136/(2 x 0.6861) = 828 lb, pressing with 1002 lb. About the front wheels:
    # 61,560 - 28,400 + 1136 x 16 + 1002 x 87 = 138,500: rear 1822 lb of 2422, front 600.
    "ca-held-forward": MET,
    # Nothing pulls forward but friction: 0.3 x 1420 = 426 < 710 lb. A strap at T adds
    # 0.3 x 0.6053 T of it and takes 0.6861 T away.
    "ca-held-rearward": NOT_MET,
    # The right strap at T gives 0.4036 T; friction, 0.3 x (1420 + 0.6053 T) at most, must give
    # the rest of 710 lb and 0.6861 T forward as well. Wanted and at most: T 400: 613 and 499;
    # 600: 623 and 535; 700: 643 and 553; 800: 671 and 571; 1000: 751 and 608. Never enough.
    "ca-held-sideways": NOT_MET,
    "ca-downward-force": MET,  # 2 x 3333 x 0.6053 = 4035 >= 284
    "ca-aggregate-working-load-limit": MET,  # 2 x 3333 / 2 = 3333 >= 710
    "ca-count-short-light": NONE,  # the rail is in front: another count
    "ca-count-short-heavy": NONE,
    "ca-count-medium-length": NONE,
    "ca-count-long": NONE,
    "ca-count-blocked": MET,  # 2.64 / 3.04 m: one begun; has two
    "ca-front-structure-strength": OPEN,  # 24 in = 0.61 m high, and no rating stated
    "ca-tall-front-structure-strength": MET,  # not over 1.83 m: the other rule counts
}

# Crew side-by-side, 2,050 lb, nose at 63 in, wheels at 81 and 196 in, centre of gravity at 145.5 in
# and 28 in up. Four straps of 400 lb.
# Front straps run (-15, 24, -15) in, 32.03 in long: 0.4683 forward, 0.7493 out, 0.4683 down.
# Rear straps run (29, 24, -16) in, 40.90 in long: 0.7090 rearward, 0.5868 out, 0.3912 down.
CREW_SIDE_BY_SIDE = {
    # Rear straps 2 x 400 x 0.7090 = 567, friction 0.3 x (2050 + 2 x 400 x 0.3912) = 709: 1276 lb
    # at most < 0.8 x 2050 = 1640. Front straps pull the wrong way by more than their friction.
    "ca-held-forward": NOT_MET,
    # 1025 lb: front straps 2 x 400 x 0.4683 = 375, friction 650 of 0.3 x (2050 + 375) = 727 lb.
    # About the rear wheels: 2050 x 50.5 - 1025 x 28 + 375 x 16 + 375 x 130 = 129,600: front 1127 lb
    # of 2425, rear 1298.
    "ca-held-rearward": MET,
    # 1025 lb: right straps 300 + 235, friction 491. The axles share it as 127 and 363 so that
    # nothing turns; they press with 1077 and 1317 lb, 0.3 of which is 323 and 395. The 96 lb that
    # the rear strap pulls more than the front one go to the front wheels: 160 lb in all there.
    "ca-held-sideways": MET,
    "ca-downward-force": MET,  # 2 x 400 x (0.4683 + 0.3912) = 688 >= 0.2 x 2050 = 410
    "ca-aggregate-working-load-limit": NOT_MET,  # 4 x 400 / 2 = 800 < 1025
    "ca-count-short-light": NONE,  # 150 in = 3.81 m
    "ca-count-short-heavy": NONE,
    "ca-count-medium-length": NONE,
    "ca-count-long": MET,  # 3.81 = 3.04 + 0.77: 2 + 1 = 3; has four
    "ca-count-blocked": NONE,
    "ca-front-structure-strength": NONE,
    "ca-tall-front-structure-strength": NONE,
}

BY_LOAD = {IN_ORDER: SIDE_BY_SIDE, REAR_ONLY: AGAINST_THE_RAIL, LIGHT_STRAPS: CREW_SIDE_BY_SIDE}

# The loaded trailers weigh 920 + 1420 = 2340 lb and 1900 + 2050 = 3950 lb, on a 2 in ball.
BY_PROVINCE = {
    "CA-ON": {
        "ca-on-second-attachment": MET,  # two chains beside the hitch
        "ca-on-each-chain-strength": MET,  # 5000 >= 2340 and 11,700 >= 3950 lb
        "ca-on-chains-crossed": MET,
        "ca-on-rear-projection-marked": NONE,  # nothing sticks out
        "ca-on-load-secured": MET,  # answered
    },
    "CA-BC": {
        "ca-tiedowns-undamaged": MET,
        "ca-no-knots": MET,
        "ca-coupling-closed": MET,
        "ca-bc-mirrors-set": MET,
        "ca-bc-lamps-tested": MET,
        "ca-bc-brakes-tested": MET,
    },
    "CA-SK": {
        "ca-sk-smallest-ball": MET,  # 2 >= 1 7/8 in
        "ca-sk-two-inch-ball": MET,  # over 2000 lb: 2 in
        "ca-sk-large-ball": MET,  # not over 5000 lb
        "ca-sk-heaviest-ball-trailer": MET,  # not over 10,000 lb
    },
    "CA-QC": {},
}

# Rated 7,100 + 2,990 = 10,090 lb = 4,577 kg: over 4,500 kg, and not over the 5,000 kg of British
# Columbia.
LIGHT_IN_BC = {IN_ORDER, REAR_ONLY}


def held(books: Rulebooks, load: str, place: str, replaced: Replaced | None = None) -> Check:
    """A bundled load with its trip in another place, and with other text in some fields."""
    profile = read_profile(shipped_folder("profiles") / "loads" / f"{load}.yaml")
    texts = {("trip", "places", 0): place, **(replaced or {})}
    return check(profile.replaced(texts).load(), books, DAY)


def of_law_tables(book: Rulebook) -> bool:
    """Whether the rules are cells of law tables, whose boundaries have tests of their own."""
    return book.id == book.jurisdiction.lower()


def verdicts(done: Check) -> dict[str, str]:
    """Verdicts of the Canadian rulebooks in force on the trip, but those of law tables."""
    return {
        each.rule.id: str(each.verdict)
        for each in done.findings
        if each.rule.id.startswith("ca-")
        and not of_law_tables(each.book)
        and not elsewhere(done, each.rule.id)
    }


def elsewhere(done: Check, rule_id: str) -> bool:
    return any(
        entry.elsewhere and any(rule.id == rule_id for rule in entry.book.rules)
        for entry in done.in_force
    )


@pytest.mark.parametrize("load", BY_LOAD)
@pytest.mark.parametrize("place", BY_PROVINCE)
def test_every_verdict_is_the_one_derived_by_hand(books: Rulebooks, load: str, place: str) -> None:
    standard = {**EVERYWHERE, **BY_LOAD[load]}
    if place == "CA-BC" and load in LIGHT_IN_BC:
        standard = dict.fromkeys(standard, NONE)
    wanted = {**standard, **BY_PROVINCE[place]}
    assert verdicts(held(books, load, place)) == wanted


def test_the_table_names_every_canadian_rule(books: Rulebooks) -> None:
    canadian = {
        rule.id
        for book in books.books
        for rule in book.rules
        if book.jurisdiction.split("-")[0] == "CA" and not of_law_tables(book)
    }
    by_hand = set(EVERYWHERE) | set(SIDE_BY_SIDE)
    by_hand.update(*(set(rules) for rules in BY_PROVINCE.values()))
    assert canadian == by_hand


@pytest.mark.parametrize("place", ["US-CA", "US-UT", "NZ", "GB"])
def test_a_trip_elsewhere_is_not_judged_by_canadian_rules(books: Rulebooks, place: str) -> None:
    """California shares two letters with Canada and nothing else."""
    done = held(books, IN_ORDER, place)
    assert not [each for each in done.findings if each.rule.id.startswith("ca-")]


def test_ontario_asks_of_each_chain_the_weight_and_practice_the_rating(books: Rulebooks) -> None:
    """Each chain of 2400 lb holds the 2340 lb loaded, and not the 2990 lb that may be loaded."""
    chains: Replaced = {("trailer", "safety_chains", "breaking_strength"): "2400 lb"}
    done = held(books, IN_ORDER, "CA-ON", chains)
    assert verdicts(done)["ca-on-each-chain-strength"] == MET
    (rated,) = [each for each in done.findings if each.rule.id == "chain-strength"]
    assert str(rated.verdict) == NOT_MET


@pytest.mark.parametrize(
    ("strength", "wanted"), [("2339 lb", NOT_MET), ("2340 lb", MET), ("2341 lb", MET)]
)
def test_a_chain_as_strong_as_the_loaded_trailer_is_enough(
    books: Rulebooks, strength: str, wanted: str
) -> None:
    chains: Replaced = {("trailer", "safety_chains", "breaking_strength"): strength}
    found = verdicts(held(books, IN_ORDER, "CA-ON", chains))
    assert found["ca-on-each-chain-strength"] == wanted


@pytest.mark.parametrize(
    ("stop", "wanted"),
    [
        ("49.7 mi", MET),  # 49.7 x 1.609344 = 79.98 km
        ("80 km", MET),
        ("49.8 mi", NOT_MET),  # 80.15 km
        ("50 mi", NOT_MET),  # 80.47 km, the distance of US law
    ],
)
def test_fifty_miles_to_the_first_check_are_too_far(
    books: Rulebooks, stop: str, wanted: str
) -> None:
    trip: Replaced = {("trip", "distance"): "90 mi", ("trip", "load_checks", 0): stop}
    assert verdicts(held(books, IN_ORDER, "CA-QC", trip))["ca-first-load-check"] == wanted


@pytest.mark.parametrize(
    ("weight", "wanted"),
    [
        ("9920 lb", MET),  # 9920 x 0.45359237 = 4499.6 kg
        ("9921 lb", NOT_MET),  # 4500.1 kg: each strap of 3333 lb is 1511.8 kg < 2268 kg
        ("10000 lb", NOT_MET),
    ],
)
def test_a_machine_is_heavy_a_little_before_it_is_in_the_united_states(
    books: Rulebooks, weight: str, wanted: str
) -> None:
    found = verdicts(held(books, IN_ORDER, "CA-QC", {("articles", 0, "weight"): weight}))
    assert found["ca-machine-tiedown-strength"] == wanted
    assert found["ca-machine-four-tiedowns"] == MET  # has four


@pytest.mark.parametrize(
    ("rating", "half"),
    # 1420 / 2 = 710 lb; the rail is 24 in high, so the two fifths (568 lb) do not count.
    [("709 lb", NOT_MET), ("710 lb", MET), ("711 lb", MET), ("568 lb", NOT_MET)],
)
def test_a_low_rail_has_to_stand_half_of_what_leans_on_it(
    books: Rulebooks, rating: str, half: str
) -> None:
    rail: Replaced = {("trailer", "front_structure", "rating"): rating}
    found = verdicts(held(books, REAR_ONLY, "CA-QC", rail))
    assert found["ca-front-structure-strength"] == half
    assert found["ca-tall-front-structure-strength"] == MET


@pytest.mark.parametrize(
    ("empty", "two_inches"),
    # 580 + 1420 = 2000 lb, up to which a ball of 1 7/8 in is listed.
    [("580 lb", MET), ("581 lb", NOT_MET)],
)
def test_saskatchewan_asks_for_a_larger_ball_over_a_weight(
    books: Rulebooks, empty: str, two_inches: str
) -> None:
    small: Replaced = {
        ("trailer", "empty_weight"): empty,
        ("tow_vehicle", "ball", "size"): "1 7/8 in",
    }
    found = verdicts(held(books, IN_ORDER, "CA-SK", small))
    assert found["ca-sk-two-inch-ball"] == two_inches
    assert found["ca-sk-smallest-ball"] == MET


@pytest.mark.parametrize(("unmarked", "expected"), [("yes", NOT_MET), ("no", MET), (None, OPEN)])
def test_a_strap_without_a_readable_tag(
    profile: Callable[[str], Load], books: Rulebooks, unmarked: str | None, expected: str
) -> None:
    said = f", unmarked: {unmarked}" if unmarked else ""
    text = (
        "kind: load\narticles: [{}]\ntrip: {places: [CA-MB]}\ntrailer: {gvwr: 5000 kg}\n"
        f"tiedowns: [{{device: webbing{said}}}]\n"
    )
    found = {each.rule.id: str(each.verdict) for each in check(profile(text), books, DAY).findings}
    assert found["ca-tiedown-marked"] == expected


def test_without_a_stated_place_a_canadian_rule_stays_open(
    books: Rulebooks, profile: Callable[[str], Load]
) -> None:
    answer = "kind: load\nwalkaround: {edges_protected: yes}\ntrailer: {gvwr: 5000 kg}\n"
    placed = f"{answer}trip: {{places: [CA-MB]}}\n"
    found = {
        text: {
            each.rule.id: str(each.verdict) for each in check(profile(text), books, DAY).findings
        }
        for text in (answer, placed)
    }
    assert found[answer]["ca-edge-protection"] == OPEN
    assert found[placed]["ca-edge-protection"] == MET
