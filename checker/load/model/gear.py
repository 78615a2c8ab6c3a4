"""What a crew carries to tie down and block loads with."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from msgspec import Struct

from checker.documents.problems import Mark
from checker.load.model.field_types import (
    NOT_WRITTEN,
    Answer,
    Keywords,
    Length,
    Text,
    Title,
    Weight,
    example,
)
from checker.load.model.tiedown import TiedownAssembly
from checker.units.arithmetic import NOT_STATED

_HowMany = Annotated[
    int, Keywords(type="integer", quantity="count", minimum=1, maximum=200, required=True)
]


class GearPiece(TiedownAssembly, frozen=True, kw_only=True):
    """Tiedowns of one kind and length: the strap, chain or rope with its hooks and tensioner.

    `written` and `stated` are tiedowns of a load file, without the fields that say how one is
    rigged. `stated` has the fields of the file that `from` names in full.
    """

    name: Annotated[Text, example("long straps")] = ""
    """Short name for the steps of an arrangement; the title serves where it is left out."""
    count: _HowMany
    """How many complete tiedowns there are, a chain with its binder counted as one."""
    length: Annotated[Length, example("27 ft", "8 m")] = NOT_STATED
    """From hook to hook, let out in full."""
    written: Annotated[Mapping[str, Any], NOT_WRITTEN]
    """What the gear file states of the tiedown itself: `from`, and its own fields."""
    stated: Annotated[Mapping[str, Any], NOT_WRITTEN]
    """What is stated of the tiedown itself in all files."""
    location: Annotated[tuple[str, Mark], NOT_WRITTEN]
    """File and position of the piece."""


class GearBlock(Struct, frozen=True, kw_only=True):
    """Chocks or blocks of one kind."""

    title: Title = "block"
    count: _HowMany
    """How many of them there are."""
    strength: Annotated[Weight, example("2000 lbf")] = NOT_STATED
    """Force that one withstands without giving way, as it is put on the deck."""
    height: Annotated[Length, example("8 in")] = NOT_STATED
    """From the deck to its top."""
    chocks_wheels: Answer = NOT_STATED
    """It is made to chock a wheel or track."""
    cannot_come_loose: Answer = NOT_STATED
    """It is pinned, bolted, nailed or held by its own grip, so that it cannot come loose on the
    road."""
    location: Annotated[tuple[str, Mark], NOT_WRITTEN]
    """File and position of the entry."""


class Gear(Struct, frozen=True, kw_only=True):
    """What a crew carries to tie down and block loads with."""

    title: Title = "gear"
    tiedowns: Annotated[tuple[GearPiece, ...], Keywords(max_items=40)] = ()
    """Straps, chains with their binders and ropes, an entry for each kind and length."""
    blocks: Annotated[tuple[GearBlock, ...], Keywords(max_items=40)] = ()
    """Chocks and blocks, an entry for each kind."""
