"""Says quickly whether a document fits its schema, or a value the schema of its field.

Every file of every run is checked, so a compiled validator does it. For a file that does not fit,
`schema_errors.py` explains what is wrong; tests hold the two validators against each other.
"""

from collections.abc import Mapping
from functools import cache
from typing import Any

from jsonschema_rs import Draft202012Validator, Registry

from checker.documents.schema_keywords import is_day, jurisdiction_fault, quantity_fault
from checker.documents.schemas import FAMILIES, schema


class _Quantity:
    """The project's own schema keyword `quantity`, in the validator's interface."""

    def __init__(self, node: Mapping[str, Any], _kind: str, _path: object) -> None:
        self.node = node

    def validate(self, value: object) -> None:
        """Raise ValueError for text that is not such a quantity."""
        if quantity_fault(value, self.node) is not None:
            raise ValueError(self.node["quantity"])


class _Jurisdiction:
    """The project's own schema keyword `jurisdiction`."""

    def __init__(self, _node: Mapping[str, Any], where: str, _path: object) -> None:
        self.where = where

    def validate(self, value: object) -> None:
        """Raise ValueError for text that is not the code of a jurisdiction."""
        if jurisdiction_fault(value, self.where) is not None:
            raise ValueError(self.where)


_KEYWORDS: dict[str, Any] = {"quantity": _Quantity, "jurisdiction": _Jurisdiction}


@cache
def _schemas() -> Registry:
    return Registry([(schema(name)["$id"], dict(schema(name))) for name in FAMILIES])


@cache
def _validator(family: str) -> Draft202012Validator:
    return Draft202012Validator(
        dict(schema(family)),
        registry=_schemas(),
        keywords=_KEYWORDS,
        formats={"date": is_day},
        validate_formats=True,
        offline=True,
    )


def value_fits(value: object, node: Mapping[str, Any]) -> bool:
    """True if a value fits the schema node of one field, which has no `$ref`.

    False as well for a value that no file can hold, such as a lone surrogate; `schema_errors.py`
    then decides.
    """
    alone = Draft202012Validator(
        dict(node),
        keywords=_KEYWORDS,
        formats={"date": is_day},
        validate_formats=True,
        offline=True,
    )
    try:
        return alone.is_valid(value)
    except ValueError:
        return False


def fits(data: Mapping[str, Any], family: str) -> bool:
    """True if the data fits the schema of that name."""
    return _validator(family).is_valid(data)
