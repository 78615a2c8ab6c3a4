"""The fields that a load states, and the load with one of them changed or left out."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from checker.documents.problems import DataPath
from checker.documents.reader import read_file
from checker.documents.schema_keywords import quantity_of
from checker.documents.schemas import resolved
from checker.load.build import Profile, field_path, profile_root, shown_path
from checker.load.model import Load
from checker.load.references import Merged, References
from checker.units.arithmetic import Number

NOT_READ = ("kind", "title", "note", "name", "date", "article", "from")


def pattern_of(field: str) -> str:
    """A field with `*` for each name and place in a list: `articles.*.cg.x`."""
    lists = r"\b(articles|tiedowns|anchors|attachments|axles|blocks)\.[^.]+"
    return re.sub(lists, r"\1.*", field)


@dataclass(frozen=True)
class Leaf:
    """One field of a load: its path, what is stated there, and the schema that describes it."""

    path: DataPath
    stated: Any
    node: Mapping[str, Any]

    @property
    def field(self) -> str:
        return field_path(self.path)

    @property
    def pattern(self) -> str:
        return pattern_of(self.field)

    @property
    def is_quantity(self) -> bool:
        return "quantity" in self.node and isinstance(self.stated, str)

    @property
    def value(self) -> float:
        return quantity_of(self.stated, self.node).value


def merged_load(file: Path) -> Merged:
    document = read_file(file, shown_path(file))
    return References(profile_root(file), shown_path).merged(document, "load")


def built(merged: Merged, data: Any, rows: Mapping[DataPath, Number] | None = None) -> Load:
    """The load of changed data; with `rows`, those quantities have one value per row instead."""
    return Profile(replace(merged, data=data), Path("changed.yaml")).load(rows)


def leaves(data: Any, node: Mapping[str, Any], path: DataPath = ()) -> Iterator[Leaf]:
    """Every stated field below a value, lists of words as one field."""
    node = resolved(node)
    if "else" in node and isinstance(data, dict):
        node = resolved(node["else"])
    if isinstance(data, dict):
        for key, value in data.items():
            if key in node.get("properties", {}):
                if key not in NOT_READ:
                    yield from leaves(value, node["properties"][key], (*path, key))
            else:
                yield from leaves(value, node["additionalProperties"], (*path, key))
    elif isinstance(data, list) and path[-1] not in ("pulls", "places", "over", "load_checks"):
        for index, item in enumerate(data):
            yield from leaves(item, node["items"], (*path, index))
    else:
        yield Leaf(path, data, node)


def with_value(merged: Merged, path: DataPath, value: Any) -> Any:
    """The data with another value at a path, copied along it; the rest is shared."""
    return _changed(merged.data, path, lambda holder, key: holder.__setitem__(key, value))


def without(merged: Merged, path: DataPath) -> Any:
    """The data without what stands at a path, copied along it; the rest is shared."""
    return _changed(merged.data, path, lambda holder, key: holder.__delitem__(key))


def _changed(data: Any, path: DataPath, change: Callable[[Any, Any], None]) -> Any:
    part, *rest = path
    copied = data.copy()
    if rest:
        copied[part] = _changed(data[part], tuple(rest), change)
    else:
        change(copied, part)
    return copied
