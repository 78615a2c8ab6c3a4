"""Loads made worse at random: heavier, weaker, answered otherwise, tied down in other ways.

Many rules must be broken or undecided before it can be seen whether leaving a field out helps.
"""

import copy
from collections.abc import Iterator, Mapping
from random import Random
from typing import Any

from msgspec.structs import replace

from checker.documents.problems import DataPath
from checker.documents.schemas import definition, resolved
from checker.load.references import Merged
from tests.absent_fields.trial import refused

PLACES = ("US-UT", "US-CA", "US-TX", "US-HI", "CA-ON", "CA-BC", "DE", "FR", "GB", "AU", "NZ")
_NEW = {
    "length": ("0 in", "4 in", "40 in", "120 in"),
    "load": ("150 lb", "900 lb", "2500 lb", "9000 lb"),
    "ratio": ("0 %", "5 %", "60 %"),
    "speed": ("20 mph", "80 mph"),
    "duration": ("5 min", "8 h"),
    "pressure": ("20 psi", "80 psi"),
    "spring_rate": ("120 lb/in", "700 lb/in"),
}
"""What a quantity that the load does not state may be."""

_NOT_CHANGED = ("kind", "title", "note", "name", "from", "date", "variances")
_NAMES = ("anchor", "far_anchor", "attachment")


def spoilt(merged: Merged, random: Random) -> Merged:
    """The load made worse at random, as often as it takes to find one that is not refused."""
    while True:
        found = _changed(merged, random)
        if not refused(found):
            return found


def _changed(merged: Merged, random: Random) -> Merged:
    """The load with up to a dozen of its fields changed, and some it did not state."""
    data = copy.deepcopy(merged.data)
    locations = dict(merged.locations)
    fields = list(_fields(data, definition("load"), ()))
    for path, node in random.sample(fields, random.randint(1, 12)):
        holder: Any = data
        for part in path[:-1]:
            holder = holder[part]
        if value := _other(data, path, node, holder.get(path[-1]), random):
            holder[path[-1]] = value
            locations.setdefault(path, locations[()])
            for index in range(len(value) if isinstance(value, list) else 0):
                locations.setdefault((*path, index), locations[()])
    if random.random() < 0.5:
        data.setdefault("trip", {})["places"] = random.sample(PLACES, random.randint(1, 2))
        for path in (("trip",), ("trip", "places"), ("trip", "places", 0), ("trip", "places", 1)):
            locations.setdefault(path, locations[()])
    return replace(merged, data=data, locations=locations)


def _fields(
    data: Any, node: Mapping[str, Any], path: DataPath
) -> Iterator[tuple[DataPath, Mapping[str, Any]]]:
    """Every field that stands in a mapping of the load, or might."""
    node = resolved(node)
    if "else" in node:
        node = resolved(node["else"])
    if isinstance(data, list):
        for index, item in enumerate(data):
            if isinstance(item, dict):
                yield from _fields(item, node["items"], (*path, index))
    elif isinstance(data, dict):
        named = node.get("properties", {})
        for key in [*named, *(key for key in data if key not in named)]:
            below = resolved(named.get(key) or node["additionalProperties"])
            if key in _NOT_CHANGED:
                continue
            if isinstance(data.get(key), dict) or _holds_dicts(data.get(key)):
                yield from _fields(data[key], below, (*path, key))
            elif "enum" in below or "quantity" in below or key in (*_NAMES, "over", "pulls"):
                yield (*path, key), below


def _holds_dicts(value: Any) -> bool:
    return isinstance(value, list) and any(isinstance(each, dict) for each in value)


def _other(data: Any, path: DataPath, node: Mapping[str, Any], stated: Any, random: Random) -> Any:
    """Another value for a field; None to leave it as it is."""
    if "enum" in node:
        return random.choice(node["enum"])
    if path[-1] in ("far_anchor", "anchor"):
        return random.choice([*data.get("trailer", {}).get("anchors", {}), None])
    if path[-1] in ("attachment", "over"):
        held = data["tiedowns"][path[1]].get("article")
        articles = [each for each in data["articles"] if held in (None, each.get("name"))]
        points = [*articles[0].get("attachments", {})] if articles else []
        if path[-1] == "attachment":
            return random.choice(points) if points else None
        return random.sample(points, min(2, len(points))) or None
    if path[-1] == "pulls":
        ways = ("forward", "rearward", "left", "right", "down")
        return random.sample(ways, random.randint(1, 3))
    kind = node["quantity"]
    if kind in ("count", "gravities") or path[-1] == "friction" or kind not in _NEW:
        return random.choice([1, 2]) if kind == "count" else None
    if isinstance(stated, str) and random.random() < 0.6:
        return _scaled(stated, random)
    return random.choice(_NEW[kind][1 if node.get("sign") == "positive" else 0 :])


def _scaled(text: str, random: Random) -> str | None:
    number, _, unit = text.partition(" ")
    if " " in unit:  # feet and inches
        return None
    try:
        return f"{float(number) * random.choice((0.2, 0.5, 0.9, 1.2, 2, 4)):g} {unit}"
    except ValueError:  # a fraction
        return None
