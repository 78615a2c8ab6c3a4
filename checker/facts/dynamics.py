"""Tongue weight under way: braking and grades move weight between axles and tongue."""

from checker.facts.catalogue import fact
from checker.facts.view import View
from checker.mechanics import dynamics
from checker.units.arithmetic import NOT_STATED, Number


@fact(
    "hitch.tongue_change_per_g",
    "load",
    "tongue weight added by braking at 1 g",
    fields=("trailer.brakes", "trailer.ball_height"),
    uses=("trailer.gross_weight", "trailer.cg_height", "trailer.axle_group_position"),
    source="statics; a trailer with brakes is taken to brake itself, another is held by the ball",
    sums=(
        "trailer.gross_weight * trailer.cg_height / trailer.axle_group_position",
        "trailer.gross_weight * (trailer.cg_height - trailer.ball_height) / "
        "trailer.axle_group_position",
    ),
)
def tongue_change_per_g(view: View) -> Number:
    """Tongue weight added by braking at 1 g; it is proportional to the deceleration."""
    trailer = view.load.trailer
    if trailer.brakes is None:
        return NOT_STATED
    return dynamics.tongue_change_when_braking(
        view["trailer.gross_weight"],
        1.0,
        view["trailer.cg_height"],
        view["trailer.axle_group_position"],
        trailer.ball_height,
        float(trailer.brakes != "none"),
    )


for _name, _label, _sign in (("climbing", "climbing", 1.0), ("descending", "going down", -1.0)):

    @fact(
        f"hitch.tongue_weight_{_name}",
        "load",
        f"tongue weight {_label} the steepest grade",
        fields=("trip.steepest_grade", "trailer.ball_height"),
        uses=(
            "trailer.gross_weight",
            "trailer.cg_position",
            "trailer.cg_height",
            "trailer.axle_group_position",
        ),
    )
    def tongue_on_grade(view: View, sign: float = _sign) -> Number:
        """Tongue weight at steady speed on the steepest grade, at right angles to the road."""
        return dynamics.tongue_on_grade(
            view["trailer.gross_weight"],
            view["trailer.cg_position"],
            view["trailer.cg_height"],
            view.load.trailer.ball_height,
            view["trailer.axle_group_position"],
            sign * view.load.trip.steepest_grade,
        )
