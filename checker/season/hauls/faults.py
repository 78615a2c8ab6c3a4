"""Faults: a rule broken on one side of its limit, by a haul or already by its load profile."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from msgspec import Struct, field
from msgspec.structs import replace

from checker.evaluation.rule_rows import Flags, RuleRows
from checker.rulebooks.rule_text import Side

_IN_PROFILE = "as-saved"


class Fault(NamedTuple):
    """A rule broken with a value on one side of its limit; None for an answer or an equality.

    `as_saved` is true if the load profile breaks it too, whatever the row of the haul states.
    """

    rule: str
    side: Side | None = None
    as_saved: bool = False

    @property
    def key(self) -> str:
        """The fault as one word: rule ids and sides have no spaces and no colons."""
        return ":".join((self.rule, self.side or "", _IN_PROFILE if self.as_saved else ""))

    @property
    def anywhere(self) -> "Fault":
        """The same fault, whether or not the load profile has it."""
        return self._replace(as_saved=False)


def faults_of(key: str) -> tuple[Fault, ...]:
    """The faults that a key of `Totals.faults` names."""
    parts = (word.split(":") for word in key.split())
    return tuple(
        Fault(rule, Side(side) if side else None, bool(saved)) for rule, side, saved in parts
    )


class FaultTally(Struct):
    """Number of hauls with exactly these faults, in all and by trailer, machine, crew and so on.

    `departs` counts, for each field, the hauls whose row states something else than the profile.
    """

    hauls: int = 0
    by: dict[str, dict[str, int]] = field(default_factory=dict)
    departs: dict[str, int] = field(default_factory=dict)

    def add(self, other: "FaultTally") -> None:
        """Add the other's counts."""
        self.hauls += other.hauls
        for kind, counts in other.by.items():
            mine = self.by.setdefault(kind, {})
            for name, number in counts.items():
                mine[name] = mine.get(name, 0) + number
        for name, number in other.departs.items():
            self.departs[name] = self.departs.get(name, 0) + number


def faults_as_saved(rules: Iterable[RuleRows]) -> Mapping[Fault, Flags]:
    """The faults of load profiles as they are saved; a variance excuses none of them."""
    return {
        Fault(each.rule.id, side): rows
        for each in rules
        for side, rows in by_side(replace(each, permits=())).items()
    }


def by_side(rows: RuleRows) -> dict[Side | None, Flags]:
    """The rows that break a rule, by the side of the limit; sides without any are left out."""
    broken = rows.broken
    if not broken.any():
        return {}
    found: dict[Side | None, Flags] = {side: rows.broken_on(side) for side in Side}
    found[None] = broken & ~(found[Side.BELOW] | found[Side.ABOVE])
    return {side: here for side, here in found.items() if here.any()}
