"""Data that is well-formed and wrong: other types, values, subtrees. For YAML and JSON alike."""

import json
import re
from random import Random
from typing import Any

from checker.documents.reader import read_bytes
from tests.fuzz.inputs import Effect, Input, content, pick_file
from tests.fuzz.values import DAYS, QUANTITIES, TEXTS, WORDS

Path = tuple[str | int, ...]

_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9_. /-]*[A-Za-z0-9]\Z")
_QUANTITY = re.compile(r"-?[\d.,]+ ?[^\d\s].*\Z")
_UNITS = ["lb", "kg", "in", "ft", "m", "mm", "mph", "km/h", "psi", "kPa", "%", "min", "h", "daN"]
_PROFILES = ("profiles/", "trials/")


def emit(value: Any, indent: int = 0) -> str:
    """Block YAML of plain data; texts are quoted wherever they might be taken for more."""
    pad = "\n" + " " * indent
    match value:
        case dict() if value:
            items = ((_scalar(str(key)), emit(each, indent + 2)) for key, each in value.items())
            return "".join(f"{pad}{key}:{text}" for key, text in items)
        case list() if value:
            return "".join(f"{pad}-{emit(each, indent + 2)}" for each in value)
        case dict():
            return " {}"
        case list():
            return " []"
        case str():
            return f" {_scalar(value)}"
    return f" {json.dumps(value)}"


def _scalar(text: str) -> str:
    if _PLAIN.match(text) and text not in ("true", "false", "null"):
        return text
    escapes = (
        letter if letter.isprintable() and letter not in '"\\' else f"\\U{ord(letter):08x}"
        for letter in text
    )
    return f'"{"".join(escapes)}"'


def paths(value: Any, above: Path = ()) -> list[Path]:
    """Where every value stands, the top excepted."""
    items: Any = ()
    if isinstance(value, dict):
        items = value.items()
    elif isinstance(value, list):
        items = enumerate(value)
    found = []
    for key, each in items:
        found += [(*above, key), *paths(each, (*above, key))]
    return found


class Opened:
    """A file of plain data, with one value in it picked."""

    def __init__(self, random: Random, given: Input, name: str) -> None:
        raw = content(given, name)
        self.given, self.name = given, name
        self.data: Any = json.loads(raw) if name.endswith(".json") else read_bytes(raw, name).data
        self.path = random.choice(paths(self.data))

    @property
    def above(self) -> Any:
        """What the picked value stands in."""
        value = self.data
        for key in self.path[:-1]:
            value = value[key]
        return value

    @property
    def value(self) -> Any:
        """The picked value."""
        return self.above[self.path[-1]]

    @value.setter
    def value(self, new: Any) -> None:
        self.above[self.path[-1]] = new

    def save(self) -> None:
        """Write the file again."""
        text = json.dumps(self.data) if self.name.endswith(".json") else emit(self.data).lstrip()
        self.given.tree.entries[self.name] = f"{text}\n".encode("utf-8", "surrogatepass")


def open_one(random: Random, given: Input) -> Opened | None:
    """One of the files the call needs, if it can still be read."""
    name = pick_file(random, given, ".yaml", ".json")
    if name is None:
        return None
    try:
        return Opened(random, given, name)
    except (ValueError, TypeError, IndexError, RecursionError):
        return None  # an earlier mutation has left no data in it


def written_anew(random: Random, given: Input) -> Effect | None:
    """The same data, written by a program."""
    if (opened := open_one(random, given)) is None:
        return None
    opened.save()
    return Effect.KEEPS


def as_json(random: Random, given: Input) -> Effect | None:
    """The same data as JSON, which is YAML too."""
    if (opened := open_one(random, given)) is None:
        return None
    indent = random.choice([None, 2])
    text = json.dumps(opened.data, indent=indent, ensure_ascii=False)
    given.tree.entries[opened.name] = text.encode("utf-8", "surrogatepass")
    return Effect.KEEPS


def type_swapped(random: Random, given: Input) -> Effect | None:
    """A mapping, list or single value where one of the others belongs."""
    if (opened := open_one(random, given)) is None:
        return None
    old = opened.value
    if isinstance(old, dict):
        opened.value = random.choice([list(old.values()), list(old), 3, True, None, [old]])
    elif isinstance(old, list):
        opened.value = random.choice([dict(enumerate(map(str, old))), 3, True, None, {}])
    else:
        # Not {}: where a name or a mapping may stand, an empty mapping states nothing, and may be.
        opened.value = random.choice([{"a": old}, [[old]], [{"form": old}]])
    opened.save()
    # A check reads rules without their proofs, which `prove` and `rulebooks` do.
    return Effect.CHANGES if "proofs" in opened.path else Effect.BREAKS


def removed(random: Random, given: Input) -> Effect | None:
    """A key with all below it is gone, or an entry of a list."""
    if (opened := open_one(random, given)) is None:
        return None
    key = opened.path[-1]
    above = opened.above
    del above[key]
    opened.save()
    states_less = isinstance(key, str) and opened.name.startswith(_PROFILES)
    return Effect.REMOVES if states_less else Effect.CHANGES


def doubled(random: Random, given: Input) -> Effect | None:
    """An entry of a list stands once more, or three hundred times; or under a second key."""
    if (opened := open_one(random, given)) is None:
        return None
    above, key = opened.above, opened.path[-1]
    if isinstance(above, list):
        above += [opened.value] * random.choice([1, 1, 3, 40, 300])
    else:
        above[f"{key}-2"] = opened.value
    opened.save()
    return Effect.CHANGES


def moved(random: Random, given: Input) -> Effect | None:
    """Two values of one file change places."""
    if (opened := open_one(random, given)) is None:
        return None
    first, one = opened.path, opened.value
    opened.path = random.choice(paths(opened.data))
    if first[: len(opened.path)] == opened.path or opened.path[: len(first)] == first:
        return None
    other, opened.value = opened.value, one
    opened.path = first
    opened.value = other
    opened.save()
    return Effect.CHANGES


def value_swapped(random: Random, given: Input) -> Effect | None:
    """Another single value: text, quantity, day, word, number."""
    if (opened := open_one(random, given)) is None:
        return None
    if isinstance(opened.value, dict | list):
        return None
    numbers = [0, -1, 3, 10**18, 10**30, 1e300, 5e-324, 0.1, -0.0, True, False, None]
    pool = random.choice([TEXTS, QUANTITIES, QUANTITIES, DAYS, WORDS, numbers])
    opened.value = random.choice(pool)
    opened.save()
    return Effect.CHANGES


def no_number(random: Random, given: Input) -> Effect | None:
    """Where a profile states a quantity, a text that is none."""
    if (opened := open_one(random, given)) is None:
        return None
    quantities = [
        path
        for path in paths(opened.data)
        if _QUANTITY.match(str(_at(opened.data, path))) and path[-1] not in ("title", "note")
    ]
    if not quantities or not opened.name.startswith(_PROFILES):
        return None
    opened.path = random.choice(quantities)
    words = [".nan", ".inf", "NaN lb", "inf lb", "1e999 lb", "-inf in", "lb", "5 bags", "٣ lb"]
    opened.value = random.choice(words)
    opened.save()
    return Effect.BREAKS


def unit_or_sign(random: Random, given: Input) -> Effect | None:
    """The number with another unit, sign or size."""
    if (opened := open_one(random, given)) is None:
        return None
    quantities = [
        path for path in paths(opened.data) if _QUANTITY.match(str(_at(opened.data, path)))
    ]
    if not quantities:
        return None
    opened.path = random.choice(quantities)
    number, _, unit = str(opened.value).partition(" ")
    ways = [
        f"-{number} {unit}",
        f"{number} {random.choice(_UNITS)}",
        f"{number}000 {unit}",
        f"0.00{number} {unit}",
        f"{number} {unit} ± 50 %",
        f"{number} {unit} +/- {number} {unit}",
        number,
    ]
    opened.value = random.choice(ways)
    opened.save()
    return Effect.CHANGES


def _at(data: Any, path: Path) -> Any:
    for key in path:
        data = data[key]
    return data


def key_changed(random: Random, given: Input) -> Effect | None:
    """A key is another word."""
    if (opened := open_one(random, given)) is None:
        return None
    above, key = opened.above, opened.path[-1]
    if not isinstance(key, str):
        return None
    ways = [key[:-1], key.upper(), f"{key}s", key.replace("_", "-"), random.choice(TEXTS)]
    above[random.choice(ways)] = above.pop(key)
    opened.save()
    return Effect.CHANGES


MUTATORS = [
    written_anew,
    as_json,
    type_swapped,
    removed,
    removed,
    doubled,
    moved,
    value_swapped,
    value_swapped,
    no_number,
    unit_or_sign,
    key_changed,
]
