"""The trailer as its plates, the tape and the scale give it, empty."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Struct

from checker.load.model.field_types import (
    BY_NAME,
    NOT_WRITTEN,
    Answer,
    CalendarDay,
    Count,
    DurationOrZero,
    Id,
    Keywords,
    Length,
    SignedLength,
    SpringRate,
    Title,
    Weight,
    WeightOrZero,
    example,
    fact,
)
from checker.units.arithmetic import NOT_STATED


class Axle(Struct, frozen=True, kw_only=True):
    """One axle of the trailer."""

    name: Annotated[str, NOT_WRITTEN]
    x: Length = NOT_STATED
    """Behind the ball centre to the axle centre."""
    rating: Annotated[Weight, fact("axle.rating", label="axle rating")] = NOT_STATED
    """Axle rating on the label (GAWR)."""
    tyres: Annotated[Count, Keywords(minimum=1)] = NOT_STATED
    """Tyres on this axle."""
    tyre_rating: Annotated[Weight, fact("axle.tyre_rating", label="rating of one tyre")] = (
        NOT_STATED
    )
    """Load rating of one tyre as fitted (single or dual figure), from its sidewall."""
    spring_rate: SpringRate = NOT_STATED
    """Load per length of travel of both wheels of this axle together, for independent axles."""
    brakes: Annotated[Answer, fact("axle.has_brakes", label="brakes on the axle")] = NOT_STATED
    """Brakes act on this axle's wheels."""


class Anchor(Struct, frozen=True, kw_only=True):
    """A point on the trailer a tiedown hooks to."""

    name: Annotated[str, NOT_WRITTEN]
    x: Length = NOT_STATED
    """Behind the ball centre."""
    y: SignedLength = NOT_STATED
    """To the left of the centre line, seen in driving direction; right is negative."""
    z: SignedLength = NOT_STATED
    """Above the deck."""
    type: Literal["d-ring", "stake pocket", "chain slot", "rail", "floor track", "other"] | None = (
        None
    )
    """What the anchor is."""
    encloses_hook: Answer = NOT_STATED
    """The hook sits inside a closed shape and cannot jump off."""
    working_load_limit: Weight = NOT_STATED
    """Rating of the anchor point."""
    lashing_capacity: Annotated[Weight, example("800 daN")] = NOT_STATED
    """LC or permitted force on its plate, for the calculations at LC; its working load limit counts
    where it has none."""


class Deck(Struct, frozen=True, kw_only=True):
    """The loading deck."""

    front: Length = NOT_STATED
    """Behind the ball to the front edge of the deck."""
    rear: Length = NOT_STATED
    """Behind the ball to the rear edge of the deck."""
    width: Length = NOT_STATED
    """Clear width of the deck."""
    height: Length = NOT_STATED
    """Deck above the road."""


class Coupler(Struct, frozen=True, kw_only=True):
    """The coupler."""

    size: Annotated[
        Length, fact("hitch.coupler_size", label="ball size the coupler is made for")
    ] = NOT_STATED
    """Ball size stamped on the coupler."""
    rating: Annotated[Weight, fact("hitch.coupler_rating")] = NOT_STATED
    """Largest gross trailer weight stamped on the coupler."""
    tongue_rating: Annotated[Weight, fact("hitch.coupler_tongue_rating")] = NOT_STATED
    """Largest tongue weight stamped on the coupler or its jack plate."""
    class_number: Annotated[
        Count,
        Keywords(minimum=1, maximum=4),
        fact("hitch.coupler_class", label="class of the coupler"),
    ] = NOT_STATED
    """Class stamped on the coupler, 1 to 4."""


class SafetyChains(Struct, frozen=True, kw_only=True):
    """Safety chains or cables."""

    count: Annotated[Count, fact("hitch.chain_count", label="safety chains")] = NOT_STATED
    """How many chains or cables."""
    breaking_strength: Annotated[
        Weight, fact("hitch.chain_strength", label="breaking strength of one safety chain")
    ] = NOT_STATED
    """Breaking strength of each one with its hook and fixing."""


class FrontStructure(Struct, frozen=True, kw_only=True):
    """Headerboard or front rail that articles may touch."""

    x: Length = NOT_STATED
    """Behind the ball to the face the load meets."""
    height: Annotated[
        Length, fact("front_structure.height", label="height of the front structure")
    ] = NOT_STATED
    """Above the deck."""
    width: Annotated[
        Length, fact("front_structure.width", label="width of the front structure")
    ] = NOT_STATED
    """Width of the structure."""
    rating: Annotated[
        Weight, fact("front_structure.rating", label="rating of the front structure")
    ] = NOT_STATED
    """Forward static load it is built for."""
    openings_smaller_than_article: Annotated[
        Answer, fact("front_structure.openings_smaller_than_article")
    ] = NOT_STATED
    """No opening that an article touching it could pass through."""
    resists_piercing: Annotated[Answer, fact("front_structure.resists_piercing")] = NOT_STATED
    """It resists being pierced by the cargo in contact when braking hard."""
    substitute_as_strong: Annotated[Answer, fact("front_structure.substitute_as_strong")] = (
        NOT_STATED
    )
    """It is another device that protects at least as well."""


class Trailer(Struct, frozen=True, kw_only=True):
    """A trailer."""

    title: Title = "trailer"
    id: Id | None = None
    coupling: Literal["ball", "gooseneck", "fifth wheel", "pintle"] | None = None
    """How it couples to the tow vehicle."""
    full_trailer: Annotated[
        Answer, fact("trailer.is_full_trailer", label="it is a full trailer")
    ] = NOT_STATED
    """No part of its weight but the drawbar's own rests on the tow vehicle."""
    gvwr: Annotated[Weight, fact("trailer.gvwr")] = NOT_STATED
    """Gross vehicle weight rating on the label, coupling load included: MAM, ATM."""
    gtm: Annotated[Weight, fact("trailer.gtm", label="gross trailer mass (GTM)")] = NOT_STATED
    """Most that its wheels may carry when coupled (GTM), on Australian plates."""
    empty_weight: Annotated[Weight, fact("trailer.empty_weight")] = NOT_STATED
    """Weight of the empty trailer with its ramps and fixed gear."""
    empty_tongue_weight: WeightOrZero = NOT_STATED
    """What the empty trailer puts on the coupling, measured level."""
    suspension: Literal["single", "equalised", "independent"] | None = None
    """How the axles share."""
    deck_level: Answer = NOT_STATED
    """The loaded deck stands level. Decides how independent axles share."""
    ball_below_level: Annotated[SignedLength, example("1/2 in")] = NOT_STATED
    """How far the hitched ball sits below the height at which the deck stands level; above is
    negative."""
    ball_height: Annotated[Length, example("18 in")] = NOT_STATED
    """Ball centre above the road, hitched and loaded."""
    empty_cg_height: Annotated[Length, example("22 in")] = NOT_STATED
    """Height of the empty trailer's centre of gravity above the road."""
    axles: Annotated[tuple[Axle, ...], BY_NAME, Keywords(max_properties=20)] = ()
    """Axles by name, such as front and rear."""
    track: Length = NOT_STATED
    """Between the centres of the left and right wheels."""
    deck: Deck = Deck()
    overall_width: Annotated[Length, fact("trailer.overall_width")] = NOT_STATED
    """Widest point of the trailer itself, fenders included."""
    overall_length: Annotated[Length, fact("trailer.overall_length")] = NOT_STATED
    """Length with the tongue included."""
    coupler: Coupler = Coupler()
    safety_chains: SafetyChains = SafetyChains()
    brakes: Literal["none", "electric", "surge", "hydraulic", "air"] | None = None
    """What kind of brakes."""
    built: Annotated[CalendarDay, fact("trailer.built", label="day it was built")] = NOT_STATED
    """Day it was built; where its plate gives a month, the first day of that."""
    rear_guard: Literal["fitted", "none needed", "missing"] | None = None
    """Rear impact guard; none is needed where chassis or wheels reach the rear end that low."""
    wheel_chocks: Annotated[Count, fact("trailer.wheel_chocks")] = NOT_STATED
    """Wheel chocks aboard in holders of their own."""
    approved_for_100_kmh: Annotated[Answer, fact("trailer.approved_for_100_kmh")] = NOT_STATED
    """Its papers and a sealed plate allow 100 km/h."""
    hydraulic_dampers: Annotated[Answer, fact("trailer.has_hydraulic_dampers")] = NOT_STATED
    """Its axles have hydraulic dampers."""
    stabilised: Annotated[Answer, fact("trailer.is_stabilised")] = NOT_STATED
    """It is built for a stabilising coupling or trailer stability control, and has one."""
    breakaway_fitted: Annotated[Answer, fact("trailer.breakaway_fitted")] = NOT_STATED
    """A breakaway device is fitted."""
    breakaway_hold_time: Annotated[DurationOrZero, fact("trailer.breakaway_hold_time")] = NOT_STATED
    """How long the breakaway device holds the brakes when tested."""
    front_structure: FrontStructure = FrontStructure()
    anchors: Annotated[tuple[Anchor, ...], BY_NAME, Keywords(max_properties=200)] = ()
    """Anchors by name, such as front-left."""
