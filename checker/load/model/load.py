"""The whole load: a profile with its references followed, and the location of each stated value."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import PurePath
from typing import Annotated

from msgspec import Struct, field

from checker.documents.problems import DataPath, Mark
from checker.load.model.article import Article
from checker.load.model.field_types import (
    FILE_OR_FIELDS,
    NOT_CHECKED,
    NOT_WRITTEN,
    REQUIRED,
    Keywords,
    Text,
    Title,
)
from checker.load.model.gear import Gear
from checker.load.model.tiedown import Tiedown
from checker.load.model.tow_vehicle import TowVehicle
from checker.load.model.trailer import Trailer
from checker.load.model.trip import Carrier, Driver, Trip
from checker.load.model.walkaround import Walkaround
from checker.units.arithmetic import Number

_DAY = Keywords(type="string", format="date", required=True)


class Origin(Struct, frozen=True):
    """The location and the text of a stated value."""

    file: str
    mark: Mark
    text: str
    metric: bool | None = None
    """Stated in an SI unit, in a US unit, or in one that both use."""
    remark: str = ""
    """How the value comes from what stands there, where it is not the same."""

    def __str__(self) -> str:
        return f"{self.file}:{self.mark.line}" + (f", {self.remark}" if self.remark else "")


class Variance(Struct, frozen=True, kw_only=True):
    """A signed permission to go against one rule with this load.

    One of the register is for loads that use all of some files, hauled by one of some crews.
    """

    rule: Annotated[
        str,
        Keywords(type="string", pattern="^[a-z0-9]+(-[a-z0-9]+)*$", max_length=80, required=True),
    ]
    """Id of the rule."""
    because: Annotated[Text, REQUIRED]
    """Why the rule cannot be met."""
    conditions: Annotated[Text, REQUIRED]
    """Conditions to keep while it is in force."""
    by: Annotated[Text, REQUIRED]
    """Name of the person responsible."""
    starts: Annotated[datetime.date, _DAY] = field(name="from")
    """First day it is in force."""
    ends: Annotated[datetime.date, _DAY] = field(name="until")
    """First day it is no longer in force."""
    uses: Annotated[frozenset[str], NOT_WRITTEN] = frozenset()
    """Files that a load must use all of, see `Load.uses`; none for every load."""
    crews: Annotated[frozenset[str], NOT_WRITTEN] = frozenset()
    """Crews of which one must haul; none for every crew."""
    location: Annotated[Origin, NOT_WRITTEN]


class LogRow(Struct, frozen=True):
    """The row of a haul log that states a load over the load profile of that name.

    The haul's own number and its crew are empty if the log does not name them.
    """

    log: str
    row: int
    load: str
    number: str
    crew: str

    @property
    def note(self) -> str:
        """Which row this is, over which load profile, hauled by whom."""
        words = f"row {self.row} of {self.log}" + (f" ({self.number})" if self.number else "")
        words += f", laid over the load profile {self.load}"
        return words + (f"; crew {self.crew}" if self.crew else "")


class Load(Struct, frozen=True, kw_only=True):
    """A load profile: one saved plan.

    `tiedowns` is None when the profile does not state them, and empty when it states that there are
    none. `origins` is keyed by field path, such as `trailer.axles.rear.rating` or
    `articles.1.weight`. `varied` holds the fields that differ from row to row, because of a
    tolerance or because a command varies them.
    """

    title: Title
    trailer: Annotated[Trailer, FILE_OR_FIELDS] = Trailer()
    """The trailer: a file, or fields here, or both with `from`."""
    tow_vehicle: Annotated[TowVehicle, FILE_OR_FIELDS] = TowVehicle()
    """The tow vehicle."""
    carrier: Annotated[Carrier, FILE_OR_FIELDS] = Carrier()
    """Who hauls."""
    gear: Annotated[Gear | None, FILE_OR_FIELDS, NOT_CHECKED] = None
    """What the crew carries to tie it down with; where it is left out, what its carrier names."""
    driver: Driver = Driver()
    articles: Annotated[
        tuple[Annotated[Article, FILE_OR_FIELDS, Keywords(description="An article.")], ...],
        Keywords(max_items=40),
    ] = ()
    """Everything on the deck; empty where nothing is."""
    tiedowns: Annotated[tuple[Tiedown, ...] | None, Keywords(max_items=200)] = None
    """Every tiedown; an empty list says there are none."""
    walkaround: Walkaround = Walkaround()
    trip: Trip = Trip()
    variances: Annotated[tuple[Variance, ...], Keywords(min_items=1, max_items=40)] = ()
    """Permissions to go against a rule with this load."""
    notes: Annotated[tuple[str, ...], NOT_WRITTEN] = ()
    """What readers should know: the load's own note, then those of its rig and what is on it."""
    file: Annotated[PurePath, NOT_WRITTEN]
    uses: Annotated[frozenset[str], NOT_WRITTEN] = frozenset()
    """Its own file and all that it refers to, as references name them: `trailers/flat-16`. What
    only the gear refers to is no part of it: a strap may stay in the box."""
    log_row: Annotated[LogRow | None, NOT_WRITTEN] = None
    """The row of a haul log that states it; None for a load profile."""
    deck_empty: Annotated[bool, NOT_WRITTEN] = False
    """The list of articles is stated, and empty."""
    rows: Annotated[int, NOT_WRITTEN] = 1
    origins: Annotated[Mapping[str, Origin], NOT_WRITTEN] = field(default_factory=dict)
    varied: Annotated[Mapping[str, Number], NOT_WRITTEN] = field(default_factory=dict)
    sections: Annotated[Mapping[DataPath, tuple[str, Mark]], NOT_WRITTEN] = field(
        default_factory=dict
    )
    """Where its own file has each section and each entry of a list, whatever file fills it; the
    empty path is the file itself."""
