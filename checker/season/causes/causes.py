"""Causes: the faults of a season that go back to one thing, and what to put right first.

Faults belong to one group if they rest on some same field of the load profile and the hauls with
them mostly have the group's most frequent fault too. A cause is the hauls with that fault, its
head; the other faults of the group in hauls without it are causes of their own, so that what is
said of the head is true of every haul counted. Which fields a fault rests on follows from the rules
and the catalogue of facts; which hauls have it, from the counts alone. So nothing depends on how
the hauls were divided, and no list of related rules has to be maintained.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from checker.facts.catalogue import catalogue
from checker.rulebooks.formula_arithmetic import wanted_operator
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.rule_text import BROKEN_ON
from checker.season.hauls.faults import Fault, FaultTally, faults_of

_TOGETHER: Final = 0.5
"""Least share of the hauls with a fault or the head of a cause that have both."""
_WITHIN: Final = 0.8
"""Or least share of the hauls with the fault that have the head too, if they are enough to say."""
_ENOUGH: Final = 5
_MOSTLY: Final = 0.5
"""Least share of the hauls of a cause whose rows state a field, for the field to be named."""

Rows = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Cause:
    """Faults with one cause, the first of them its head, and the hauls that have the head.

    Of hauls with several faults of a group each is in one cause alone.
    """

    faults: Sequence[tuple[Fault, int]]
    """Each with the number of these hauls that have it."""
    level: str
    """Level of the head: `must` or `should`."""
    hauls: int
    alone: int
    """Of these, hauls that break no must-rule of another cause."""
    by: Mapping[str, Mapping[str, int]]
    as_saved: Mapping[str, int]
    """By load, the hauls in which the load profile by itself breaks the must-rule of the head."""
    stated: Mapping[str, int]
    """Fields behind the fault in which the rows of most of the other hauls depart from the profile,
    the most telling first, with the number of these hauls."""

    @property
    def head(self) -> Fault:
        """The fault that the cause is named by."""
        return self.faults[0][0]

    @property
    def in_rows(self) -> int:
        """The hauls whose load profile by itself does not break the must-rule of the head."""
        return self.hauls - sum(self.as_saved.values()) if self.level == "must" else 0


@dataclass(frozen=True, slots=True)
class Repair:
    """A cause to put right, and how many hauls are off hold once it and all before it are."""

    cause: Cause
    off_hold: int


class Causes:
    """All causes of a season: those that hold hauls first, each kind by the number of hauls."""

    def __init__(
        self,
        faults: Mapping[str, FaultTally],
        rulebooks: Rulebooks,
        departs: Mapping[str, int],
    ) -> None:
        """Unite the faults of a season.

        `departs` counts for each field all hauls whose row departs from the profile in it.
        """
        self._rules = {rule.id: rule for book in rulebooks.books for rule in book.rules}
        self._tallies = [faults[key] for key in sorted(faults)]
        self._sets = [faults_of(key) for key in sorted(faults)]
        self._numbers = np.array([each.hauls for each in self._tallies], dtype=np.int64)
        self._departs = departs
        order = {name: index for index, name in enumerate(self._rules)}
        self._faults = sorted(
            {each.anywhere for some in self._sets for each in some},
            key=lambda each: (order[each.rule], each.side or ""),
        )
        self._has = np.array(
            [[each in some for each in self._faults] for some in map(_anywhere, self._sets)],
            dtype=bool,
        ).reshape(len(self._sets), len(self._faults))
        parts = [
            (head, group, rows) for group in self._groups() for head, rows in self._divided(group)
        ]
        self._held_by = np.array(
            [rows & (not self._is_should(head)) for head, _, rows in parts], dtype=bool
        ).reshape(len(parts), len(self._sets))
        unordered = [self._cause(index, *part) for index, part in enumerate(parts)]
        self._order = sorted(range(len(parts)), key=lambda index: _order(unordered[index]))
        self.all: Sequence[Cause] = [unordered[index] for index in self._order]
        """Every cause, those with a must-rule first, then by the number of hauls."""

    def first(self, most: int) -> list[Repair]:
        """Up to so many causes, the next always the one that takes most further hauls off hold."""
        held_by = self._held_by[self._order]
        waiting = held_by.sum(axis=0)
        held, free = waiting > 0, 0
        found: list[Repair] = []
        left = [index for index, each in enumerate(self.all) if each.level == "must"]
        while left and len(found) < most:
            gains = [int(self._numbers[held_by[index] & (waiting == 1)].sum()) for index in left]
            best = left[max(range(len(left)), key=lambda at: (gains[at], self.all[left[at]].hauls))]
            waiting = waiting - held_by[best]
            now = int(self._numbers[held & (waiting == 0)].sum())
            if now == free:
                break
            free = now
            found.append(Repair(self.all[best], free))
            left.remove(best)
        return found

    def _groups(self) -> list[list[int]]:
        """The faults of each cause, as indices, its head first."""
        both = self._has.T.astype(np.int64) * self._numbers @ self._has
        alone = both.diagonal()
        fields = [_fields_behind(self._rules[each.rule], each) for each in self._faults]
        heads: list[list[int]] = []
        for index in sorted(
            range(len(self._faults)), key=lambda at: (self._is_should(at), -alone[at], at)
        ):
            of = [
                (both[index, group[0]] / (alone[index] + alone[group[0]] - both[index, group[0]]))
                * bool(fields[index] & fields[group[0]])
                * _come_together(both[index, group[0]], alone[index], alone[group[0]])
                for group in heads
            ]
            if any(of):
                heads[int(np.argmax(of))].append(index)
            else:
                heads.append([index])
        return heads

    def _is_should(self, index: int) -> bool:
        return self._rules[self._faults[index].rule].level != "must"

    def _divided(self, group: Sequence[int]) -> Iterator[tuple[int, Rows]]:
        """The heads of a group with their sets of faults: each set is with the first that it has.

        The next head is the must-rule, or else the should-rule, of most hauls without one so far.
        """
        left: Rows = np.logical_or.reduce(self._has[:, group], axis=1)
        while left.any():
            hauls = (self._has[left].T.astype(np.int64) @ self._numbers[left]).tolist()
            head = min(
                (each for each in group if hauls[each]),
                key=lambda each: (self._is_should(each), -hauls[each], each),
            )
            yield head, left & self._has[:, head]
            left &= ~self._has[:, head]

    def _cause(self, index: int, head: int, group: Sequence[int], rows: Rows) -> Cause:
        fault, is_must = self._faults[head], not self._is_should(head)
        saved = [
            is_must and any(each.as_saved and each.anywhere == fault for each in some)
            for some in self._sets
        ]
        others = np.delete(self._held_by, index, axis=0).any(axis=0)
        numbers = (self._has[rows].T.astype(np.int64) @ self._numbers[rows]).tolist()
        tallies = self._tallies
        here = np.flatnonzero(rows).tolist()
        ordered = (head, *(each for each in group if each != head))
        return Cause(
            faults=[(self._faults[each], numbers[each]) for each in ordered if numbers[each]],
            level="must" if is_must else "should",
            hauls=numbers[head],
            alone=int(self._numbers[rows & ~others].sum()),
            by=_sum_by_kind(tallies[at].by for at in here),
            as_saved=_sum(tallies[at].by.get("load", {}) for at in here if saved[at]),
            stated=self._telling(fault, [at for at in here if not saved[at]]),
        )

    def _telling(self, head: Fault, sets: Sequence[int]) -> dict[str, int]:
        """The fields behind a cause that most of the rows state, the most unusual there first."""
        number = sum(self._tallies[at].hauls for at in sets)
        patterns = _fields_behind(self._rules[head.rule], head)
        departs = _sum(self._tallies[at].departs for at in sets)
        behind = {
            name: hauls
            for name, hauls in departs.items()
            if hauls >= _MOSTLY * number and any(_matches(name, each) for each in patterns)
        }

        def usual(name: str) -> float:
            return self._departs[name] / behind[name]

        return {name: behind[name] for name in sorted(behind, key=lambda it: (usual(it), it))}


def _anywhere(faults: Iterable[Fault]) -> set[Fault]:
    return {each.anywhere for each in faults}


def _order(cause: Cause) -> tuple[bool, int, str]:
    return cause.level != "must", -cause.hauls, cause.head.key


def _come_together(both: int, fault: int, head: int) -> bool:
    """True if hauls with a fault mostly have the head of a cause too."""
    return both >= _TOGETHER * (fault + head - both) or (
        fault >= _ENOUGH and both >= _WITHIN * fault
    )


def _sum(counts: Iterable[Mapping[str, int]]) -> dict[str, int]:
    found: dict[str, int] = {}
    for each in counts:
        for name, number in each.items():
            found[name] = found.get(name, 0) + number
    return found


def _sum_by_kind(several: Iterable[Mapping[str, Mapping[str, int]]]) -> dict[str, dict[str, int]]:
    listed = list(several)
    kinds = dict.fromkeys(kind for each in listed for kind in each)
    return {kind: _sum(each.get(kind, {}) for each in listed) for kind in kinds}


def _fields_behind(rule: Rule, fault: Fault) -> frozenset[str]:
    """The fields, such as `articles.*.weight`, behind the comparisons that the fault breaks."""
    leaves = [
        leaf
        for leaf in rule.requires.leaves
        if BROKEN_ON.get(wanted_operator(leaf) or "") is fault.side
    ]
    names = {
        name
        for leaf in leaves or rule.requires.leaves
        for side in (leaf.left, leaf.right)
        if side is not None
        for name in side.names
    }
    return frozenset(field for name in names for field in _fields_of_fact(name))


@cache
def _fields_of_fact(name: str) -> frozenset[str]:
    """The fields that a fact reads, itself or through other facts; none of a threshold."""
    fact = catalogue().get(name)
    if fact is None:
        return frozenset()
    used = (_fields_of_fact(other) for other in fact.uses)
    return frozenset((*fact.fields, *fact.instead)).union(*used)


@cache
def _matches(field: str, pattern: str) -> bool:
    """True if a field such as `articles.1.weight` is one that the pattern names, or holds it."""
    wanted = re.escape(pattern).replace(r"\*", r"[^.]+")
    return re.fullmatch(rf"{wanted}(\..*)?", field) is not None
