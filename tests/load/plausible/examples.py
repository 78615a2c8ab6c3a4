"""A load for every entry of the lists, found by trying figures until its statements hold."""

import random
from typing import Any

from checker.documents.schemas import field_node
from checker.load.plausible.entry import Entry
from checker.load.plausible.reading import Case, OfProfile, cases
from checker.load.plausible.statement import Compared, Words, clause, kind_of

_FIGURES = {
    "length": (
        "0.05 in",
        "0.5 in",
        "5 in",
        "30 in",
        "60 in",
        "100 in",
        "200 in",
        "2000 in",
        "9000 mi",
    ),
    "load": ("1 lb", "90 lb", "1000 lb", "1900 lb", "200000 lb", "900000 lb"),
    "pressure": ("1 psi", "50 psi", "90 psi", "500 psi"),
    "duration": ("1 min", "1 h", "900 h"),
    "speed": ("1 mph", "50 mph", "120 mph"),
    "ratio": ("1 %", "90 %"),
    "number": (0.3, 1.2, 1.9),
}


def with_field(data: dict[str, Any], field: str, value: Any) -> None:
    """Put a value at a field; `*` is the first entry of a list or mapping, `+` the second."""
    parts = field.lstrip("#").split(".")
    inside: Any = data
    for depth, part in enumerate(parts):
        last = depth == len(parts) - 1
        key: Any = part
        if part in ("*", "+"):
            number = int(part == "+")
            if isinstance(inside, list):
                while len(inside) <= number:
                    inside.append({})
                key = number
            else:
                inside.setdefault("a", {})
                key = "ab"[number]
        if last:
            if value != {} or not isinstance(inside, list):
                inside[key] = value
            return
        following = parts[depth + 1]
        listed = following in ("*", "+") and part in ("articles", "tiedowns", "load_checks")
        empty: Any = [] if listed else {}
        inside = inside[key] if isinstance(inside, list) else inside.setdefault(key, empty)


def value_for(field: str, seed: random.Random) -> Any:
    """Some value that the schema accepts in a field."""
    node, kind = field_node(field), kind_of(field)
    if kind == "count":
        return seed.choice([0, 1, 2, 9][node.get("minimum", 0) :])
    if kind in _FIGURES:
        figure = seed.choice(_FIGURES[kind])
        signed = "sign" not in node and kind == "length"
        return f"-{figure}" if signed and seed.random() < 0.3 else figure
    if "enum" in node:
        return seed.choice(node["enum"])
    return ["a"] if node.get("type") == "array" else "a"


def example(entry: Entry) -> tuple[dict[str, Any], Case]:
    """A load for which an entry holds, and how it does."""
    seed = random.Random(entry.name)  # noqa: S311 - a test
    clauses = [clause(each) for each in entry.where]
    for _ in range(30_000):
        data: dict[str, Any] = {"kind": "load"}
        for each in clauses:
            if isinstance(each, Compared):
                for field in each.fields:
                    if not field.startswith("#"):
                        with_field(data, field, value_for(field, seed))
                    else:
                        with_field(data, f"{field}.*", {})
                        with_field(data, f"{field}.+", {})
        for each in clauses:
            if isinstance(each, Words):
                with_word(data, each, seed)
        for case in of_entry(entry, data):
            if case.holds(OfProfile(data)):
                return data, case
    raise AssertionError(f"no load found for {entry.name}")


def with_word(data: dict[str, Any], each: Words, seed: random.Random) -> None:
    """State what a statement about a word asks for."""
    if each.field.startswith("#"):
        with_field(data, f"{each.field}.*", {})
    elif each.verb == "stated":
        with_field(data, each.field, value_for(each.field, seed))
    elif each.verb == "crosses":
        with_field(data, each.field, [f"{each.words[0]}-UT", f"{each.words[0]}-AZ"])
    elif each.verb == "has":
        inside: Any = OfProfile(data).word(("tiedowns", 0, "pulls"))
        with_field(data, each.field, [*(inside or []), each.words[0]])
    else:
        word = each.words[0]
        with_field(data, each.field, int(word) if word.isdigit() and kind_of(each.field) else word)


def of_entry(entry: Entry, data: Any) -> list[Case]:
    """The cases of one entry in a load."""
    return [case for case in cases(entry.grade, data) if case.entry is entry]
