"""Every worked case of the international reference that these sums can answer.

Each case names the origin of its expected values (`source`, `status`, `note` in the file).
"""

import math
import re
from collections.abc import Callable

import pytest

from checker.mechanics.balance import centre_of_gravity
from checker.mechanics.standards import (
    australia,
    css_code,
    ctu_code,
    en_12195_1,
    en_12195_1_2003,
    friction,
    new_zealand,
    north_america,
    quick_guide,
    vehicle_body,
)
from checker.mechanics.standards.demand import force_not_held, moment_not_held
from checker.mechanics.tiedown_geometry import direction_cosines
from checker.units.arithmetic import steps_up
from tests.published import published_cases

# Written out here on purpose, independent of the units the program itself converts with. The
# cases reckon with g = 9.81 m/s2.
KG = 9.81  # N
SI_PER_UNIT = {
    "1": 1.0,
    "g": 1.0,
    "kg": KG,
    "kgf": KG,
    "t": 1000 * KG,
    "tf": 1000 * KG,
    "daN": 10.0,
    "kN": 1000.0,
    "m": 1.0,
    "cm": 0.01,
    "mm": 0.001,
    "kN*m": 1000.0,
    "deg": math.pi / 180,
    "m/s2": 1.0,
}
QUANTITY = re.compile(r"(-?\d+(?:\.\d+)?) (\S+)")
NONE_NEEDED = "none needed"

Given = dict[str, object]
Answers = dict[str, object]

CASES = published_cases("international-cases")


def to_si(stated: object) -> object:
    if isinstance(stated, list):
        return [{name: to_si(text) for name, text in one.items()} for one in stated]
    quantity = QUANTITY.fullmatch(stated)
    return float(quantity[1]) * SI_PER_UNIT[quantity[2]] if quantity else stated


def held_by_one(number_for: Callable[[float], float]) -> float | str:
    """Weight one lashing holds, from the number that some weight needs."""
    some_weight = 1000.0
    number = number_for(some_weight)
    return some_weight / number if number else NONE_NEEDED


def verdict(restraint: float, demand: float) -> str:
    return "pass" if restraint >= demand else "fail"


# --- lashings over the article -------------------------------------------------------------------


def one_over_the_article(given: Given) -> Answers:
    assert given["legs"] == 2
    return {
        "securing_force": en_12195_1.friction_lashing_effect(
            given["friction_factor"], given["standard_tension_force"], given["angle"]
        )
    }


def one_leg_measured(given: Given) -> Answers:
    angle = math.asin(given["vertical_rise"] / given["strap_run"])
    both_legs = en_12195_1.friction_lashing_effect(
        given["friction_factor"], given["pretension"], angle
    )
    return {"securing_force": both_legs / 2, "angle": angle}


def factor_of_the_form(given: Given) -> Answers:
    """One upright lashing of 1 N on friction 1 must hold the form's factor times 1 N."""
    number = en_12195_1.friction_lashings_against_sliding(
        1.0, 2.0, 1.0, 1.0, 1.0, math.pi / 2, given["safety_factor"], 0.0
    )
    return {"form_factor": 1 / number}


def over_against_sliding(given: Given) -> Answers:
    number = en_12195_1.friction_lashings_against_sliding(
        given["mass"],
        given["c"],
        given.get("c_z", 1.0),
        given["friction_factor"],
        given["pretension"],
        given["angle"],
        given["safety_factor"],
        given.get("blocking_capacity", 0.0),
    )
    return {"exact_number": number, "lashings": steps_up(number)}


def friction_alone(given: Given) -> Answers:
    assert en_12195_1.stable_against_sliding(given["friction_factor"], given["c"], given["c_z"])
    return over_against_sliding(given)


def section_by_section(given: Given) -> Answers:
    each, sections = given["mass_per_section"], given["sections"]

    def number(weight: float) -> float:
        return en_12195_1.friction_lashings_against_sliding(
            weight,
            given["c"],
            1.0,
            given["friction_factor"],
            given["standard_tension_force"],
            given["angle"],
            given["safety_factor"],
            0.0,
        )

    return {
        "need_per_section": number(each),
        "lashings": sections * steps_up(number(each)),
        "pooled": steps_up(number(sections * each)),
    }


def over_against_tilting(given: Given) -> Answers:
    number = en_12195_1.friction_lashings_against_tilting(
        given["mass"],
        given["c"],
        given["c_z"],
        given["cog_height_d"],
        given["lever_b"],
        given["lashing_lever_w"],
        given["pretension"],
        given["angle"],
        given["safety_factor"],
    )
    return {"exact_number": number, "lashings": steps_up(number)}


def rows_in_both_cases(given: Given) -> tuple[float | str, float | str]:
    """Sideways, EN 12195-1:2010: (0.5, STF) and (0.6, half of LC)."""
    cases = ((0.5, given["standard_tension_force"]), (0.6, 0.5 * given["lashing_capacity"]))
    weak, strong = (
        held_by_one(
            lambda weight, c=c, pretension=pretension: en_12195_1.friction_lashings_for_rows(
                weight,
                c,
                1.0,
                given["rows_abreast"],
                given["height_to_width"],
                pretension,
                given["angle"],
                given["safety_factor"],
            )
        )
        for c, pretension in cases
    )
    return weak, strong


def smaller(*weights: float | str) -> float | str:
    return min((weight for weight in weights if weight != NONE_NEEDED), default=NONE_NEEDED)


def rows_against_tilting(given: Given) -> Answers:
    """By the standard's balance and by the guides' generator: both must agree."""
    assert given["angle"] == quick_guide.TOP_OVER_ANGLE
    held = smaller(*rows_in_both_cases(given))
    by_guide = smaller(
        *(
            held_by_one(
                lambda weight, c=c, pretension=pretension: quick_guide.top_over_against_tipping(
                    weight,
                    [(c, 1.0)],
                    given["rows_abreast"],
                    given["height_to_width"],
                    pretension,
                    given["safety_factor"],
                )
            )
            for c, pretension in (
                (0.5, given["standard_tension_force"]),
                (0.6, 0.5 * given["lashing_capacity"]),
            )
        )
    )
    assert by_guide == held
    return {"mass_per_lashing": held}


def both_tilting_cases(given: Given) -> Answers:
    weak, strong = rows_in_both_cases(given)
    return {
        "mass_per_lashing_case_0_5": weak,
        "mass_per_lashing_case_0_6": strong,
        "governing": smaller(weak, strong),
    }


def tilting_without_lashings(given: Given) -> Answers:
    stands = en_12195_1.stable_against_tilting(
        given["lever_b"], given["cog_height_d"], given["c"], given["c_z"]
    )
    return {"stability": {1.0: "tilt-safe", 0.0: "not tilt-safe"}[stands]}


# --- blocking, direct lashing, loop, spring ------------------------------------------------------


def blocking(given: Given) -> Answers:
    return {
        "blocking_capacity": en_12195_1.blocking_capacity_needed(
            given["mass"], given["c"], given["c_z"], given["friction_factor"]
        )
    }


def residual_need(given: Given) -> Answers:
    return {
        f"residual_{way}": force_not_held(
            1.0, given[f"{way}_coefficient"], 1.0, given["friction_factor"]
        )
        for way in ("longitudinal", "transverse")
    }


def direct_against_sliding(given: Given) -> Answers:
    return {
        "force_per_lashing": en_12195_1.direct_lashing_force_against_sliding(
            given["mass"],
            given["c"],
            given["c_z"],
            given["friction_factor"],
            given["conversion_factor"],
            given["vertical_angle"],
            given["plan_angle_to_direction"],
            given["acting_lashings"],
        )
    }


def direct_by_coordinates(given: Given) -> Answers:
    axis = {"X": 0, "Y": 1}[given["direction"]]
    mu, conversion = given["friction_factor"], given["conversion_factor"]
    restraint = 0.0
    for lashing in given["lashings"]:
        cosines, _ = direction_cosines((0.0, 0.0, 0.0), (lashing["X"], lashing["Y"], lashing["Z"]))
        restraint += en_12195_1.direct_lashing_effect(
            lashing["LC"], cosines[axis], cosines[2], mu, conversion
        )
    demand = force_not_held(given["mass"], given["c"], given["c_z"], conversion * mu)
    return {"margin": restraint - demand, "outcome": verdict(restraint, demand)}


def direct_against_tilting(given: Given) -> Answers:
    """The force needed grows with the weight: the largest weight is found by proportion."""
    weight = 1000.0
    force = en_12195_1.direct_lashing_force_against_tilting(
        weight,
        given["c"],
        given["c_z"],
        given["cog_height_d"],
        given["lever_b"],
        given["vertical_angle"],
        given["plan_angle_to_direction"],
        given["lever_w"],
        given["attachment_height"],
        given["acting_lashings"],
    )
    one = en_12195_1.direct_lashing_righting_moment(
        given["force_per_lashing"],
        given["vertical_angle"],
        given["plan_angle_to_direction"],
        given["lever_w"],
        given["attachment_height"],
    )
    moment = moment_not_held(1.0, given["c"], given["c_z"], given["cog_height_d"], given["lever_b"])
    largest = weight * given["force_per_lashing"] / force
    assert largest == pytest.approx(given["acting_lashings"] * one / moment, rel=1e-12)
    return {"largest_mass": largest}


def half_loops(given: Given) -> Answers:
    assert given["angle"] == quick_guide.HALF_LOOP_ANGLE
    mu, conversion, capacity = (
        given["friction_factor"],
        given["conversion_factor"],
        given["lashing_capacity"],
    )
    held = held_by_one(
        lambda weight: en_12195_1.loop_pairs_against_sliding(
            weight, given["c"], 1.0, mu, conversion, capacity, given["angle"]
        )
    )
    by_guide = held_by_one(
        lambda weight: quick_guide.half_loop_pairs_against_sliding(
            weight, [(given["c"], 1.0)], mu, conversion, capacity
        )
    )
    assert by_guide == held
    return {"mass_per_pair": held}


def springs(given: Given) -> Answers:
    assert (given["legs"], given["angle"]) == (2, quick_guide.SPRING_ANGLE)
    mu, conversion, capacity = (
        given["friction_factor"],
        given["conversion_factor"],
        given["lashing_capacity"],
    )
    answers: Answers = {}
    for way, c in (("forward", 0.8), ("rear", 0.5)):
        held = held_by_one(
            lambda weight, c=c: en_12195_1.springs_against_sliding(
                weight, c, 1.0, mu, conversion, capacity, given["angle"]
            )
        )
        by_guide = held_by_one(
            lambda weight, c=c: quick_guide.springs_against_sliding(
                weight, [(c, 1.0)], mu, conversion, capacity
            )
        )
        assert by_guide == held
        answers[f"mass_{way}"] = held
    return answers


def opposed(given: Given) -> Answers:
    forces = en_12195_1.opposed_lashings(given["pretension"], given["external_force"])
    assert forces.loaded == given["lashing_capacity"]
    return {"loaded_side": forces.loaded, "slack_side": forces.slack}


def tilted_deck(given: Given) -> Answers:
    angle = en_12195_1.inclination_for_test(given["c"], given["c_z"], given["gamma"])
    return {"angle": angle}


def tilted_deck_by_the_smaller(given: Given) -> Answers:
    gamma = min(given["friction_factor"], given["b_over_d"])
    return {
        "governing_gamma": gamma,
        "angle": en_12195_1.inclination_for_test(given["c"], given["c_z"], gamma),
    }


# --- quick guides --------------------------------------------------------------------------------

# (c, c_z) of each mode of transport; the reference's 1.2 and 1.3.
ROAD = {"side": (0.5, 1.0), "rear": (0.5, 1.0), "forward": (0.8, 1.0)}
RAIL = {"side": (0.5, 1.0), "rear": (0.5, 1.0), "forward": (0.5, 1.0)}
SEA = {
    "A": {"side": (0.5, 1.0), "rear": (0.3, 0.5), "forward": (0.3, 0.5)},
    "B": {"side": (0.7, 1.0), "rear": (0.3, 0.3), "forward": (0.3, 0.3)},
    "C": {"side": (0.8, 1.0), "rear": (0.4, 0.2), "forward": (0.4, 0.2)},
}


def top_over(given: Given, modes: quick_guide.Modes, safety_factor: float) -> float | str:
    assert given["angle"] == quick_guide.TOP_OVER_ANGLE
    pretension = given.get("pretension", given.get("standard_tension_force"))
    return held_by_one(
        lambda weight: quick_guide.top_over_against_sliding(
            weight, modes, given["friction_factor"], pretension, safety_factor
        )
    )


def top_over_on_the_road(given: Given) -> Answers:
    return {
        "mass_per_lashing_side": top_over(given, [ROAD["side"]], given["safety_factor_other"]),
        "mass_per_lashing_forward": top_over(
            given, [ROAD["forward"]], given["safety_factor_forward"]
        ),
    }


def straight(given: Given, modes: quick_guide.Modes) -> float | str:
    assert given["vertical_angle"] == given["plan_angle"] == quick_guide.STRAIGHT_ANGLE
    strength = given.get("maximum_securing_load", given.get("lashing_capacity"))
    conversion = given.get("conversion_factor", 0.75)
    return held_by_one(
        lambda weight: quick_guide.straight_against_sliding(
            weight, modes, given["friction_factor"], conversion, strength
        )
    )


def straight_on_the_road(given: Given) -> Answers:
    return {f"mass_per_lashing_{way}": straight(given, [ROAD[way]]) for way in ("side", "forward")}


def combined_modes(given: Given, way: str) -> quick_guide.Modes:
    area = re.fullmatch(r"road \+ rail without shock \+ sea area ([ABC])", given["modes"])[1]
    return [ROAD[way], RAIL[way], SEA[area][way]]


def top_over_by_land_and_sea(given: Given) -> Answers:
    return {
        f"mass_{way}": top_over(given, combined_modes(given, way), given["safety_factor"])
        for way in ROAD
    }


def straight_by_land_and_sea(given: Given) -> Answers:
    return {f"mass_{way}": straight(given, combined_modes(given, way)) for way in ROAD}


def top_over_before_2014(given: Given) -> Answers:
    return {
        f"mass_{way}": top_over(given, [(given[f"c_{way}"], 1.0)], given["safety_factor"])
        for way in ("side", "forward")
    }


# --- CTU Code and CSS Code -----------------------------------------------------------------------


def battens(given: Given) -> Answers:
    return {
        "force": ctu_code.batten_strength(
            given["battens"], given["thickness_w"], given["height_h"], given["free_length"]
        )
    }


def batten_balance(given: Given) -> Answers:
    demand = given["c"] * given["mass"]
    restraint = ctu_code.tight_stow_restraint(
        given["mass"], given["c_z"], given["friction_factor"], 0.0, 0.0, given["batten_force"]
    )
    return {"demand": demand, "restraint": restraint, "outcome": verdict(restraint, demand)}


def bag_beside_sliding_cargo(given: Given) -> Answers:
    return {
        "force": ctu_code.dunnage_bag_force_from_sliding(
            given["mass"], given["c"], given["c_z"], given["friction_factor"], 0.75
        )
    }


def bag_beside_tipping_cargo(given: Given) -> Answers:
    height = 1.7  # any: only the ratio counts
    return {
        "force": ctu_code.dunnage_bag_force_from_tipping(
            given["mass"], given["c"], given["c_z"], given["base_to_height"] * height, height
        )
    }


def cog_along_the_unit(given: Given) -> Answers:
    weights, positions = (
        [given[f"{name}_{n}"] for n in (1, 2, 3)] for name in ("mass", "position")
    )
    return {"cog": centre_of_gravity(weights, positions)}


def tight_stow(given: Given) -> Answers:
    demand = given["c"] * given["mass"]
    restraint = ctu_code.tight_stow_restraint(
        given["mass"],
        given["c_z"],
        given["friction_factor"],
        given["wall_coefficient"],
        given["payload"],
        given["added_securing"],
    )
    return {"margin": restraint - demand, "outcome": verdict(restraint, demand)}


def ship_force(name: str) -> Callable[[Given], Answers]:
    def work_out(given: Given) -> Answers:
        force = css_code.outer_force(
            given["mass"],
            given["acceleration"],
            given["correction"],
            given.get("wind_force", 0.0),
            given.get("sea_sloshing_force", 0.0),
        )
        return {name: force}

    return work_out


def strength_in_a_balance(given: Given) -> Answers:
    # The code's divisors of its two methods.
    divisor = {"basic": 1.5, "alternative": 1.35}[given["method"]]
    return {
        "calculated_strength": css_code.calculated_strength(given["maximum_securing_load"], divisor)
    }


def effect_in_the_basic_method(given: Given) -> Answers:
    return {
        "f": css_code.lashing_effects(given["friction_factor"], given["vertical_angle"], 0.0).across
    }


def across_in_the_basic_method(given: Given) -> Answers:
    mu, strength = given["friction_factor"], given["calculated_strength"]
    effect = css_code.lashing_effects(mu, math.radians(40), 0.0).across
    lashings = [strength * effect] * int(given["lashings_at_40_deg"])
    capacity = css_code.transverse_capacity(given["mass"], mu, lashings)
    return {"capacity": capacity, "outcome": verdict(capacity, given["transverse_force"])}


def tipping_aboard(given: Given) -> Answers:
    overturning = given["transverse_force"] * given["lever_a"]
    lashings = (
        [given["sum_of_cs_one_side"] * given["lashing_lever"]] if "lashing_lever" in given else []
    )
    restoring = css_code.righting_moment(
        given["mass"], given["lever_b"], lashings, given.get("factor_on_cs", 1.0)
    )
    return {
        "overturning": overturning,
        "restoring": restoring,
        "outcome": verdict(restoring, overturning),
    }


def effects_in_the_alternative_method(given: Given) -> Answers:
    effects = css_code.lashing_effects(
        given["friction_factor"], given["vertical_angle"], given["plan_angle_from_transverse"]
    )
    return {"f_y": effects.across, "f_x": effects.along}


def capacity_in_the_alternative_method(given: Given) -> Answers:
    mu, weight = given["friction_factor"], given["mass"]
    effects = [
        (
            lashing["CS"],
            css_code.lashing_effects(
                mu, lashing["vertical_angle"], lashing["plan_angle_from_transverse"]
            ),
        )
        for lashing in given["lashings"]
    ]
    if "transverse_force" in given:
        force = given["transverse_force"]
        capacity = css_code.transverse_capacity(
            weight, mu, [strength * effect.across for strength, effect in effects]
        )
    else:
        force = given["longitudinal_force"]
        capacity = css_code.longitudinal_capacity(
            weight,
            mu,
            [strength * effect.along for strength, effect in effects],
            given["vertical_force"],
            given["f_z"],
        )
    return {"capacity": capacity, "outcome": verdict(capacity, force)}


def securing_load(given: Given) -> Answers:
    load = css_code.maximum_securing_load(given["device"], given["breaking_strength"])
    return {"maximum_securing_load": load}


def weakest_in_line(given: Given) -> Answers:
    fittings = "shackles, rings, deck eyes, turnbuckles of mild steel"
    parts = (
        (fittings, given["shackle_breaking_strength"]),
        ("web lashing", given["web_breaking_strength"]),
        (fittings, given["turnbuckle_breaking_strength"]),
    )
    return {"maximum_securing_load": min(css_code.maximum_securing_load(*part) for part in parts)}


# --- other editions and countries ----------------------------------------------------------------


def in_the_2003_edition(given: Given) -> Answers:
    number = en_12195_1_2003.friction_lashings_against_sliding(
        given["mass"],
        given["c"],
        1.0,
        given["dynamic_friction"],
        given["pretension"],
        given["angle"],
        given["k"],
    )
    return {"exact_number": number, "lashings": steps_up(number)}


def less_transmission_more_straps(given: Given) -> Answers:
    def straps(transmission: float) -> float:
        return en_12195_1_2003.friction_lashings_against_sliding(
            4e4, 0.8, 1.0, 0.3, 4e3, math.radians(75), transmission
        )

    return {"straps": given["straps_with_k_2"] * straps(given["k_new"]) / straps(2.0)}


def editions_compared(given: Given) -> Answers:
    pretension, angle, weight = 4e3, math.radians(75), 1e4
    older = en_12195_1_2003.friction_lashings_against_sliding(
        weight, given["c"], 1.0, given["dynamic_friction_en"], pretension, angle, given["k_en"]
    )
    assert given["k_imo"] == 2
    imo = en_12195_1.friction_lashings_against_sliding(
        weight, given["c_imo"], 1.0, given["friction_imo"], pretension, angle, 1.0, 0.0
    )
    return {"ratio": older / imo}


def australian_tie_down(given: Given) -> Answers:
    assert given["safety_factor"] == "none"
    number = australia.tie_downs_needed(
        given["mass"], given["c"], given["friction_factor"], given["pretension"], given["angle"]
    )
    return {"exact_number": number, "lashings": steps_up(number)}


def australian_weight_per_strap(given: Given) -> Answers:
    return {
        name: held_by_one(
            lambda weight, c=given[c]: australia.tie_downs_needed(
                weight, c, given["friction_factor"], given["pretension"], given["angle"]
            )
        )
        for name, c in (("mass_unblocked", "c_unblocked"), ("mass_blocked", "c_blocked_in_front"))
    }


def measured_effect(given: Given) -> float:
    return australia.angle_effect(given["forward_distance_F1"], given["lashing_length_L1"])


def effect_of_the_angle(given: Given) -> Answers:
    return {"angle_effect": measured_effect(given)}


def australian_direct(given: Given) -> Answers:
    effect = given["angle_effect"] if "angle_effect" in given else measured_effect(given)
    return {
        "required_LC": australia.lashing_capacity_needed(
            given["mass"], given["c"], effect, given["acting_chains"]
        )
    }


# Truck Loading Code, Figure 3, secondary copy: strength over weight by height of the headboard.
NEW_ZEALAND_HEADBOARDS = {"none": 2.0, "partial (low)": 1.5, "full": 1.0}


def new_zealand_rigid_load(given: Given) -> Answers:
    each = new_zealand.strength_needed_per_tiedown(
        given["mass"], NEW_ZEALAND_HEADBOARDS[given["headboard"]], given.get("chains", 1.0)
    )
    return {"rating_per_chain" if "chains" in given else "total_strength": each}


def canadian_aggregate(given: Given) -> Answers:
    counted = given["tiedowns"] * north_america.counted_working_load_limit(
        given["wll_each"], given["ends_on_vehicle_each"], 0.5
    )
    return {"aggregate_wll": counted, "outcome": verdict(counted, 0.5 * given["cargo_mass"])}


def canadian_fewest(given: Given) -> Answers:
    return {
        "tiedowns": north_america.fewest_tiedowns(
            given["article_length"],
            given["article_mass"],
            {"not blocked": 0.0, "blocked": 1.0}[given["blocked_in_front"]],
            1.52,
            500 * KG,
            3.04,
        )
    }


# --- bodies and friction -------------------------------------------------------------------------


def body_wall(given: Given) -> Answers:
    strength = vehicle_body.wall_strength(given["code"], given["wall"], given["payload"])
    return {"wall_strength": strength}


def lashing_point(given: Given) -> Answers:
    return {"point_strength": vehicle_body.lashing_point_strength(given["gross_vehicle_mass"])}


def friction_of_a_pair(given: Given) -> Answers:
    assert given["cleanliness"] == "swept clean"
    static = friction.static_friction(
        given["surface_a"].replace("_", " "),
        given["surface_b"].replace("_", " "),
        {"dry": 0.0, "wet": 1.0}[given["condition"]],
    )
    conversion = {"friction or blocking": 1.0, "direct lashing": 0.75}[given["method"]]
    return {"design_friction": friction.design_friction([static], math.inf, conversion)}


def friction_of_dirty_surfaces(given: Given) -> Answers:
    # Ceilings of the reference's I-49, from memory.
    at_most = {"not swept": 0.3, "oil or grease": 0.1}[given["cleanliness"]]
    return {"design_friction": friction.design_friction([given["table_friction"]], at_most, 1.0)}


def dynamic_of_static(given: Given) -> Answers:
    return {
        "dynamic_friction": friction.design_friction(
            [given["static_friction"]], math.inf, given["ratio"]
        )
    }


def weakest_interface(given: Given) -> Answers:
    joints = [given[f"interface_{number}"] for number in (1, 2, 3)]
    return {"design_friction": friction.design_friction(joints, math.inf, 1.0)}


def numbered(
    stem: str, numbers: range, work_out: Callable[[Given], Answers]
) -> dict[str, Callable[[Given], Answers]]:
    return {f"intl-{stem}-{number:02}": work_out for number in numbers}


RUN: dict[str, Callable[[Given], Answers]] = {
    "intl-frict-01": one_over_the_article,
    "intl-frict-02": one_leg_measured,
    "intl-frict-03": factor_of_the_form,
    **numbered("frict", range(4, 7), over_against_sliding),
    **numbered("frict", range(7, 9), friction_alone),
    **numbered("frict", range(9, 15), top_over_on_the_road),
    **numbered("tilt", range(1, 10), rows_against_tilting),
    "intl-tilt-10": both_tilting_cases,
    "intl-tilt-11": over_against_tilting,
    **numbered("tilt", range(12, 14), tilting_without_lashings),
    **numbered("block", range(1, 4), blocking),
    "intl-block-04": residual_need,
    "intl-block-05": blocking,
    **numbered("direct", range(1, 5), direct_against_sliding),
    **numbered("direct", range(5, 7), direct_by_coordinates),
    **numbered("direct", range(7, 12), straight_on_the_road),
    **numbered("dirtilt", range(1, 3), direct_against_tilting),
    **numbered("loopspring", range(1, 6), half_loops),
    **numbered("loopspring", range(6, 9), springs),
    "intl-ctu-01": battens,
    "intl-ctu-02": batten_balance,
    "intl-ctu-03": bag_beside_sliding_cargo,
    "intl-ctu-04": bag_beside_tipping_cargo,
    "intl-ctu-05": cog_along_the_unit,
    **numbered("ctu", range(6, 8), tight_stow),
    **numbered("ctu", range(10, 18), top_over_by_land_and_sea),
    **numbered("ctu", range(18, 22), straight_by_land_and_sea),
    "intl-css-01": ship_force("F_x"),
    "intl-css-02": ship_force("F_y"),
    "intl-css-03": ship_force("F_z"),
    "intl-css-04": strength_in_a_balance,
    "intl-css-05": effect_in_the_basic_method,
    "intl-css-06": across_in_the_basic_method,
    "intl-css-07": tipping_aboard,
    **numbered("css", range(8, 12), effects_in_the_alternative_method),
    **numbered("css", range(12, 14), capacity_in_the_alternative_method),
    "intl-css-14": tipping_aboard,
    "intl-compare-01": less_transmission_more_straps,
    "intl-compare-02": in_the_2003_edition,
    "intl-compare-03": over_against_sliding,
    "intl-compare-04": australian_tie_down,
    "intl-compare-05": editions_compared,
    "intl-compare-06": section_by_section,
    **numbered("compare", range(7, 11), top_over_before_2014),
    "intl-au-01": effect_of_the_angle,
    "intl-au-02": australian_direct,
    "intl-au-03": effect_of_the_angle,
    "intl-au-04": australian_direct,
    **numbered("au", range(5, 8), australian_weight_per_strap),
    **numbered("nz", range(1, 5), new_zealand_rigid_load),
    **numbered("ca", range(1, 3), canadian_aggregate),
    **numbered("ca", range(3, 9), canadian_fewest),
    **numbered("incl", range(1, 4), tilted_deck),
    "intl-incl-04": tilted_deck_by_the_smaller,
    "intl-strength-04": opposed,
    **numbered("strength", range(5, 9), securing_load),
    "intl-strength-09": weakest_in_line,
    **numbered("strength", range(10, 13), body_wall),
    **numbered("strength", range(13, 15), lashing_point),
    **numbered("mu", range(1, 5), friction_of_a_pair),
    **numbered("mu", range(5, 7), friction_of_dirty_surfaces),
    "intl-mu-07": dynamic_of_static,
    "intl-mu-08": weakest_interface,
}

A_LIMIT = "compares with a limit or multiplies by a coefficient: the rulebooks' business"
A_COEFFICIENT = "looks up the coefficients of a rule: the rulebooks' business"
A_SHARE = "a share of a rating that a rule brings as a threshold"

NOT_RUN: dict[str, str] = {
    **dict.fromkeys(["intl-ctu-08", "intl-ctu-09"], A_LIMIT),
    "intl-css-15": "the rated loads of one side against the weight itself: no formula to write",
    "intl-au-08": A_LIMIT,
    "intl-nz-05": A_SHARE,
    **dict.fromkeys(["intl-ca-09", "intl-ca-10", "intl-ca-11"], A_LIMIT),
    **dict.fromkeys([f"intl-strength-{number:02}" for number in range(1, 4)], A_SHARE),
    **dict.fromkeys([f"intl-coef-{number:02}" for number in range(1, 11)], A_COEFFICIENT),
}


def test_every_case_is_run_or_named_with_a_reason() -> None:
    assert sorted([*RUN, *NOT_RUN]) == sorted(CASES)


@pytest.mark.parametrize("case_id", RUN)
def test_worked_case(case_id: str) -> None:
    case = CASES[case_id]
    answers = RUN[case_id]({name: to_si(stated) for name, stated in case["given"].items()})
    assert answers.keys() == case["expect"].keys()
    kind, _, margin = case["tolerance"].partition(" ")
    tolerance = {
        "abs": {"abs": float(margin or 0), "rel": 0.0},
        "rel": {"rel": float(margin or 0)},
        "exact": {"rel": 1e-12},
    }[kind]
    for name, text in case["expect"].items():
        quantity = QUANTITY.fullmatch(text)
        if quantity is None:
            assert answers[name] == text
            continue
        answer = answers[name] / SI_PER_UNIT[quantity[2]]
        assert answer == pytest.approx(float(quantity[1]), **tolerance), name
