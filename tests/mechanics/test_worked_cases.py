"""Every worked case of the towing reference that the mechanics can answer.

Each case names the origin of its expected values (`source`, `status`, `note` in the file).
"""

import math
import re
from collections.abc import Callable

import pytest

from checker.mechanics.axles import (
    equalised_share,
    independent_axle_loads,
    level_deck_ball_lowering,
)
from checker.mechanics.balance import (
    centre_of_gravity,
    cg_from_axle_weights,
    cg_from_scales,
    cg_height_from_tilt,
    lateral_cg_from_scales,
    position_for_tongue_share,
    share_on_tongue,
    side_loads,
    support_loads,
    tongue_change_when_turned,
)
from checker.mechanics.coupling import d_value, dc_value, semi_trailer_d_value, v_value
from checker.mechanics.coupling_classes import (
    WEIGHT_CARRYING_TESTS,
    WEIGHT_DISTRIBUTING_TESTS,
    coupling_class,
    least_breaking_forces,
    receiver_test_forces,
)
from checker.mechanics.dynamics import (
    braking_share,
    mean_deceleration,
    stopping_distance,
    tongue_change_when_braking,
    tongue_on_grade,
)
from checker.mechanics.tiedown_geometry import (
    angle_above_deck,
    direction_cosines,
    plan_angle,
    tension_for_horizontal,
    tension_for_vertical,
)
from checker.mechanics.tow_vehicle import (
    axle_changes,
    ball_drop,
    cargo_capacity_left,
    levelling_changes,
    levelling_moment_for_equal_sharing,
    levelling_moment_for_front_restoration,
)
from checker.mechanics.tyres import (
    load_of_index,
    required_rating_per_tyre,
    smallest_load_index,
)
from checker.units.arithmetic import at_least
from tests.published import published_cases

KG = 9.80665  # N, weight of a kilogram in standard gravity
LB = 4.4482216152605  # N, exact
IN = 0.0254  # m, exact
# Written out here on purpose, independent of the units the program itself converts with.
SI_PER_UNIT = {
    "1": 1.0,
    "%": 0.01,
    "g": 1.0,
    "lb": LB,
    "lbf": LB,
    "kg": KG,
    "t": 1000 * KG,
    "N": 1.0,
    "kN": 1000.0,
    "in": IN,
    "ft": 12 * IN,
    "m": 1.0,
    "mm": 0.001,
    "lb/in": LB / IN,
    "lbf*in": LB * IN,
    "kN*m": 1000.0,
    "deg": math.pi / 180,
    "mph": 5280 * 12 * IN / 3600,
    "ft/s2": 12 * IN,
    "m/s2": 1.0,
}
QUANTITY = re.compile(r"(-?\d+(?:\.\d+)?) (\S+)")

Given = dict[str, object]
Answers = dict[str, object]

CASES = published_cases("towing-cases")


def to_si(text: str) -> float | str:
    quantity = QUANTITY.fullmatch(text)
    return float(quantity[1]) * SI_PER_UNIT[quantity[2]] if quantity else text


# --- balance -----------------------------------------------------------------------------------


def textbook_trailer(given: Given) -> Answers:
    group = given["ball_to_axle"]
    tongue, axle = support_loads(
        [given["trailer_weight"]], [group - given["cg_ahead_of_axle"]], group
    )
    return {
        "tongue_load": tongue,
        "tongue_fraction": tongue / given["trailer_weight"],
        "load_per_wheel": axle / given["wheels_on_axle"],
    }


def empty_trailer_in_local_gravity(given: Given) -> Answers:
    weight = given["trailer_mass"] / KG * given["g"]
    tongue, _ = support_loads(
        [weight], [given["trailer_cg_behind_coupler"]], given["coupler_to_axle"]
    )
    return {
        "coupler_load": tongue,
        "coupler_load_as_mass": tongue / given["g"] * KG,
        "tongue_fraction": share_on_tongue(
            given["trailer_cg_behind_coupler"], given["coupler_to_axle"]
        ),
    }


def load_for_a_coupler_share(given: Given) -> Answers:
    return {
        "load_position_behind_coupler": position_for_tongue_share(
            given["target_tongue_fraction"],
            given["load_mass"],
            [given["trailer_mass"]],
            [given["trailer_cg_behind_coupler"]],
            given["coupler_to_axle"],
        )
    }


def empty_trailer_cg(given: Given) -> float:
    return (1 - given["empty_tongue_fraction"]) * given["ball_to_axle_group_centre"]


def machine_on_trailer(given: Given) -> Answers:
    leading, shares = (
        (given["machine_front_axle_behind_ball"], ("front", "rear"))
        if "machine_front_axle_behind_ball" in given
        else (given["machine_rear_axle_behind_ball"], ("rear", "front"))
    )
    machine = given["machine_weight"]
    axle_weights = [machine * given[f"machine_{end}_axle_share"] for end in shares]
    machine_cg = centre_of_gravity(axle_weights, [leading, leading + given["machine_wheelbase"]])
    empty = given["trailer_weight_empty"]
    tongue, axle = support_loads(
        [empty, machine],
        [empty_trailer_cg(given), machine_cg],
        given["ball_to_axle_group_centre"],
    )
    return {
        "machine_cg_behind_ball": machine_cg,
        "tongue_load": tongue,
        "tongue_fraction": tongue / (empty + machine),
        "axle_group_load": axle,
    }


def machine_for_a_tongue_share(given: Given) -> Answers:
    group = given["ball_to_axle_group_centre"]
    position = position_for_tongue_share(
        given["target_tongue_fraction"],
        given["machine_weight"],
        [given["trailer_weight_empty"]],
        [empty_trailer_cg(given)],
        group,
    )
    return {
        "machine_cg_behind_ball": position,
        "machine_cg_ahead_of_axle_centre": group - position,
    }


def machine_turned_round(given: Given) -> Answers:
    return {
        "tongue_load_change": tongue_change_when_turned(
            given["machine_weight"],
            given["machine_wheelbase"],
            given["machine_front_axle_share"],
            given["ball_to_axle_group_centre"],
        )
    }


def cargo_ahead_and_behind(given: Given) -> Answers:
    cargo, group = given["cargo_weight"], given["ball_to_axle"]
    tongue, _ = support_loads(
        [cargo * given["share_ahead_of_axle"], cargo * given["share_behind_axle"]],
        [group - given["lever_ahead"], group + given["lever_behind"]],
        group,
    )
    return {"tongue_load_from_cargo": tongue, "fraction_of_cargo": tongue / cargo}


def band_of(low: float, high: float, gross: str, answer: str) -> Callable[[Given], Answers]:
    """Tongue weight with the centre of gravity placed for either end of a published band."""

    def run(given: Given) -> Answers:
        group = 4.0  # any: a share of the gross weight does not depend on it
        ends = {}
        for end, share in (("low", low), ("high", high)):
            position = position_for_tongue_share(share, given[gross], [], [], group)
            ends[f"{answer}_{end}"] = support_loads([given[gross]], [position], group)[0]
        return ends

    return run


def trailer_on_scales(given: Given) -> Answers:
    return {
        "cg_behind_ball": cg_from_scales(
            given["axle_group_load"], given["tongue_load"], given["ball_to_axle_group_centre"]
        )
    }


def vehicle_on_axle_scales(given: Given) -> Answers:
    return {
        "cg_behind_front_axle": cg_from_axle_weights(
            given["front_axle_load"], given["rear_axle_load"], given["wheelbase"]
        )
    }


def tilted_machine(given: Given) -> Answers:
    return {
        "cg_height": cg_height_from_tilt(
            given["weight"],
            given["wheel_centre_height"],
            given["wheelbase"],
            given["incline_angle"],
            given["lower_axle_load_gain"],
        )
    }


def side_difference(given: Given) -> Answers:
    gross = given.get("trailer_gross_weight", given.get("trailer_gross_mass"))
    # What the axles carry together has no say in the difference between the sides.
    left, right = side_loads(0.9 * gross, gross, given["cg_off_centre"], given["track"])
    return {"side_difference": left - right}


def tandem_wheels(given: Given) -> Answers:
    gross = given["trailer_gross_weight"]
    left, right = side_loads(
        gross - given["tongue_load"], gross, given["cg_off_centre"], given["track"]
    )
    return {
        "heavier_wheel": equalised_share(left, given["axles"]),
        "lighter_wheel": equalised_share(right, given["axles"]),
    }


def trailer_on_side_scales(given: Given) -> Answers:
    # The file counts right as positive, the program left: hence the minus.
    return {
        "cg_off_centre": -lateral_cg_from_scales(
            given["left_side_load"],
            given["right_side_load"],
            given["tongue_load"],
            given["track"],
        )
    }


# --- axles -------------------------------------------------------------------------------------


def equalised_tandem(given: Given) -> Answers:
    axle_group_load = given["trailer_gross_weight"] - given["tongue_load"]
    return {"load_per_axle": equalised_share(axle_group_load, given["axles"])}


def independent_tandem(given: Given) -> Answers:
    positions = [given["axle_1_behind_ball"], given["axle_2_behind_ball"]]
    rates = [given["spring_rate_per_axle"]] * 2
    gross, cg = given["trailer_gross_weight"], given["cg_behind_ball"]
    level = level_deck_ball_lowering(gross, cg, positions, rates)
    below_level = given.get("ball_below_level_deck_height", 0.0)
    (front, rear), tongue = independent_axle_loads(gross, cg, positions, rates, level + below_level)
    answers = {"axle_1_load": front, "axle_2_load": rear, "tongue_load": tongue}
    return answers if below_level else {"ball_lowered_from_reference": level, **answers}


# --- tow vehicle -------------------------------------------------------------------------------


def textbook_pickup(given: Given) -> Answers:
    weight, wheelbase = given["tow_vehicle_weight"], given["wheelbase"]
    # The vehicle itself is a beam on two axles, measured ahead from the rear one.
    rear, front = support_loads([weight], [given["tow_vehicle_cg_ahead_of_rear_axle"]], wheelbase)
    front_change, rear_change = axle_changes(
        given["tongue_load"], wheelbase, given["ball_behind_rear_axle"]
    )
    return {
        "rear_load_per_wheel": (rear + rear_change) / 2,
        "front_load_per_wheel": (front + front_change) / 2,
    }


def coupled_axles(given: Given) -> Answers:
    behind = given.get("ball_behind_rear_axle", -given.get("coupling_ahead_of_rear_axle", 0.0))
    front, rear = axle_changes(given["coupling_load"], given["wheelbase"], behind)
    return {"rear_axle_change": rear, "front_axle_change": front}


def sinking_ball(given: Given) -> Answers:
    return {
        "ball_drop": ball_drop(
            given["tongue_load"],
            given["wheelbase"],
            given["ball_behind_rear_axle"],
            given["rear_axle_rate"],
            given["front_axle_rate"],
        )
    }


def levelled(given: Given) -> Answers:
    tongue, wheelbase = given["tongue_load_without_levelling"], given["wheelbase"]
    behind, to_axle = given["ball_behind_rear_axle"], given["ball_to_axle"]
    goal = given.get("levelling_goal")
    if "levelling_moment" in given:
        moment = given["levelling_moment"]
    elif goal == "equal added load front and rear":
        moment = levelling_moment_for_equal_sharing(tongue, wheelbase, behind, to_axle)
    elif goal == "full front-axle restoration":
        moment = levelling_moment_for_front_restoration(tongue, behind, to_axle)
    else:
        share = given["front_axle_restoration"]
        moment = levelling_moment_for_front_restoration(tongue, behind, to_axle, share)
    front, rear = axle_changes(tongue, wheelbase, behind)
    front_back, rear_back, trailer = levelling_changes(moment, wheelbase, behind, to_axle)
    answers = {
        "front_axle_net_change": front + front_back,
        "rear_axle_net_change": rear + rear_back,
        "trailer_axle_change": trailer,
    }
    return answers if "levelling_moment" in given else {"levelling_moment": moment, **answers}


def cargo_capacity(given: Given) -> Answers:
    return {
        "cargo_capacity": cargo_capacity_left(
            given["placard_limit"], given["occupants"], given["mass_per_occupant"], 0.0
        )
    }


# --- dynamics ----------------------------------------------------------------------------------


def braking(given: Given) -> Answers:
    return {
        "tongue_load_change": tongue_change_when_braking(
            given["trailer_gross_weight"],
            given["deceleration"],
            given["cg_height"],
            given["ball_to_axle"],
            given.get("ball_height", math.nan),
            {"trailer brakes itself": 1.0, "unbraked, held by the ball": 0.0}[
                given["trailer_brakes"]
            ],
        )
    }


def on_a_grade(given: Given) -> Answers:
    return {
        "tongue_load": tongue_on_grade(
            given["trailer_gross_weight"],
            given["cg_behind_ball"],
            given["cg_height"],
            given["ball_height"],
            given["ball_to_axle"],
            given["grade"] * {"climbing": 1, "descending": -1}[given["direction"]],
        )
    }


def braking_percentage(given: Given) -> Answers:
    return {"braking_force_percent": braking_share(given["deceleration"])}


def ideal_stop(given: Given) -> Answers:
    return {"distance": stopping_distance(given["speed"], given["deceleration"])}


def measured_stop(given: Given) -> Answers:
    deceleration = mean_deceleration(given["speed"], given["distance"])
    return {"mean_deceleration": deceleration / KG}


# --- ratings, tyres, couplings -----------------------------------------------------------------


def light_tongue(given: Given) -> Answers:
    group = 4.0  # any: a share of the gross weight does not depend on it
    gross = given["trailer_gross_weight"]
    _, axle = support_loads([gross], [(1 - given["tongue_fraction"]) * group], group)
    verdict = {1.0: "pass", 0.0: "fail"}
    return {
        "axle_group_load": axle,
        "gvwr_check": verdict[at_least(given["gvwr"], gross)],
        "axle_check": verdict[at_least(given["sum_of_gawr"], axle)],
    }


def axle_tyres(given: Given) -> Answers:
    # 1.10 is printed in 49 CFR 571.110 S4.2.2.2 for passenger tyres on a trailer.
    divisor = {"passenger": 1.10, "trailer service": 1.0}[given["tyre_type"]]
    return {
        "required_rating_per_tyre": required_rating_per_tyre(
            given["axle_gawr"], given["tyres"], divisor
        )
    }


def tyre_for_a_load(given: Given) -> Answers:
    return {"smallest_load_index": smallest_load_index(given["load_per_tyre"])}


def farthest_from_the_rule(given: Given) -> Answers:
    table = load_of_index(given["load_index"])
    rule = 45 * KG * 10 ** (given["load_index"] / 80)
    return {"table_load": table, "rule_load": rule, "deviation": table / rule - 1}


def coupling_strength(given: Given) -> Answers:
    forces = least_breaking_forces(given["mgtw"])
    return {
        "coupling_class": f"class {coupling_class(given['mgtw']):.0f}",
        "long_tension": forces.longitudinal_tension,
        "long_compression": forces.longitudinal_compression,
        "transverse": forces.transverse,
        "vert_tension": forces.vertical_tension,
        "vert_compression": forces.vertical_compression,
    }


def class_only(given: Given) -> Answers:
    return {"coupling_class": f"class {coupling_class(given['mgtw']):.0f}"}


def weight_carrying_receiver(given: Given) -> Answers:
    names = (
        "step_1_vertical",
        "step_1_long_compression",
        "step_2_3_long",
        "step_2_3_vertical",
        "step_4_5_transverse",
    )
    forces = receiver_test_forces(WEIGHT_CARRYING_TESTS, given["trailer_gross_weight"])
    return dict(zip(names, forces, strict=True))


def weight_distributing_receiver(given: Given) -> Answers:
    names = ("step_1_vertical", "step_2_3_long", "step_2_3_vertical", "step_4_5_transverse")
    forces = receiver_test_forces(WEIGHT_DISTRIBUTING_TESTS, given["trailer_gross_weight"])
    return dict(zip(names, forces, strict=True))


def full_trailer_coupling(given: Given) -> Answers:
    return {"d_value": d_value(given["tow_vehicle_max_mass"], given["trailer_max_mass"])}


def centre_axle_coupling(given: Given) -> Answers:
    return {"dc_value": dc_value(given["tow_vehicle_max_mass"], given["mass_on_trailer_axles"])}


def fifth_wheel_coupling(given: Given) -> Answers:
    return {
        "d_value": semi_trailer_d_value(
            given["tow_vehicle_max_mass"], given["trailer_max_mass"], given["fifth_wheel_mass"]
        )
    }


def drawbar_vertical(given: Given) -> Answers:
    return {
        "v_value": v_value(
            given["mass_on_trailer_axles"],
            given["load_area_length"],
            given["drawbar_to_axle"],
            {"air": 1.0}[given["suspension"]],
        )
    }


# --- tiedowns ----------------------------------------------------------------------------------


def pulling_down(given: Given) -> Answers:
    return {"tension": tension_for_vertical(given["vertical_force"], given["angle_above_deck"])}


def pulling_forward(given: Given) -> Answers:
    """A strap 2 m long from the anchor, forward and up; both ways of reckoning must agree."""
    steep, aside = given["angle_above_deck"], given["plan_angle_from_direction"]
    attachment = (
        5.0 - 2.0 * math.cos(steep) * math.cos(aside),
        1.0 - 2.0 * math.cos(steep) * math.sin(aside),
        2.0 * math.sin(steep),
    )
    direction, length = direction_cosines((5.0, 1.0, 0.0), attachment)
    assert length == pytest.approx(2.0, rel=1e-12)
    forward = -direction[0] * given["tension"]
    tension = tension_for_horizontal(forward, angle_above_deck(direction), plan_angle(direction))
    assert tension == pytest.approx(given["tension"], rel=1e-12)
    return {"forward_component": forward}


RUN: dict[str, Callable[[Given], Answers]] = {
    "tow-tongue-01": textbook_trailer,
    "tow-tongue-02": empty_trailer_in_local_gravity,
    "tow-tongue-03": load_for_a_coupler_share,
    "tow-tongue-04": load_for_a_coupler_share,
    "tow-tongue-05": machine_on_trailer,
    "tow-tongue-06": machine_on_trailer,
    "tow-tongue-07": machine_for_a_tongue_share,
    "tow-tongue-08": machine_for_a_tongue_share,
    "tow-tongue-09": machine_turned_round,
    "tow-tongue-10": cargo_ahead_and_behind,
    "tow-tongue-11": band_of(0.05, 0.07, "actual_laden_mass", "nose_load"),
    "tow-tongue-12": band_of(0.10, 0.15, "trailer_gross_weight", "tongue_load"),
    "tow-tongue-14": trailer_on_scales,
    "tow-cg-01": vehicle_on_axle_scales,
    "tow-cg-02": tilted_machine,
    "tow-towveh-01": textbook_pickup,
    "tow-towveh-02": coupled_axles,
    "tow-towveh-03": coupled_axles,
    "tow-towveh-04": coupled_axles,
    "tow-towveh-05": coupled_axles,
    "tow-towveh-06": vehicle_on_axle_scales,
    "tow-towveh-07": sinking_ball,
    "tow-level-01": levelled,
    "tow-level-02": levelled,
    "tow-level-03": levelled,
    "tow-level-04": levelled,
    "tow-level-05": levelled,
    "tow-tandem-01": equalised_tandem,
    "tow-tandem-02": independent_tandem,
    "tow-tandem-03": independent_tandem,
    "tow-lateral-01": side_difference,
    "tow-lateral-02": side_difference,
    "tow-lateral-03": tandem_wheels,
    "tow-lateral-04": trailer_on_side_scales,
    "tow-dynamic-01": braking,
    "tow-dynamic-02": braking,
    "tow-dynamic-03": braking,
    "tow-dynamic-04": braking,
    "tow-dynamic-05": on_a_grade,
    "tow-dynamic-06": on_a_grade,
    "tow-rating-01": cargo_capacity,
    "tow-rating-02": light_tongue,
    "tow-rating-04": axle_tyres,
    "tow-rating-05": tyre_for_a_load,
    "tow-rating-06": axle_tyres,
    "tow-rating-07": axle_tyres,
    "tow-rating-08": tyre_for_a_load,
    "tow-rating-09": farthest_from_the_rule,
    "tow-coupling-01": coupling_strength,
    "tow-coupling-02": coupling_strength,
    "tow-coupling-03": coupling_strength,
    "tow-coupling-04": class_only,
    "tow-coupling-05": class_only,
    "tow-coupling-06": class_only,
    "tow-coupling-07": class_only,
    "tow-coupling-08": weight_carrying_receiver,
    "tow-coupling-09": weight_carrying_receiver,
    "tow-coupling-10": weight_distributing_receiver,
    "tow-r55-01": full_trailer_coupling,
    "tow-r55-02": centre_axle_coupling,
    "tow-r55-03": fifth_wheel_coupling,
    "tow-r55-04": drawbar_vertical,
    "tow-stop-01": braking_percentage,
    "tow-stop-02": braking_percentage,
    "tow-stop-03": ideal_stop,
    "tow-stop-04": measured_stop,
    "tow-stop-05": measured_stop,
    "tow-strap-01": pulling_down,
    "tow-strap-02": pulling_down,
    "tow-strap-03": pulling_down,
    "tow-strap-04": pulling_down,
    "tow-strap-05": pulling_forward,
    "tow-strap-06": pulling_forward,
}

A_LIMIT = "compares with a limit of a law or table: the rulebooks' business, not mechanics"
A_TABLE = "looks up a legal table of working load limits: the rulebooks' business"
A_MODEL = "teaching model of sway without a centre-of-gravity term; must not certify a load"
A_PROPOSAL = "speed scaling from a working paper, not in force"

NOT_RUN: dict[str, str] = {
    "tow-tongue-13": A_LIMIT,
    "tow-rating-03": A_LIMIT,
    "tow-rating-10": A_LIMIT,
    "tow-rating-11": A_LIMIT,
    "tow-rating-12": A_LIMIT,
    **dict.fromkeys([f"tow-coupling-{number}" for number in range(11, 21)], A_LIMIT),
    **dict.fromkeys(["tow-r55-05", "tow-r55-06"], A_PROPOSAL),
    **dict.fromkeys(["tow-r55-07", "tow-r55-08", "tow-r55-09", "tow-r55-10"], A_LIMIT),
    **dict.fromkeys([f"tow-brakes-{number:02}" for number in range(1, 15)], A_LIMIT),
    "tow-strap-07": "the smallest of the parts' working load limits: no formula of its own",
    **dict.fromkeys([f"tow-strap-{number:02}" for number in range(8, 16)], A_TABLE),
    **dict.fromkeys([f"tow-sway-{number:02}" for number in range(1, 4)], A_MODEL),
    **dict.fromkeys([f"tow-size-{number:02}" for number in range(1, 9)], A_LIMIT),
}


def test_every_case_is_run_or_named_with_a_reason() -> None:
    assert sorted([*RUN, *NOT_RUN]) == sorted(CASES)


@pytest.mark.parametrize("case_id", RUN)
def test_worked_case(case_id: str) -> None:
    case = CASES[case_id]
    answers = RUN[case_id]({name: to_si(text) for name, text in case["given"].items()})
    assert answers.keys() == case["expect"].keys()
    kind, _, margin = case["tolerance"].partition(" ")
    assert kind in {"abs", "exact"}
    tolerance = {"abs": float(margin), "rel": 0.0} if kind == "abs" else {"rel": 1e-12}
    for name, text in case["expect"].items():
        quantity = QUANTITY.fullmatch(text)
        if quantity is None:
            assert answers[name] == text
            continue
        stated = float(quantity[1])
        answer = answers[name] / SI_PER_UNIT[quantity[2]]
        assert answer == pytest.approx(stated, **tolerance), name
