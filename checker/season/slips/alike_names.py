"""Names in a season that a person may have meant as one: written in two ways, or nearly alike."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import NamedTuple
from unicodedata import normalize

from msgspec import Struct


class Seen(Struct):
    """How many hauls have a name, and the first row of the log with it."""

    hauls: int
    first_row: int

    def add(self, other: "Seen") -> None:
        """Add the other's hauls."""
        self.hauls += other.hauls
        self.first_row = min(self.first_row, other.first_row)


class AlikeNames(NamedTuple):
    """Names of one kind that are alike, by their first rows.

    Those of a load are names of the same file, and its hauls are counted as one; all others are
    counted apart.
    """

    kind: str
    names: tuple[tuple[str, Seen], ...]

    @property
    def hauls(self) -> int:
        """Number of hauls with any of the names."""
        return sum(seen.hauls for _, seen in self.names)


def add_seen(names: dict[str, Seen], more: Mapping[str, Seen]) -> None:
    """Add names and where they were seen to others."""
    for name, seen in more.items():
        if name in names:
            names[name].add(seen)
        else:
            names[name] = seen


def alike_names(
    names: Mapping[str, Mapping[str, Seen]], key_of_load: Mapping[str, str]
) -> Iterator[AlikeNames]:
    """The names that are alike, by kind, then by their first rows.

    `names` are those seen, by kind; `key_of_load` tells which names of loads mean the same file.
    """
    for kind, seen_by_name in names.items():
        groups: dict[str, list[tuple[str, Seen]]] = defaultdict(list)
        for name, seen in seen_by_name.items():
            if name:
                key = key_of_load[name] if kind == "load" else same_to_the_eye(name)
                groups[key].append((name, seen))
        found = [
            AlikeNames(kind, tuple(sorted(group, key=lambda each: each[1].first_row)))
            for group in groups.values()
            if len(group) > 1
        ]
        yield from sorted(found, key=lambda each: each.names[0][1].first_row)


def same_to_the_eye(text: str) -> str:
    """The text without what is easily overlooked: capitals, spaces, ways to store one letter."""
    return "".join(normalize("NFKC", text).casefold().split())
