"""Which field the header of a column names, in the words that people use for it."""

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Final, NamedTuple

from checker.logs.columns import ColumnError, all_fields, column_of, node_of
from checker.logs.model import OF_THE_HAUL, Column, Role
from checker.units.kinds import KINDS, UNIT_OF
from checker.units.words import Unit, find_unit, own_units

# Each with the headers that name it, the clearest first; signs, units and plurals do not matter.
_NAMED: Final[Mapping[str, tuple[str, ...]]] = {
    "load": (
        *("load", "load profile", "load plan", "plan", "profile", "haul plan", "unit", "unit no"),
        *("unit number", "unit id", "job", "equipment", "asset", "machine", "machine hauled"),
        *("item", "rig", "gerät", "maschine", "einheit", "ladung", "engin", "chargement"),
    ),
    "date": (
        *("date", "day", "haul date", "date of haul", "trip date", "date hauled", "moved on"),
        *("dispatch date", "datum", "tag", "fecha", "jour", "date of move", "move date"),
    ),
    "crew": (
        *("crew", "driver", "operator", "who", "team", "hauled by", "driver name", "crew lead"),
        *("fahrer", "conducteur", "chauffeur", "conductor", "mannschaft"),
    ),
    "haul": (
        *("haul", "no", "number", "haul no", "haul number", "haul id", "ticket", "ticket no"),
        *("ticket number", "trip no", "trip number", "trip id", "log no", "id", "record", "nr"),
        *("job no", "job number", "order", "order no", "ref", "reference"),
    ),
    "articles.1.weight": (
        *("machine weight", "weight", "load weight", "cargo weight", "unit weight", "gewicht"),
        *("machine wt", "wt", "scale weight", "weight hauled", "equipment weight", "poids"),
    ),
    "articles.1.placed.x": ("front end behind ball", "machine behind ball", "position behind ball"),
    "trip.speed": (
        *("speed", "planned speed", "max speed", "top speed", "road speed", "mph", "tempo"),
        *("geschwindigkeit", "vitesse", "kmh", "km h"),
    ),
    "trip.distance": (
        *("distance", "mile", "mileage", "trip distance", "trip mile", "km", "kilometer"),
        *("kilometre", "strecke", "entfernung"),
    ),
    "trip.driving_time": ("driving time", "drive time", "fahrzeit", "time driving"),
    "trip.places": ("place", "state", "states driven", "jurisdiction", "route state"),
    "tow_vehicle.occupants_and_cargo": ("people and cargo", "occupant and cargo", "payload"),
    "trailer.gvwr": ("trailer gvwr",),
    "tow_vehicle.gvwr": ("truck gvwr", "tow vehicle gvwr"),
    "tow_vehicle.gcwr": ("gcwr", "gcw rating"),
    "walkaround.tread_depth": ("tread", "tread depth", "tire tread", "tyre tread"),
    "walkaround.lowest_cold_pressure": (
        *("tire pressure", "tyre pressure", "lowest tire pressure", "cold pressure", "psi"),
        *("tire psi", "tyre psi"),
        "reifendruck",
    ),
    "walkaround.lamps_work": (
        "light",
        "lamp",
        "light ok",
        "lamp ok",
        "light work",
        "beleuchtung",
        "licht",
    ),
    "walkaround.chains_crossed": ("chains crossed", "chains x", "x chains", "chains x'd"),
    "walkaround.coupler_pin_in": ("pin", "pin in", "coupler pin", "latch pin"),
    "walkaround.jack_raised": ("jack", "jack up"),
    "walkaround.tiedowns_tight": ("strap tight", "binder tight", "tiedown tight", "chain tight"),
    "walkaround.plug_connected": ("plug", "plug in", "wiring plug"),
}

_HINTS: Final[Mapping[str, str]] = {
    "gvw": "no rule reads a gross weight of the day; the rating is trailer.gvwr",
    "gross weight": "no rule reads a gross weight of the day; the rating is trailer.gvwr",
    "gross": "no rule reads a gross weight of the day; the rating is trailer.gvwr",
    "gcw": "no rule reads a gross weight of the day; the rating is tow_vehicle.gcwr",
    "gvwr": "of the trailer it is trailer.gvwr, of the tow vehicle tow_vehicle.gvwr",
    "trailer": "the load profile says which trailer; make a profile for each pair",
    "trailer no": "the load profile says which trailer; make a profile for each pair",
    "truck": "the load profile says which tow vehicle; make a profile for each pair",
    "tow vehicle": "the load profile says which tow vehicle; make a profile for each pair",
    "tongue": "the program works the tongue weight out; none can be stated for a haul",
    "tongue weight": "the program works the tongue weight out; none can be stated for a haul",
}

_SAME: Final[Mapping[str, str]] = {
    "trlr": "trailer",
    "tlr": "trailer",
    "trl": "trailer",
    "anhänger": "trailer",
    "remorque": "trailer",
    "trk": "truck",
    "lkw": "truck",
    "pickup": "truck",
    "drv": "driver",
    "eqpt": "equipment",
    "equip": "equipment",
    "mach": "machine",
    "wgt": "weight",
    "dist": "distance",
    "num": "number",
    "#": "no",
    "№": "no",
}
# Words of a header that say that a column holds answers, not what is asked.
_EMPTY: Final = frozenset(("ok", "okay", "y", "n", "yn", "yes", "checked", "check", "is", "are"))
_LIKE: Final[Mapping[str, str]] = {"strap": "tiedown", "binder": "tiedown", "light": "lamp"} | {
    "tire": "tyre",
    "up": "raised",
    "latched": "pin",
    "hooked": "connected",
    "working": "work",
}
_PATH: Final = re.compile(r"[a-z_]+\.[a-z0-9_.]+")
_WORD: Final = re.compile(r"[^\W\d_]+|#|№|[0-9]+")
_UNIT: Final = re.compile(r"(?P<name>.*?)[\s,]*(?:\[(?P<a>[^\]]*)\]|\((?P<b>[^)]*)\))\s*")


class HeaderMeant(NamedTuple):
    """What a header probably means.

    `field` is None where nothing is clear; `near` then has fields that share words with it, and
    `hint` says what is known of it. `unit` is that in the header.
    """

    field: str | None
    unit: str | None
    near: Sequence[str] = ()
    hint: str = ""
    rank: int = -1
    """How clear it is: the lower of two headers for one field is the clearer."""
    is_own: bool = False
    """True if the header is the path of the field."""


def meant_by(header: str) -> HeaderMeant:
    """What a header probably means, by its words alone."""
    own = _own_column(header)
    if own is not None:
        return HeaderMeant(own.field, own.unit, is_own=True)
    name, unit = _without_unit(header)
    words = _words(name)
    plain = " ".join(words)
    known = _fields_named().get(plain) or _fields_named().get(" ".join(_words(header)))
    if known is not None:
        field, rank = known
        if field in OF_THE_HAUL and unit_for("articles.1.weight", unit):
            field = "articles.1.weight"  # a column such as `Machine, lb`
        return HeaderMeant(field, unit_for(field, unit or name), rank=rank)
    if plain in _HINTS:
        return HeaderMeant(None, unit, hint=_HINTS[plain])
    near = list(_near(words))
    if len(near) == 1 and len(words) > 1:
        return HeaderMeant(near[0], unit_for(near[0], unit))
    return HeaderMeant(None, unit, near[:3])


@cache
def _fields_named() -> Mapping[str, tuple[str, int]]:
    """By the words of a header, the field that it names and how clearly: 0 is the clearest."""
    return {
        " ".join(_words(name)): (field, rank)
        for field, names in _NAMED.items()
        for rank, name in enumerate(names)
    }


def usual_unit(word: str) -> Unit | None:
    """The unit of a word, if it is one of those listed for quantities or of the organisation.

    Others are not looked for: many a word of a header, such as Day, names some unit of the world.
    """
    for each in (word, word.casefold(), word.casefold().rstrip(".")):
        own = any(each in (unit.word, *unit.spellings) for unit in own_units())
        if own or each in UNIT_OF:
            return find_unit(each)
    return None


def _own_column(header: str) -> Column | None:
    """The column of a header that names a field by its path, as a log of the program's own does."""
    if not _PATH.match(header) and header not in OF_THE_HAUL:
        return None  # finding out why a header is no field would take long
    try:
        return column_of(header)
    except ColumnError:
        return None


def _without_unit(header: str) -> tuple[str, str | None]:
    """The header without the unit that ends it, in brackets or after a comma or space."""
    found = _UNIT.fullmatch(header)
    if found:
        unit = (found["a"] or found["b"] or "").strip()
        return found["name"], unit or None
    name, _, last = header.replace(",", " ").rpartition(" ")
    if name.strip() and usual_unit(last) is not None:
        return name.strip(), last
    return header, None


def unit_for(field: str, word: str | None) -> str | None:
    """The word of a unit, if it is one of the field's kind."""
    node = {} if field in OF_THE_HAUL else node_of(field)
    unit = usual_unit(word) if word else None
    if unit is None or not node or unit.kind != node.get("quantity"):
        return None
    return unit.word if KINDS[unit.kind].units else None


def _words(name: str) -> list[str]:
    """The words of a header in one form: lower case, no plural, no filling."""
    found = (_SAME.get(word, word) for word in _WORD.findall(name.casefold()))
    words = [word.rstrip("s") if len(word) > 3 else word for word in found]
    return [word for word in words if word not in ("the", "a", "of", "ed")] or words


def _near(words: Sequence[str]) -> Iterator[str]:
    """The fields of which the last name has all words that ask something."""
    asked = {_stem(_LIKE.get(word, word)) for word in words if word not in _EMPTY}
    if not asked:
        return
    for field, stems in _stems_of_fields().items():
        if asked <= stems:
            yield field


@cache
def _stems_of_fields() -> Mapping[str, frozenset[str]]:
    fields = [field for field in all_fields() if column_of(field).role is not Role.LIST]
    return {
        field: frozenset(map(_stem, field.rsplit(".", 1)[-1].split("_")))
        for field in fields
        if field.startswith(("walkaround.", "trip.", "articles.1.", "tow_vehicle."))
    }


def _stem(word: str) -> str:
    """A word without the endings that headers vary: `crossed`, `cross`, `chains`."""
    for ending in ("ing", "ed", "es", "s"):
        if word.endswith(ending) and len(word) - len(ending) > 2:
            return word.removesuffix(ending).rstrip("s")
    return word.rstrip("s") if len(word) > 3 else word
