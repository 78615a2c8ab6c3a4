"""The haul: when, where, how far, how fast, and for whom."""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

from msgspec import Struct

from checker.load.model.field_types import (
    FILE_OR_FIELDS,
    NOT_CHECKED,
    Answer,
    Day,
    Duration,
    Keywords,
    Length,
    LengthOrZero,
    ShareOrZero,
    Speed,
    Title,
    example,
    fact,
)
from checker.load.model.gear import Gear
from checker.units.arithmetic import NOT_STATED

_Place: TypeAlias = Annotated[
    str,
    Keywords(
        type="string",
        pattern="^[A-Z]{2}(-[A-Z0-9]{1,3}(-[A-Z0-9]{1,12})?)?$",
        jurisdiction="trip",
        description="A country, state or county, in capitals",
        examples=("US-UT",),
    ),
]
_FromTheStart: TypeAlias = Annotated[
    LengthOrZero, example("45 mi"), Keywords(description="Distance from the start.")
]


class Trip(Struct, frozen=True, kw_only=True):
    """The haul."""

    date: Day | None = None
    """Day of the haul, year-month-day."""
    places: Annotated[tuple[_Place, ...] | None, Keywords(min_items=1), example(("US-UT",))] = None
    """Every jurisdiction the trip touches, in the order of travel, again where it comes back:
    country, state and, where it matters, county."""
    distance: Annotated[Length, example("62 mi", "100 km"), fact("trip.distance")] = NOT_STATED
    """Length of the whole trip."""
    driving_time: Annotated[Duration, fact("trip.driving_time")] = NOT_STATED
    """Time spent driving."""
    load_checks: tuple[_FromTheStart, ...] | None = None
    """Where the crew plans to stop and check the load."""
    wheel_nuts_at_first_check: Annotated[Answer, fact("trip.wheel_nuts_at_first_check")] = (
        NOT_STATED
    )
    """The wheel nuts are tried with the wrench again at the first of them."""
    speed: Annotated[Speed, fact("trip.speed")] = NOT_STATED
    """Highest speed planned."""
    speed_on_single_roads: Annotated[Speed, fact("trip.speed_on_single_roads")] = NOT_STATED
    """Highest speed planned off motorways and dual carriageways."""
    steepest_grade: Annotated[ShareOrZero, fact("trip.steepest_grade")] = NOT_STATED
    """Steepest grade on the way, rise by run."""
    public_road: Annotated[Answer, fact("trip.public_road")] = NOT_STATED
    """It goes on a public road."""
    network: Literal["national network", "other roads"] | None = None
    """Whether the trip is on the US National Network of roads or off it."""
    placarded_cargo: Annotated[Answer, fact("trip.placarded_cargo")] = NOT_STATED
    """Hazardous material in a placarded quantity is aboard."""
    people_for_pay: Annotated[Answer, fact("trip.people_for_pay")] = NOT_STATED
    """People aboard the tow vehicle are carried for pay."""
    intermodal: Annotated[Answer, fact("trip.intermodal")] = NOT_STATED
    """The loaded trailer also goes by sea or rail."""
    interstate: Annotated[Answer, fact("trip.interstate")] = NOT_STATED
    """It crosses a state line or belongs to such commerce."""
    lowest_clearance: Annotated[
        Length,
        Keywords(word_for_none="none posted"),
        example("none posted", "13 ft 6 in"),
        fact("trip.lowest_clearance"),
    ] = NOT_STATED
    """Lowest bridge, wire or roof on the way, the yard and the site included."""
    over_height_permit: Annotated[Answer, fact("trip.over_height_permit")] = NOT_STATED
    """A permit for the height is aboard."""
    lamps_required: Annotated[Answer, fact("trip.lamps_required")] = NOT_STATED
    """Headlamps are required: dark or poor sight."""
    over_width_permit: Annotated[Answer, fact("trip.over_width_permit")] = NOT_STATED
    """A permit for the width is aboard."""
    tyre_overload_permit: Annotated[Answer, fact("trip.tyre_overload_permit")] = NOT_STATED
    """A state permit allows tyres over their mark at 50 mph or less."""


class Carrier(Struct, frozen=True, kw_only=True):
    """Who hauls."""

    title: Title = "carrier"
    government: Annotated[Answer, fact("carrier.government", label="a government body")] = (
        NOT_STATED
    )
    """A federal, state or local government body."""
    follows_federal_rules: Annotated[Answer, fact("carrier.follows_federal_rules")] = NOT_STATED
    """Follows the federal motor carrier rules by its own policy, bound or not."""
    for_hire: Annotated[Answer, fact("carrier.is_for_hire", label="carries for hire or reward")] = (
        NOT_STATED
    )
    """It carries the goods of others for pay."""
    operator_licence: Annotated[Answer, fact("carrier.has_operator_licence")] = NOT_STATED
    """It holds the licence that the place wants of those who carry goods."""
    tachograph_used_or_exempt: Annotated[Answer, fact("carrier.tachograph_used_or_exempt")] = (
        NOT_STATED
    )
    """A tachograph records the driving, or an exemption of the place fits the haul."""
    personal_and_unpaid: Annotated[Answer, fact("carrier.personal_and_unpaid")] = NOT_STATED
    """An individual moving personal property now and then, unpaid, not for business."""
    covered_farm_vehicle: Answer = NOT_STATED
    """A covered farm vehicle by 49 CFR 390.5: a farmer's or ranch's own haul, not for hire, no
    placarded cargo, within the weight and distance that the section gives."""
    name_and_number_on_vehicle: Annotated[Answer, fact("carrier.name_and_number_on_vehicle")] = (
        NOT_STATED
    )
    """The carrier's name and USDOT number are on both sides of the tow vehicle."""
    gear: Annotated[Gear | None, FILE_OR_FIELDS, NOT_CHECKED] = None
    """What its crews carry to tie loads down with, for loads that name no gear."""


class Driver(Struct, frozen=True, kw_only=True):
    """The driver."""

    licence: (
        Literal[
            "ordinary",
            "learner or restricted",
            "group a",
            "group b",
            "group c",
            "b96",
            "be",
            "c1e",
            "heavy trailer",
            "heavy vehicle",
        ]
        | None
    ) = None
    """Class of the driver's licence. `ordinary` is the car licence of the place (B, C, 5, G, NZ 1);
    `heavy trailer` is a Canadian class above it, `heavy vehicle` LR in Australia, 2 in NZ."""
    medical_certificate: Annotated[Answer, fact("driver.medical_certificate")] = NOT_STATED
    """The driver has a medical certificate in date."""
