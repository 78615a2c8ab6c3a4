"""What the schema of a kind says about one field of its files, in words for a crew."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from checker.documents.document import Data
from checker.documents.problems import listed
from checker.documents.schemas import definition, schema_of_kind
from checker.load.model import TAKEN_FROM
from checker.units.parsing import KINDS

_REFERENCE = "reference"

SOME_NAME = "some-name"
"""In a path: a name that the crew chooses."""


@dataclass(frozen=True, slots=True)
class Field:
    """One field in files of a kind: its schema node, with references inside the schema followed."""

    node: Mapping[str, Any]
    definitions: Mapping[str, Any]
    within: str
    """The definition it is or belongs to, such as `trailer`: the kind that `from` refers to."""

    def _followed(self, node: Mapping[str, Any]) -> "Field":
        within = self.within
        while "$ref" in node:
            *above, name = node["$ref"].partition("#/$defs/")[2].split("/")
            # A rule file refers to single fields of a profile, such as the device of a tiedown.
            node = definition(above[0])["properties"][name] if above else self.definitions[name]
            if name != _REFERENCE:
                within = name
        return Field(node, self.definitions, within)

    def fields(self) -> "Field":
        """The mapping with the fields, where a file name or a mapping may be given."""
        return self._followed(self.node["else"]) if self._file_or_fields else self

    @property
    def _file_or_fields(self) -> bool:
        return self.node.get("type") == ["string", "object"]

    def below(self, key: str | int) -> "Field":
        """The field under a key, or in an entry of a list or of a mapping by name."""
        here = self.fields()
        if isinstance(key, int):
            return here._followed(here.node["items"])
        named = here.node.get("additionalProperties")
        return here._followed(here.node.get("properties", {}).get(key, named))

    @property
    def names(self) -> list[str]:
        """The fields that this mapping may have, in the order of the schema."""
        return list(self.fields().node.get("properties", {}))

    @property
    def by_name(self) -> bool:
        """True for a mapping whose keys the crew chooses, such as the axles of a trailer."""
        return isinstance(self.node.get("additionalProperties"), Mapping)

    @property
    def is_mapping(self) -> bool:
        """True if it has fields below it."""
        return "properties" in self.node or self.by_name

    @property
    def is_entries(self) -> bool:
        """True for a list of mappings, such as the articles of a load."""
        return "items" in self.node and self.below(0).fields().is_mapping

    @property
    def refers_to(self) -> str | None:
        """The kind of file that this field names, if any."""
        if self._file_or_fields:
            return self.fields().within
        if self.node is self.definitions.get(_REFERENCE):
            return TAKEN_FROM.get(self.within, self.within)
        return None

    @property
    def description(self) -> str:
        """The meaning of the field, without the full stop."""
        return str(self.node.get("description", "")).rstrip(".")

    @property
    def single(self) -> "Field":
        """The field of one value: for a list of values, of one of them."""
        return self.below(0) if "items" in self.node else self

    @property
    def choices(self) -> list[str]:
        """The accepted words; empty where any text is accepted."""
        node = self.single.node
        return [node["const"]] if "const" in node else list(node.get("enum", []))

    @property
    def quantity(self) -> str | None:
        """The kind of quantity of the value."""
        kind: str | None = self.single.node.get("quantity")
        return kind

    @property
    def wanted(self) -> str:
        """The form of a quantity, with the field's word for "none"."""
        assert self.quantity is not None
        word = self.single.node.get("word_for_none")
        return KINDS[self.quantity].wanted + (f", or '{word}'" if word else "")

    @property
    def example(self) -> Data:
        """An example of a value; empty where a word is chosen or a name is found."""
        if self.refers_to:
            return f"{self.refers_to}s/{SOME_NAME}"
        examples = self.node.get("examples") or self.single.node.get("examples") or [None]
        first: Data = examples[0]
        if "items" in self.node and first is not None and not isinstance(first, list):
            return [first]
        return first

    @property
    def remark(self) -> str:
        """The comment beside the field in a file: what is accepted, then its meaning."""
        words = " / ".join(self.choices)
        return ". ".join(part for part in (words, self.description) if part)

    def explained(self) -> str:
        """Everything known about the field, for somebody who asks."""
        parts = [self.description] if self.description else []
        if self.choices:
            parts.append(f"One of: {listed(self.choices, most=20)}")
        elif self.quantity:
            parts.append(f"Wanted: {self.wanted}")
        if "items" in self.node:
            parts.append("Several are parted by commas")
        return ". ".join(parts) + "."


def field_of(kind: str) -> Field:
    """The whole of a file of that kind, as a field."""
    definitions = schema_of_kind(kind)["$defs"]
    return Field(definitions[kind], definitions, kind)
