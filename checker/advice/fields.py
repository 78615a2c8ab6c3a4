"""Fields of a profile by the path people write, such as `articles.1.weight`."""

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from checker.documents.document import value_at
from checker.documents.problems import DataPath, listed, quoted
from checker.documents.schemas import definition, resolved
from checker.documents.validate import value_problems
from checker.load.build import Profile, field_path
from checker.load.convert import quantities
from checker.units.parsing import KINDS, UnitError, parse


class NoSuchFieldError(Exception):
    """A path to no number of the profile; the message says what would be accepted."""


def find_numeric_field(profile: Profile, text: str) -> tuple[DataPath, str]:
    """The data path and the kind of a numeric field. Raises NoSuchFieldError."""
    path, node = _found(profile, text)
    return path, str(node["quantity"])


def parse_value(profile: Profile, field: str, text: str) -> float:
    """The value of a text for a numeric field, in the field's SI unit.

    Raises UnitError where the profile itself could not state it there, NoSuchFieldError where the
    path is no field.
    """
    _, node = _found(profile, field)
    value = parse(text, node["quantity"]).value
    for problem in value_problems(text if node["type"] == "string" else value, node):
        raise UnitError(text, problem.wanted)
    return value


def _found(profile: Profile, text: str) -> tuple[DataPath, Mapping[str, Any]]:
    """The data path of a numeric field and the schema node that describes it."""
    node = definition("load")
    data: Any = profile.merged.data
    path: DataPath = ()
    for part in text.split("."):
        node = resolved(node)
        node = resolved(node["else"]) if "else" in node else node
        step, node = _step(node, data, part, text, profile)
        if not node.get("checked", True):
            message = f"found '{text}', which no rule uses; wanted {_numbers(profile, text)}"
            raise NoSuchFieldError(message)
        data = value_at(data, (step,))
        path = (*path, step)
    node = resolved(node)
    if node.get("quantity") not in KINDS:
        message = f"found '{text}', which is no number; wanted {_numbers(profile, text)}"
        raise NoSuchFieldError(message)
    return path, node


def _step(
    node: Mapping[str, Any], data: Any, part: str, text: str, profile: Profile
) -> tuple[str | int, Mapping[str, Any]]:
    """One step down: the key or index it names, and the schema below it."""
    if "items" in node:
        size = len(data) if isinstance(data, list) else 0
        if part.isdecimal() and 1 <= int(part) <= size:
            return int(part) - 1, node["items"]
        wanted = f"a number from 1 to {size}" if size else "a field of another part, as it is empty"
        message = f"found '{part}' in '{text}'; wanted {wanted}"
        raise NoSuchFieldError(message)
    if part in node.get("properties", {}):
        return part, node["properties"][part]
    named = node.get("additionalProperties")
    if isinstance(named, Mapping) and isinstance(data, dict) and part in data:
        return part, named
    message = f"found no field '{text}'; wanted {_numbers(profile, text)}"
    raise NoSuchFieldError(message)


def _numbers(profile: Profile, text: str) -> str:
    """Some numbers that the profile states, and the one probably meant by an unknown path."""
    stated = [
        field_path(path) for path, _, _ in quantities(profile.merged.data, definition("load"), ())
    ]
    guess = _meant(text, stated)
    hint = f"; did you mean '{guess}'?" if guess else f"; {_parts_there(text, stated)}"
    return f"a number of this profile, such as {listed(stated, most=4)}{hint}"


def _meant(text: str, stated: Sequence[str]) -> str | None:
    """The number that a path passes through, else the nearest one by the whole path and last part.

    Paths that share only their beginning are not near: `trailer.suspension` means none of the
    trailer's axles. A last part spelt right is enough alone: `gvwr`.
    """
    within = [path for path in stated if text.startswith(f"{path}.")]
    if within:
        return within[0]
    last = text.rpartition(".")[2]
    last_parts = {path.rpartition(".")[2] for path in stated}
    near = get_close_matches(last, last_parts, n=len(last_parts))
    candidates = [path for path in stated if path.rpartition(".")[2] in near]
    least_alike = 0.0 if last in last_parts else 0.6
    return next(iter(get_close_matches(text, candidates, n=1, cutoff=least_alike)), None)


def _parts_there(text: str, stated: Sequence[str]) -> str:
    """The parts with numbers at the deepest level that a path still reaches."""
    prefix = f"{text}."
    while prefix and not any(path.startswith(prefix) for path in stated):
        prefix = prefix[:-1].rpartition(".")[0]
        prefix = f"{prefix}." if prefix else ""
    parts = dict.fromkeys(
        path[len(prefix) :].partition(".")[0] for path in stated if path.startswith(prefix)
    )
    return f"{quoted(prefix[:-1]) if prefix else 'the load'} has {listed(parts)}"
