"""What a draft of a file is made from."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from checker.documents.document import Data

CHOSEN: Final = None
"""Stands where the crew chooses a word or answers."""


@dataclass(frozen=True, slots=True)
class Draft:
    """The outline of a new file of one kind."""

    kind: str
    opening: tuple[str, ...]
    """Comment lines at its top."""
    stated: dict[str, Data]
    """The fields stated before any answer; valid as it is."""
    outline: dict[str, Data]
    """The fields that matter most, with an example of each.

    Lists and mappings by name have one entry, as a model for all.
    """
    every_field: bool
    """Whether all other fields of the schema follow as comments."""
    questions: dict[str, Data]
    """The part of the outline that is asked for."""
    conditions: Mapping[str, Callable[[Mapping[str, Any]], bool]] = field(default_factory=dict)
    """Fields that are asked for only where this is true of what is stated so far."""
