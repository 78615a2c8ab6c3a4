"""The tow vehicle: plate ratings, scale weights without the trailer, coupling parts."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Struct

from checker.load.model.field_types import (
    Answer,
    Count,
    Id,
    Keywords,
    Length,
    ShareOrZero,
    SignedLength,
    SpringRate,
    Title,
    Weight,
    WeightOrZero,
    example,
    fact,
)
from checker.units.arithmetic import NOT_STATED


class Receiver(Struct, frozen=True, kw_only=True):
    """The hitch receiver or in-bed hitch."""

    rating: Weight = NOT_STATED
    """Largest gross trailer weight, weight-carrying."""
    tongue_rating: Weight = NOT_STATED
    """Largest tongue weight, weight-carrying."""
    distributing_rating: Annotated[Weight, example("12000 lb")] = NOT_STATED
    """Largest gross trailer weight with a weight-distributing hitch."""
    distributing_tongue_rating: Annotated[Weight, example("1200 lb")] = NOT_STATED
    """Largest tongue weight with a weight-distributing hitch."""


class BallMount(Struct, frozen=True, kw_only=True):
    """The ball mount or drawbar."""

    rating: Annotated[Weight, fact("hitch.ball_mount_rating")] = NOT_STATED
    """Largest gross trailer weight."""
    tongue_rating: Annotated[Weight, fact("hitch.ball_mount_tongue_rating")] = NOT_STATED
    """Largest tongue weight."""


class Ball(Struct, frozen=True, kw_only=True):
    """The ball."""

    size: Annotated[Length, fact("hitch.ball_size")] = NOT_STATED
    """Diameter stamped on the ball."""
    rating: Annotated[Weight, fact("hitch.ball_rating")] = NOT_STATED
    """Largest gross trailer weight stamped on the ball."""


class TowVehicle(Struct, frozen=True, kw_only=True):
    """A tow vehicle."""

    title: Title = "tow vehicle"
    id: Id | None = None
    gvwr: Annotated[Weight, fact("tow_vehicle.gvwr")] = NOT_STATED
    """Gross vehicle weight rating on the label: MAM, GVM, permitted gross mass."""
    registered_as: Literal["car", "off-road car", "lorry"] | None = None
    """What its papers call it; a pickup may be any of these."""
    unladen_weight: Annotated[Weight, fact("tow_vehicle.unladen_weight")] = NOT_STATED
    """Weight without load as its papers state it: kerb weight, empty mass, net weight."""
    antilock_brakes: Annotated[Answer, fact("tow_vehicle.has_antilock_brakes")] = NOT_STATED
    """It has antilock brakes."""
    gcwr: Annotated[Weight, fact("tow_vehicle.gcwr")] = NOT_STATED
    """Gross combination weight rating given by the maker: train weight (GTW), GCM."""
    gcwr_on_label: Answer = NOT_STATED
    """The GCWR is printed on the certification label; a brochure or manual counts for no law."""
    front_axle_rating: Annotated[Weight, fact("tow_vehicle.front_axle_rating")] = NOT_STATED
    """Front axle rating (GAWR)."""
    rear_axle_rating: Annotated[Weight, fact("tow_vehicle.rear_axle_rating")] = NOT_STATED
    """Rear axle rating (GAWR)."""
    front_axle_weight: Weight = NOT_STATED
    """Front axle on the scale with people and gear aboard, no trailer."""
    rear_axle_weight: Weight = NOT_STATED
    """Rear axle on the scale with people and gear aboard, no trailer."""
    wheelbase: Length = NOT_STATED
    """Between front and rear axle."""
    ball_behind_rear_axle: SignedLength = NOT_STATED
    """Rear axle back to the ball; negative for a coupling ahead of the axle."""
    overall_width: Annotated[Length, fact("tow_vehicle.overall_width")] = NOT_STATED
    """Widest point of its body, mirrors left out."""
    overall_length: Annotated[Length, fact("tow_vehicle.overall_length"), example("19 ft 3 in")] = (
        NOT_STATED
    )
    """From its front bumper to the rearmost part of its body or bumper."""
    ball_behind_body: Annotated[SignedLength, fact("tow_vehicle.ball_behind_body")] = NOT_STATED
    """Rear end of its body or bumper back to the ball; negative for a coupling over the bed."""
    front_spring_rate: Annotated[SpringRate, example("900 lb/in")] = NOT_STATED
    """Load per length of travel of the front axle, both sides together."""
    rear_spring_rate: Annotated[SpringRate, example("1000 lb/in")] = NOT_STATED
    """Load per length of travel of the rear axle, both sides together."""
    front_restoration: Annotated[
        ShareOrZero, Keywords(word_for_none="none"), example("none", "50 %")
    ] = NOT_STATED
    """Share of the front axle's lost load that a weight-distributing hitch gives back; `none` where
    no such hitch is fitted."""
    payload_rating: Annotated[Weight, fact("tow_vehicle.payload_rating")] = NOT_STATED
    """Occupants and cargo limit on the door placard."""
    occupants_and_cargo: WeightOrZero = NOT_STATED
    """People and gear aboard that count against the placard, trailer not included."""
    largest_unbraked_trailer_weight: Annotated[
        Weight,
        Keywords(word_for_none="no limit given"),
        example("no limit given", "3000 lb"),
        fact("tow_vehicle.largest_unbraked_trailer_weight"),
    ] = NOT_STATED
    """Largest weight the maker allows for a trailer without brakes."""
    largest_trailer_weight: Annotated[
        Weight,
        Keywords(word_for_none="no limit given"),
        example("no limit given", "7000 lb"),
        fact("tow_vehicle.largest_trailer_weight"),
    ] = NOT_STATED
    """Largest trailer weight the maker allows."""
    seats: Annotated[Count, fact("tow_vehicle.seats")] = NOT_STATED
    """Seats, driver included."""
    receiver: Receiver = Receiver()
    ball_mount: BallMount = BallMount()
    ball: Ball = Ball()
