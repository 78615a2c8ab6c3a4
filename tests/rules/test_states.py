"""State law: whole small loads on trips through the states, and where each book holds.

The threshold cases are those of the towing reference; each names its statute in the file.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import pytest

from checker.documents.jurisdiction_codes import place_name
from checker.evaluation.check import Check
from checker.rulebooks.model import Rulebook, Rulebooks
from checker.rulebooks.selection import select_rulebooks
from checker.rulebooks.verdicts import Verdict
from tests.published import published_cases

CASES = published_cases("towing-cases")

Data = dict[str, Any]
Held = Callable[[Mapping[str, Any]], Check]

MACHINE_LB = 500

PLACES = {
    "California": "US-CA",
    "District of Columbia": "US-DC",
    "Louisiana": "US-LA",
    "Texas": "US-TX",
    "Nebraska": "US-NE",
}

# Brake thresholds by the readings of the states' codes: operator (from this weight on, or above
# it), pounds, and whether every axle needs them.
THRESHOLDS = {
    "US-AK": ("above", 5000, False),
    "US-AL": ("above", 3000, False),
    "US-AR": ("from", 3000, False),
    "US-AZ": ("from", 3000, False),
    "US-CA": ("from", 3000, False),
    "US-CO": ("from", 3000, True),  # C.R.S. 42-4-223(1)(c),(1)(d): all wheels
    "US-CT": ("from", 3000, False),
    "US-DC": ("above", 3000, True),
    "US-DE": ("above", 4000, False),
    "US-GA": ("from", 3000, True),  # O.C.G.A. 40-8-50(d)
    "US-IA": ("from", 3000, False),  # Iowa Code 321.430(3)
    "US-IL": ("above", 3000, False),  # 625 ILCS 5/12-301(a)4
    "US-IN": ("from", 3000, False),
    "US-LA": ("from", 3000, False),
    "US-ME": ("from", 3000, True),
    "US-MI": ("from", 3000, False),
    "US-NC": ("from", 4000, False),
    "US-NM": ("from", 3000, True),  # NMSA 66-3-840(A)(3)
    "US-NV": ("from", 1500, True),
    "US-NY": ("above", 3000, False),
    "US-OK": ("from", 3000, False),
    "US-RI": ("from", 4000, False),  # R.I. Gen. Laws 31-23-4(c)
    "US-TN": ("from", 3000, False),  # Tenn. Code 55-9-204(c)(1)
    "US-TX": ("above", 4500, False),
    "US-VA": ("from", 3000, False),  # Va. Code 46.2-1070
    "US-WI": ("from", 3000, False),  # Trans 305.51
    "US-WV": ("from", 3000, False),
}

# Not by the loaded weight alone: their proofs try the rest.
BY_MORE = {
    *(
        "US-FL",
        "US-PA",
        "US-MD",
        "US-MT",
        "US-NJ",
        "US-NH",
        "US-SC",
        "US-SD",
        "US-VT",
        "US-WA",
    ),  # a share
    *("US-ID", "US-MA", "US-OH"),  # the empty trailer
    *("US-MN", "US-MS"),  # the empty tow vehicle; the load carried
}


def other_book(book: Rulebook) -> bool:
    """Whether it is Hawaii's width by the federal text."""
    return book.id == "us-size-hawaii"


@pytest.fixture(scope="session")
def states(books: Rulebooks) -> dict[str, Rulebook]:
    """The rulebooks of example states by place; Hawaii's width stands in the federal text."""
    return {
        book.jurisdiction: book
        for book in books.books
        if book.jurisdiction.startswith("US-") and not other_book(book)
    }


@pytest.fixture(scope="module")
def of_states(books: Rulebooks) -> Rulebooks:
    """The rulebooks of the states alone."""
    return select_rulebooks(
        books, [book.id for book in books.books if book.jurisdiction.startswith("US-")]
    )


@pytest.fixture
def held(of_states: Rulebooks, held_by: Callable[[Rulebooks], Held]) -> Held:
    """Hold a load given as plain data against the rules of the states."""
    return held_by(of_states)


NONE, FRONT, BOTH = ("no", "no"), ("yes", "no"), ("yes", "yes")
"""Which of the two axles have brakes."""


def loaded(
    gross: float, places: Sequence[str] | None, braked: tuple[str, str] = NONE, **parts: Any
) -> Data:
    """A trailer behind a truck, so heavy with the machine on it."""
    trailer = {
        "coupling": "ball",
        "gvwr": f"{gross} lb",
        "empty_weight": f"{gross - MACHINE_LB} lb",
        "brakes": "none" if braked == NONE else "electric",
        "built": "2015-06-01",
        "axles": {
            "front": {"x": "150 in", "brakes": braked[0]},
            "rear": {"x": "184 in", "brakes": braked[1]},
        },
        **parts.pop("trailer", {}),
    }
    trip = {"speed": "55 mph", "public_road": "yes", **parts.pop("trip", {})}
    if places is not None:
        trip["places"] = list(places)
    return {
        "trailer": trailer,
        "articles": [{"weight": f"{MACHINE_LB} lb"}],
        "trip": trip,
        "carrier": {"personal_and_unpaid": "no"},
        **parts,
    }


def verdict(done: Check, rule_id: str) -> Verdict:
    (found,) = [each for each in done.findings if each.rule.id == rule_id]
    return found.verdict


def judged_by(done: Check, place: str) -> bool:
    """Whether some rule of a state's book was decided."""
    (book,) = [
        each.book
        for each in done.in_force
        if each.book.jurisdiction == place and not other_book(each.book)
    ]
    decided = (Verdict.MET, Verdict.NOT_MET)
    return any(each.verdict in decided for each in done.findings if each.book is book)


# --- the threshold cases of the reference --------------------------------------------------------

STATE_CASES = [
    case["id"]
    for case in CASES.values()
    if case["id"].startswith("tow-brakes-") and case["given"].get("jurisdiction") in PLACES
]


def test_the_cases_of_the_states_are_all_here() -> None:
    assert [f"tow-brakes-{number:02}" for number in range(3, 10)] == STATE_CASES


def brakes_wanted(held: Held, place: str, gross: float, speed: str) -> str:
    """What the state's weight rules say of the same trailer with no, half and all axles braked."""
    ends = (
        "trailer-brakes",
        "commercial-trailer-brakes",
    )
    rules = {f"{place.lower()}-{end}" for end in ends}

    def broken(braked: tuple[str, str]) -> bool:
        done = held(loaded(gross, [place], braked, trip={"speed": speed}))
        verdicts = [each.verdict for each in done.findings if each.rule.id in rules]
        assert verdicts
        assert Verdict.NOT_STATED not in verdicts
        return Verdict.NOT_MET in verdicts

    assert not broken(BOTH)
    if not broken(NONE):
        return "not required"
    return "each wheel" if broken(FRONT) else "required"


# The District of Columbia asks for all wheels too; its case says no more than that brakes are
# required.
ANSWERS = {"required": ("required", "each wheel"), "each wheel": ("each wheel",)}

DEPARTURES = {
    # Neb. Rev. Stat. 60-6,246(2) asks it of cabin trailers and of trailers that carry a boat, from
    # 6,500 lb; a trailer that carries a machine is neither. 60-6,246(1) with 60-317 asks it of
    # property trailers over 9,000 lb.
    "tow-brakes-09": "not required",
}
"""What the rules answer where a case is of trailers that they leave out."""


@pytest.mark.parametrize("case_id", STATE_CASES)
def test_published_threshold(held: Held, case_id: str) -> None:
    given, expect = CASES[case_id]["given"], CASES[case_id]["expect"]["brakes"]
    assert DEPARTURES.get(case_id) != expect
    expect = DEPARTURES.get(case_id, expect)
    gross = float(given["trailer_gross_weight"].removesuffix(" lb"))
    place = PLACES[given["jurisdiction"]]
    found = brakes_wanted(held, place, gross, given.get("speed", "55 mph"))
    assert found in ANSWERS.get(expect, (expect,))


# --- every threshold, at, just below and just above ----------------------------------------------


@pytest.mark.parametrize("place", THRESHOLDS)
def test_unbraked_trailer_about_the_threshold(held: Held, place: str) -> None:
    operator, pounds, _ = THRESHOLDS[place]
    rule = f"{place.lower()}-trailer-brakes"
    found = [verdict(held(loaded(pounds + more, [place])), rule) for more in (-1, 0, 1)]
    at = Verdict.NOT_MET if operator == "from" else Verdict.MET
    assert found == [Verdict.MET, at, Verdict.NOT_MET]


@pytest.mark.parametrize("place", THRESHOLDS)
def test_brakes_on_one_axle_of_two(held: Held, place: str) -> None:
    _, pounds, every = THRESHOLDS[place]
    done = held(loaded(pounds + 1, [place], FRONT))
    met = Verdict.NOT_MET if every else Verdict.MET
    assert verdict(done, f"{place.lower()}-trailer-brakes") is met


@pytest.mark.parametrize("place", THRESHOLDS)
def test_weight_not_stated_leaves_the_brakes_undecided(held: Held, place: str) -> None:
    trip = {"places": [place], "speed": "55 mph"}
    carrier = {"personal_and_unpaid": "no"}
    done = held({"trailer": {"brakes": "none"}, "trip": trip, "carrier": carrier})
    assert verdict(done, f"{place.lower()}-trailer-brakes") is Verdict.NOT_STATED


def test_every_weight_threshold_of_the_states_is_tried(states: Mapping[str, Rulebook]) -> None:
    with_rule = {
        place
        for place, book in states.items()
        if f"us-{place[3:].lower()}-trailer-brakes" in [rule.id for rule in book.rules]
    }
    assert with_rule == set(THRESHOLDS) | BY_MORE
    assert len(states) >= 10


# --- states with more than a weight ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("gross", "speed", "wanted"),
    [
        # Transp. Code 547.402 with the DPS page: none to 4,500 lb, nor to 15,000 lb at 30 mph.
        (4500, 55, False),
        (4501, 55, True),
        (4501, 30, False),
        (4501, 31, True),
        (15000, 30, False),
        (15001, 30, True),
    ],
)
def test_texas_weighs_and_clocks(held: Held, gross: float, speed: float, wanted: bool) -> None:
    done = held(loaded(gross, ["US-TX"], trip={"speed": f"{speed} mph"}))
    found = [verdict(done, f"us-tx-{each}brakes") for each in ("trailer-", "heavy-trailer-")]
    assert (Verdict.NOT_MET in found) == wanted
    assert Verdict.NOT_STATED not in found


@pytest.mark.parametrize(("gross", "met"), [(14999, True), (15000, True), (15001, False)])
def test_texas_allows_surge_brakes_to_15000_lb(held: Held, gross: float, *, met: bool) -> None:
    done = held(loaded(gross, ["US-TX"], BOTH, trailer={"brakes": "surge"}))
    assert verdict(done, "us-tx-surge-brakes") is (Verdict.MET if met else Verdict.NOT_MET)


@pytest.mark.parametrize(("minutes", "met"), [(14.9, False), (15, True), (15.1, True)])
@pytest.mark.parametrize(
    ("place", "gross"),
    # Cal. Veh. Code 26302 to 26304 from 3,000 lb on; 18 DCMR 721 above it.
    [("US-CA", 3000), ("US-DC", 3001)],
)
def test_breakaway_holds_fifteen_minutes(
    held: Held, place: str, gross: float, minutes: float, *, met: bool
) -> None:
    device = {"breakaway_fitted": "yes", "breakaway_hold_time": f"{minutes} min"}
    done = held(loaded(gross, [place], BOTH, trailer=device))
    rule = f"{place.lower()}-breakaway-hold-time"
    assert verdict(done, rule) is (Verdict.MET if met else Verdict.NOT_MET)


@pytest.mark.parametrize(
    ("gross", "fitted", "expected"),
    [
        # La. R.S. 32:341: from 3,000 lb on, by themselves at a breakaway.
        (2999, "no", Verdict.MET),
        (3000, "no", Verdict.NOT_MET),
        (3000, "yes", Verdict.MET),
    ],
)
def test_louisiana_wants_a_breakaway_device(
    held: Held, gross: float, fitted: str, expected: Verdict
) -> None:
    done = held(loaded(gross, ["US-LA"], BOTH, trailer={"breakaway_fitted": fitted}))
    assert verdict(done, "us-la-breakaway") is expected


@pytest.mark.parametrize(
    ("gross", "strength", "met"),
    [
        # tow-coupling-11, 13 and 12 of the reference: 1,500 lb wants 2,000 lbf, 3,000 lb 3,500
        # lbf, 7,200 lb its own weight; class 3 wants 5,000 lbf (T-35).
        (1500, 1999, False),
        (1500, 2000, True),
        (3000, 3499, False),
        (3000, 3500, True),
        (4500, 4999, False),
        (4500, 5000, True),
        (7200, 7199, False),
        (7200, 7200, True),
    ],
)
def test_washington_chains_by_class(
    held: Held, gross: float, strength: float, *, met: bool
) -> None:
    chains = {"safety_chains": {"count": 2, "breaking_strength": f"{strength} lbf"}}
    done = held(loaded(gross, ["US-WA"], trailer=chains))
    found = [verdict(done, f"us-wa-chain-strength-class-{number}") for number in (1, 2, 3, 4)]
    assert found.count(Verdict.DOES_NOT_APPLY) == 3
    assert found.count(Verdict.MET if met else Verdict.NOT_MET) == 1


def test_washington_asks_how_the_chains_are_hooked(held: Held) -> None:
    """WAC 204-70-070: two, even, apart from the coupling, equally slack, crossed."""
    answers = {
        "us-wa-chains-even": "chains_even_about_centre",
        "us-wa-chains-apart-from-coupling": "chains_apart_from_coupling",
        "us-wa-chain-slack": "chains_slack_right",
        "us-wa-chains-crossed": "chains_crossed",
    }
    for wrong in answers:
        walked = {field: "no" if rule == wrong else "yes" for rule, field in answers.items()}
        done = held(loaded(2000, ["US-WA"], walkaround=walked))
        broken = [rule for rule in answers if verdict(done, rule) is Verdict.NOT_MET]
        assert broken == [wrong]


@pytest.mark.parametrize(("count", "met"), [(1, False), (2, True), (3, True)])
@pytest.mark.parametrize("place", ["US-WA", "US-NE"])
def test_two_safety_chains(held: Held, place: str, count: int, *, met: bool) -> None:
    done = held(loaded(2000, [place], trailer={"safety_chains": {"count": count}}))
    rule = f"{place.lower()}-two-safety-chains"
    assert verdict(done, rule) is (Verdict.MET if met else Verdict.NOT_MET)


@pytest.mark.parametrize(("rating", "met"), [(599, False), (600, True), (601, True)])
def test_washington_tongue_weight_within_the_hitch(held: Held, rating: float, *, met: bool) -> None:
    """By hand: 400 lb of the empty trailer, and 500 lb at 90 in of 150 in: 500 x 60 / 150 = 200."""
    machine = {
        "weight": "500 lb",
        "cg": {"x": "40 in"},
        "placed": {"x": "50 in", "facing": "forward"},
    }
    single = {
        "empty_tongue_weight": "400 lb",
        "suspension": "single",
        "axles": {"only": {"x": "150 in"}},
    }
    done = held(
        loaded(2500, ["US-WA"], trailer=single)
        | {
            "articles": [machine],
            "tow_vehicle": {
                "receiver": {"rating": "5000 lb", "tongue_rating": f"{rating} lb"},
                "front_restoration": "none",
            },
        }
    )
    assert verdict(done, "us-wa-tongue-rating") is (Verdict.MET if met else Verdict.NOT_MET)


@pytest.mark.parametrize(
    ("gvwr", "personal", "expected"),
    [
        # Neb. Rev. Stat. 60-6,246(1), 60-317: over 9,000 lb, whoever owns it, each wheel.
        (9000, "no", Verdict.MET),
        (9001, "no", Verdict.NOT_MET),
        (9001, "yes", Verdict.NOT_MET),
    ],
)
def test_nebraska_commercial_trailer(
    held: Held, gvwr: float, personal: str, expected: Verdict
) -> None:
    carrier = {"personal_and_unpaid": personal}
    done = held(loaded(gvwr, ["US-NE"], carrier=carrier, trailer={"full_trailer": "no"}))
    assert verdict(done, "us-ne-commercial-trailer-brakes") is expected


@pytest.mark.parametrize(
    ("class_rule", "rating", "size", "met"),
    [
        # COMAR 11.13.08.10 Table 1: class 1 1-7/8 in, classes 2 and 3 2 in, class 4 its own.
        ("class-1", 2000, "1 7/8 in", True),
        ("class-1", 2000, "2 in", False),
        ("class-2-and-3", 3500, "2 in", True),
        ("class-2-and-3", 2001, "1 7/8 in", False),
        ("class-2-and-3", 5000, "2 5/16 in", False),
        ("class-2-and-3", 5001, "2 5/16 in", True),
    ],
)
def test_maryland_ball_size_by_class(
    held: Held, class_rule: str, rating: float, size: str, *, met: bool
) -> None:
    coupler = {"coupler": {"rating": f"{rating} lb", "size": size}}
    done = held(loaded(2000, ["US-MD"], trailer=coupler))
    rule = f"us-md-coupler-size-{class_rule}"
    assert verdict(done, rule) is (Verdict.MET if met else Verdict.NOT_MET)


@pytest.mark.parametrize(
    ("gross", "braked", "fitted", "met"),
    [
        (900, NONE, "no", True),  # to 3,000 lb, 40 % of 9,000 lb is 3,600 lb
        (3001, NONE, "no", False),
        (3001, BOTH, "no", False),
        (3001, BOTH, "yes", True),
    ],
)
def test_new_jersey_wants_a_breakaway_device(
    held: Held, gross: float, braked: tuple[str, str], fitted: str, *, met: bool
) -> None:
    tow = {"front_axle_weight": "4000 lb", "rear_axle_weight": "5000 lb"}
    trailer = {"breakaway_fitted": fitted}
    done = held(loaded(gross, ["US-NJ"], braked, trailer=trailer, tow_vehicle=tow))
    assert verdict(done, "us-nj-breakaway") is (Verdict.MET if met else Verdict.NOT_MET)


@pytest.mark.parametrize(
    ("speed", "braked", "hooked", "expected"),
    [
        # N.D.C.C. 39-21-44.2: chains always; neither brakes nor a slow trip replace them.
        (25, NONE, "no", Verdict.NOT_MET),
        (55, NONE, "yes", Verdict.MET),
        (55, BOTH, "no", Verdict.NOT_MET),
    ],
)
def test_north_dakota_wants_safety_chains(
    held: Held, speed: float, braked: tuple[str, str], hooked: str, expected: Verdict
) -> None:
    chains = {"safety_chains": {"count": 2}}
    data = loaded(900, ["US-ND"], braked, trailer=chains, trip={"speed": f"{speed} mph"})
    done = held({**data, "walkaround": {"chains_connected": hooked}})
    assert verdict(done, "us-nd-safety-chains") is expected


# --- where a book holds ---------------------------------------------------------------------------


def test_a_trip_through_two_states_is_judged_by_both(held: Held) -> None:
    """3,000 lb without brakes: California asks from there on, the District above it."""
    done = held(loaded(3000, ["US-CA", "US-DC"]))
    assert judged_by(done, "US-CA")
    assert judged_by(done, "US-DC")
    assert not judged_by(done, "US-LA")
    assert verdict(done, "us-ca-trailer-brakes") is Verdict.NOT_MET
    assert verdict(done, "us-dc-trailer-brakes") is Verdict.MET


@pytest.mark.parametrize("places", [["US-PR"], ["CA"], ["DE"], ["CA-AB", "GB"]])
def test_a_trip_elsewhere_is_judged_by_no_state(
    held: Held, states: Mapping[str, Rulebook], places: list[str]
) -> None:
    """CA and DE are Canada and Germany there, not California and Delaware."""
    done = held(loaded(16000, places))
    for place, book in states.items():
        assert not [each for each in done.findings if each.book is book], place
        (scope,) = [each for each in done.in_force if each.book is book]
        assert scope.because == f"the trip does not touch {place}"


@pytest.mark.parametrize("places", [None, ["US"], ["US", "GB"]])
def test_places_not_stated_leave_every_state_undecided(
    held: Held, states: Mapping[str, Rulebook], places: list[str] | None
) -> None:
    """A trip said to touch the United States may go through any of its states."""
    done = held(loaded(16000, places))
    scopes = [each.verdict for each in done.in_force if each.book in states.values()]
    assert set(scopes) == {Verdict.NOT_STATED}
    assert not any(judged_by(done, place) for place in states)


# --- what the books say of themselves -------------------------------------------------------------


def test_every_book_is_called_by_its_place(states: Mapping[str, Rulebook]) -> None:
    for place, book in states.items():
        assert book.title == place_name(place)


def test_what_was_not_read_in_the_statute_holds_no_load(states: Mapping[str, Rulebook]) -> None:
    """A must rests on text seen; a figure from a digest or a restatement is advice."""
    musts = set()
    for place, book in states.items():
        for rule in book.rules:
            citations = [rule.citation]
            citations += [each.citation for own in rule.thresholds.values() for each in own.values]
            read = {each.source.read_as for each in citations if each.source}
            if rule.level == "must":
                musts.add(place)
                assert read == {"text seen"}, rule.id
    assert musts == set(states)  # each has a law on loads, licences or sizes that was read


def test_a_digest_is_told_to_be_opened(states: Mapping[str, Rulebook]) -> None:
    for book in states.values():
        for rule in book.rules:
            if rule.citation.source and rule.citation.source.read_as != "text seen":
                assert "open the statute itself" in rule.because, rule.id


def test_places_and_ids_agree(states: Mapping[str, Rulebook]) -> None:
    for place, book in states.items():
        assert book.id == place.lower()
        assert all(rule.id.startswith(f"{book.id}-") for rule in book.rules), place
