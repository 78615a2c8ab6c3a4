"""What if gear were missing: what an arrangement never needs, and what it cannot do without."""

from collections.abc import Iterator, Sequence
from datetime import date
from time import process_time

from msgspec import Struct
from msgspec.structs import replace

from checker.advice.arrange.arrangement import Arrangement
from checker.advice.arrange.choices import Choices
from checker.advice.arrange.scores import OBJECTIVES
from checker.advice.arrange.trial import OutOfTimeError, Trial
from checker.rulebooks.model import Rulebooks

SECONDS = 10.0
"""Time of a processor for the whole answer."""


class GearNeed(Struct, frozen=True):
    """How much an arrangement needs one kind of gear, of which it uses `used` of `count` pieces.

    `without` tells what is left without the kind: "as good" where the arrangement uses none of it,
    or another one is as good by all objectives; "worse"; "possible" where there is one and time ran
    out before they were compared; "impossible"; "not decided" where time ran out. `one_less` is the
    same with one piece less.
    """

    title: str
    count: int
    used: int
    without: str
    one_less: str


def gear_needs(
    arrangement: Arrangement,
    rulebooks: Rulebooks,
    on: date,
    order: Sequence[str] = OBJECTIVES,
    seconds: float = SECONDS,
) -> tuple[GearNeed, ...]:
    """How much an arrangement, found with this order of objectives, needs each kind of its gear."""
    kinds = arrangement.choices.kinds
    used = [sum(each is kind for _, each in arrangement.tiedowns) for kind in kinds]
    trials = [
        (number, count)
        for number, kind in enumerate(kinds)
        if used[number]
        for count in sorted({0, kind.count - 1})
        if count < used[number]
    ]
    end, told = process_time() + seconds, {}
    for done, (number, count) in enumerate(trials):
        until = process_time() + (end - process_time()) / (len(trials) - done)
        told[number, count] = _with_count(arrangement, number, count, rulebooks, on, order, until)
    tiedowns = tuple(
        GearNeed(
            title=kind.title,
            count=kind.count,
            used=used[number],
            without=told.get((number, 0), "as good"),
            one_less=told.get((number, kind.count - 1), "as good"),
        )
        for number, kind in enumerate(kinds)
        if kind.count
    )
    return (*tiedowns, *_block_needs(arrangement, rulebooks, on, end))


def _block_needs(
    arrangement: Arrangement, rulebooks: Rulebooks, on: date, until: float
) -> Iterator[GearNeed]:
    """The same for the blocks that it uses: it has some where it is worse without, or impossible.

    Those of one kind stand at both wheels or share a side, so that one less is as good as none. Of
    the others nothing is said: what the load states as chocked may stand on them.
    """
    choices = arrangement.choices
    for number, kind in enumerate(choices.blocks):
        used = sum(len(each.names) for each in choices.blocking if each.kind == number)
        if used:
            rest = tuple(each for each in choices.blocking if each.kind != number)
            without = _without(replace(choices, blocking=rest), rulebooks, on, until)
            one_less = without if used == kind.count else "as good"
            yield GearNeed(kind.title, kind.count, used, without, one_less)


def _without(choices: Choices, rulebooks: Rulebooks, on: date, until: float) -> str:
    """What there is with fewer blocks; they may be of another kind where there is one."""
    try:
        found = Trial(choices, rulebooks, on, until).best()
    except OutOfTimeError:
        return "not decided"
    if len(choices.blocks) > 1:
        return "possible" if found else "not decided"
    return "worse" if found else "impossible"


def _with_count(
    arrangement: Arrangement,
    number: int,
    count: int,
    rulebooks: Rulebooks,
    on: date,
    order: Sequence[str],
    until: float,
) -> str:
    """What there is with that many pieces of one kind."""
    kinds = list(arrangement.choices.kinds)
    kinds[number] = replace(kinds[number], count=count)
    if not any(kind.count for kind in kinds):
        return "impossible"
    choices, known = replace(arrangement.choices, kinds=tuple(kinds)), "not decided"
    try:
        if Trial(choices, rulebooks, on, until).best() is None:
            return "impossible"
        known = "possible"
        best = Trial(choices, rulebooks, on, until, order).best()
    except OutOfTimeError:
        return known
    if best is None:
        return known
    return "as good" if best.figures.key(order) <= arrangement.figures.key(order) else "worse"
