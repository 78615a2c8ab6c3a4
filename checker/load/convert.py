"""Converts a valid merged profile to a `Load`: quantities to numbers, mappings to records."""

from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import PurePath
from typing import Any

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from checker.documents.escaping import escaped
from checker.documents.problems import DataPath
from checker.documents.schema_keywords import quantity_of
from checker.documents.schemas import definition
from checker.load.field_schemas import FieldSchema, field_schema
from checker.load.model import (
    Article,
    Gear,
    GearBlock,
    GearPiece,
    Load,
    Origin,
    Tiedown,
    Trailer,
    Variance,
)
from checker.load.names import article_name
from checker.load.references import Merged
from checker.units.arithmetic import Number

_OF_OTHERS = (Load, Article, Tiedown, Variance, Gear, GearPiece, GearBlock)
"""Records that are made last, because they need others or their origins."""


class Converted(Struct):
    """What the loads of one profile share, however their values differ."""

    origins: dict[str, Origin] = field(default_factory=dict)
    parts: dict[DataPath, Any] = field(default_factory=dict)
    """The records and lists in which no value was replaced."""


def to_load(
    merged: Merged,
    file: PurePath,
    values: Mapping[DataPath, Number],
    uses: frozenset[str] = frozenset(),
    gear: Gear | None = None,
    shared: Converted | None = None,
) -> Load:
    """The load of a merged profile; `values` replace what the profile states at their paths.

    All arrays among the values must have as many rows as the load. What other loads of the profile
    have `shared` is not converted again.
    """
    return _Converting(merged, file, values, shared or Converted()).load(uses, gear)


def to_gear(merged: Merged) -> Gear:
    """The gear of a merged gear file; figures with a tolerance count at their middle."""
    return _Converting(merged, PurePath(), {}, Converted()).gear()


class _Converting:
    """One pass over the merged data."""

    def __init__(
        self,
        merged: Merged,
        file: PurePath,
        values: Mapping[DataPath, Number],
        shared: Converted,
    ) -> None:
        self.merged = merged
        self.file = PurePath(escaped(str(file)))
        self.values = values
        self.origins, self._parts = shared.origins, shared.parts
        self._replaced = {path[:size] for path in values for size in range(len(path))}
        """The paths of all that has a replaced value in it."""

    def load(self, uses: frozenset[str], gear: Gear | None) -> Load:
        stated = {**self._converted(self.merged.data, field_schema(definition("load")), (), "")}
        row = self.merged.log_row
        trailer = stated.get("trailer", Trailer())
        articles = tuple(
            _article(fields, index) for index, fields in enumerate(stated.get("articles", ()))
        )
        if "tiedowns" in stated:
            stated["tiedowns"] = tuple(
                _tiedown(fields, trailer, articles) for fields in stated["tiedowns"]
            )
        return Load(
            **{
                "title": self.file.stem,
                **stated,
                "articles": articles,
                "variances": tuple(
                    variance_from(data, self.origins[f"variances.{index + 1}.rule"])
                    for index, data in enumerate(stated.get("variances", ()))
                ),
            },
            gear=gear,
            notes=((row.note,) if row else ()) + _notes(self.merged.data),
            file=self.file,
            uses=uses,
            log_row=row,
            deck_empty="articles" in stated and not articles,
            rows=max((np.size(value) for value in self.values.values()), default=1),
            origins=self.origins,
            sections=self.merged.sections,
            varied={
                field_path(path): value for path, value in self.values.items() if np.ndim(value)
            },
        )

    def gear(self) -> Gear:
        stated = self._converted(self.merged.data, field_schema(definition("gear")), (), "")
        pieces = stated.get("tiedowns", ())
        blocks = stated.get("blocks", ())
        return Gear(
            **{
                **stated,
                "tiedowns": tuple(self._piece(each, at) for at, each in enumerate(pieces)),
                "blocks": tuple(
                    GearBlock(
                        **{**each, "count": int(each["count"])},
                        location=self.merged.locations["blocks", at],
                    )
                    for at, each in enumerate(blocks)
                ),
            }
        )

    def _piece(self, fields: Mapping[str, Any], index: int) -> GearPiece:
        data: Any = self.merged.data["tiedowns"]
        of_tiedown = definition("tiedown")["properties"].keys() - {"kind", "note", "from"}
        stated = {key: text for key, text in data[index].items() if key in of_tiedown}
        location = self.merged.locations["tiedowns", index]
        # What is not written beside `from` stands in another file.
        own = {
            key: text
            for key, text in data[index].items()
            if (key in of_tiedown or key == "from")
            and self.merged.locations["tiedowns", index, key][0] == location[0]
        }
        piece = GearPiece(
            **{**fields, "count": int(fields["count"])},
            written=own,
            stated=stated,
            location=location,
        )
        return replace(piece, name=piece.name or piece.title)

    def _converted(
        self, data: Any, schema: FieldSchema, path: DataPath, field: str, **named: str
    ) -> Any:
        """Quantities as numbers, answers as 1 or 0, mappings as records; records the origins.

        `field` is the path as people write it. A record that refers to others of the load comes
        back as a mapping of its fields.
        """
        if not isinstance(data, dict | list):
            return self._value(data, schema, path, field)
        if path in self._replaced:
            return self._part(data, schema, path, field, **named)
        if path not in self._parts:
            self._parts[path] = self._part(data, schema, path, field, **named)
        return self._parts[path]

    def _part(
        self, data: Any, schema: FieldSchema, path: DataPath, field: str, **named: str
    ) -> Any:
        """A mapping or a list with what is in it."""
        if isinstance(data, dict):
            start = f"{field}." if field else ""
            if schema.record is None:
                return tuple(
                    self._converted(value, below, (*path, key), start + key, name=key)
                    for key, value, below in fields_in(data, schema)
                )
            fields = {
                key: self._converted(value, below, (*path, key), start + key)
                for key, value, below in fields_in(data, schema)
            }
            return fields if schema.record in _OF_OTHERS else schema.record(**fields, **named)
        plain = [item for item in data if isinstance(item, str)]
        text = f"a list of {len(data)}" if len(plain) < len(data) else f"[{', '.join(plain)}]"
        self._note(path, field, text)
        assert schema.others is not None
        return tuple(
            self._converted(item, schema.others, (*path, index), f"{field}.{index + 1}")
            for index, item in enumerate(data)
        )

    def _value(self, data: Any, schema: FieldSchema, path: DataPath, field: str) -> Any:
        """A number, an answer or a word."""
        value, metric = data, None
        if schema.is_quantity:
            if isinstance(data, str):
                quantity = quantity_of(data, schema.node)
                value, metric = quantity.value, quantity.metric
            else:
                # Counts and friction are plain numbers and have no text to parse.
                value = float(data)
        elif schema.is_answer:
            value = 1.0 if data == "yes" else 0.0
        self._note(path, field, str(data), metric=metric)
        return self.values.get(path, value) if schema.is_quantity or schema.is_answer else value

    def _note(self, path: DataPath, field: str, text: str, *, metric: bool | None = None) -> None:
        file, mark = self.merged.locations[path]
        remark = self.merged.remarks.get(path, "") if self.merged.remarks else ""
        self.origins[field] = Origin(file, mark, text, metric, remark)


def variance_from(
    data: Mapping[str, Any],
    location: Origin,
) -> Variance:
    """The variance that valid data state, of a load or of a register."""
    return Variance(
        rule=data["rule"],
        because=data["because"],
        conditions=data["conditions"],
        by=data["by"],
        starts=date.fromisoformat(data["from"]),
        ends=date.fromisoformat(data["until"]),
        uses=frozenset(data.get("uses", ())),
        crews=frozenset(data.get("crews", ())),
        location=location,
    )


def field_path(path: DataPath) -> str:
    """A field path as people write it: `articles.1.weight`, counted from 1."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in path)


def fields_in(
    data: Mapping[str, Any], schema: FieldSchema
) -> Iterator[tuple[str, Any, FieldSchema]]:
    """The keys of a mapping that the model holds, each with its value and its schema."""
    for key, value in data.items():
        below = schema.fields.get(key, schema.others)
        if below is not None:
            yield key, value, below


def quantities(
    data: Any, node: Mapping[str, Any], path: DataPath
) -> list[tuple[DataPath, str, str]]:
    """Every quantity below a value: its path, its text and its kind.

    Counts and friction, which are plain numbers, are given as text. A word for "none" is not a
    quantity.
    """
    return list(_quantities(data, field_schema(node), path))


def _quantities(
    data: Any, schema: FieldSchema, path: DataPath
) -> Iterator[tuple[DataPath, str, str]]:
    if isinstance(data, dict):
        for key, value, below in fields_in(data, schema):
            yield from _quantities(value, below, (*path, key))
    elif isinstance(data, list):
        assert schema.others is not None
        for index, item in enumerate(data):
            yield from _quantities(item, schema.others, (*path, index))
    elif schema.is_quantity and data != schema.node.get("word_for_none"):
        yield path, str(data), schema.node["quantity"]


def _notes(data: Mapping[str, Any]) -> tuple[str, ...]:
    """The notes of the load, its rig, articles and tiedowns, each with whose it is, and once."""
    parts = [data.get("trailer"), data.get("tow_vehicle")]
    parts += [*data.get("articles", ()), *data.get("tiedowns", ())]
    found = [data["note"]] if "note" in data else []
    for part in parts:
        if isinstance(part, dict) and "note" in part:
            whose = f"{part['title']}: " if "title" in part else ""
            found.append(f"{whose}{part['note']}")
    return tuple(dict.fromkeys(found))


def _article(fields: Mapping[str, Any], index: int) -> Article:
    name = article_name(fields, index)
    return Article(**{"title": name, **fields, "name": name})


def _tiedown(fields: dict[str, Any], trailer: Trailer, articles: tuple[Article, ...]) -> Tiedown:
    """A tiedown with the records that its fields name."""
    named = fields.get("article")
    article = next((each for each in articles if each.name == named), articles[0])
    anchors = {anchor.name: anchor for anchor in trailer.anchors}
    points = {point.name: point for point in article.attachments}
    ends = {
        "article": article,
        "anchor": anchors.get(fields.get("anchor", "")),
        "far_anchor": anchors.get(fields.get("far_anchor", "")),
        "attachment": points.get(fields.get("attachment", "")),
        "over": tuple(points[each] for each in fields.get("over", ())),
    }
    return Tiedown(**fields | ends)
