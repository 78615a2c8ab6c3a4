"""What single states ask of coupling, load, size and speed: whole loads at the edges of their law.

The cases are those of a reading of the codes; each names its section.
"""

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from checker.evaluation.check import Check
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict

Data = dict[str, Any]
Held = Callable[[Mapping[str, Any]], Check]

MET, NOT_MET, NO = Verdict.MET, Verdict.NOT_MET, Verdict.DOES_NOT_APPLY


def verdict(held: Held, place: str, rule_id: str, data: Data) -> Verdict:
    trip = {"places": [place], "public_road": "yes", "lamps_required": "no", **data.get("trip", {})}
    done = held({**data, "trip": trip})
    (found,) = [each for each in done.findings if each.rule.id == rule_id]
    return found.verdict


def sticking_out(feet: float) -> Data:
    """A load of which so much stands behind the deck."""
    return {
        "trailer": {"deck": {"front": "10 in", "rear": "100 in"}},
        "articles": [{"length": f"{feet + 2} ft", "placed": {"x": "76 in", "facing": "forward"}}],
        "walkaround": {"flags_fitted": "no"},
    }


@pytest.mark.parametrize(
    ("place", "feet", "expected"),
    [
        ("CO", 4, NOT_MET),  # C.R.S. 42-4-209: exactly 4 ft is caught
        ("HI", 4, NOT_MET),  # HRS 291-28
        ("AR", 3.99, MET),  # Ark. Code 27-37-204
        ("FL", 4, MET),  # Fla. Stat. 316.228(1): over 4 ft
        ("FL", 4.01, NOT_MET),
        ("CT", 4.01, NOT_MET),  # Conn. Gen. Stat. 14-96k
        ("TX", 4.01, NOT_MET),  # Tex. Transp. Code 547.382(b)
    ],
)
def test_a_long_load_is_flagged_from_or_over_four_feet(
    held: Held, place: str, feet: float, expected: Verdict
) -> None:
    found = verdict(held, f"US-{place}", f"us-{place.lower()}-rear-flag", sticking_out(feet))
    assert found is expected


@pytest.mark.parametrize(
    ("place", "coupling", "chains", "expected"),
    [
        ("CO", "gooseneck", 0, NOT_MET),  # C.R.S. 42-4-506(3): only a proper fifth wheel is free
        ("CO", "fifth wheel", 0, NO),
        ("MO", "gooseneck", 0, NO),  # Mo. Rev. Stat. 307.170(6): a ball over the axle is free
        ("MO", "fifth wheel", 0, NOT_MET),  # ... and a fifth wheel is not named
        ("FL", "ball", 1, MET),  # Fla. Stat. 316.530(2)
        ("FL", "ball", 0, NOT_MET),
        ("WA", "gooseneck", 0, NOT_MET),  # RCW 46.37.495: every trailer
        ("MD", "ball", 1, MET),  # COMAR 11.13.08.06: one on the centre line
    ],
)
def test_which_couplings_need_chains(
    held: Held, place: str, coupling: str, chains: int, expected: Verdict
) -> None:
    data: Data = {
        "trailer": {
            "coupling": coupling,
            "gvwr": "7000 lb",
            "empty_weight": "2000 lb",
            "safety_chains": {"count": chains},
        },
        "articles": [{"weight": "1000 lb"}],
        "walkaround": {"chains_connected": "yes" if chains else "no"},
    }
    rule = "us-wa-two-safety-chains" if place == "WA" else f"us-{place.lower()}-safety-chains"
    assert verdict(held, f"US-{place}", rule, data) is expected


@pytest.mark.parametrize(
    ("place", "mph", "expected"),
    [("CA", 55, MET), ("CA", 56, NOT_MET), ("WA", 60, MET), ("WA", 61, NOT_MET)],
)
def test_the_speed_with_a_trailer(held: Held, place: str, mph: int, expected: Verdict) -> None:
    """Cal. Veh. Code 22406; RCW 46.61.410(2)."""
    data: Data = {"trip": {"speed": f"{mph} mph"}}
    assert verdict(held, f"US-{place}", f"us-{place.lower()}-towing-speed", data) is expected


@pytest.mark.parametrize(
    ("gvwr", "stamped", "expected"),
    [("2000 lb", 1, MET), ("2001 lb", 1, NOT_MET), ("7000 lb", 3, NOT_MET), ("7000 lb", 4, MET)],
)
def test_the_class_of_a_coupler(held: Held, gvwr: str, stamped: int, expected: Verdict) -> None:
    """COMAR 11.13.08.04: at least the class of the trailer."""
    data: Data = {
        "trailer": {"coupling": "ball", "gvwr": gvwr, "coupler": {"class_number": stamped}}
    }
    assert verdict(held, "US-MD", "us-md-coupler-class", data) is expected


@pytest.mark.parametrize(
    ("place", "rule", "trailer", "truck", "expected"),
    [
        ("CA", "licence", 10000, 10000, MET),  # Cal. Veh. Code 12804.9: over 10,000 lb
        ("CA", "licence", 10001, 10000, NOT_MET),
        ("TX", "licence", 12000, 14001, NOT_MET),  # 521.081: 26,001 lb together
        ("TX", "licence", 12000, 14000, MET),
        ("FL", "licence", 10000, 20000, MET),  # 322.54(2): towed over 10,000 lb
        ("FL", "licence", 10001, 16000, NOT_MET),
        # Utah Code 53-3-102(4): 26,001 lb together, whatever the trailer.
        ("UT", "licence-for-a-light-trailer", 9000, 17001, NOT_MET),
        ("UT", "licence-for-a-light-trailer", 9000, 17000, MET),
        ("UT", "licence", 9000, 17001, MET),
    ],
)
def test_private_hauls_need_a_licence_too(
    held: Held, place: str, rule: str, trailer: int, truck: int, expected: Verdict
) -> None:
    data: Data = {
        "carrier": {"personal_and_unpaid": "yes"},
        "driver": {"licence": "ordinary"},
        "trailer": {"gvwr": f"{trailer} lb", "empty_weight": "2000 lb"},
        "tow_vehicle": {
            "gvwr": f"{truck} lb",
            "front_axle_weight": "3000 lb",
            "rear_axle_weight": "3000 lb",
            "gcwr": "20000 lb",
            "gcwr_on_label": "no",
        },
        "articles": [{"weight": "1000 lb"}],
    }
    assert verdict(held, f"US-{place}", f"us-{place.lower()}-{rule}", data) is expected


@pytest.mark.parametrize(
    "rule_id",
    [
        # 29-A M.R.S. 2396(2): or so loaded that no part falls; MCL 257.720(3): or covered.
        "us-me-load-fastened",
        "us-mi-load-fastened",
        # N.C.G.S. 20-120: an open flat truck with a piled load.
        "us-nc-load-fastened",
        # 23 V.S.A. 1454: no hazard.
        "us-vt-load-fastened",
        "us-ct-combination-length",  # Conn. Gen. Stat. 14-262(a)(2): not the commercial ones
    ],
)
def test_a_text_that_leaves_a_way_out_only_advises(books: Rulebooks, rule_id: str) -> None:
    (found,) = [rule for book in books.books for rule in book.rules if rule.id == rule_id]
    assert found.level == "should"


@pytest.mark.parametrize(
    ("place", "subject"),
    [
        ("TX", "load securement"),  # a bill of 2025 whose fate was not seen
        # 92 Ill. Adm. Code 1030.30: class C from 16,001 lb of one vehicle.
        ("IL", "driver licence"),
        ("TX", "driver licence"),  # Tex. Transp. Code 521.082: class B over 26,000 lb
        ("NY", "driver licence"),  # N.Y. VTL 501(2)(a): class D to 26,000 lb of the truck
        ("GA", "driver licence"),  # O.C.G.A. 40-5-23(c): class F from 26,001 lb
        # Ark. Code 27-51-201: lower for trucks of 1.5 tons; Idaho Code 49-654(2): five axles.
        ("AR", "towing speed"),
        ("ID", "towing speed"),
        ("RI", "height and length"),  # R.I. Gen. Laws 31-25-6: the copy was cut
        ("MI", "safety chains"),  # MCL 257.721 sends a fifth wheel on
        ("WI", "trailer brakes"),  # Wis. Stat. 348.10(4): more than the empty tow vehicle
        ("DC", "driver licence"),  # 18 DCMR 1305 and D.C. Code 50-401(3) differ on commerce
        ("AR", "driver licence"),  # Ark. Code 27-23-111: who is bound was not read
    ],
)
def test_what_no_rule_checks_leaves_its_subject_open(
    books: Rulebooks, place: str, subject: str
) -> None:
    (found,) = [book for book in books.books if book.id == f"us-{place.lower()}"]
    assert subject not in found.subjects


@pytest.mark.parametrize(("gvwr", "gross", "expected"), [(5000, 6000, MET), (5001, 3000, NOT_MET)])
def test_alaska_goes_by_the_rating(held: Held, gvwr: int, gross: int, expected: Verdict) -> None:
    """13 AAC 04.205(d): a rating of the towed vehicle, 5,000 lb by the digests."""
    data: Data = {
        "trailer": {
            "gvwr": f"{gvwr} lb",
            "empty_weight": f"{gross - 1000} lb",
            "brakes": "none",
            "axles": {"only": {"x": "150 in", "brakes": "no"}},
        },
        "articles": [{"weight": "1000 lb"}],
    }
    assert verdict(held, "US-AK", "us-ak-trailer-brakes", data) is expected


@pytest.mark.parametrize(("gross", "expected"), [(3000, MET), (3001, NOT_MET)])
def test_illinois_frees_surge_brakes_of_boat_trailers_alone(
    held: Held, gross: int, expected: Verdict
) -> None:
    """625 ILCS 5/12-301(a)4 and 4.1: over 3,000 lb worked from the cab."""
    data: Data = {
        "trailer": {"gvwr": "7000 lb", "empty_weight": f"{gross - 1000} lb", "brakes": "surge"},
        "articles": [{"weight": "1000 lb"}],
    }
    assert verdict(held, "US-IL", "us-il-surge-brakes", data) is expected


def test_a_paraphrase_of_the_californian_breakaway_section_only_advises(books: Rulebooks) -> None:
    """Cal. Veh. Code 26304(a), read in a secondary copy."""
    (book,) = [each for each in books.books if each.id == "us-ca"]
    (found,) = [rule for rule in book.rules if rule.id == "us-ca-breakaway-hold-time"]
    assert found.level == "should"
    assert "breakaway" not in book.subjects


@pytest.mark.parametrize(
    ("place", "feet", "expected"),
    [("MN", 45, MET), ("MN", 46, NOT_MET), ("MD", 36, NOT_MET), ("WI", 48, MET)],
)
def test_the_length_of_one_trailer(held: Held, place: str, feet: int, expected: Verdict) -> None:
    """Minn. Stat. 169.81, a trooper column; a digest of Maryland law; Wis. Stat. 348.07(2)."""
    data: Data = {"trailer": {"overall_length": f"{feet} ft"}}
    rule = f"us-{place.lower()}-trailer-length"
    assert verdict(held, f"US-{place}", rule, data) is expected


@pytest.mark.parametrize(
    ("inches", "rule", "expected"),
    [
        # Mo. Rev. Stat. 304.170(2): 14 ft on interstates and designated routes, else 13.5 ft.
        (168, "us-mo-height", MET),
        (169, "us-mo-height", NOT_MET),
        (162, "us-mo-height-on-other-roads", MET),
        (163, "us-mo-height-on-other-roads", NOT_MET),
        # N.C.G.S. 20-116(c): 14 ft by the act of 2024, 13 ft 6 in in older copies.
        (168, "us-nc-height", MET),
        (163, "us-nc-height-in-older-copies", NOT_MET),
    ],
)
def test_heights_that_go_by_the_road(held: Held, inches: int, rule: str, expected: Verdict) -> None:
    data: Data = {
        "trailer": {"deck": {"height": "20 in"}},
        "articles": [{"height": f"{inches - 20} in"}],
        "trip": {"over_height_permit": "no"},
    }
    assert verdict(held, f"US-{rule[3:5].upper()}", rule, data) is expected


def test_a_red_flag_is_advised_which_every_state_takes(books: Rulebooks) -> None:
    """C.R.S. 42-4-209, Tex. Transp. Code 547.382(b) and more ask red; none asks orange alone."""
    rules = [rule for book in books.books for rule in book.rules if rule.id.endswith("-rear-flag")]
    assert rules
    assert not [rule.id for rule in rules if "orange" in rule.text.fix]
