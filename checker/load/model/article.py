"""One unit of cargo, mostly a machine: how it stands and how it was made ready."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Struct

from checker.load.model.field_types import (
    BY_NAME,
    NOT_CHECKED,
    NOT_WRITTEN,
    Answer,
    Coefficient,
    Id,
    Keywords,
    Length,
    LengthOrZero,
    SignedLength,
    Title,
    Weight,
    example,
    fact,
)
from checker.units.arithmetic import NOT_STATED


class CentreOfGravity(Struct, frozen=True, kw_only=True):
    """Centre of gravity."""

    x: LengthOrZero = NOT_STATED
    """Behind the article's own front end."""
    y: SignedLength = NOT_STATED
    """To its own left."""
    z: Annotated[Length, fact("article.cg_height")] = NOT_STATED
    """Above the deck."""


class MachineAxle(Struct, frozen=True, kw_only=True):
    """One axle, or one end of the tracks, of a machine."""

    x: LengthOrZero = NOT_STATED
    """Behind the machine's own front end."""
    weight: Weight = NOT_STATED
    """On the scale under this axle."""
    track: Annotated[Length, example("50 in")] = NOT_STATED
    """Between the centres of its left and right wheels or tracks."""
    wheel_radius: Annotated[Length, NOT_CHECKED, example("12 in")] = NOT_STATED
    """From the deck to the centre of its wheels, or of the round end of its tracks, as it stands;
    says which chocks an arrangement may put there."""


class MachineAxles(Struct, frozen=True, kw_only=True):
    """Axle weights and places."""

    front: MachineAxle = MachineAxle()
    rear: MachineAxle = MachineAxle()


class Attachment(Struct, frozen=True, kw_only=True):
    """A point on the article a tiedown hooks to."""

    name: Annotated[str, NOT_WRITTEN]
    x: LengthOrZero = NOT_STATED
    """Behind the article's own front end."""
    y: SignedLength = NOT_STATED
    """To the article's own left; right is negative."""
    z: SignedLength = NOT_STATED
    """Above the deck."""
    part: (
        Literal[
            "frame",
            "tie-down point",
            "tow loop",
            "hitch receiver",
            "axle",
            "wheel",
            "accessory",
            "other",
        ]
        | None
    ) = None
    """What it belongs to."""
    working_load_limit: Annotated[
        Weight, Keywords(word_for_none="no rating exists"), example("no rating exists", "2150 lb")
    ] = NOT_STATED
    """Rating of the point; `no rating exists` for the frame itself, or where its maker gives none.
    """
    lashing_capacity: Annotated[Weight, example("2000 daN")] = NOT_STATED
    """LC or permitted force marked at the point, for the calculations at LC; its working load limit
    counts where it has none."""


class Placed(Struct, frozen=True, kw_only=True):
    """Where it stands on the deck."""

    x: Length = NOT_STATED
    """Behind the ball to its end nearest the coupler."""
    y: SignedLength = NOT_STATED
    """Its centre line left of the trailer's."""
    facing: Literal["forward", "rearward"] | None = None
    """Which way its own front faces."""


class Blocking(Struct, frozen=True, kw_only=True):
    """What stops the article besides tiedowns."""

    forward: Annotated[
        Answer, fact("article.blocked_forward", label="blocked against moving forward")
    ] = NOT_STATED
    """A structure, other cargo or blocking stops it moving forward."""
    rearward: Annotated[
        Answer, fact("article.blocked_rearward", label="blocked against moving rearward")
    ] = NOT_STATED
    """A structure, other cargo or blocking stops it moving rearward."""
    left: Annotated[Answer, fact("article.blocked_left", label="blocked against moving left")] = (
        NOT_STATED
    )
    """A structure, other cargo or blocking stops it moving to the left."""
    right: Annotated[
        Answer, fact("article.blocked_right", label="blocked against moving right")
    ] = NOT_STATED
    """A structure, other cargo or blocking stops it moving to the right."""


class Block(Struct, frozen=True, kw_only=True):
    """A chock, rail, headboard or other cargo that stops the article one way."""

    name: Annotated[str, NOT_WRITTEN]
    stops: Literal["forward", "rearward", "left", "right"] | None = None
    """The way it stops the article from moving."""
    strength: Annotated[Weight, example("2000 lbf")] = NOT_STATED
    """Force it withstands without giving way."""
    x: Annotated[LengthOrZero, example("0 in")] = NOT_STATED
    """Behind the article's own front end."""
    y: Annotated[SignedLength, example("0 in")] = NOT_STATED
    """To the article's own left; right is negative."""
    z: Annotated[LengthOrZero, example("4 in")] = NOT_STATED
    """Above the deck."""


class Article(Struct, frozen=True, kw_only=True):
    """A machine or other article of cargo."""

    title: Title = "article"
    id: Id | None = None
    name: Annotated[
        str, Keywords(type="string", pattern="^[a-z0-9][a-z0-9 -]*$", max_length=40)
    ] = "article"
    """Short name for tiedowns to use, in small letters, digits, spaces and hyphens; the title
    serves where it is left out."""
    type: (
        Literal[
            "wheeled machine",
            "tracked machine",
            "road vehicle",
            "palletised goods",
            "implement",
            "other",
        ]
        | None
    ) = None
    """What it is, for the rules that name kinds of cargo."""
    self_propelled: Annotated[Answer, example("no")] = NOT_STATED
    """It drives itself on wheels or tracks; asked of an implement and of what is typed other."""
    weight: Annotated[Weight, fact("article.weight")] = NOT_STATED
    """Weight as carried: fuel, fluids, attachments."""
    length: Annotated[Length, fact("article.length")] = NOT_STATED
    """From end to end."""
    width: Annotated[Length, fact("article.width")] = NOT_STATED
    """At its widest."""
    height: Annotated[Length, fact("article.height")] = NOT_STATED
    """Above the deck as carried."""
    cg: CentreOfGravity = CentreOfGravity()
    axles: MachineAxles = MachineAxles()
    attachments: Annotated[tuple[Attachment, ...], BY_NAME, Keywords(max_properties=200)] = ()
    """Attachment points by name, such as front-left."""
    placed: Placed = Placed()
    blocking: Blocking = Blocking()
    blocks: Annotated[tuple[Block, ...], BY_NAME, Keywords(max_properties=40)] = ()
    """Blocks by name, with their strength, for the restraint figures."""
    friction: Coefficient = NOT_STATED
    """Friction coefficient between its wheels, tracks or base and the deck as it is. Take the low
    end of a range."""
    surfaces: (
        Literal[
            "sawn timber on plywood laminate",
            "sawn timber on grooved aluminium",
            "sawn timber on stainless sheet",
            "sawn timber on shrink film",
            "planed wood on plywood laminate",
            "planed wood on grooved aluminium",
            "planed wood on stainless sheet",
            "plastic pallet on plywood laminate",
            "plastic pallet on grooved aluminium",
            "plastic pallet on stainless sheet",
            "cardboard on cardboard",
            "cardboard on wood pallet",
            "big bag on wood pallet",
            "metal unpainted rough on metal unpainted rough",
            "metal painted rough on metal painted rough",
            "metal painted smooth on metal painted smooth",
            "metal smooth on metal smooth",
            "steel crate on plywood laminate",
            "steel crate on grooved aluminium",
            "steel crate on stainless sheet",
            "concrete rough on sawn wood",
            "concrete smooth on sawn wood",
            "rubber antislip on any clean",
            "wood on wood",
            "metal on wood",
            "metal on metal",
            "concrete on wood",
            "rubber tyre on steel deck",
            "antislip mat on any deck",
            "plastic or mesh pallet on screen-print floor",
        ]
        | None
    ) = None
    """What rests on what, in place of `friction`: a line of a printed table."""
    surface_condition: (
        Literal[
            "swept clean and dry",
            "swept clean and wet",
            "not swept",
            "snow, ice or frost",
            "oil or grease",
        ]
        | None
    ) = None
    """State of the deck under it, where surfaces are named."""
    parking_brake_set: Annotated[Answer, fact("article.parking_brake_set")] = NOT_STATED
    """Its parking brake is set."""
    in_park: Annotated[Answer, fact("article.in_park")] = NOT_STATED
    """Its transmission is in park."""
    chocked: Annotated[Answer, fact("article.chocked")] = NOT_STATED
    """Chocks, wedges or a cradle keep it from rolling, and they cannot come loose."""
    round: Annotated[Answer, fact("article.round")] = NOT_STATED
    """It can roll by its shape, as a drum, reel or pipe; for articles without wheels."""
    of_no_special_commodity: Annotated[Answer, fact("article.of_no_special_commodity")] = NOT_STATED
    """None of: logs, bundled lumber or building products, metal coils or paper rolls of 5,000 lb or
    more together, concrete pipe, containers, flattened or crushed cars, boulders over 11,000 lb or
    2 m3."""
    accessories_lowered: Annotated[Answer, fact("article.accessories_lowered")] = NOT_STATED
    """Boom, bucket, blade, mower deck: completely lowered. Yes when it has none."""
    accessories_secured: Annotated[Answer, fact("article.accessories_secured")] = NOT_STATED
    """Boom, bucket, blade, mower deck: secured. Yes when it has none."""
    coupler_pins_in: Annotated[Answer, fact("article.coupler_pins_in")] = NOT_STATED
    """Each attachment is locked in its coupler, pins and clips in. Yes when it has none."""
    articulated: Annotated[Answer, fact("article.articulated")] = NOT_STATED
    """It bends in the middle."""
    articulation_locked: Annotated[Answer, fact("article.articulation_locked")] = NOT_STATED
    """The lock against bending is fitted."""
    fully_contained: Annotated[Answer, fact("article.fully_contained")] = NOT_STATED
    """The vehicle's own structure contains it on all sides."""
    touches_front_structure: Annotated[Answer, fact("article.touches_front_structure")] = NOT_STATED
    """It touches the headerboard or front rail."""
    loose_parts_secured: Annotated[Answer, fact("article.loose_parts_secured")] = NOT_STATED
    """Nothing on it can come off or blow off: seats, doors, roof, windscreen, tools."""
    has_boom: Annotated[Answer, fact("article.has_boom")] = NOT_STATED
    """It has a boom, dipper or arm that could swing or bounce."""
    boom_rests: Annotated[Answer, fact("article.boom_rests")] = NOT_STATED
    """The end of the boom or arm rests on the deck or on a block, or is tied there."""
    slews: Annotated[Answer, fact("article.slews")] = NOT_STATED
    """Its upper structure can turn on its undercarriage."""
    slew_locked: Annotated[Answer, fact("article.slew_locked")] = NOT_STATED
    """The lock against turning is set."""
    has_mower_deck: Annotated[Answer, fact("article.has_mower_deck")] = NOT_STATED
    """It has a mower deck."""
    mower_deck_rests: Annotated[Answer, fact("article.mower_deck_rests")] = NOT_STATED
    """The mower deck rests lowered, or is pinned up as its manual says for transport."""
    has_roof_or_windscreen: Annotated[Answer, fact("article.has_roof_or_windscreen")] = NOT_STATED
    """It has a roof, windscreen, canopy or soft cab that wind from the road could lift."""
    roof_and_windscreen_secured: Annotated[Answer, fact("article.roof_and_windscreen_secured")] = (
        NOT_STATED
    )
    """Roof, windscreen, canopy and soft cab are bolted, strapped or taken off."""
    engine_stopped: Annotated[Answer, fact("article.engine_stopped")] = NOT_STATED
    """Engine stopped, key or isolator out."""
    fuel_shut: Annotated[Answer, fact("article.fuel_shut")] = NOT_STATED
    """Fuel tap shut where it has one, fuel and oil caps tight."""
    tracks_clean: Annotated[Answer, fact("article.tracks_clean")] = NOT_STATED
    """Mud, stones and ice knocked off its tracks or wheels."""
    fixed_to_pallet: Annotated[Answer, fact("article.fixed_to_pallet")] = NOT_STATED
    """The goods are strapped or wrapped to their pallet, so that both move as one."""
    pallet_sound: Annotated[Answer, fact("article.pallet_sound")] = NOT_STATED
    """No broken board or bent foot in the pallet."""
    special_methods: Annotated[Answer, fact("article.special_methods")] = NOT_STATED
    """Its shape or weight forces fastening by special methods."""
    beside_another: Annotated[Answer, fact("article.beside_another")] = NOT_STATED
    """It stands beside another article under the same tiedowns across the vehicle."""
    touches_its_neighbour: Annotated[Answer, fact("article.touches_its_neighbour")] = NOT_STATED
    """The two touch each other."""
    kept_from_its_neighbour: Annotated[Answer, fact("article.kept_from_its_neighbour")] = NOT_STATED
    """Blocking keeps the two from shifting toward each other."""
    securement_route: Literal["heavy machine", "road vehicle", "general"] | None = None
    """Which federal rule the crew chose to follow for it."""
    projecting_width: Annotated[LengthOrZero, fact("article.projecting_width")] = NOT_STATED
    """Width of the part that sticks out past the rear."""
