"""A tiedown assembly as it lies in the box, and rigged from anchor to attachment."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Struct

from checker.load.model.article import Article, Attachment
from checker.load.model.field_types import (
    REFERRED_TO,
    Answer,
    Keywords,
    Length,
    Share,
    Title,
    Weight,
    WeightOrZero,
    example,
    fact,
)
from checker.load.model.trailer import Anchor
from checker.units.arithmetic import NOT_STATED


class TiedownAssembly(Struct, frozen=True, kw_only=True):
    """A strap, chain or rope with its hooks and tensioner: what it is, and what is marked on it."""

    title: Title = "tiedown"
    device: (
        Literal[
            "webbing",
            "chain",
            "wire rope",
            "manila rope",
            "polypropylene rope",
            "polyester rope",
            "nylon rope",
            "double braided nylon rope",
            "unidentified synthetic rope",
            "steel strapping",
            "winch line",
        ]
        | None
    ) = None
    """What it is made of."""
    grade: Literal["none", "30", "43", "70", "80", "100"] | None = None
    """Grade marked on a chain."""
    size: Annotated[Length, fact("tiedown.size")] = NOT_STATED
    """Webbing width, chain or rope size, strapping width."""
    thickness: Annotated[Length, example("0.031 in")] = NOT_STATED
    """Strapping thickness."""
    marked_working_load_limit: Annotated[Weight, fact("tiedown.marked_working_load_limit")] = (
        NOT_STATED
    )
    """WLL marked on the strap, chain or rope."""
    unmarked: Answer = NOT_STATED
    """No WLL mark can be read on it: the table value counts."""
    nominal_strength: Weight = NOT_STATED
    """Nominal strength of an unmarked wire rope or strapping, from its handbook."""
    hooks_working_load_limit: Weight = NOT_STATED
    """Lowest rating of its hooks and connectors."""
    hooks_grade: Literal["none", "30", "43", "70", "80", "100"] | None = None
    """Lowest grade marked on the hooks and connectors of a chain."""
    tensioner_working_load_limit: Weight = NOT_STATED
    """Rating of its ratchet, binder or winch."""
    tensioner_grade: Literal["none", "30", "43", "70", "80", "100"] | None = None
    """Highest grade of chain that the binder is marked for."""
    breaking_strength: Annotated[Weight, fact("tiedown.breaking_strength")] = NOT_STATED
    """Breaking strength of the assembly."""
    lashing_capacity: Annotated[
        Weight, example("2500 daN"), fact("tiedown.lashing_capacity", label="LC")
    ] = NOT_STATED
    """LC on its label, in daN, kN or kg, for the European, British, Australian and New Zealand
    calculations: that of the whole lashing, hooks and tensioner included."""
    hooks_lashing_capacity: Annotated[Weight, example("2500 daN")] = NOT_STATED
    """LC of its hooks and connectors, where they are weaker than the label or rated apart; their
    working load limit counts where they have none."""
    tensioner_lashing_capacity: Annotated[Weight, example("2500 daN")] = NOT_STATED
    """LC of its ratchet, binder or winch, where it is weaker than the label or rated apart; its
    working load limit counts where it has none."""
    standard_tension: Annotated[
        Weight, example("350 daN"), fact("tiedown.standard_tension", label="STF")
    ] = NOT_STATED
    """STF marked on it: what normal hand force leaves in it."""
    standard_hand_force: Annotated[
        Weight, example("50 daN"), fact("tiedown.standard_hand_force", label="SHF")
    ] = NOT_STATED
    """SHF marked on it: the hand force at which its STF was measured."""
    pretension: Annotated[WeightOrZero, example("300 lbf")] = NOT_STATED
    """Tension it was drawn to."""
    stretch_at_limit: Share = NOT_STATED
    """How much longer it gets at its working load limit."""
    adjustable: Annotated[Answer, fact("tiedown.can_be_tightened")] = NOT_STATED
    """The driver can tighten it on the road."""
    conforms_to_standard: Annotated[Answer, fact("tiedown.conforms_to_standard")] = NOT_STATED
    """Its label or paper names the standard for its kind."""
    seals_crimped_in_full: Annotated[Answer, fact("tiedown.seals_crimped_in_full")] = NOT_STATED
    """Steel strapping 1 in or wider: two pairs of crimps in each seal, two seals on an end-over-end
    lap joint. Yes for narrower."""
    over_wheel: Annotated[Answer, fact("tiedown.over_wheel")] = NOT_STATED
    """It is made to fit over or around a wheel."""


class Tiedown(TiedownAssembly, frozen=True, kw_only=True):
    """A tiedown: the whole assembly from anchor to attachment."""

    article: Annotated[Article, REFERRED_TO]
    """Name of the article it holds; may be left out when there is one."""
    anchor: Annotated[Anchor | None, REFERRED_TO] = None
    """Name of the trailer anchor it starts from."""
    far_anchor: Annotated[Anchor | None, REFERRED_TO] = None
    """Anchor at the other end, when it goes over or around the article."""
    attachment: Annotated[Attachment | None, REFERRED_TO] = None
    """Name of the attachment on the article, for a direct tiedown."""
    over: Annotated[
        tuple[Annotated[Attachment, REFERRED_TO], ...],
        Keywords(min_items=1, max_items=8),
        example(("top-left", "top-right")),
    ] = ()
    """Attachments it passes over or around between its two anchors, in order."""
    path: Literal["direct", "same side", "other side"] | None = None
    """How it runs: vehicle to article; over or around it and back to the same side; or across to
    the other side."""
    pulls: Annotated[
        tuple[Literal["forward", "rearward", "left", "right", "down"], ...] | None,
        Keywords(min_items=1, unique_items=True),
    ] = None
    """Ways it pulls the article, stated by eye where positions are not measured."""
    looped_on_itself: Annotated[Answer, fact("tiedown.looped_on_itself")] = NOT_STATED
    """Passed over a rail and hooked back onto itself."""
    on_sharp_edge: Annotated[Answer, fact("tiedown.on_sharp_edge")] = NOT_STATED
    """It bears on a metal edge without a protector."""
