"""The tiedowns of an arrangement in words: from where to where, with which piece, new or not."""

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from checker.advice.arrange.arrangement import Arrangement
from checker.advice.arrange.crew_order import at_the_front, place_of, points_of
from checker.load.model import Tiedown
from checker.reports.shared.arrangement.standing import rolls
from checker.reports.shared.glossary import words_of
from checker.reports.shared.words import join_words
from checker.units.arithmetic import as_stated
from checker.units.formatting import System, show

_NOUNS = {
    "webbing": "strap",
    "chain": "chain",
    "steel strapping": "steel strap",
    "winch line": "winch line",
    None: "tiedown",
}
_HAIR = 5e-4
"""In m, less than a tape can read."""


class Tied(Struct, frozen=True):
    """One tiedown of an arrangement.

    `number` counts from 1 in the order of the work, as in the drawing; `article` is the index of
    what it holds, `piece` counts the pieces of its gear from 1. `was` is the number of the tiedown
    that the load states at the same points, or of the very same one where it is `kept`. Lengths are
    in m, NaN where not stated.
    """

    number: int
    article: int
    tiedown: Tiedown
    gear: str
    piece: int
    pieces: int
    length: float
    reach: float
    kept: bool
    was: int | None

    @property
    def noun(self) -> str:
        """What it is: strap, chain, rope."""
        return _NOUNS.get(self.tiedown.device, "rope")

    @property
    def front(self) -> bool:
        """It holds the half of its article that is nearer to the coupler."""
        return at_the_front(self.tiedown)

    @property
    def points(self) -> tuple[str, ...]:
        """The points of the article that it hooks to or runs over, from its first anchor on."""
        return tuple(each.name for each in points_of(self.tiedown))


def tied(arrangement: Arrangement) -> list[Tied]:
    """Every tiedown of an arrangement, in its order."""
    load, facts = arrangement.check.load, arrangement.check.facts
    today = arrangement.choices.load.tiedowns or ()
    gone = [index for index in range(len(today)) if index not in arrangement.kept]
    used: dict[int, int] = {}
    found = []
    for subject, each, (course, kind), same in zip(
        facts.subjects("tiedown"),
        load.tiedowns or (),
        arrangement.tiedowns,
        arrangement.kept,
        strict=True,
    ):
        used[id(kind)] = used.get(id(kind), 0) + 1
        was = same if same is not None else _replaced(each, today, gone)
        if was in gone:
            gone.remove(was)
        found.append(
            Tied(
                number=subject.index + 1,
                article=course.article,
                tiedown=each,
                gear=kind.title,
                piece=used[id(kind)],
                pieces=kind.count,
                length=as_stated(facts.value("tiedown.length", subject)),
                reach=kind.length,
                kept=same is not None,
                was=None if was is None else was + 1,
            )
        )
    return found


def _replaced(new: Tiedown, today: Sequence[Tiedown], gone: Sequence[int]) -> int | None:
    """The tiedown of today that a new one takes the place of: at its points, else its anchors."""

    def points(each: Tiedown) -> tuple[str, ...]:
        return (each.article.name, *sorted(point.name for point in points_of(each)))

    gone = [index for index in gone if today[index].article.name == new.article.name]

    same = [index for index in gone if points(today[index]) == points(new)]
    ends = [index for index in gone if anchors(today[index]) == anchors(new)]
    return next(iter([*(each for each in same if each in ends), *same, *ends]), None)


def anchors(tiedown: Tiedown) -> tuple[str, ...]:
    """The names of the anchors at its ends."""
    ends = (tiedown.anchor, None if tiedown.path == "direct" else tiedown.far_anchor)
    return tuple(each.name for each in ends if each)


def taken_off(arrangement: Arrangement, found: Sequence[Tied]) -> list[int]:
    """The numbers of the tiedowns of the load that the arrangement has no place for."""
    number = len(arrangement.choices.load.tiedowns or ())
    return sorted(set(range(1, number + 1)) - {each.was for each in found})


def corner(each: Tied) -> str:
    """Where on the trailer a tiedown holds its article, such as `front left`."""
    _, across = place_of(each.tiedown)
    across -= as_stated(each.tiedown.article.placed.y)
    side = "left" if across > _HAIR else "right" if across < -_HAIR else "middle"
    return f"{'front' if each.front else 'rear'} {side}"


def course_words(each: Tied) -> str:
    """From which points to which anchors it runs."""
    if each.tiedown.path == "direct":
        return f"from its point {each.points[0]} straight to anchor {anchors(each.tiedown)[0]}"
    near, far = anchors(each.tiedown)
    return f"from anchor {near} over {join_words(each.points)} to anchor {far} on the other side"


def length_words(each: Tied, system: System) -> str:
    """How long it runs, and how far the piece reaches."""
    if math.isnan(each.length):
        return f"How far it runs is not stated: see that the {each.noun} reaches."
    runs = f"{show(each.length, 'length', system, digits=3)} from hook to hook"
    if math.isnan(each.reach):
        return f"{runs}; the length of the {each.noun} is not stated: see that it reaches."
    return f"{runs}; the {each.noun} reaches {show(each.reach, 'length', system)}."


def piece_words(each: Tied) -> str:
    """Which piece of the gear it is."""
    return f'"{each.gear}", piece {each.piece} of {each.pieces}'


def difference_words(each: Tied, arrangement: Arrangement) -> str:
    """How a tiedown differs from what the load states."""
    tiedown = words_of(arrangement.choices.load)("tiedown")
    if each.kept:
        return "as the load states it"
    if each.was is None:
        return "not in the load as stated"
    before = (arrangement.choices.load.tiedowns or ())[each.was - 1]
    was = f"in place of {tiedown} {each.was} of the load"
    if before.path == each.tiedown.path and anchors(before) == anchors(each.tiedown):
        points = [point.name for point in points_of(before)]
        if points == list(each.points):
            return f"{was}, which is of other gear"
        return f"{was}, from {join_words(points or ['no point stated'])}"
    at = join_words([f"anchor {name}" for name in anchors(before)] or ["no anchor stated"])
    return f"{was}, to {at}"


def tighten_words(group: Sequence[Tied], all_of_it: Sequence[Tied]) -> Iterator[str]:
    """How hard to draw the tiedowns of one end of an article: front snug, then rear hard."""
    both = {each.front for each in all_of_it} == {True, False}
    direct = all(each.tiedown.path == "direct" for each in all_of_it)
    if not (both and direct and rolls(group[0].tiedown.article)):
        return
    end = "front" if group[0].front else "rear"
    one = "it" if len(group) == 1 else f"the {end} ones"
    if group[0].front:
        yield f"Draw {one} snug, not hard yet."
    else:
        yield f"Now draw {one} hard{'' if len(group) == 1 else ', one side after the other'}."
