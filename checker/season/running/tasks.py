"""Divides the hauls into tasks, large enough to be efficient and small enough for memory."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from checker.season.hauls.loads import HaulsOfLoad
from checker.season.hauls.same_shape import LoadSummary
from checker.season.running.part_store import PartStore

if TYPE_CHECKING:
    from checker.season.hauls.table import Table

_HAULS_OF_A_TASK = 2_048
"""Most hauls evaluated together; without a limit, memory use would grow with the log."""
_LOADS_OF_A_TASK = 8
"""Enough loads for one task, so that sending it to another process costs little."""
LOADS_AT_ONCE = 32
"""Most loads of the same shape that are evaluated together."""


def pattern_of(load: LoadSummary | str) -> str:
    """The pattern of a load; empty for a load that cannot be read."""
    return load.pattern if isinstance(load, LoadSummary) else ""


def group_by_pattern(patterns: Mapping[str, str]) -> list[list[str]]:
    """The load names of each pattern, in the order of the log, at most LOADS_AT_ONCE in a list.

    `patterns` holds the pattern of each load by its name.
    """
    by_pattern: dict[str, list[str]] = {}
    for name, pattern in patterns.items():
        by_pattern.setdefault(pattern, []).append(name)
    return [
        same[first : first + LOADS_AT_ONCE]
        for same in by_pattern.values()
        for first in range(0, len(same), LOADS_AT_ONCE)
    ]


def tasks(store: PartStore, order: Iterable[Sequence[str]]) -> Iterator[list[HaulsOfLoad]]:
    """The hauls of all loads as tasks, with those of the same shape together."""
    task: list[HaulsOfLoad] = []
    for same in order:
        for some in _divide(same, store):
            task += some
            hauls = sum(each.hauls for each in task)
            if hauls >= _HAULS_OF_A_TASK or len(task) >= _LOADS_OF_A_TASK:
                yield task
                task = []
    if task:
        yield task


def _divide(loads: Sequence[str], store: PartStore) -> Iterator[list[HaulsOfLoad]]:
    """The hauls of loads of the same shape, at most _HAULS_OF_A_TASK at a time."""
    slices: dict[str, list[Table]] = {}
    room = _HAULS_OF_A_TASK
    for load, rest in store.slices(loads):
        while len(rest) > room:
            slices.setdefault(load, []).append(rest.take(slice(room)))
            yield [HaulsOfLoad(name, slices[name]) for name in loads if name in slices]
            slices, room, rest = {}, _HAULS_OF_A_TASK, rest.take(slice(room, None))
        slices.setdefault(load, []).append(rest)
        room -= len(rest)
    yield [HaulsOfLoad(name, slices[name]) for name in loads if name in slices]
