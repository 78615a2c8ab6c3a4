"""Where a trailer's weight rests: tongue and axle group, left and right.

Also the other way round: the centre of gravity from scales, a position from a share on the tongue.
The trailer is a rigid body on two supports: the ball at 0 and the axle (or the centre of an
equalised axle group) at `group_position` behind it.
"""

from collections.abc import Sequence

import numpy as np

from checker.mechanics.quantities import as_number, quotient
from checker.units.arithmetic import Number


def _total(weights: Sequence[Number]) -> Number:
    return sum(weights, start=0.0)


def _moment(weights: Sequence[Number], positions: Sequence[Number]) -> Number:
    """Moment about the origin of the positions, N m."""
    return sum(
        (weight * position for weight, position in zip(weights, positions, strict=True)),
        start=0.0,
    )


def centre_of_gravity(weights: Sequence[Number], positions: Sequence[Number]) -> Number:
    """Position of the common centre of gravity along the axis of the positions.

    cg = sum(weight * position) / sum(weight). Weights in N, positions and result in m; NaN where
    all weights are zero. Source: statics, derived.
    """
    return quotient(_moment(weights, positions), _total(weights))


def support_loads(
    weights: Sequence[Number], positions: Sequence[Number], group_position: Number
) -> tuple[Number, Number]:
    """Tongue weight and axle-group load of the trailer with everything on it.

    axle_group_load = sum(weight * position) / group_position,
    tongue_weight = sum(weight) - axle_group_load; a negative tongue weight lifts the coupler.
    Weights and result in N, positions in m behind the ball. Source: statics, derived.
    """
    axle_group_load = quotient(_moment(weights, positions), group_position)
    return _total(weights) - axle_group_load, axle_group_load


def share_on_tongue(position: Number, group_position: Number) -> Number:
    """Share of one article's own weight that rests on the ball.

    share = 1 - position / group_position: 1 over the ball, 0 over the axles, negative behind
    them. Positions in m behind the ball, result a ratio. Source: statics, derived.
    """
    return 1.0 - quotient(position, group_position)


def position_for_tongue_share(
    target_share: Number,
    article_weight: Number,
    other_weights: Sequence[Number],
    other_positions: Sequence[Number],
    group_position: Number,
) -> Number:
    """Position of one article's centre of gravity for a wanted tongue weight.

    position = ((1 - target_share) * gross * group_position - sum(other weight * position)) /
    article_weight, with gross = article and others together. `target_share` is tongue weight over
    gross weight, a ratio; weights in N, positions and result in m behind the ball. The result may
    lie off the deck; the caller must check that. Source: statics, derived.
    """
    gross_weight = article_weight + _total(other_weights)
    wanted_moment = (1.0 - target_share) * gross_weight * group_position
    return quotient(wanted_moment - _moment(other_weights, other_positions), article_weight)


def side_loads(
    axle_group_load: Number, gross_weight: Number, lateral_cg: Number, track: Number
) -> tuple[Number, Number]:
    """Load on the left and on the right wheels of the axle group.

    left, right = axle_group_load / 2 +/- gross_weight * lateral_cg / track. The whole gross
    weight counts, not only what the axles carry: a ball joint takes no roll, so all of the roll
    moment goes to the wheels. Loads in N, `lateral_cg` in m to the left of the centre line,
    `track` in m between wheel centres. Source: statics, derived.
    """
    shift = quotient(gross_weight * lateral_cg, track)
    return axle_group_load / 2 + shift, axle_group_load / 2 - shift


def lateral_cg_from_scales(left: Number, right: Number, tongue: Number, track: Number) -> Number:
    """Offset of the trailer's centre of gravity to the left of the centre line, from three scales.

    lateral_cg = track / 2 * (left - right) / (left + right + tongue). Leaving the tongue out of
    the divisor overstates the offset. Scale readings in N, `track` and result in m, left
    positive. Source: statics, derived.
    """
    return quotient(track / 2 * (left - right), left + right + tongue)


def cg_from_scales(
    axle_group_load: Number, tongue_weight: Number, group_position: Number
) -> Number:
    """Trailer centre of gravity behind the ball, from the axle and tongue scales.

    cg = group_position * axle_group_load / (axle_group_load + tongue_weight). Loads in N,
    lengths in m. Source: statics, derived.
    """
    return quotient(group_position * axle_group_load, axle_group_load + tongue_weight)


def cg_from_axle_weights(front: Number, rear: Number, wheelbase: Number) -> Number:
    """Centre of gravity of a machine or vehicle behind its front axle, from axle scales.

    cg = wheelbase * rear / (front + rear). Axle loads in N, lengths in m.
    Source: statics, derived.
    """
    return quotient(wheelbase * rear, front + rear)


def cg_height_from_tilt(
    weight: Number,
    wheel_centre_height: Number,
    wheelbase: Number,
    incline: Number,
    lower_axle_gain: Number,
) -> Number:
    """Height of a machine's centre of gravity above ground, from raising one axle.

    height = wheel_centre_height + lower_axle_gain * wheelbase / (weight * tan(incline)).
    `incline` is the angle of the wheelbase in rad, `lower_axle_gain` the load the lower axle
    gains over level ground; loads in N, lengths in m. Holds for equal wheels and locked
    suspension. Source: from memory, the usual laboratory method; derived again from statics.
    """
    return wheel_centre_height + quotient(
        lower_axle_gain * wheelbase, weight * as_number(np.tan(incline))
    )


def tongue_change_when_turned(
    machine_weight: Number, machine_wheelbase: Number, front_share: Number, group_position: Number
) -> Number:
    """Tongue weight gained by loading a machine tail first instead of nose first.

    change = machine_weight * machine_wheelbase * (rear share - front share) / group_position,
    with the leading axle on the same spot of the deck both times. `front_share` is the share of
    the machine's weight on its front axle; weight and result in N, lengths in m.
    Source: statics, derived.
    """
    return quotient(machine_weight * machine_wheelbase * (1.0 - 2.0 * front_share), group_position)
