"""The units of a report: those its profile is written in, else those of the place of the trip."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Final

from checker.load.model import Load
from checker.units.formatting import (
    DISTANCE,
    FORCE,
    MIXED,
    OF_TWO_SYSTEMS,
    SI,
    SYSTEMS,
    US,
    System,
    Units,
)
from checker.units.kinds import KINDS
from checker.units.words import Unit, find_unit

_BY_COUNTRY: Final[Mapping[str, System]] = {
    **dict.fromkeys(("US", "AS", "GU", "MP", "PR", "VI"), US),
    "GB": MIXED,
}
"""Any other country has metric units."""
_GOES_WITH: Final[Mapping[str, str]] = {
    "speed": DISTANCE,
    DISTANCE: "speed",
    "moment": "load",
    "spring_rate": "load",
    "volume": "length",
}
"""For a kind of quantity the one whose units it has where the profile states none of its own."""
# The letter of an exponent is no unit.
_WORD: Final = re.compile(
    r"['\"]|(?![eE][+-]?[0-9])[A-Za-z]+(?:[*/·_-][A-Za-z]+)*(?:[²³]|\^?[23]\b)?"
)
_FORCES: Final = frozenset(KINDS["load"].units) - {"t"}


def system_of(load: Load, units: Units = Units.PROFILE) -> System:
    """The units in which to print a load.

    For `profile` each kind of quantity goes by the system that most of its texts use, else by the
    place of the trip, else by what most texts use, else by US units. Pulls and strengths of
    tiedowns have the unit that most of their labels have, if it belongs to the system asked for.
    """
    stated = list(_stated(load))
    system = SYSTEMS.get(units) or _of_most_texts(stated, _of_place(load))
    labels = Counter(unit for kind, unit in stated if kind == FORCE)
    if not labels:
        return system
    label, _ = labels.most_common(1)[0]
    if units is not Units.PROFILE and label.metric is not ("load" in system.metric):
        return system
    other = KINDS["load"].si if label.metric else KINDS["load"].us
    return System(system.metric, label.word if label.word in _FORCES else other)


def _stated(load: Load) -> Iterator[tuple[str, Unit]]:
    """The kind and the unit of every figure that the profile states in a US or metric unit."""
    for field, origin in load.origins.items():
        if origin.metric is None:
            continue
        unit = next(filter(None, map(find_unit, _WORD.findall(origin.text))), None)
        if unit is None:
            continue
        kind = unit.kind
        if kind == "length" and unit.word in ("mi", "km"):
            kind = DISTANCE
        elif kind == "load" and _is_on_a_label(field):
            kind = FORCE
        yield kind, unit


def _is_on_a_label(field: str) -> bool:
    """True for a strength of a tiedown or of what it hooks to; how hard it is drawn is measured."""
    if field.startswith("tiedowns."):
        return not field.endswith(".pretension")
    return field.endswith(("working_load_limit", "lashing_capacity"))


def _of_most_texts(stated: list[tuple[str, Unit]], place: System | None) -> System:
    votes = Counter[str]()
    for kind, unit in stated:
        votes[kind] += 1 if unit.metric else -1
    overall = votes.total()

    def is_metric(kind: str) -> bool:
        for each in (kind, _GOES_WITH.get(kind)):
            if each is not None and votes[each]:
                return votes[each] > 0
        return kind in place.metric if place else overall > 0

    return System(frozenset(filter(is_metric, OF_TWO_SYSTEMS)))


def _of_place(load: Load) -> System | None:
    """The units of the first place of the trip."""
    if not load.trip.places:
        return None
    return _BY_COUNTRY.get(load.trip.places[0][:2], SI)
