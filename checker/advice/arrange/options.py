"""Every single tiedown that could hold an article at some places, and what rules say of it."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.advice.arrange.choices import Choices, Hook
from checker.advice.arrange.influence import Reads
from checker.advice.arrange.places import Places
from checker.advice.arrange.plan_rows import Plans
from checker.advice.arrange.scores import Judge


class Option(NamedTuple):
    """One tiedown at one place.

    `leaves` is a number for its leaves (`Influence.leaves`), equal for equal ones. The rules about
    single tiedowns are given by their numbers; `margin` is the least of those that are met. `pulls`
    are the forces, in N, with which it pulls each way along the deck at its limit.
    """

    hook: Hook
    leaves: int
    broken: frozenset[int]
    undecided: frozenset[int]
    short: frozenset[int]
    margin: float
    pulls: tuple[float, ...]


class Options:
    """The tiedowns of one article, by place."""

    def __init__(self, choices: Choices, judge: Judge, article: int) -> None:
        """Nothing is evaluated yet."""
        self._choices, self._judge, self._article = choices, judge, article
        self._leaves: dict[bytes, int] = {}
        self.alike: frozenset[str] = frozenset()
        """The leaves in which all tiedowns at the places last looked at agree."""
        self._hooks = [
            Hook(course, kind)
            for course, each in enumerate(choices.courses)
            if each.article == article
            for kind, gear in enumerate(choices.kinds)
            if gear.count
        ]

    def at(self, places: Places) -> list[list[Option]]:
        """The tiedowns at each place that reach from end to end."""
        hooks, count = self._hooks, places.size
        of_place = np.repeat(np.arange(count), len(hooks))
        courses = np.tile([each.course for each in hooks], count)[:, None]
        kinds = np.tile([each.kind for each in hooks], count)[:, None]
        plans = Plans(places.take(of_place), courses, kinds)
        known = [*self._judge.facts(plans)]
        table = self._judge.table(plans, Reads.ONE_TIEDOWN, self._article, known)
        leaves, lengths, pulls = self._judge.leaves(known)
        self.alike = self._judge.alike(leaves)
        reach = np.array([kind.length for kind in self._choices.kinds])[kinds[:, 0]]
        rows = np.flatnonzero(~(lengths > reach))
        columns = zip(
            rows.tolist(),
            _as_bytes(leaves[rows]),
            *(_numbers(each[:, rows]) for each in (table.broken, table.undecided, table.short)),
            table.margin[rows].tolist(),
            pulls[rows].tolist(),
            strict=True,
        )
        found: list[list[Option]] = [[] for _ in range(count)]
        for row, of_leaves, broken, undecided, short, margin, pull in columns:
            number = self._leaves.setdefault(of_leaves, len(self._leaves))
            found[row // len(hooks)].append(
                Option(
                    hooks[row % len(hooks)], number, broken, undecided, short, margin, tuple(pull)
                )
            )
        return found


def _as_bytes(rows: NDArray[Any]) -> list[bytes]:
    """Each row as bytes, which are equal where the row is."""
    size = rows.itemsize * rows.shape[1]
    text = rows.tobytes()
    return [text[row * size : (row + 1) * size] for row in range(len(rows))]


def _numbers(flags: NDArray[np.bool_]) -> list[frozenset[int]]:
    """For each row the numbers of the rules whose flag is set."""
    # Most rows break the same few rules, if any: one set for all that are alike.
    known: dict[bytes, frozenset[int]] = {}
    rows = flags.T
    packed = _as_bytes(np.packbits(rows, axis=1))
    for row, bits in enumerate(packed):
        if bits not in known:
            known[bits] = frozenset(np.flatnonzero(rows[row]).tolist())
    return [known[bits] for bits in packed]
