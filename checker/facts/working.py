"""How facts were calculated: every fact and stated field behind them, down to the profile."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from checker.facts.catalogue import Fact
from checker.facts.view import FactInputs, Facts, Subject
from checker.load.model import Origin
from checker.units.arithmetic import Number


@dataclass(frozen=True, slots=True)
class Step:
    """One fact in a working, `depth` uses away from the start.

    `stated` and `instead` hold its own fields with their locations: the preferred ones, and those
    it uses where the first do not decide; `missing` are preferred fields that the profile does not
    state. A fact already shown is marked `again` and has its value alone.
    """

    depth: int
    fact: Fact
    subject: Subject | None
    value: Number
    stated: Mapping[str, Origin]
    instead: Mapping[str, Origin]
    missing: tuple[str, ...]
    again: bool


def working(facts: Facts, names: Iterable[str], subject: Subject | None) -> tuple[Step, ...]:
    """The named facts as seen from a subject, each followed by those it uses, one level deeper.

    A fact and its inputs are shown in full once, where they come first.
    """
    shown: set[tuple[str, Subject | None]] = set()
    return tuple(step for name in names for step in _steps(facts, name, subject, 0, shown))


def _steps(
    facts: Facts,
    name: str,
    subject: Subject | None,
    depth: int,
    shown: set[tuple[str, Subject | None]],
) -> Iterator[Step]:
    made = facts.inputs(name, subject)
    again = (name, made.subject) in shown
    shown.add((name, made.subject))
    yield _step(facts, made, depth, again=again)
    if not again:
        for used, part in made.uses:
            yield from _steps(facts, used, part, depth + 1, shown)


def _step(facts: Facts, made: FactInputs, depth: int, *, again: bool) -> Step:
    origins = facts.load.origins
    return Step(
        depth=depth,
        fact=made.fact,
        subject=made.subject,
        value=facts.value(made.fact.name, made.subject),
        stated={path: origins[path] for path in made.fields if path in origins},
        instead={path: origins[path] for path in made.instead if path in origins},
        missing=tuple(path for path in made.fields if path not in origins),
        again=again,
    )
