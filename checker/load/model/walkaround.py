"""What the crew answers and reads on the walk around the rig; every field is a fact."""

from __future__ import annotations

from typing import Annotated

from msgspec import Struct

from checker.load.model.field_types import (
    Answer,
    Count,
    Length,
    LengthOrZero,
    Pressure,
    SignedLength,
    example,
    fact,
)
from checker.units.arithmetic import NOT_STATED


class Walkaround(Struct, frozen=True, kw_only=True):
    """Answers from walking around the rig."""

    tiedowns_tight: Annotated[Answer, fact("walkaround.tiedowns_tight")] = NOT_STATED
    """All tiedowns are tight."""
    tiedowns_seated: Annotated[Answer, fact("walkaround.tiedowns_seated")] = NOT_STATED
    """Every hook is seated at both ends."""
    tiedowns_undamaged: Annotated[Answer, fact("walkaround.tiedowns_undamaged")] = NOT_STATED
    """No cuts, cracks, knots or bent parts in any tiedown, hook or tensioner."""
    tiedowns_free_of_knots: Annotated[Answer, fact("walkaround.tiedowns_free_of_knots")] = (
        NOT_STATED
    )
    """No tiedown is knotted."""
    tiedowns_unrepaired_or_by_maker: Annotated[
        Answer, fact("walkaround.tiedowns_unrepaired_or_by_maker")
    ] = NOT_STATED
    """No tiedown is repaired, or repaired only by its standard or maker."""
    tiedowns_cannot_release: Annotated[Answer, fact("walkaround.tiedowns_cannot_release")] = (
        NOT_STATED
    )
    """Hooks are latched and handles locked, so nothing can loosen or open on the road."""
    edges_protected: Annotated[Answer, fact("walkaround.edges_protected")] = NOT_STATED
    """Wherever a tiedown could be cut or rubbed, a sound edge protector is in place."""
    front_snug_then_rear_hard: Annotated[Answer, fact("walkaround.front_snug_then_rear_hard")] = (
        NOT_STATED
    )
    """The front pair was drawn snug first, then the rear pair hard."""
    strap_tails_secured: Annotated[Answer, fact("walkaround.strap_tails_secured")] = NOT_STATED
    """Strap tails are rolled up or tied off."""
    strap_tails_clear_of_ground: Annotated[
        Answer, fact("walkaround.strap_tails_clear_of_ground")
    ] = NOT_STATED
    """A tail that comes loose is too short to reach the ground."""
    blocking_sound: Annotated[Answer, fact("walkaround.blocking_sound")] = NOT_STATED
    """Chocks, blocks and dunnage are undamaged and cannot come loose."""
    anchors_sound: Annotated[Answer, fact("walkaround.anchors_sound")] = NOT_STATED
    """Deck, anchors, headboard, stakes and pockets are strong enough and undamaged."""
    gate_locked: Annotated[Answer, fact("walkaround.gate_locked")] = NOT_STATED
    """The gate is up and locked. Yes when there is none."""
    ramps_locked: Annotated[Answer, fact("walkaround.ramps_locked")] = NOT_STATED
    """Ramps are up and locked. Yes when there are none."""
    loose_equipment_secured: Annotated[Answer, fact("walkaround.loose_equipment_secured")] = (
        NOT_STATED
    )
    """Spare tyre, doors, tools and other gear are secured."""
    nothing_can_fall: Annotated[Answer, fact("walkaround.nothing_can_fall")] = NOT_STATED
    """Nothing can leak, spill, blow or fall off."""
    load_cannot_shift: Annotated[Answer, fact("walkaround.load_cannot_shift")] = NOT_STATED
    """Nothing can shift enough to upset the trailer."""
    view_clear: Annotated[Answer, fact("walkaround.view_clear")] = NOT_STATED
    """The load does not block the driver's view, movement, emergency gear or way out."""
    ball_seated: Annotated[Answer, fact("walkaround.ball_seated")] = NOT_STATED
    """The ball is seated in the coupler and the latch is closed on it."""
    coupler_pin_in: Annotated[Answer, fact("walkaround.coupler_pin_in")] = NOT_STATED
    """The coupler pin or lock is in."""
    receiver_pin_clipped: Annotated[Answer, fact("walkaround.receiver_pin_clipped")] = NOT_STATED
    """The pin of the receiver is in, and its clip or lock on it."""
    ball_nut_tight: Annotated[Answer, fact("walkaround.ball_nut_tight")] = NOT_STATED
    """The nut under the ball is tight, and the shank not bent or cracked."""
    chains_connected: Annotated[Answer, fact("walkaround.chains_connected")] = NOT_STATED
    """Safety chains are hooked to the tow vehicle."""
    chains_crossed: Annotated[Answer, fact("walkaround.chains_crossed")] = NOT_STATED
    """Safety chains cross under the tongue."""
    chains_slack_right: Annotated[Answer, fact("walkaround.chains_slack_right")] = NOT_STATED
    """Chains have only the slack that turning needs and do not drag."""
    breakaway_connected: Annotated[Answer, fact("walkaround.breakaway_connected")] = NOT_STATED
    """The breakaway cable is hooked to the tow vehicle."""
    breakaway_battery_charged: Annotated[Answer, fact("walkaround.breakaway_battery_charged")] = (
        NOT_STATED
    )
    """The breakaway battery is charged and the brakes come on at once when pulled."""
    plug_connected: Annotated[Answer, fact("walkaround.plug_connected")] = NOT_STATED
    """The electrical plug is seated."""
    jack_raised: Annotated[Answer, fact("walkaround.jack_raised")] = NOT_STATED
    """The jack is fully raised and locked."""
    trailer_level: Annotated[Answer, fact("walkaround.trailer_level")] = NOT_STATED
    """The loaded trailer stands level or slightly nose-down."""
    lamps_work: Annotated[Answer, fact("walkaround.lamps_work")] = NOT_STATED
    """All required lamps work, and all required reflectors are there."""
    lamps_visible: Annotated[Answer, fact("walkaround.lamps_visible")] = NOT_STATED
    """No lamp or reflector is hidden by load, gate or dirt."""
    brakes_work: Annotated[Answer, fact("walkaround.brakes_work")] = NOT_STATED
    """The tow vehicle's brakes, and the trailer's where it has any, were tried and work."""
    stops_in_7_m: Annotated[Answer, fact("walkaround.stops_in_7_m")] = NOT_STATED
    """Tried with this load, tow vehicle and trailer stop within 7 m from 30 km/h."""
    stops_in_legal_distance: Annotated[Answer, fact("walkaround.stops_in_legal_distance")] = (
        NOT_STATED
    )
    """Tried with this load, tow vehicle and trailer stop within the distance that the law of each
    place of the trip sets, such as 40 ft from 20 mph."""
    tow_brakes_hold_on_breakaway: Annotated[
        Answer, fact("walkaround.tow_brakes_hold_on_breakaway")
    ] = NOT_STATED
    """The tow vehicle's own brakes still stop it if the trailer breaks away."""
    tow_parking_brake_holds: Annotated[Answer, fact("walkaround.tow_parking_brake_holds")] = (
        NOT_STATED
    )
    """The tow vehicle's parking brake was tried and holds the rig."""
    tyres_sound: Annotated[Answer, fact("walkaround.tyres_sound")] = NOT_STATED
    """No tyre is flat, cut, separated or showing cord."""
    tyre_pressures_right: Annotated[Answer, fact("walkaround.tyre_pressures_right")] = NOT_STATED
    """Cold pressures match the placard for this load, spare included."""
    lug_nuts_checked: Annotated[Answer, fact("walkaround.lug_nuts_checked")] = NOT_STATED
    """Wheel nuts are tight."""
    mirrors_set: Annotated[Answer, fact("walkaround.mirrors_set")] = NOT_STATED
    """Mirrors show both sides of the trailer."""
    tracks_straight: Annotated[Answer, fact("walkaround.tracks_straight")] = NOT_STATED
    """On straight, level pavement the trailer runs no more than 3 in off the tow vehicle's path,
    either side."""
    path_deviation: Annotated[LengthOrZero, example("2 in"), fact("walkaround.path_deviation")] = (
        NOT_STATED
    )
    """How far to one side the trailer runs off the tow vehicle's path, on straight level pavement.
    """
    tow_bar_fixed: Annotated[Answer, fact("walkaround.tow_bar_fixed")] = NOT_STATED
    """Tow-bar and its mountings are soundly fixed to both vehicles, and the hitch mounting does not
    bend the frame."""
    tow_bar_cannot_drop: Annotated[Answer, fact("walkaround.tow_bar_cannot_drop")] = NOT_STATED
    """Come loose, the tow-bar cannot drop to the ground: chains or another device hold it up."""
    tow_bar_free_of_slack: Annotated[Answer, fact("walkaround.tow_bar_free_of_slack")] = NOT_STATED
    """The tow-bar joint turns as far as it must and has no excess slack."""
    fifth_wheel_secured: Annotated[Answer, fact("walkaround.fifth_wheel_secured")] = NOT_STATED
    """Both halves of the fifth wheel are bolted to their frames with proper brackets and cannot
    shift."""
    fifth_wheel_locked: Annotated[Answer, fact("walkaround.fifth_wheel_locked")] = NOT_STATED
    """The jaws of the fifth wheel or gooseneck were inspected and are locked, the latch in place.
    """
    chains_apart_from_coupling: Annotated[Answer, fact("walkaround.chains_apart_from_coupling")] = (
        NOT_STATED
    )
    """Safety chains are not on the pintle hook, ball or mount the coupler itself uses."""
    chains_even_about_centre: Annotated[Answer, fact("walkaround.chains_even_about_centre")] = (
        NOT_STATED
    )
    """The chains' two points are equally far from the centre line, or their common point is on it.
    """
    chains_meet_at_one_point: Annotated[Answer, fact("walkaround.chains_meet_at_one_point")] = (
        NOT_STATED
    )
    """The chains, or the one device, join the tow vehicle at one common point."""
    chain_point_right_of_centre: Annotated[
        SignedLength, example("4 in", "-1 in"), fact("walkaround.chain_point_right_of_centre")
    ] = NOT_STATED
    """How far right of the centre line that common point lies; negative to the left."""
    chain_points_apart: Annotated[Answer, fact("walkaround.chain_points_apart")] = NOT_STATED
    """The chains' points on frame or axle are as far apart as the layout allows."""
    breakaway_works_all_brakes: Annotated[Answer, fact("walkaround.breakaway_works_all_brakes")] = (
        NOT_STATED
    )
    """Pulled by hand, the breakaway device puts on every required brake."""
    lamp_colours_right: Annotated[Answer, fact("walkaround.lamp_colours_right")] = NOT_STATED
    """No stop or tail lamp is amber, markers are amber in front and red behind."""
    reflective_marking_fitted: Annotated[Answer, fact("walkaround.reflective_marking_fitted")] = (
        NOT_STATED
    )
    """Reflective sheeting or reflectors mark the sides and rear."""
    accessory_gear_down: Annotated[Answer, fact("walkaround.accessory_gear_down")] = NOT_STATED
    """Blades, buckets and beds of machines that are parked or loaded are down or blocked."""
    recheck_done_at_duty_change: Annotated[
        Answer, fact("walkaround.recheck_done_at_duty_change")
    ] = NOT_STATED
    """The load is checked again at every change of duty status."""
    flags_fitted: Annotated[Answer, fact("walkaround.flags_fitted")] = NOT_STATED
    """Red or orange fluorescent flags of full size mark the projecting load, placed to show its
    full width."""
    projection_lamps_fitted: Annotated[Answer, fact("walkaround.projection_lamps_fitted")] = (
        NOT_STATED
    )
    """Lamps and reflectors mark the projecting load at night."""
    projection_marked: Annotated[Answer, fact("walkaround.projection_marked")] = NOT_STATED
    """What sticks out is marked as the place wants it: flag, board or sign, lamps in the dark."""
    coupled_and_braked_to_load: Annotated[Answer, fact("walkaround.coupled_and_braked_to_load")] = (
        NOT_STATED
    )
    """While the machine drove on, the trailer was coupled, the tow vehicle's brake set, and the
    trailer's rear propped where it could drop."""
    loaded_on_level_ground: Annotated[Answer, fact("walkaround.loaded_on_level_ground")] = (
        NOT_STATED
    )
    """Loading was done on level, firm ground."""
    ramps_clean_and_secured: Annotated[Answer, fact("walkaround.ramps_clean_and_secured")] = (
        NOT_STATED
    )
    """Ramps were clean, secured and rated for the machine."""
    nobody_behind: Annotated[Answer, fact("walkaround.nobody_behind")] = NOT_STATED
    """Nobody stood behind or beside the machine on the ramps."""
    guide_in_sight: Annotated[Answer, fact("walkaround.guide_in_sight")] = NOT_STATED
    """A guide whom the driver could see all the time helped with loading."""
    tread_depth: Annotated[LengthOrZero, example("4/32 in"), fact("walkaround.tread_depth")] = (
        NOT_STATED
    )
    """Shallowest tread on any tyre but the tow vehicle's front."""
    front_tread_depth: Annotated[
        LengthOrZero, example("6/32 in"), fact("walkaround.front_tread_depth")
    ] = NOT_STATED
    """Shallowest tread on the tow vehicle's front tyres."""
    oldest_tyre_years: Annotated[Count, fact("walkaround.oldest_tyre_years")] = NOT_STATED
    """Whole years since the oldest trailer tyre was made, by its date code."""
    lowest_cold_pressure: Annotated[
        Pressure, example("62 psi"), fact("walkaround.lowest_cold_pressure")
    ] = NOT_STATED
    """Lowest cold pressure found in any trailer tyre."""
    placard_pressure: Annotated[Pressure, fact("walkaround.placard_pressure")] = NOT_STATED
    """Cold pressure that the placard or the maker's table gives for this load."""
    flag_size: Annotated[Length, example("18 in"), fact("walkaround.flag_size")] = NOT_STATED
    """Side of the smallest flag fitted."""
    rear_flags: Annotated[Count, fact("walkaround.rear_flags")] = NOT_STATED
    """Flags at the rear end of the load."""
    fire_extinguisher_ready: Annotated[Answer, fact("walkaround.fire_extinguisher_ready")] = (
        NOT_STATED
    )
    """A charged fire extinguisher, 5 B:C or more, 10 B:C with placarded cargo, is fixed in the tow
    vehicle within reach."""
    warning_devices_aboard: Annotated[Answer, fact("walkaround.warning_devices_aboard")] = (
        NOT_STATED
    )
    """Three reflective triangles, or flares that may stand for them, are aboard."""
    yearly_inspection_in_date: Annotated[Answer, fact("walkaround.yearly_inspection_in_date")] = (
        NOT_STATED
    )
    """Tow vehicle and trailer each passed an inspection in the last 12 months, and the proof is
    aboard."""
