"""Fields of a profile by the path people write, such as `articles.1.weight`."""

from collections.abc import Mapping
from typing import Any

from checker.documents.problems import DataPath, listed, nearest
from checker.documents.schemas import definition, resolved
from checker.load.build import Profile
from checker.load.convert import quantities
from checker.units import KINDS


class NoSuchFieldError(Exception):
    """A path that leads to no number of the profile; the message says what would be accepted."""


def numeric_field(profile: Profile, text: str) -> tuple[DataPath, str]:
    """The data path and the kind of a numeric field. Raises NoSuchFieldError."""
    node = definition("load")
    data: Any = profile.merged.data
    path: DataPath = ()
    for part in text.split("."):
        node = resolved(node)
        node = resolved(node["else"]) if "else" in node else node
        step, node = _step(node, data, part, text, profile)
        data = _inside(data, step)
        path = (*path, step)
    node = resolved(node)
    if node.get("quantity") not in KINDS:
        message = f"found '{text}', which is no number; wanted {_numbers(profile, text)}"
        raise NoSuchFieldError(message)
    return path, str(node["quantity"])


def _step(
    node: Mapping[str, Any], data: Any, part: str, text: str, profile: Profile
) -> tuple[str | int, Mapping[str, Any]]:
    """One step down: the key or place it names, and the schema below it."""
    if "items" in node:
        size = len(data) if isinstance(data, list) else 0
        if part.isdecimal() and 1 <= int(part) <= size:
            return int(part) - 1, node["items"]
        message = f"found '{part}' in '{text}'; wanted a number from 1 to {size}"
        raise NoSuchFieldError(message)
    if part in node.get("properties", {}):
        return part, node["properties"][part]
    named = node.get("additionalProperties")
    if isinstance(named, Mapping) and isinstance(data, dict) and part in data:
        return part, named
    message = f"found no field '{text}'; wanted {_numbers(profile, text)}"
    raise NoSuchFieldError(message)


def _inside(data: Any, step: str | int) -> Any:
    if isinstance(data, dict):
        return data.get(step)
    return data[step] if isinstance(data, list) and isinstance(step, int) else None


def _numbers(profile: Profile, text: str) -> str:
    """The numbers the profile states, the nearest first."""
    from checker.load.build import field_path

    stated = [
        field_path(path) for path, _, _ in quantities(profile.merged.data, definition("load"), ())
    ]
    guess = nearest(text, stated)
    hint = f"; did you mean '{guess}'?" if guess else ""
    return f"a number of this profile, such as {listed(stated, most=4)}{hint}"
