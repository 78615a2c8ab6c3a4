"""What a typed line means for a field, and where it goes in the data of the new file."""

import copy
import itertools
import re
from typing import Any

from checker.documents.document import Data
from checker.documents.problems import DataPath
from checker.documents.reader import read_bytes
from checker.upkeep.drafting.fields import Field

YES, NO = ("yes", "y"), ("no", "n")
# A comma before three digits groups thousands.
_BETWEEN = re.compile(r"\s*;\s*|,\s+|,(?!\d{3}(?!\d))")


def answer_value(field: Field, typed: str) -> Data:
    """The value of the typed line: text as typed, a bare number where one is wanted, a list."""
    if "items" not in field.node:
        return _single(field, typed)
    return [_single(field.single, part) for part in _BETWEEN.split(typed.strip("[] ")) if part]


def _single(field: Field, typed: str) -> Data:
    if field.choices == ["yes", "no"]:
        folded = typed.casefold()
        return "yes" if folded in YES else "no" if folded in NO else typed
    if field.node.get("type") in ("integer", "number"):
        number = read_bytes(typed.encode(), "").data
        return number if isinstance(number, int | float) else typed
    return typed


def with_value(data: dict[str, Data], path: DataPath, value: Data) -> dict[str, Data]:
    """A copy of the data with a value at a path.

    Missing mappings and lists are added, and the name of a file becomes a mapping `from` it.
    """
    changed = copy.deepcopy(data)
    inside: Any = changed
    for part, following in itertools.pairwise(path):
        empty: Data = [] if isinstance(following, int) else {}
        if isinstance(part, str):
            if isinstance(inside.get(part), str):
                # The name of a file: fields beside it replace those of the file.
                inside[part] = {"from": inside[part]}
            inside = inside.setdefault(part, empty)
        else:
            if part == len(inside):
                inside.append(empty)
            inside = inside[part]
    last = path[-1]
    if isinstance(last, int) and last == len(inside):
        inside.append(value)
    else:
        inside[last] = value
    return changed
