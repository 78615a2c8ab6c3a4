"""Every worked case of the US federal reference that the shipped rules and facts can answer.

Each case names the origin of its expected values (`source`, `cite`, `kind` in the file). Cases
that give weights, lengths or tiedowns become small loads, so that facts and rules are tried
together; the few whose facts no load can have are put to the rule by hand.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

import pytest

from checker.evaluation.check import Check
from checker.evaluation.dated_rule import evaluate_case
from checker.evaluation.finding import Finding
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.selection import select_rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import NOT_STATED
from tests.published import published_cases

LB = 4.4482216152605  # N, exact
KG = 9.80665  # N, weight of a kilogram in standard gravity
FT = 0.3048  # m, exact

CASES = published_cases("us-cases")

Given = Mapping[str, Any]
Answers = dict[str, Any]
Data = dict[str, Any]
Held = Callable[[Mapping[str, Any]], Check]


class Bench:
    """The shipped rules, to put one load after another to."""

    def __init__(self, held: Held, books: Rulebooks) -> None:
        self.books = books
        self.held = held
        self.day = date(2026, 6, 1)

    def check(self, **parts: Any) -> Check:
        """A check of a load of a carrier that follows the federal rules on a US road."""
        trip = {"places": ["US-UT"], "public_road": "yes", **parts.pop("trip", {})}
        bound = {"follows_federal_rules": "yes", "personal_and_unpaid": "no"}
        carrier = parts.pop("carrier", bound)
        return self.held({"carrier": carrier, "trip": trip, **parts})

    def in_force(self, **parts: Any) -> Verdict:
        """Whether the federal securement rules bind the load."""
        done = self.check(**parts)
        (found,) = [each for each in done.in_force if each.book.id == "us-federal-securement"]
        return found.verdict

    def by_hand(self, rule_id: str, facts: Mapping[str, float]) -> Verdict:
        """Put facts to one rule; what is not given is not stated."""
        found = self.books.rule(rule_id)
        assert found is not None
        _, rule = found
        assert set(facts) <= set(rule.facts)
        every = {name: facts.get(name, NOT_STATED) for name in rule.facts}
        return evaluate_case(rule, every, self.day).verdict


def finding(done: Check, rule_id: str) -> Finding:
    (found,) = [each for each in done.findings if each.rule.id == rule_id]
    return found


def verdict(done: Check, rule_id: str) -> Verdict:
    return finding(done, rule_id).verdict


def passes(done: Check, *rule_ids: str) -> bool:
    """Whether all the rules are met; every one has to have been decided."""
    verdicts = [verdict(done, rule_id) for rule_id in rule_ids]
    assert set(verdicts) <= {Verdict.MET, Verdict.NOT_MET}, verdicts
    return Verdict.NOT_MET not in verdicts


def fact(done: Check, name: str, index: int = 0) -> float:
    """A fact of the load, or of its first article or tiedown."""
    each = name.split(".")[0]
    subject = None
    if each in ("article", "tiedown"):
        subject = done.facts.subjects("article" if each == "article" else "tiedown")[index]
    return float(done.facts.value(name, subject))


def shown(done: Check, rule_id: str, label: str) -> float:
    """The figure a rule shows beside its verdict."""
    (found,) = [each for each in finding(done, rule_id).shows if each.label == label]
    return found.value


def least(counts: Sequence[int], met: Callable[[int], bool]) -> int:
    """The smallest count that will do; every larger one has to do as well."""
    enough = [count for count in counts if met(count)]
    assert enough == list(range(enough[0], counts[-1] + 1))
    return enough[0]


def tiedown(limit: str, **parts: Any) -> Data:
    """A tiedown whose strap, hooks and tensioner are all good for the same."""
    return {
        "device": "webbing",
        "marked_working_load_limit": limit,
        "hooks_working_load_limit": limit,
        "tensioner_working_load_limit": limit,
        **parts,
    }


FRAME = {"frame": {"working_load_limit": "no rating exists"}}


def article(weight_lb: float, **parts: Any) -> Data:
    """An article with a frame to hook to, unless the parts say which points it has."""
    plain = {"fully_contained": "no", "special_methods": "no", "attachments": FRAME}
    return {"weight": f"{weight_lb} lb", **plain, **parts}


# --- 393.110: how many tiedowns -----------------------------------------------------------------

COUNT_RULES = (
    "us-count-short-light",
    "us-count-short-heavy",
    "us-count-up-to-ten-feet",
    "us-count-over-ten-feet",
    "us-count-blocked",
)


def yes_no(answer: bool) -> str:
    return "yes" if answer else "no"


def count_verdicts(bench: Bench, cargo: Data, tiedowns: int) -> set[Verdict]:
    done = bench.check(articles=[cargo], tiedowns=[tiedown("9000 lb")] * tiedowns)
    return {verdict(done, rule_id) for rule_id in COUNT_RULES}


def least_tiedowns(bench: Bench, cargo: Data) -> int:
    """Fewest tiedowns with which the count rules are content; one of them has to apply."""

    def met(tiedowns: int) -> bool:
        verdicts = count_verdicts(bench, cargo, tiedowns)
        assert Verdict.NOT_STATED not in verdicts
        assert verdicts != {Verdict.DOES_NOT_APPLY}
        return Verdict.NOT_MET not in verdicts

    return least(range(8), met)


def blocked(given: Given) -> Data:
    return {"blocking": {"forward": yes_no(given["forward_blocked"])}}


def counted(bench: Bench, given: Given) -> Answers:
    assert not given.get("special_methods")
    length = f"{given['length_ft']} ft"
    cargo = article(given["weight_lb"], length=length, **blocked(given))
    return {"min_tiedowns": least_tiedowns(bench, cargo)}


def counted_in_metres(bench: Bench, given: Given) -> Answers:
    """The same article measured in feet and in metres; the program reports the metric count."""
    metres = given["length_m"]
    inches = article(given["weight_kg"] * KG / LB, length=f"{metres / FT!r} ft", **blocked(given))
    metric = {**inches, "length": f"{metres} m", "weight": f"{given['weight_kg']} kg"}
    by_feet, by_metres = least_tiedowns(bench, inches), least_tiedowns(bench, metric)
    return {
        "by_feet": by_feet,
        "by_metres": by_metres,
        "unit_gap": by_feet != by_metres,
        "report": by_metres,
    }


def special_methods(bench: Bench, given: Given) -> Answers:
    cargo = article(
        given["weight_lb"],
        length=f"{given['length_ft']} ft",
        special_methods="yes",
        **blocked(given),
    )
    done = bench.check(articles=[cargo], tiedowns=[])
    fastened = verdict(done, "us-special-methods-fastened")
    return {
        "count_rules_apply": count_verdicts(bench, cargo, 0) != {Verdict.DOES_NOT_APPLY},
        "still_required": {
            Verdict.NOT_STATED: "securely and adequately fastened",
            Verdict.DOES_NOT_APPLY: "nothing",
        }[fastened],
        "aggregate_test_applies": verdict(done, AGGREGATE) is not Verdict.DOES_NOT_APPLY,
        "needed_aggregate_wll_lb": shown(done, AGGREGATE, "half the weight") / LB,
    }


# --- 393.106: working load limits together ------------------------------------------------------

AGGREGATE = "us-aggregate-working-load-limit"
PATHS = {"direct": "direct", "same_side": "same side", "other_side": "other side"}
STRONG_ANCHOR = {"ring": {"working_load_limit": "90000 lb"}}
OTHER_END = {
    "direct": {"attachment": "frame"},
    "same side": {"far_anchor": "ring"},
    "other side": {"far_anchor": "ring"},
}


def tied(bench: Bench, weight_lb: float, tiedowns: list[Data]) -> Check:
    return bench.check(
        trailer={"anchors": STRONG_ANCHOR},
        articles=[article(weight_lb)],
        tiedowns=[{"anchor": "ring", **OTHER_END[each["path"]], **each} for each in tiedowns],
    )


def aggregate(bench: Bench, given: Given) -> Answers:
    tiedowns = [
        tiedown(f"{each['wll_lb']} lb", path=PATHS[each["path"]])
        for each in given["tiedowns"]
        for _ in range(each["count"])
    ]
    done = tied(bench, given["weight_lb"], tiedowns)
    return {
        "aggregate_wll_lb": fact(done, "article.aggregate_working_load_limit") / LB,
        "needed_lb": shown(done, AGGREGATE, "half the weight") / LB,
        "passes": passes(done, AGGREGATE),
    }


def aggregate_beside_grade_70(bench: Bench, given: Given) -> Answers:
    """5/16 in chain: grade 80 is printed at 4,500 lb and grade 70 at 4,700 lb."""
    parts = {"hooks_working_load_limit": "9000 lb", "tensioner_working_load_limit": "9000 lb"}
    chain = {"device": "chain", "size": "5/16 in", "unmarked": "yes", "path": "direct", **parts}
    (stated,) = given["tiedowns"]
    limits, verdicts = {}, {}
    for grade in ("80", "70"):
        done = tied(bench, given["weight_lb"], [{**chain, "grade": grade}] * stated["count"])
        limits[grade] = fact(done, "tiedown.working_load_limit") / LB
        verdicts[grade] = passes(done, AGGREGATE)
    assert limits["80"] == pytest.approx(stated["wll_lb"])
    return {**aggregate(bench, given), "same_with_grade_70_passes": verdicts["70"]}


def small_tractor(bench: Bench, given: Given) -> Answers:
    cargo = article(given["weight_lb"], type="wheeled machine")

    def met(count: int) -> bool:
        done = bench.check(articles=[cargo], tiedowns=[tiedown("9000 lb")] * count)
        return passes(done, "us-machine-four-tiedowns")

    done = bench.check(articles=[cargo], tiedowns=[])
    return {
        "min_tiedowns": least(range(7), met),
        "needed_lb": shown(done, AGGREGATE, "half the weight") / LB,
    }


def side_by_side(bench: Bench, given: Given) -> Answers:
    """Two articles beside each other, under tiedowns across both."""
    assert given["side_by_side"]
    assert given["transverse_tiedowns"]

    def met(*, touch: bool) -> bool:
        cargo = article(
            1000,
            beside_another="yes",
            touches_its_neighbour=yes_no(touch),
            kept_from_its_neighbour=yes_no(given["blocked_between"]),
        )
        return passes(bench.check(articles=[cargo, cargo]), "us-articles-side-by-side")

    assert not met(touch=False)
    return {"passes": met(touch=given["gap_in"] == 0)}


# --- 393.108: the working load limit of one tiedown ---------------------------------------------


def weakest_part(bench: Bench, given: Given) -> Answers:
    parts = given["parts_lb"]
    near, far = given["anchors_lb"]
    (device,) = set(parts) - {"hook", "tensioner"}

    def limit(**raised: float) -> float:
        rated = {**parts, **raised}
        done = bench.check(
            trailer={
                "anchors": {
                    "near": {"working_load_limit": f"{near} lb"},
                    "far": {"working_load_limit": f"{far} lb"},
                }
            },
            articles=[article(1000)],
            tiedowns=[
                {
                    "anchor": "near",
                    "far_anchor": "far",
                    "path": "other side",
                    "device": DEVICES.get(device, device),
                    "marked_working_load_limit": f"{rated[device]} lb",
                    "hooks_working_load_limit": f"{rated['hook']} lb",
                    "tensioner_working_load_limit": f"{rated['tensioner']} lb",
                }
            ],
        )
        return fact(done, "tiedown.working_load_limit") / LB

    answers: Answers = {"wll_lb": limit()}
    deciding = [part for part in parts if limit(**{part: parts[part] + 100}) > answers["wll_lb"]]
    if deciding:
        (answers["governed_by"],) = deciding
    return answers


DEVICES = {
    "synthetic webbing": "webbing",
    "synthetic cordage": "unidentified synthetic rope",
}
GRADES = {"3": "30", "4": "43", "7": "70", "8": "80", "10": "100"}


def grade_of(mark: str) -> str:
    """The grade a link's mark stands for: 7, 70 and 700 are all grade 70."""
    short = {grade: grade for grade in GRADES.values()}
    long = {f"{grade}0": grade for grade in GRADES.values()}
    return {**GRADES, **short, **long}[mark]


def device_limit(bench: Bench, given: Given) -> Answers:
    width, _, thickness = given["size"].removesuffix(" in").partition(" x ")
    strap = {"device": DEVICES.get(given["device"], given["device"]), "size": f"{width} in"}
    if thickness:
        strap["thickness"] = f"{thickness} in"
    if "grade_mark" in given:
        strap["grade"] = grade_of(given["grade_mark"])
    if given["marked_wll_lb"] is None:
        strap["unmarked"] = "yes"
    else:
        strap["marked_working_load_limit"] = f"{given['marked_wll_lb']} lb"
    done = bench.check(articles=[article(1000)], tiedowns=[strap])
    limit = fact(done, "tiedown.device_rating") / LB
    if limit == limit:
        return {"wll_lb": limit}
    assert verdict(done, "us-tiedown-device-rated") is Verdict.NOT_STATED
    return {"wll_lb": None, "reason": "size not in the table"}


# --- 393.102: which pushes the cargo is held against --------------------------------------------

BREAKING = "us-held-to-breaking-strength"
WORKING = "us-held-to-working-load-limit"


def pushes(bench: Bench, given: Given) -> Answers:
    done = bench.check(articles=[article(given["weight_lb"], fully_contained="yes")])
    rule, braking = {
        "breaking strength": (BREAKING, "push in hard braking"),
        "working load limit": (WORKING, "push in braking"),
    }[given["limit"]]
    return {
        "forward_lb": shown(done, rule, braking) / LB,
        "rearward_lb": shown(done, rule, "push in starting off") / LB,
        "lateral_lb": shown(done, rule, "push in cornering") / LB,
    }


def downward(bench: Bench, given: Given) -> Answers:
    contained = yes_no(given["fully_contained"])
    done = bench.check(
        articles=[article(given["weight_lb"], fully_contained=contained)], tiedowns=[]
    )
    if verdict(done, "us-downward-force") is Verdict.DOES_NOT_APPLY:
        return {"required": False}
    return {
        "required": True,
        "downward_lb": shown(done, "us-downward-force", "a fifth of the weight") / LB,
    }


def pulled_down(bench: Bench, given: Given) -> Answers:
    """A tiedown straight down from the article: all of its limit presses on the deck."""
    assert not given["fully_contained"]
    cargo = article(
        given["weight_lb"],
        length="8 ft",
        placed={"x": "60 in", "y": "0 in", "facing": "forward"},
        attachments={"top": {"x": "40 in", "y": "0 in", "z": "30 in", **FRAME["frame"]}},
    )

    def met(limit_lb: float) -> bool:
        done = bench.check(
            trailer={
                "anchors": {
                    "under": {
                        "x": "100 in",
                        "y": "0 in",
                        "z": "0 in",
                        "working_load_limit": "9000 lb",
                    }
                }
            },
            articles=[cargo],
            tiedowns=[
                tiedown(f"{limit_lb} lb", anchor="under", attachment="top", path="direct"),
            ],
        )
        return passes(done, "us-downward-force")

    assert not met(given["downward_supplied_lb"] - 1)
    return {"passes": met(given["downward_supplied_lb"])}


def shares_of_weight(bench: Bench, given: Given) -> Answers:
    sideways = pushes(bench, given)
    down = downward(bench, {**given, "fully_contained": False})
    return {
        "forward": sideways["forward_lb"],
        "rearward": sideways["rearward_lb"],
        "lateral": sideways["lateral_lb"],
        "downward": down["downward_lb"],
    }


# --- 393.114: front structures ------------------------------------------------------------------

FRONT_RULES = (
    "us-front-structure-height",
    "us-front-structure-width",
    "us-front-structure-strength",
    "us-tall-front-structure-strength",
    "us-front-structure-openings",
)


def nothing_touches(bench: Bench, given: Given) -> Answers:
    touches = yes_no(given["cargo_contacts_front_structure"])
    done = bench.check(articles=[article(1000, touches_front_structure=touches)])
    verdicts = {verdict(done, rule_id) for rule_id in FRONT_RULES}
    return {"section_applies": verdicts != {Verdict.DOES_NOT_APPLY}}


def front_height(bench: Bench, given: Given) -> Answers:
    """The height that blocks forward movement is taken as the article's own."""
    cargo = article(1000, touches_front_structure="yes", height=f"{given['blocking_height_ft']} ft")

    def met(height_ft: float) -> bool:
        structure = {"height": f"{height_ft} ft"}
        done = bench.check(trailer={"front_structure": structure}, articles=[cargo])
        return passes(done, "us-front-structure-height")

    return {
        "needed_height_ft": least_size((1, 2, 2.5, 3, 3.5, 4, 5, 6, 7), met),
        "passes": met(given["structure_height_ft"]),
    }


def front_width(bench: Bench, given: Given) -> Answers:
    cargo = article(1000, touches_front_structure="yes", width=f"{given['blocking_width_ft']} ft")

    def met(width_ft: float) -> bool:
        trailer = {
            "overall_width": f"{given['vehicle_width_ft']} ft",
            "front_structure": {"width": f"{width_ft} ft"},
        }
        return passes(bench.check(trailer=trailer, articles=[cargo]), "us-front-structure-width")

    return {
        "needed_width_ft": least_size((4, 5, 5.5, 6, 7, 8, 9), met),
        "passes": met(given["structure_width_ft"]),
    }


def least_size(sizes: Sequence[float], met: Callable[[float], bool]) -> float:
    """The smallest of the sizes that will do, where one a hair smaller would not."""
    found = next(size for size in sizes if met(size))
    assert not met(found * (1 - 1e-6))
    return found


def front_strength(bench: Bench, given: Given) -> Answers:
    weights = [given["all_cargo_weight_lb"]] if "all_cargo_weight_lb" in given else []
    if not weights:
        weights = [given["article_in_contact_lb"], given["other_articles_lb"]]
    cargo = [
        article(weight, name=f"article {index}", touches_front_structure=yes_no(index == 0))
        for index, weight in enumerate(weights)
    ]
    rating = given.get("rated_static_load_lb", 90000)
    structure = {"height": f"{given['structure_height_ft']} ft", "rating": f"{rating} lb"}
    done = bench.check(trailer={"front_structure": structure}, articles=cargo)
    rule = "us-front-structure-strength"
    return {
        "static_load_lb": shown(done, rule, "load it must stand below 6 ft") / LB,
        "passes": passes(done, rule),
    }


# --- 393.42 to 393.48: brakes -------------------------------------------------------------------


def weighed_rig(given: Given, unit: str, **trailer: Any) -> Data:
    """A trailer and tow vehicle that put the given weights on the scales.

    The article stands over the axles and the tongue takes what they do not carry.
    """
    gross, on_axles = given[f"gross_{unit}"], given[f"trailer_axle_weights_{unit}"]
    front, rear = given[f"tow_axle_weights_{unit}"]
    return {
        "trailer": {
            "empty_weight": f"{gross - 500} {unit}",
            "empty_tongue_weight": f"{gross - sum(on_axles)!r} {unit}",
            "suspension": "single" if len(on_axles) == 1 else "equalised",
            # 34 in apart, about 150 in.
            "axles": {
                f"axle {n}": {"x": f"{150 + 34 * (n - (len(on_axles) - 1) / 2)} in"}
                for n, _ in enumerate(on_axles)
            },
            **trailer,
        },
        "tow_vehicle": {
            "front_axle_weight": f"{front} {unit}",
            "rear_axle_weight": f"{rear} {unit}",
            "front_restoration": "none",
        },
        "articles": [
            {
                "weight": f"500 {unit}",
                "cg": {"x": "40 in"},
                "placed": {"x": "110 in", "facing": "forward"},
            }
        ],
    }


def brakes_needed(bench: Bench, given: Given, unit: str = "lb") -> bool:
    """A rig without trailer brakes breaks the rule just where the law asks for them."""
    done = bench.check(**weighed_rig(given, unit, brakes="none"))
    on_axles = fact(done, "trailer.axle_group_load") / {"lb": LB, "kg": KG}[unit]
    assert on_axles == pytest.approx(sum(given[f"trailer_axle_weights_{unit}"]), rel=1e-12)
    return not passes(done, "us-trailer-brakes")


def trailer_brakes(bench: Bench, given: Given) -> Answers:
    return {"brakes_required": brakes_needed(bench, given)}


def trailer_brakes_in_kilograms(bench: Bench, given: Given) -> Answers:
    in_pounds = {
        key.replace("_kg", "_lb"): [one * KG / LB for one in value]
        if isinstance(value, list)
        else value * KG / LB
        for key, value in given.items()
        if key.endswith("_kg")
    }
    return {
        "by_pounds_required": brakes_needed(bench, in_pounds),
        "report_required": brakes_needed(bench, given, "kg"),
    }


def breakaway_time(bench: Bench, given: Given) -> Answers:
    assert given["brakes_required"]
    rig = weighed_rig(
        {"gross_lb": 6000, "trailer_axle_weights_lb": [5300], "tow_axle_weights_lb": [3000, 3000]},
        "lb",
        breakaway_fitted="yes",
        breakaway_hold_time=f"{given['hold_minutes']} min",
    )
    return {"passes": passes(bench.check(**rig), "us-breakaway-hold-time")}


def breakaway_axles(bench: Bench, given: Given) -> Answers:
    """Pulled by hand, the device leaves an axle without brakes; two axles for comparison."""

    def judged(axles: int) -> Verdict:
        rig = weighed_rig(
            {
                "gross_lb": 6000,
                "trailer_axle_weights_lb": [5300 / axles] * axles,
                "tow_axle_weights_lb": [3000, 3000],
            },
            "lb",
        )
        done = bench.check(walkaround={"breakaway_works_all_brakes": "no"}, **rig)
        return verdict(done, "us-breakaway-works-every-brake")

    assert given["axles_applied_on_breakaway"] == given["trailer_axles"] - 1
    assert judged(2) is Verdict.NOT_MET
    return {"all_brakes_must_apply": judged(given["trailer_axles"]) is not Verdict.DOES_NOT_APPLY}


def surge_brakes(bench: Bench, given: Given) -> Answers:
    gross = given.get("trailer_gvw_lb", 1000)
    done = bench.check(
        trailer={
            "brakes": "surge",
            "gvwr": f"{given['trailer_gvwr_lb']} lb",
            "empty_weight": f"{gross - 100} lb",
        },
        tow_vehicle={"gvwr": f"{given['tow_gvwr_lb']} lb"},
        articles=[article(100)],
    )
    surge = [each.rule.id for each in done.findings if each.rule.id.startswith("us-surge-brakes-")]
    assert len(surge) == 3
    return {"surge_brakes_allowed": passes(done, *surge)}


# --- 393.87 and 393.11: what sticks out ---------------------------------------------------------


def projecting(bench: Bench, given: Given, **parts: Any) -> Check:
    """An article on an 80 in wide deck that ends at 240 in, sticking out as far as given."""
    side, rear = given.get("side_projection_in", 0), given["rear_projection_in"]
    cargo = {
        "length": "100 in",
        "width": f"{80 + 2 * side!r} in",
        "placed": {"x": f"{140 + rear!r} in", "y": "0 in", "facing": "forward"},
        "projecting_width": f"{given.get('projecting_width_in', 80)} in",
    }
    trailer = {"overall_width": "80 in", "deck": {"front": "40 in", "rear": "240 in"}}
    return bench.check(trailer=trailer, articles=[cargo], **parts)


def flags_needed(bench: Bench, given: Given) -> Answers:
    done = projecting(bench, given)
    return {"flags_required": verdict(done, "us-projection-flags") is not Verdict.DOES_NOT_APPLY}


def rear_flags(bench: Bench, given: Given) -> Answers:
    def met(flags: int) -> bool:
        done = projecting(bench, given, walkaround={"rear_flags": flags})
        return passes(done, "us-rear-flag-count")

    return {"rear_flags": least(range(4), met)}


def flag_size(bench: Bench, given: Given) -> Answers:
    def met(side: float) -> bool:
        answers = {"flags_fitted": "yes", "flag_size": f"{side} in"}
        done = projecting(bench, {"rear_projection_in": 60}, walkaround=answers)
        return passes(done, "us-projection-flags", "us-projection-flag-size")

    assert not met(given["flag_side_in"] - 0.01)
    return {"flag_ok": met(given["flag_side_in"])}


def lamps_needed(bench: Bench, given: Given) -> Answers:
    done = projecting(bench, given, trip={"lamps_required": yes_no(given["headlamps_required"])})
    if verdict(done, "us-rear-projection-lamps") is Verdict.DOES_NOT_APPLY:
        return {"lamps_required": False}
    # How many lamps there are is the walk-around's to say; the rule only asks for them.
    return dict.fromkeys(("red_side_markers", "red_rear_lamps", "red_rear_reflectors"), 2)


# --- 392.9: looking at the load on the way ------------------------------------------------------

STRETCH_RULES = {"us-load-check-miles": "150 miles", "us-load-check-hours": "3 hours"}


def trip(checks: Sequence[float], distance: float, hours: float) -> Data:
    return {
        "load_checks": [f"{each} mi" for each in checks],
        "distance": f"{distance!r} mi",
        "driving_time": f"{hours!r} h",
    }


def first_check(bench: Bench, given: Given) -> Answers:
    def met(mile: float) -> bool:
        return passes(bench.check(trip=trip([mile], 80, 2)), "us-first-load-check")

    assert not met(given["first_check_mile"] + 0.1)
    return {"passes": met(given["first_check_mile"])}


def broken_stretch_rules(bench: Bench, last: float, end: float, speed: float) -> list[str]:
    done = bench.check(trip=trip([last], end, end / speed))
    return [words for rule_id, words in STRETCH_RULES.items() if not passes(done, rule_id)]


def next_check(bench: Bench, given: Given) -> Answers:
    """The farthest mile the trip may reach after its last check, and what stops it there."""
    last, speed = given["last_check_mile"], given["speed_mph"]
    mile = next(
        end
        for end in range(last + 10, last + 200, 10)
        if broken_stretch_rules(bench, last, end + 0.1, speed)
    )
    assert not broken_stretch_rules(bench, last, mile, speed)
    broken = broken_stretch_rules(bench, last, mile + 0.1, speed)
    both = "3 hours and 150 miles together"
    return {"next_check_by_mile": mile, "reason": broken[0] if len(broken) == 1 else both}


def check_due(bench: Bench, given: Given) -> Answers:
    """Due now: not a yard farther without one."""
    miles, hours = given["miles_since_check"], given["hours_since_check"]
    farther = broken_stretch_rules(bench, 10, 10 + miles * 1.0001, miles / hours)
    assert not broken_stretch_rules(bench, 10, 10 + miles, miles / hours)
    return {"check_due": bool(farther)}


# --- 383: licence groups ------------------------------------------------------------------------


def licence_group(done: Check) -> str:
    """The group of licence that a driver without any misses."""
    verdicts = {group: verdict(done, f"us-licence-group-{group.lower()}") for group in "AB"}
    assert set(verdicts.values()) <= {Verdict.NOT_MET, Verdict.DOES_NOT_APPLY}, verdicts
    return next((group for group in "AB" if verdicts[group] is Verdict.NOT_MET), "none")


def rig_of(
    *, gcwr: float, towed: float, power: float, gross: float = 2000, alone: float = 2000
) -> Data:
    """A rig of these ratings in lb; its weights lie far below them unless given."""
    return {
        "driver": {"licence": "ordinary"},
        "trailer": {
            "gvwr": f"{towed} lb",
            "empty_weight": f"{gross - 100} lb",
            "empty_tongue_weight": "100 lb",
            "axles": {"axle": {"x": "150 in"}},
        },
        "tow_vehicle": {
            "gcwr": f"{gcwr} lb",
            "gcwr_on_label": "yes",
            "gvwr": f"{power} lb",
            "front_axle_weight": f"{alone / 2!r} lb",
            "rear_axle_weight": f"{alone / 2!r} lb",
            "front_restoration": "none",
        },
        "articles": [
            article(100, cg={"x": "40 in"}, placed={"x": "110 in", "facing": "forward"}),
        ],
    }


def licence(bench: Bench, given: Given) -> Answers:
    rig = rig_of(
        gcwr=given["gcwr_lb"], towed=given["towed_gvwr_lb"], power=given["power_unit_gvwr_lb"]
    )
    return {"group": licence_group(bench.check(**rig))}


def licence_without_trailer(bench: Bench, given: Given) -> Answers:
    """No trailer to state: put to the rules by hand."""
    assert given["towed_gvwr_lb"] == 0
    combination, power = given["gcwr_lb"] * LB, given["power_unit_gvwr_lb"] * LB
    group_a = bench.by_hand(
        "us-licence-group-a",
        {
            "combination.weight_or_rating": combination,
            "combination.weight_or_rating_at_least": combination,
            "trailer.weight_or_rating": 0.0,
            "trailer.weight_or_rating_at_least": 0.0,
            "driver.holds_group_a": 0.0,
        },
    )
    group_b = bench.by_hand(
        "us-licence-group-b",
        {
            "tow_vehicle.gvwr": power,
            "tow_vehicle.weight_or_rating": power,
            "driver.holds_group_b": 0.0,
        },
    )
    assert {group_a, group_b} == {Verdict.DOES_NOT_APPLY}
    return {"group": "none"}


def licence_group_c(bench: Bench, given: Given) -> Answers:
    """Seats and placards; none of these rigs is heavy enough for the other groups."""
    rig: Data = {
        "driver": {"licence": "ordinary"},
        "tow_vehicle": {"seats": given["seats"]},
        "trip": {"placarded_cargo": yes_no(given["hazmat_placard"])},
    }
    found = verdict(bench.check(**rig), "us-licence-group-c")
    return {"group": {Verdict.NOT_MET: "C", Verdict.DOES_NOT_APPLY: "none"}[found]}


def combination_rating(bench: Bench, given: Given) -> Answers:
    assert given["towing"]
    truck_rating, trailer_rating = given["gvwr_lb"]
    truck_weight, trailer_weight = given["gvw_lb"]
    rig = rig_of(
        gcwr=given["label_gcwr_lb"],
        towed=trailer_rating,
        power=truck_rating,
        gross=trailer_weight,
        alone=truck_weight,
    )
    done = bench.check(**rig)
    return {
        "gcwr_lb": fact(done, "combination.weight_or_rating") / LB,
        "at_or_over_26001": licence_group(done) == "A",
    }


def licence_by_weight(bench: Bench, given: Given) -> Answers:
    towed_weight = given["towed_gvw_lb"]
    rig = rig_of(
        gcwr=given["gcwr_lb"],
        towed=given["towed_gvwr_lb"],
        power=15000,
        gross=towed_weight,
        alone=given["gcw_lb"] - towed_weight,
    )
    ratings_only = rig_of(gcwr=given["gcwr_lb"], towed=given["towed_gvwr_lb"], power=15000)
    group = licence_group(bench.check(**rig))
    return {
        "group_by_383_5": group,
        "group_by_ratings_only": licence_group(bench.check(**ratings_only)),
        "report": group,
    }


# --- 390: whom the rules bind -------------------------------------------------------------------

FOR_HIRE = {"follows_federal_rules": "no", "government": "no", "personal_and_unpaid": "no"}
BOUND = {Verdict.MET: True, Verdict.DOES_NOT_APPLY: False}


def bound_by_weight(bench: Bench, given: Given) -> Answers:
    """The unit is the trailer; a light tow vehicle keeps the combination at what is given.

    Where a case names neither seats nor cargo, it is about a crew cab without placards.
    """
    unit = given["unit_weights_lb"]
    gross = unit.get("gvw", unit["gvwr"] if "gcw" in unit else 2000)
    rig = rig_of(
        gcwr=unit.get("gcwr", 2000),
        towed=unit["gvwr"],
        power=2000,
        gross=gross,
        alone=unit["gcw"] - gross if "gcw" in unit else 2000,
    )
    rig["tow_vehicle"]["seats"] = given.get("seats", 5)
    trip = {
        "interstate": yes_no(given["interstate"]),
        "placarded_cargo": yes_no(given.get("placarded", False)),
    }
    return {"cmv": BOUND[bench.in_force(carrier=FOR_HIRE, trip=trip, **rig)]}


def bound_by_seats(bench: Bench, given: Given) -> Answers:
    """A unit with no other behind it: put to the scope by hand, one seat more for comparison."""
    assert not given["passengers_for_pay"]
    with_one_more = unit_alone(bench, {**given, "seats": given["seats"] + 1})
    assert with_one_more == {"cmv": True}
    return unit_alone(bench, given)


def unit_alone(bench: Bench, given: Given) -> Answers:
    """A unit with no other behind or before it: put to the rulebook's scope by hand."""
    (rating,) = given["unit_weights_lb"].values()
    (book,) = [each for each in bench.books.books if each.id == "us-federal-securement"]
    assert book.scope is not None
    facts = dict.fromkeys(book.scope.facts, 0.0)
    facts |= {name: rating * LB for name in facts if "weight_or_rating" in name}
    facts |= {"trip.touches_us": 1.0, "trip.interstate": float(given["interstate"])}
    facts |= {"tow_vehicle.seats": float(given.get("seats", 5))}
    facts |= {"trip.placarded_cargo": float(given.get("placarded", False))}
    return {"cmv": BOUND[evaluate_case(book.scope, facts, bench.day).verdict]}


def personal_haul(bench: Bench, given: Given) -> Answers:
    personal = given["individual"] and given["personal_property"] and given["occasional"]
    unpaid = not given["compensated"] and not given["furthers_business"]
    rig = rig_of(gcwr=18000, towed=12000, power=6000)
    carrier = {**FOR_HIRE, "personal_and_unpaid": yes_no(personal and unpaid)}
    bound = BOUND[bench.in_force(carrier=carrier, trip={"interstate": "yes"}, **rig)]
    return {"excepted": not bound}


# --- 393.128 and 393.130: machines and road vehicles --------------------------------------------

TYPES = {
    "automobile, light truck or van": "road vehicle",
    "wheeled or tracked machine": "wheeled machine",
}
FOUR = "us-machine-four-tiedowns"
TWO = "us-road-vehicle-two-tiedowns"
ENDS = {"front": {"x": "1 ft"}, "rear": {"x": "7 ft"}}


def vehicle(weight_lb: float, kind: str, **parts: Any) -> Data:
    shape = {"length": "8 ft", "placed": {"facing": "forward"}, "attachments": ENDS}
    return article(weight_lb, type=kind, **{**shape, **parts})


def on_ends(front: int, rear: int) -> list[Data]:
    ends = ["front"] * front + ["rear"] * rear
    return [tiedown("9000 lb", attachment=end) for end in ends]


def by_kind(bench: Bench, given: Given) -> Answers:
    cargo = vehicle(given["weight_lb"], TYPES[given["article_kind"]])

    def met(count: int) -> bool:
        tiedowns = on_ends(count - count // 2, count // 2)
        done = bench.check(articles=[cargo], tiedowns=tiedowns)
        return Verdict.NOT_MET not in {verdict(done, FOUR), verdict(done, TWO)}

    done = bench.check(articles=[cargo], tiedowns=[])
    return {
        "within_393_128": verdict(done, TWO) is not Verdict.DOES_NOT_APPLY,
        "sent_to_393_130": verdict(done, FOUR) is not Verdict.DOES_NOT_APPLY,
        "min_tiedowns": least(range(7), met),
    }


def machine_count(bench: Bench, given: Given) -> Answers:
    cargo = vehicle(given["weight_lb"], TYPES[given["article_kind"]])
    tiedowns = [tiedown("9000 lb")] * given["tiedowns"]
    return {"count_passes": passes(bench.check(articles=[cargo], tiedowns=tiedowns), FOUR)}


def road_vehicle_ends(bench: Bench, given: Given) -> Answers:
    tiedowns = on_ends(given["front_tiedowns"], given["rear_tiedowns"])
    done = bench.check(articles=[vehicle(given["weight_lb"], "road vehicle")], tiedowns=tiedowns)
    return {"count_passes": passes(done, TWO)}


def general_route(bench: Bench, given: Given) -> Answers:
    assert given["route"] == "393.100-114"
    cargo = vehicle(
        given["weight_lb"],
        "wheeled machine",
        length=f"{given['length_ft']} ft",
        securement_route="general",
        **blocked(given),
    )
    done = bench.check(articles=[cargo], tiedowns=[tiedown("9000 lb")] * given["tiedowns"])
    assert verdict(done, FOUR) is Verdict.DOES_NOT_APPLY
    assert verdict(done, TWO) is Verdict.DOES_NOT_APPLY
    verdicts = count_verdicts(bench, cargo, given["tiedowns"])
    return {
        "min_tiedowns": least_tiedowns(bench, cargo),
        "count_passes": Verdict.NOT_MET not in verdicts,
    }


def regulation_beside_handbook(bench: Bench, given: Given) -> Answers:
    found = by_kind(bench, {**given, "article_kind": "automobile, light truck or van"})
    return {"regulation_min": found["min_tiedowns"]}


# --- 393.70 and 393.75, 23 CFR 658: coupling, tyres, width --------------------------------------


def chain_strength(bench: Bench, given: Given) -> Answers:
    strengths = given.get("chain_breaking_strengths_lb") or [given["safety_device_ultimate_lb"]]
    (strength,) = set(strengths)
    gross = given["towed_gross_lb"]
    done = bench.check(
        trailer={
            "full_trailer": "yes",
            "empty_weight": f"{gross - 100} lb",
            "safety_chains": {"count": len(strengths), "breaking_strength": f"{strength} lb"},
        },
        articles=[article(100)],
    )
    return {"passes": passes(done, "us-full-trailer-chain-strength")}


def path(bench: Bench, given: Given) -> Answers:
    def met(inches: float) -> bool:
        # The question asks about 3 in: a larger reading beside `yes` is refused.
        answers = {"tracks_straight": yes_no(inches <= 3), "path_deviation": f"{inches} in"}
        return passes(bench.check(walkaround=answers), "us-trailer-path")

    assert not met(given["path_deviation_in"] + 0.01)
    return {"passes": met(given["path_deviation_in"])}


def tyre_load(bench: Bench, given: Given) -> Answers:
    """The load stands on the centre line, so that both sides carry alike."""
    on_tyres = given["load_on_tyres_lb"]
    rig = weighed_rig(
        {
            "gross_lb": on_tyres + 500,
            "trailer_axle_weights_lb": [on_tyres],
            "tow_axle_weights_lb": [3000, 3000],
        },
        "lb",
        axles={
            "axle": {
                "x": "150 in",
                "tyres": given["tyres"],
                "tyre_rating": f"{given['tyre_mark_lb']} lb",
            }
        },
        track="76 in",
    )
    for cargo in rig["articles"]:
        cargo["cg"]["y"] = cargo["placed"]["y"] = "0 in"
    permit = {"tyre_overload_permit": yes_no(given["special_permit"])}
    return {"passes": passes(bench.check(trip=permit, **rig), "us-tyre-load")}


def width(bench: Bench, given: Given) -> Answers:
    cargo = {"width": "60 in", "placed": {"y": "0 in"}}
    trailer = {"overall_width": f"{given['width_in']} in"}

    def met(permit: str) -> bool:
        trip = {"over_width_permit": permit, "network": "national network"}
        done = bench.check(trailer=trailer, articles=[cargo], trip=trip)
        return passes(done, "us-width")

    return {"within_limit": met("no"), "permit_needed": met("yes") and not met("no")}


# --- all of them --------------------------------------------------------------------------------


def numbered(section: int | str, *numbers: int) -> Iterator[str]:
    return (f"US-{section}-{number:02}" for number in numbers)


RUN: dict[str, Callable[[Bench, Given], Answers]] = {
    **dict.fromkeys(numbered(110, 5, 7, 8, 9, 11, 12, 13, 14, 17, 18, 19), counted),
    **dict.fromkeys(numbered(110, 23, 24, 27, 30, 37), counted),
    "US-110-31": special_methods,
    **dict.fromkeys(numbered(110, 32, 33, 35), counted_in_metres),
    **dict.fromkeys(numbered(106, 8, 9, 11, 12, 13, 14, 15, 16), aggregate),
    "US-106-17": aggregate_beside_grade_70,
    "US-106-19": small_tractor,
    "US-106-20": side_by_side,
    **dict.fromkeys(numbered(108, 2, 3), weakest_part),
    **dict.fromkeys(numbered(108, 4, 5, 6, 7, 8, 9, 10, 12, 13, 14, 17), device_limit),
    **dict.fromkeys(numbered(108, 22, 23, 27, 30, 32, 33), device_limit),
    **dict.fromkeys(numbered(102, 1, 5), pushes),
    **dict.fromkeys(numbered(102, 6, 9, 10), downward),
    "US-102-11": pulled_down,
    "US-102-15": shares_of_weight,
    "US-114-01": nothing_touches,
    **dict.fromkeys(numbered(114, 3, 5, 6), front_height),
    **dict.fromkeys(numbered(114, 8, 9), front_width),
    **dict.fromkeys(numbered(114, 13, 16, 17, 18, 20), front_strength),
    **dict.fromkeys(numbered(42, 2, 3, 4, 6), trailer_brakes),
    "US-42-09": trailer_brakes_in_kilograms,
    "US-43-02": breakaway_time,
    "US-43-04": breakaway_axles,
    **dict.fromkeys(numbered(48, 1, 2, 4, 5, 10, 12), surge_brakes),
    **dict.fromkeys(numbered(87, 2, 4, 6), flags_needed),
    **dict.fromkeys(numbered(87, 8, 9), rear_flags),
    "US-87-11": flag_size,
    **dict.fromkeys(numbered(87, 16, 17), lamps_needed),
    "US-3929-01": first_check,
    **dict.fromkeys(numbered(3929, 3, 4, 5), next_check),
    **dict.fromkeys(numbered(3929, 8, 9), check_due),
    **dict.fromkeys(numbered(383, 1, 3, 4, 8, 18), licence),
    "US-383-06": licence_without_trailer,
    **dict.fromkeys(numbered(383, 10, 11), licence_group_c),
    "US-383-15": combination_rating,
    "US-383-16": licence_by_weight,
    **dict.fromkeys(numbered(390, 1, 3, 4, 5, 6), bound_by_weight),
    "US-390-02": unit_alone,
    "US-390-11": bound_by_seats,
    **dict.fromkeys(numbered(390, 14, 16), personal_haul),
    **dict.fromkeys(numbered(130, 4, 5), by_kind),
    **dict.fromkeys(numbered(130, 6, 7), machine_count),
    "US-130-08": road_vehicle_ends,
    **dict.fromkeys(numbered(130, 11, 12), general_route),
    "US-130-14": regulation_beside_handbook,
    "US-70-01": path,
    **dict.fromkeys(numbered(70, 3, 4, 5), chain_strength),
    **dict.fromkeys(numbered(75, 1, 2), tyre_load),
    "US-658-02": width,
}

SECUREMENT = ("102", "106", "108", "110", "114", "130")
"""Sections 393.102 to 393.130, which all stand in one rulebook."""

DRIVEAWAY = "driveaway and towaway with tow bars: no such load can be stated"
MEASURING = "what a width or length leaves out when it is measured: the crew's measurement"

NOT_RUN: dict[str, str] = {
    "US-106-18": "articles are held one by one; a load cannot state a group",
    "US-108-35": "friction mats are not part of a load",
    "US-102-13": "the law gives no way to work the force out; what is worked out is advice",
    "US-48-13": "not taken: a trailer without a rating label stays undecided",
    "US-87-14": "the colours stand in the words of a yes/no question",
    "US-390-09": "people carried for pay are not judged; up to 15 of them bind nobody here",
    **dict.fromkeys(numbered(71, 1, 3), DRIVEAWAY),
    **dict.fromkeys(numbered(658, 4, 5), MEASURING),
}

NOT_ANSWERED = {
    "alternative": "words about another paragraph",
    "by_kilograms_required": "printed kilograms that are the more lenient figure are left out",
    "combined": "each direction is judged by itself; there is nothing to combine",
    "governs": "words; the regulation's figure is the one compared",
    "handbook_possible_reading": "guidance that disagrees with the regulation is not a rule",
    "note": "words",
    "reading": "words; the reading is the one compared",
    "spread_to_height_ft": "the maker's rating is held against the load, not its spread",
    "stricter_reading_mile": "the other reading: miles counted from the start of the trip",
    "unit_gap": "follows from the two counts",
}


def test_every_case_is_run_or_named_with_a_reason() -> None:
    assert sorted([*RUN, *NOT_RUN]) == sorted(CASES)


@pytest.fixture(scope="module")
def securement(federal: Rulebooks) -> Rulebooks:
    """The federal rules of load securement."""
    return select_rulebooks(federal, ["us-federal-securement"])


@pytest.mark.parametrize("case_id", RUN)
def test_us_case(
    case_id: str,
    federal: Rulebooks,
    securement: Rulebooks,
    held_by: Callable[[Rulebooks], Held],
) -> None:
    case = CASES[case_id]
    # What other rulebooks say of these loads is no part of the cases.
    books = securement if case_id.split("-")[1] in SECUREMENT else federal
    answers = RUN[case_id](Bench(held_by(books), books), case["given"])
    origin = f"{case['source']}; {case['cite']} ({case['kind']})"
    assert answers.keys() & case["expect"].keys(), origin
    assert case["expect"].keys() - answers.keys() <= NOT_ANSWERED.keys(), origin
    for name in case["expect"].keys() & answers.keys():
        wanted, found = case["expect"][name], answers[name]
        if isinstance(wanted, float | int) and not isinstance(wanted, bool):
            wanted = pytest.approx(wanted, rel=1e-9)
        assert found == wanted, f"{name}: {origin}"
