"""One load as frozen records of plain numbers.

Every number is in newtons, metres, seconds, radians or a plain share, a float or an array with
one row per variant of the load; NaN is "not stated", and infinite is a field's word for "there is
none". Answers are 1 (yes), 0 (no) or NaN. Named
choices are their word, or None. What each field means stands in the schema of load profiles,
which uses the same names.

x is measured rearward, y to the left, z upward: on the trailer from the ball centre and the
deck, on an article from its own front end, its own centre line and the deck.
"""

import datetime
from collections.abc import Mapping
from pathlib import PurePath

from msgspec import Struct, field

from checker.documents.problems import Mark
from checker.units.arithmetic import NOT_STATED, Number


class Origin(Struct, frozen=True):
    """Where a stated value stands, as written."""

    file: str
    mark: Mark
    text: str
    metric: bool | None = None
    """Stated in an SI unit, in a US unit, or in one that both use."""

    def __str__(self) -> str:
        return f"{self.file}:{self.mark.line}"


class Axle(Struct, frozen=True, kw_only=True):
    """A trailer axle: where it is, what it and its tyres are rated for."""

    name: str
    x: Number = NOT_STATED
    rating: Number = NOT_STATED
    tyres: Number = NOT_STATED
    tyre_rating: Number = NOT_STATED
    spring_rate: Number = NOT_STATED
    brakes: Number = NOT_STATED


class Anchor(Struct, frozen=True, kw_only=True):
    """A point on the trailer that a tiedown hooks to."""

    name: str
    x: Number = NOT_STATED
    y: Number = NOT_STATED
    z: Number = NOT_STATED
    type: str | None = None
    encloses_hook: Number = NOT_STATED
    working_load_limit: Number = NOT_STATED


class Deck(Struct, frozen=True, kw_only=True):
    """The floor a machine stands on, from its front edge to its rear edge."""

    front: Number = NOT_STATED
    rear: Number = NOT_STATED
    width: Number = NOT_STATED
    height: Number = NOT_STATED


class Coupler(Struct, frozen=True, kw_only=True):
    """The part of the trailer that takes the ball, with the ratings on it."""

    size: Number = NOT_STATED
    rating: Number = NOT_STATED
    tongue_rating: Number = NOT_STATED


class SafetyChains(Struct, frozen=True, kw_only=True):
    """The chains that hold the trailer when the coupling lets go."""

    count: Number = NOT_STATED
    breaking_strength: Number = NOT_STATED


class FrontStructure(Struct, frozen=True, kw_only=True):
    """A bulkhead or rail ahead of the cargo that can bear against it."""

    x: Number = NOT_STATED
    height: Number = NOT_STATED
    width: Number = NOT_STATED
    rating: Number = NOT_STATED
    openings_smaller_than_article: Number = NOT_STATED
    resists_piercing: Number = NOT_STATED
    substitute_as_strong: Number = NOT_STATED


class Trailer(Struct, frozen=True, kw_only=True):
    """The trailer as its plates, the tape and the scale give it, empty."""

    title: str = "trailer"
    coupling: str | None = None
    full_trailer: Number = NOT_STATED
    gvwr: Number = NOT_STATED
    empty_weight: Number = NOT_STATED
    empty_tongue_weight: Number = NOT_STATED
    suspension: str | None = None
    deck_level: Number = NOT_STATED
    ball_below_level: Number = NOT_STATED
    ball_height: Number = NOT_STATED
    empty_cg_height: Number = NOT_STATED
    axles: tuple[Axle, ...] = ()
    track: Number = NOT_STATED
    deck: Deck = Deck()
    overall_width: Number = NOT_STATED
    overall_length: Number = NOT_STATED
    coupler: Coupler = Coupler()
    safety_chains: SafetyChains = SafetyChains()
    brakes: str | None = None
    made_since_december_1993: Number = NOT_STATED
    breakaway_fitted: Number = NOT_STATED
    breakaway_hold_time: Number = NOT_STATED
    front_structure: FrontStructure = FrontStructure()
    anchors: tuple[Anchor, ...] = ()


class Rated(Struct, frozen=True, kw_only=True):
    """A coupling part with its ratings; a ball states a size and no tongue rating."""

    size: Number = NOT_STATED
    rating: Number = NOT_STATED
    tongue_rating: Number = NOT_STATED
    distributing_rating: Number = NOT_STATED
    distributing_tongue_rating: Number = NOT_STATED


class TowVehicle(Struct, frozen=True, kw_only=True):
    """The tow vehicle: plate ratings, scale weights without the trailer, coupling parts."""

    title: str = "tow vehicle"
    gvwr: Number = NOT_STATED
    gcwr: Number = NOT_STATED
    front_axle_rating: Number = NOT_STATED
    rear_axle_rating: Number = NOT_STATED
    front_axle_weight: Number = NOT_STATED
    rear_axle_weight: Number = NOT_STATED
    wheelbase: Number = NOT_STATED
    ball_behind_rear_axle: Number = NOT_STATED
    front_spring_rate: Number = NOT_STATED
    rear_spring_rate: Number = NOT_STATED
    front_restoration: Number = NOT_STATED
    payload_rating: Number = NOT_STATED
    occupants_and_cargo: Number = NOT_STATED
    largest_trailer_weight: Number = NOT_STATED
    seats: Number = NOT_STATED
    receiver: Rated = Rated()
    ball_mount: Rated = Rated()
    ball: Rated = Rated()


class CentreOfGravity(Struct, frozen=True, kw_only=True):
    """Where an article's weight acts, measured on the article."""

    x: Number = NOT_STATED
    y: Number = NOT_STATED
    z: Number = NOT_STATED


class MachineAxle(Struct, frozen=True, kw_only=True):
    """One axle of a machine: its place on the machine and the weight on it."""

    x: Number = NOT_STATED
    weight: Number = NOT_STATED
    track: Number = NOT_STATED


class MachineAxles(Struct, frozen=True, kw_only=True):
    """The two axles of a machine, or the two ends of its tracks."""

    front: MachineAxle = MachineAxle()
    rear: MachineAxle = MachineAxle()


class Attachment(Struct, frozen=True, kw_only=True):
    """A point on an article that a tiedown hooks to, and the part it belongs to."""

    name: str
    x: Number = NOT_STATED
    y: Number = NOT_STATED
    z: Number = NOT_STATED
    part: str | None = None
    working_load_limit: Number = NOT_STATED


class Placed(Struct, frozen=True, kw_only=True):
    """Where on the trailer an article's near end and centre line are, and which way it faces."""

    x: Number = NOT_STATED
    y: Number = NOT_STATED
    facing: str | None = None


class Blocking(Struct, frozen=True, kw_only=True):
    """The ways a structure, other cargo or blocking stops an article from moving."""

    forward: Number = NOT_STATED
    rearward: Number = NOT_STATED
    left: Number = NOT_STATED
    right: Number = NOT_STATED


class Block(Struct, frozen=True, kw_only=True):
    """A chock, rail or headboard with its strength; its place is the article's own."""

    name: str
    stops: str | None = None
    strength: Number = NOT_STATED
    x: Number = NOT_STATED
    y: Number = NOT_STATED
    z: Number = NOT_STATED


class Article(Struct, frozen=True, kw_only=True):
    """One unit of cargo, mostly a machine, with how it stands and how it was made ready."""

    name: str = "article"
    title: str = "article"
    type: str | None = None
    weight: Number = NOT_STATED
    length: Number = NOT_STATED
    width: Number = NOT_STATED
    height: Number = NOT_STATED
    cg: CentreOfGravity = CentreOfGravity()
    axles: MachineAxles = MachineAxles()
    attachments: tuple[Attachment, ...] = ()
    placed: Placed = Placed()
    blocking: Blocking = Blocking()
    blocks: tuple[Block, ...] = ()
    friction: Number = NOT_STATED
    parking_brake_set: Number = NOT_STATED
    in_park: Number = NOT_STATED
    chocked: Number = NOT_STATED
    round: Number = NOT_STATED
    of_no_special_commodity: Number = NOT_STATED
    accessories_lowered: Number = NOT_STATED
    accessories_secured: Number = NOT_STATED
    articulated: Number = NOT_STATED
    articulation_locked: Number = NOT_STATED
    fully_contained: Number = NOT_STATED
    touches_front_structure: Number = NOT_STATED
    loose_parts_secured: Number = NOT_STATED
    has_boom: Number = NOT_STATED
    boom_rests: Number = NOT_STATED
    slews: Number = NOT_STATED
    slew_locked: Number = NOT_STATED
    has_mower_deck: Number = NOT_STATED
    mower_deck_rests: Number = NOT_STATED
    has_roof_or_windscreen: Number = NOT_STATED
    roof_and_windscreen_secured: Number = NOT_STATED
    engine_stopped: Number = NOT_STATED
    fuel_shut: Number = NOT_STATED
    tracks_clean: Number = NOT_STATED
    fixed_to_pallet: Number = NOT_STATED
    pallet_sound: Number = NOT_STATED
    special_methods: Number = NOT_STATED
    beside_another: Number = NOT_STATED
    touches_its_neighbour: Number = NOT_STATED
    kept_from_its_neighbour: Number = NOT_STATED
    securement_route: str | None = None
    projecting_width: Number = NOT_STATED


class Tiedown(Struct, frozen=True, kw_only=True):
    """One assembly from anchor to attachment, with the article it holds."""

    title: str = "tiedown"
    article: Article
    anchor: Anchor | None = None
    far_anchor: Anchor | None = None
    attachment: Attachment | None = None
    over: tuple[Attachment, ...] = ()
    path: str | None = None
    device: str | None = None
    grade: str | None = None
    size: Number = NOT_STATED
    thickness: Number = NOT_STATED
    marked_working_load_limit: Number = NOT_STATED
    unmarked: Number = NOT_STATED
    nominal_strength: Number = NOT_STATED
    hooks_working_load_limit: Number = NOT_STATED
    tensioner_working_load_limit: Number = NOT_STATED
    breaking_strength: Number = NOT_STATED
    lashing_capacity: Number = NOT_STATED
    standard_tension: Number = NOT_STATED
    pretension: Number = NOT_STATED
    stretch_at_limit: Number = NOT_STATED
    pulls: tuple[str, ...] | None = None
    adjustable: Number = NOT_STATED
    looped_on_itself: Number = NOT_STATED
    on_sharp_edge: Number = NOT_STATED
    conforms_to_standard: Number = NOT_STATED
    seals_crimped_in_full: Number = NOT_STATED
    over_wheel: Number = NOT_STATED


class Trip(Struct, frozen=True, kw_only=True):
    """When, where, how far and how fast the load goes."""

    date: str | None = None
    places: tuple[str, ...] | None = None
    distance: Number = NOT_STATED
    driving_time: Number = NOT_STATED
    load_checks: tuple[Number, ...] | None = None
    speed: Number = NOT_STATED
    steepest_grade: Number = NOT_STATED
    public_road: Number = NOT_STATED
    network: str | None = None
    placarded_cargo: Number = NOT_STATED
    interstate: Number = NOT_STATED
    lamps_required: Number = NOT_STATED
    over_width_permit: Number = NOT_STATED
    tyre_overload_permit: Number = NOT_STATED


class Carrier(Struct, frozen=True, kw_only=True):
    """Who moves the load, as far as rules ask."""

    title: str = "carrier"
    government: Number = NOT_STATED
    follows_federal_rules: Number = NOT_STATED
    personal_and_unpaid: Number = NOT_STATED


class Variance(Struct, frozen=True, kw_only=True):
    """A signed permission to go against one rule, from one day up to but not including another."""

    rule: str
    because: str
    conditions: str
    by: str
    starts: datetime.date
    ends: datetime.date
    place: Origin


class Driver(Struct, frozen=True, kw_only=True):
    """Who drives, as far as rules ask."""

    licence: str | None = None


class Load(Struct, frozen=True, kw_only=True):
    """A load profile, references followed, with the place of every stated value.

    `tiedowns` is None when the profile does not say, and empty when it says there are none.
    `walkaround` holds one answer or reading per question of the schema. `origins` is keyed by
    field path, such as `trailer.axles.rear.rating` or `articles.1.weight`. `varied` holds the
    fields that differ from row to row, because of a tolerance or because someone varies them.
    """

    title: str
    file: PurePath
    rows: int = 1
    trailer: Trailer = Trailer()
    tow_vehicle: TowVehicle = TowVehicle()
    carrier: Carrier = Carrier()
    driver: Driver = Driver()
    articles: tuple[Article, ...] = ()
    tiedowns: tuple[Tiedown, ...] | None = None
    walkaround: Mapping[str, Number] = field(default_factory=dict)
    trip: Trip = Trip()
    variances: tuple[Variance, ...] = ()
    origins: Mapping[str, Origin] = field(default_factory=dict)
    varied: Mapping[str, Number] = field(default_factory=dict)
