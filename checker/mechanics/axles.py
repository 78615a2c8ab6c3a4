"""How an axle group divides its load among its axles.

Equalised suspension (rocker or slipper between the springs) divides evenly at any deck angle. With
independent springs (torsion arms) the height of the ball decides.

For independent springs the trailer frame is rigid and hinged on the ball, and every axle spring is
linear. `ball_lowering` is how far the ball is below the height at which, with the frame parallel to
the road, the springs just touch without load. A negative axle load means that an axle hangs free;
the other results of that row are then wrong.
"""

from collections.abc import Sequence
from itertools import starmap
from operator import mul

from checker.mechanics.quantities import quotient
from checker.units.arithmetic import Number


def _stiffness_moments(
    positions: Sequence[Number], spring_rates: Sequence[Number]
) -> tuple[Number, Number, Number]:
    """Sum of rate, rate * position and rate * position squared: N/m, N, N m."""
    pairs = list(zip(spring_rates, positions, strict=True))
    return (
        sum(spring_rates, start=0.0),
        sum(starmap(mul, pairs), start=0.0),
        sum((rate * position * position for rate, position in pairs), start=0.0),
    )


def equalised_share(axle_group_load: Number, axles: Number) -> Number:
    """Load on each axle of an equalised group.

    share = axle_group_load / axles. Loads in N, `axles` a count. Source: statics, derived.
    """
    return quotient(axle_group_load, axles)


def independent_axle_group(positions: Sequence[Number], spring_rates: Sequence[Number]) -> Number:
    """Distance behind the ball at which an added load presses all axle springs down alike.

    position = sum(rate * position) / sum(rate), for a frame whose attitude does not change: each
    spring then takes its part of the added load by its rate. Positions in m behind the ball, rates
    in N/m per axle, result in m. Source: statics, derived.
    """
    stiffness, first_moment, _ = _stiffness_moments(positions, spring_rates)
    return quotient(first_moment, stiffness)


def level_deck_ball_lowering(
    gross_weight: Number,
    cg: Number,
    positions: Sequence[Number],
    spring_rates: Sequence[Number],
) -> Number:
    """Ball lowering at which a trailer on independent springs rides level.

    lowering = gross_weight * cg / sum(rate * position). Weight in N, `cg` and axle `positions`
    in m behind the ball, rates in N/m per axle, result in m. Source: statics, derived.
    """
    _, first_moment, _ = _stiffness_moments(positions, spring_rates)
    return quotient(gross_weight * cg, first_moment)


def independent_axle_loads(
    gross_weight: Number,
    cg: Number,
    positions: Sequence[Number],
    spring_rates: Sequence[Number],
    ball_lowering: Number,
) -> tuple[tuple[Number, ...], Number]:
    """Load of each axle, front to rear, and tongue weight of a trailer on independent springs.

    load_i = rate_i * (ball_lowering + slope * position_i), with
    slope = (gross_weight * cg - ball_lowering * sum(rate * position)) / sum(rate * position^2);
    tongue_weight = gross_weight - sum(load). Loads in N, lengths in m behind the ball, rates in
    N/m per axle. Source: statics, derived.
    """
    _, first_moment, second_moment = _stiffness_moments(positions, spring_rates)
    slope = quotient(gross_weight * cg - ball_lowering * first_moment, second_moment)
    loads = tuple(
        rate * (ball_lowering + slope * position)
        for rate, position in zip(spring_rates, positions, strict=True)
    )
    return loads, gross_weight - sum(loads, start=0.0)


def tongue_change_per_ball_lowering(
    positions: Sequence[Number], spring_rates: Sequence[Number]
) -> Number:
    """Change of tongue weight per metre the ball is lowered; never positive.

    change = sum(rate * position)^2 / sum(rate * position^2) - sum(rate): lowering the ball
    takes weight off the tongue and puts it on the front axle. Positions in m behind the ball,
    rates in N/m per axle, result in N/m. Source: statics, derived.
    """
    stiffness, first_moment, second_moment = _stiffness_moments(positions, spring_rates)
    return quotient(first_moment * first_moment, second_moment) - stiffness
