"""Blocks and chocks of the gear: where they may stand, what they hold, what a load states of them.

A machine has a chock at both wheels of the end that it would roll over, anything else blocks
against its base. Blocks are stated to stop an article one way where those of that way alone
withstand the force that laws ask of all that secures it; chocks on both ways that do not, or whose
strength is not known, keep it from rolling.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import product
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from checker.advice.arrange.choices import INCH, Blocking, Choices, length_text
from checker.load.model import Article, GearBlock, MachineAxle
from checker.mechanics.chocks import chock_push
from checker.mechanics.quantities import POUND_FORCE

if TYPE_CHECKING:
    from checker.documents.problems import DataPath

DEMANDS = {"forward": 0.8, "rearward": 0.5, "left": 0.5, "right": 0.5}
"""Shares of the weight that must be held each way (49 CFR 393.102(a); EN 12195-1, table 2)."""

_ENDS = {"forward": "front", "rearward": "rear"}
_MACHINES = ("wheeled machine", "tracked machine", "road vehicle")
_MOST_OF_ONE_WAY = 3
"""Blocks against one side of an article at most."""


class Unfit(NamedTuple):
    """Blocks that were not proposed for an article, as something is not stated or does not fit.

    `missing` are fields of the article and of the block; where there are none the block is too low
    for its wheels, or may come loose on the road.
    """

    article: str
    block: str
    of_article: tuple[str, ...] = ()
    of_block: tuple[str, ...] = ()
    too_low: bool = False
    comes_loose: bool = False


def is_on_offer(choices: Choices) -> bool:
    """True if a plan may put blocks of the gear on the deck."""
    return any(True for index in range(len(choices.load.articles)) for _ in _of(choices, index))


def blockings(choices: Choices) -> list[tuple[Blocking, ...]]:
    """Every blocking that the gear allows, but that without.

    First those that stop all articles the same ways, as there is time for few of several articles;
    of these those with the fewest pieces, then forward before the other ways.
    """
    each = [[(), *_of(choices, index)] for index in range(len(choices.load.articles))]
    counts = [block.count for block in choices.blocks]
    found = []
    for chosen in product(*each):
        joined = tuple(one for own in chosen for one in own)
        used: Counter[int] = Counter()
        for one in joined:
            used[one.kind] += len(one.names)
        if joined and all(number <= counts[kind] for kind, number in used.items()):
            found.append(joined)
    return sorted(found, key=lambda own: _rank(own, len(each)))


def _rank(blocking: Sequence[Blocking], articles: int) -> tuple[bool, int, list[int]]:
    ways = [{one.way for one in blocking if one.article == index} for index in range(articles)]
    order = list(DEMANDS)
    return (
        any(own != ways[0] for own in ways),
        sum(len(one.names) for one in blocking),
        [order.index(one.way) for one in blocking],
    )


def statements(choices: Choices, facings: Sequence[int]) -> dict["DataPath", Any]:
    """What a load states of the blocking of these choices, where its articles face so."""
    found: dict[DataPath, Any] = {}
    for each in choices.blocking:
        at = ("articles", each.article)
        turned = each.facing is None and facings[each.article] == 1
        length = float(choices.load.articles[each.article].length)
        for name, (x, y, z), strength in zip(each.names, each.points, each.strengths, strict=False):
            own = (length - x, -y, z) if turned else (x, y, z)
            at_x, at_y, at_z = (_place(value, choices.step) for value in own)
            found[(*at, "blocks", name)] = {
                "stops": each.way,
                "strength": _force(strength, choices),
                "x": at_x,
                "y": at_y,
                "z": at_z,
            }
            found[(*at, "blocking", each.way)] = "yes"
    for index in _chocked(choices.blocking, choices):
        found[("articles", index, "chocked")] = "yes"
    return found


def _place(value: float, step: float) -> str:
    """A place to a tenth of a step, which is as well as a block is set."""
    return length_text(round(value / step * 10) * step / 10, step)


def _force(strength: float, choices: Choices) -> str:
    """A force rounded down to what it is worth stating."""
    unit, size, step = ("lbf", POUND_FORCE, 1) if choices.step == INCH else ("N", 1.0, 10)
    return f"{np.floor(strength / size / step + 1e-9) * step:.0f} {unit}"


def _chocked(blocking: Sequence[Blocking], choices: Choices) -> list[int]:
    """The articles with chocks both ways."""
    ways: dict[int, set[str]] = {}
    for each in blocking:
        if choices.blocks[each.kind].chocks_wheels == 1:
            ways.setdefault(each.article, set()).add(each.way)
    return [article for article, own in ways.items() if own >= _ENDS.keys()]


def unfit_blocks(choices: Choices) -> list[Unfit]:
    """The blocks of the gear that were not proposed, and why; a crew can measure what is missing.

    Of articles that are stopped or chocked already, and have no use for them, nothing is said.
    """
    found = []
    for article, block in product(choices.load.articles, choices.blocks):
        is_machine = article.type in _MACHINES
        if is_machine != (block.chocks_wheels == 1) or not _open_ways(article):
            continue
        names = ("height", "strength", "cannot_come_loose")
        of_block = tuple(name for name in names if np.isnan(float(getattr(block, name))))
        of_article = tuple(
            f"axles.{end}.wheel_radius"
            for end in ("front", "rear")
            if is_machine and np.isnan(float(getattr(article.axles, end).wheel_radius))
        )
        unfit = Unfit(
            article.title,
            block.title,
            of_article,
            of_block,
            too_low=is_machine and any(_is_too_low(block, each) for each in _axles(article)),
            comes_loose=block.cannot_come_loose == 0,
        )
        if any(unfit[2:]):
            found.append(unfit)
    return found


def _axles(article: Article) -> tuple[MachineAxle, MachineAxle]:
    return article.axles.front, article.axles.rear


def _is_too_low(block: GearBlock, axle: MachineAxle) -> bool:
    return bool(np.equal(chock_push(1.0, block.height, axle.wheel_radius, 1.0), 0.0))


def _open_ways(article: Article) -> list[str]:
    """The ways in which nothing is stated to stop it."""
    stopped = {each.stops for each in article.blocks}
    ways = ("forward", "rearward") if article.type in _MACHINES else tuple(DEMANDS)
    return [way for way in ways if way not in stopped and getattr(article.blocking, way) != 1]


def _of(choices: Choices, index: int) -> Iterator[tuple[Blocking, ...]]:
    """Every blocking of one article that a load states something of."""
    article = choices.load.articles[index]
    facings: Sequence[int | None] = (0, 1) if article.type in _MACHINES else (None,)
    for facing in facings:
        ways = [[None, *_of_one_way(choices, index, way, facing)] for way in _open_ways(article)]
        for chosen in product(*ways):
            own = tuple(each for each in chosen if each is not None)
            chocks = article.chocked != 1 and _chocked(own, choices)
            if own and (chocks or all(each.strengths for each in own)):
                yield own


def _of_one_way(choices: Choices, index: int, way: str, facing: int | None) -> Iterator[Blocking]:
    """Blocks that keep one article from moving one way, of each kind that may."""
    article = choices.load.articles[index]
    for kind, block in enumerate(choices.blocks):
        if block.cannot_come_loose != 1:
            continue
        if facing is None:
            found = _against_the_base(choices, index, way, kind)
        else:
            found = _at_wheels(choices, index, way, kind, facing)
        if found is not None:
            taken = {each.name for each in article.blocks}
            names = tuple(_free(name, taken) for name in found.names)
            yield found._replace(names=names)


def _free(name: str, taken: set[str]) -> str:
    while name in taken:
        name += " more"
    return name


def _at_wheels(choices: Choices, index: int, way: str, kind: int, facing: int) -> Blocking | None:
    """Chocks at both wheels of the end that leads this way; None where they would not hold."""
    block, article = choices.blocks[kind], choices.load.articles[index]
    if block.chocks_wheels != 1:
        return None
    leads = article.axles.front if (way == "forward") == (facing == 0) else article.axles.rear
    if not chock_push(1.0, block.height, leads.wheel_radius, 1.0) > 0.0:
        return None
    end = _ENDS[way]
    found = Blocking(index, way, kind, (f"{end} left chock", f"{end} right chock"), facing)
    light = leads.weight - _spread(choices, index, "axles", _end_of(article, leads), "weight")
    push = float(chock_push(block.strength, block.height, leads.wheel_radius, light / 2))
    if not 2 * push >= _demand(choices, index, way):
        return found
    height, radius = float(block.height), float(leads.wheel_radius)
    z = min(height, radius)
    out = float(np.sqrt(radius**2 - (radius - z) ** 2))
    x = float(leads.x) + (-out if leads is article.axles.front else out)
    left = float(leads.track) / 2 * (1 if facing == 0 else -1)
    if np.isnan(x + left):
        return found
    points = tuple((max(x, 0.0), y, z) for y in (left, -left))
    return found._replace(points=points, strengths=(push, push))


def _end_of(article: Article, axle: MachineAxle) -> str:
    return "front" if axle is article.axles.front else "rear"


def _against_the_base(choices: Choices, index: int, way: str, kind: int) -> Blocking | None:
    """As few blocks against one side of the base as hold; None where none do, or it is a chock."""
    block, article = choices.blocks[kind], choices.load.articles[index]
    strength = float(block.strength)
    z = min(float(block.height), float(article.height)) / 2
    if block.chocks_wheels == 1 or np.isnan(strength + z):
        return None
    need = _demand(choices, index, way) / strength
    count = max(int(np.ceil(need - 1e-9)), 1) if need <= _MOST_OF_ONE_WAY else 0
    if not count:
        return None
    side = _ENDS.get(way, way)
    shares = [(number + 0.5) / count for number in range(count)]
    numbers = [f" {number + 1}" for number in range(count)] if count > 1 else [""]
    length, width = float(article.length), float(article.width)
    return Blocking(
        index,
        way,
        kind,
        tuple(f"{side} block{number}" for number in numbers),
        None,
        tuple((*_on_side(way, share, length, width), z) for share in shares),
        (strength,) * count,
    )


def _on_side(way: str, share: float, length: float, width: float) -> tuple[float, float]:
    if way in _ENDS:
        return (0.0 if way == "forward" else length), (share - 0.5) * width
    return share * length, (0.5 if way == "left" else -0.5) * width


def _demand(choices: Choices, index: int, way: str) -> float:
    """The force in N that must be held this way, of the heaviest that the article may be."""
    weight = float(choices.load.articles[index].weight)
    return DEMANDS[way] * (weight + _spread(choices, index, "weight"))


def _spread(choices: Choices, index: int, *field: str) -> float:
    """The tolerance of a field of an article, zero where it has none."""
    return choices.profile.tolerances.get(("articles", index, *field), (0.0, 0.0))[1]
