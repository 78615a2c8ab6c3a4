"""What a coupled trailer does to the axles of its tow vehicle.

`ball_behind_rear_axle` is the overhang from the rear axle back to the ball; a coupling in the
bed ahead of the rear axle has a negative one, and the same formulas hold.
"""

from checker.mechanics.quantities import quotient
from checker.units.arithmetic import Number


def axle_changes(
    coupling_load: Number, wheelbase: Number, ball_behind_rear_axle: Number
) -> tuple[Number, Number]:
    """Load gained by the front and by the rear axle under the weight on the coupling.

    front = -coupling_load * ball_behind_rear_axle / wheelbase,
    rear = coupling_load * (wheelbase + ball_behind_rear_axle) / wheelbase.
    Loads in N, lengths in m. Source: statics, derived.
    """
    front = -quotient(coupling_load * ball_behind_rear_axle, wheelbase)
    return front, coupling_load - front


def levelling_changes(
    moment: Number, wheelbase: Number, ball_behind_rear_axle: Number, ball_to_axle: Number
) -> tuple[Number, Number, Number]:
    """Load gained by front axle, rear axle and trailer axles from a load-levelling hitch.

    front = moment * (ball_to_axle + ball_behind_rear_axle) / (ball_to_axle * wheelbase),
    trailer = moment / ball_to_axle, rear = -(front + trailer): weight moves, none goes away.
    `moment` between the two frames in N m, lengths in m, result in N; add it to the axle
    changes of the coupling load. Source: statics, derived.
    """
    front = quotient(moment * (ball_to_axle + ball_behind_rear_axle), ball_to_axle * wheelbase)
    trailer = quotient(moment, ball_to_axle)
    return front, -(front + trailer), trailer


def levelling_moment_for_front_restoration(
    tongue_weight: Number,
    ball_behind_rear_axle: Number,
    ball_to_axle: Number,
    share: Number = 1.0,
) -> Number:
    """Levelling moment that gives the front axle back a share of the load the tongue took off it.

    moment = share * tongue_weight * ball_behind_rear_axle * ball_to_axle
    / (ball_to_axle + ball_behind_rear_axle). `tongue_weight` without levelling in N, lengths in
    m, `share` a ratio (1 restores all), result in N m. Source: statics, derived.
    """
    return quotient(
        share * tongue_weight * ball_behind_rear_axle * ball_to_axle,
        ball_to_axle + ball_behind_rear_axle,
    )


def levelling_moment_for_equal_sharing(
    tongue_weight: Number,
    wheelbase: Number,
    ball_behind_rear_axle: Number,
    ball_to_axle: Number,
) -> Number:
    """Levelling moment at which front and rear axle of the tow vehicle gain the same load.

    moment = tongue_weight * ball_to_axle * (wheelbase + 2 * ball_behind_rear_axle)
    / (wheelbase + 2 * ball_to_axle + 2 * ball_behind_rear_axle). `tongue_weight` without
    levelling in N, lengths in m, result in N m. Source: statics, derived.
    """
    return quotient(
        tongue_weight * ball_to_axle * (wheelbase + 2.0 * ball_behind_rear_axle),
        wheelbase + 2.0 * ball_to_axle + 2.0 * ball_behind_rear_axle,
    )


def ball_drop(
    tongue_weight: Number,
    wheelbase: Number,
    ball_behind_rear_axle: Number,
    rear_rate: Number,
    front_rate: Number,
) -> Number:
    """How far the ball sinks when the trailer is set down on it.

    drop = tongue_weight * ((wheelbase + overhang)^2 / rear_rate + overhang^2 / front_rate)
    / wheelbase^2, with overhang = ball_behind_rear_axle. Weight in N, lengths and result in m,
    rates of a whole axle in N/m. An infinite `front_rate` leaves out the rise of the front and
    so gives too small a drop: a lower bound. Source: statics, derived.
    """
    front_gain, rear_gain = axle_changes(1.0, wheelbase, ball_behind_rear_axle)
    return tongue_weight * (
        quotient(rear_gain * rear_gain, rear_rate) + quotient(front_gain * front_gain, front_rate)
    )


def cargo_capacity_left(
    placard: Number, occupants: Number, weight_per_occupant: Number, tongue_weight: Number
) -> Number:
    """Weight that may still go into the tow vehicle beside its occupants and the tongue.

    left = placard - occupants * weight_per_occupant - tongue_weight. `placard` is the most that
    occupants and cargo may weigh together; weights in N, `occupants` a count. Source: load-limit
    steps of 49 CFR 575.6, read in a secondary copy; the tongue term is statics, derived.
    """
    return placard - occupants * weight_per_occupant - tongue_weight
