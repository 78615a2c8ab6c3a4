"""Coupling values of UNECE R55: the reference forces a European coupling is plated for.

All formulas and factors here are from memory; only their names were seen in the contents of
Directive 94/20/EC. The regulation works with masses in tonnes and g = 9.81 m/s2; here every mass
is stated by its weight in newtons (standard gravity) and converted, so the results are those of
the regulation.
"""

import numpy as np

from checker.mechanics.quantities import STANDARD_GRAVITY, as_number, quotient
from checker.units.arithmetic import Number

# The regulation's rounded gravity over the one that turned masses into weights.
_ROUNDING = 9.81 / STANDARD_GRAVITY

# Share of a semi-trailer's force that reaches the fifth wheel. UNECE R55, from memory.
_SEMI_TRAILER_FACTOR = 0.6

# Vertical accelerations at the drawbar, m/s2. UNECE R55, from memory.
_DRAWBAR_ACCELERATION_AIR = 1.8
_DRAWBAR_ACCELERATION_OTHER = 2.4


def d_value(tow_vehicle_weight: Number, trailer_weight: Number) -> Number:
    """D-value: the reference force between a tow vehicle and a full trailer.

    D = g * vehicle mass * trailer mass / (vehicle mass + trailer mass). Weights of the
    technically permissible masses and result in N. Source: UNECE R55, from memory.
    """
    return _ROUNDING * quotient(
        tow_vehicle_weight * trailer_weight, tow_vehicle_weight + trailer_weight
    )


def dc_value(tow_vehicle_weight: Number, trailer_axle_weight: Number) -> Number:
    """Dc-value: the reference force between a tow vehicle and a centre-axle trailer.

    Dc = g * vehicle mass * axle mass / (vehicle mass + axle mass). `trailer_axle_weight` is what
    the trailer's axles carry, the load on the coupling left out; weights and result in N.
    Source: UNECE R55, from memory.
    """
    return d_value(tow_vehicle_weight, trailer_axle_weight)


def semi_trailer_d_value(
    tow_vehicle_weight: Number, trailer_weight: Number, fifth_wheel_load: Number
) -> Number:
    """D-value of a fifth wheel: the reference force between a tractor and a semi-trailer.

    D = g * 0.6 * vehicle mass * trailer mass / (vehicle mass + trailer mass - fifth-wheel mass).
    Weights and result in N; the vehicle's includes what rests on its fifth wheel.
    Source: UNECE R55, from memory.
    """
    return (_ROUNDING * _SEMI_TRAILER_FACTOR) * quotient(
        tow_vehicle_weight * trailer_weight,
        tow_vehicle_weight + trailer_weight - fifth_wheel_load,
    )


def v_value(
    trailer_axle_weight: Number,
    load_area_length: Number,
    drawbar_to_axle: Number,
    air_suspension: Number,
) -> Number:
    """V-value: the vertical reference force at the coupling of a centre-axle trailer above 3.5 t.

    V = acceleration * axle mass * max(1, load_area_length^2 / drawbar_to_axle^2), acceleration
    1.8 m/s2 with air suspension of the drive axle or its equivalent, else 2.4 m/s2. Weight and
    result in N, lengths in m, `air_suspension` 1 or 0. Source: UNECE R55, from memory.
    """
    acceleration = (
        air_suspension * _DRAWBAR_ACCELERATION_AIR
        + (1.0 - air_suspension) * _DRAWBAR_ACCELERATION_OTHER
    )
    length_ratio = quotient(load_area_length, drawbar_to_axle)
    return (
        acceleration
        * (trailer_axle_weight / STANDARD_GRAVITY)
        * as_number(np.maximum(1.0, length_ratio * length_ratio))
    )
