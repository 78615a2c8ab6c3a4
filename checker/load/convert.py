"""Converts a valid merged profile to a `Load`: quantities to numbers, mappings to records."""

from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import PurePath
from typing import Any

import numpy as np
from msgspec.structs import replace

from checker.documents.escaping import escaped
from checker.documents.problems import DataPath
from checker.documents.schema_keywords import quantity_of
from checker.documents.schemas import definition, resolved
from checker.load.model import (
    RECORDS,
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

_NOT_OF_THE_MODEL = ("kind", "note")
_OF_OTHERS = (Load, Article, Tiedown, Variance, Gear, GearPiece, GearBlock)
"""Records that are made last, because they need others or their origins."""


def to_load(
    merged: Merged,
    file: PurePath,
    values: Mapping[DataPath, Number],
    uses: frozenset[str] = frozenset(),
    gear: Gear | None = None,
) -> Load:
    """The load of a merged profile; `values` replace what the profile states at their paths.

    All arrays among the values must have as many rows as the load.
    """
    return _Converting(merged, file, values).load(uses, gear)


def to_gear(merged: Merged) -> Gear:
    """The gear of a merged gear file; figures with a tolerance count at their middle."""
    return _Converting(merged, PurePath(), {}).gear()


class _Converting:
    """One pass over the merged data."""

    def __init__(
        self,
        merged: Merged,
        file: PurePath,
        values: Mapping[DataPath, Number],
    ) -> None:
        self.merged = merged
        self.file = PurePath(escaped(str(file)))
        self.values = values
        self.origins: dict[str, Origin] = {}

    def load(self, uses: frozenset[str], gear: Gear | None) -> Load:
        stated = self._converted(self.merged.data, definition("load"), (), "")
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
        stated = self._converted(self.merged.data, definition("gear"), (), "")
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
        self, data: Any, node: Mapping[str, Any], path: DataPath, field: str, **named: str
    ) -> Any:
        """Quantities as numbers, answers as 1 or 0, mappings as records; records the origins.

        `field` is the path as people write it. A record that refers to others of the load comes
        back as a mapping of its fields.
        """
        node = chosen(resolved(node), data)
        if isinstance(data, dict):
            start = f"{field}." if field else ""
            below = model_fields(data, node)
            if "record" not in node:
                return tuple(
                    self._converted(value, inner, (*path, key), start + key, name=key)
                    for key, value, inner in below
                )
            fields = {
                key: self._converted(value, inner, (*path, key), start + key)
                for key, value, inner in below
            }
            record = RECORDS[node["record"]]
            return fields if record in _OF_OTHERS else record(**fields, **named)
        if isinstance(data, list):
            plain = [item for item in data if isinstance(item, str)]
            text = f"a list of {len(data)}" if len(plain) < len(data) else f"[{', '.join(plain)}]"
            self._note(path, field, text, metric=None)
            return tuple(
                self._converted(item, node["items"], (*path, index), f"{field}.{index + 1}")
                for index, item in enumerate(data)
            )
        if "quantity" in node and isinstance(data, str):
            quantity = quantity_of(data, node)
            self._note(path, field, data, metric=quantity.metric)
            return self.values.get(path, quantity.value)
        self._note(path, field, str(data), metric=None)
        if node.get("enum") == ["yes", "no"]:
            return self.values.get(path, 1.0 if data == "yes" else 0.0)
        # Counts and friction are plain numbers and have no text to parse.
        return self.values.get(path, float(data)) if "quantity" in node else data

    def _note(self, path: DataPath, field: str, text: str, *, metric: bool | None) -> None:
        file, mark = self.merged.locations[path]
        remark = self.merged.remarks.get(path, "")
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


def model_fields(
    data: Mapping[str, Any], node: Mapping[str, Any]
) -> Iterator[tuple[str, Any, Mapping[str, Any]]]:
    """The keys of a mapping that the model holds, each with its value and its schema node.

    An anchor may be called `note`, so only the schema's own properties are left out.
    """
    named = node.get("properties", {})
    for key, value in data.items():
        if key not in named:
            yield key, value, node["additionalProperties"]
        elif key not in _NOT_OF_THE_MODEL and not (key == "from" and "$ref" in named[key]):
            yield key, value, named[key]


def chosen(node: Mapping[str, Any], data: Any) -> Mapping[str, Any]:
    """The schema node for a mapping, where a field accepts a file name or a mapping."""
    return resolved(node["else"]) if "else" in node and isinstance(data, dict) else node


def quantities(
    data: Any, node: Mapping[str, Any], path: DataPath
) -> list[tuple[DataPath, str, str]]:
    """Every quantity below a value: its path, its text and its kind.

    Counts and friction, which are plain numbers, are given as text. A word for "none" is not a
    quantity.
    """
    node = chosen(resolved(node), data)
    if isinstance(data, dict):
        return [
            found
            for key, value, below in model_fields(data, node)
            for found in quantities(value, below, (*path, key))
        ]
    if isinstance(data, list):
        return [
            found
            for index, item in enumerate(data)
            for found in quantities(item, node["items"], (*path, index))
        ]
    if "quantity" not in node or data == node.get("word_for_none"):
        return []
    return [(path, str(data), node["quantity"])]


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
