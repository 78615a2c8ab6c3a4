"""Which hauls are judged together: those of one shape, enough to pay and few enough for memory."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from checker.season.checkpoint import PartStore
from checker.season.loads import HaulsOf
from checker.season.same_shape import LoadSummary

if TYPE_CHECKING:
    from checker.season.reading import RowSlice

_HAULS_OF_A_TASK = 3_072
"""So many are judged together at most, or the memory would grow with the log."""
_LOADS_OF_A_TASK = 8
"""Enough work at a time that handing it to another process costs little beside it."""
LOADS_AT_ONCE = 32
"""Of loads of the same shape at most so many are judged together."""


def pattern_of(load: LoadSummary | str) -> str:
    """The pattern of a load; the same empty one for all that cannot be read."""
    return load.pattern if isinstance(load, LoadSummary) else ""


def in_order(patterns: Mapping[str, str]) -> list[list[str]]:
    """All loads, by their names and patterns, in the order of the log, but those of one together.

    No more in a list than are judged together.
    """
    alike: dict[str, list[str]] = {}
    for name, pattern in patterns.items():
        alike.setdefault(pattern, []).append(name)
    return [
        same[first : first + LOADS_AT_ONCE]
        for same in alike.values()
        for first in range(0, len(same), LOADS_AT_ONCE)
    ]


def tasks(store: PartStore, order: Iterable[Sequence[str]]) -> Iterator[list[HaulsOf]]:
    """The hauls of all loads, enough for a task at a time, and those of the same shape together."""
    task: list[HaulsOf] = []
    for same in order:
        for some in _slices(same, store):
            task += some
            hauls = sum(each.hauls for each in task)
            if hauls >= _HAULS_OF_A_TASK or len(task) >= _LOADS_OF_A_TASK:
                yield task
                task = []
    if task:
        yield task


def _slices(loads: Sequence[str], store: PartStore) -> Iterator[list[HaulsOf]]:
    """The hauls of loads of the same shape; many of them in several."""
    pieces: dict[str, list[RowSlice]] = {}
    room = _HAULS_OF_A_TASK
    for load, (records, heading) in store.pieces(loads):
        rest = records
        while len(rest) > room:
            pieces.setdefault(load, []).append((rest[:room], heading))
            yield [HaulsOf(name, pieces[name]) for name in loads if name in pieces]
            pieces, room, rest = {}, _HAULS_OF_A_TASK, rest[room:]
        pieces.setdefault(load, []).append((rest, heading))
        room -= len(rest)
    yield [HaulsOf(name, pieces[name]) for name in loads if name in pieces]
