"""The chocks and blocks of an arrangement in words, and why others were not proposed."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from checker.advice.arrange.arrangement import Arrangement
from checker.advice.arrange.blocking import Unfit, unfit_blocks
from checker.advice.arrange.choices import Choices
from checker.facts.bodies import on_trailer
from checker.load.model import Article
from checker.reports.shared.words import join_words, number_of
from checker.units.arithmetic import as_stated
from checker.units.formatting import FORCE, System, show

_SIDES = {
    "forward": "in front of",
    "rearward": "behind",
    "left": "on the left of",
    "right": "on the right of",
}
_ENDS = {"forward": "front", "rearward": "rear"}
_NOT_STATED = {
    "height": "how high it is",
    "strength": "what force it withstands",
    "cannot_come_loose": "whether it can come loose",
}


class Blocked(Struct, frozen=True):
    """Blocks of one kind that stop one article one way.

    `first` and `last` are the numbers of the pieces of their gear, from 1. `strength` is what is
    counted of each, in N; None where they keep the article from rolling and no more. `places` are
    in m: behind the ball, left of the middle, above the deck.
    """

    article: int
    title: str
    way: str
    gear: str
    first: int
    last: int
    pieces: int
    wheels: str
    names: tuple[str, ...]
    strength: float | None
    places: tuple[tuple[float, float, float], ...]

    @property
    def text(self) -> str:
        """What to do, as a sentence without its end."""
        if self.wheels:
            return f"Chock {_SIDES[self.way]} both {_ENDS[self.way]} {self.wheels}"
        count = len(self.names)
        return f"{number_of(count, 'block')} {_SIDES[self.way]} {self.title}, against its base"

    @property
    def pieces_words(self) -> str:
        """Which pieces of the gear they are."""
        between = " and " if self.last == self.first + 1 else " to "
        own = str(self.first) if self.first == self.last else f"{self.first}{between}{self.last}"
        noun = "piece" if self.first == self.last else "pieces"
        return f'"{self.gear}", {noun} {own} of {self.pieces}'


def blocked(arrangement: Arrangement) -> list[Blocked]:
    """The blocks that an arrangement takes from the gear, in the order of the work."""
    choices, load = arrangement.choices, arrangement.check.load
    used = [0] * len(choices.blocks)
    found = []
    for each in choices.blocking:
        kind, article = choices.blocks[each.kind], load.articles[each.article]
        first = used[each.kind] + 1
        used[each.kind] += len(each.names)
        stated = [block for block in article.blocks if block.name in each.names]
        found.append(
            Blocked(
                article=each.article,
                title=article.title,
                way=each.way,
                gear=kind.title,
                first=first,
                last=used[each.kind],
                pieces=kind.count,
                wheels=_wheels(article) if kind.chocks_wheels == 1 else "",
                names=each.names,
                strength=as_stated(stated[0].strength) if stated else None,
                places=tuple(_place(article, block.x, block.y, block.z) for block in stated),
            )
        )
    return found


def _wheels(article: Article) -> str:
    return "track ends" if article.type == "tracked machine" else "wheels"


def _place(article: Article, *own: object) -> tuple[float, float, float]:
    x, y, z = (as_stated(each) for each in on_trailer(article, *own))  # type: ignore[arg-type]
    return x, y, z


def block_details(each: Blocked, system: System) -> Iterator[str]:
    """What belongs to the step: which pieces, where, and what is counted on."""
    yield f"{each.pieces_words}."
    if each.strength is None:
        yield (
            "They keep it from rolling. They are not counted on in a hard stop: they hold too "
            "little for its weight, or what they hold is not stated."
        )
        return
    if not each.wheels:
        at = join_words([_at(x, y, system) for x, y, _ in each.places])
        yield f"Set {'it' if len(each.names) == 1 else 'them'} {at}."
    force, several = show(each.strength, FORCE, system), len(each.names) > 1
    pronoun, share = ("them", " each") if several else ("it", "")
    yield (
        f"Counted on to stop it moving {each.way}, with {force}{share}: set {pronoun} tight "
        f"against it, and hold {pronoun} to the deck as that strength asks."
    )


def _at(x: float, y: float, system: System) -> str:
    behind = f"{show(round(x, 3), 'length', system)} behind the ball"
    if abs(y) < 5e-4:
        return f"{behind} in the middle of the deck"
    side = "left" if y > 0 else "right"
    return f"{behind} and {show(round(abs(y), 3), 'length', system)} {side} of its middle"


def block_change(each: Blocked) -> str:
    """What the blocks change against the load as stated."""
    whose = f"{each.title}: " if each.wheels else ""
    words = each.text[0].lower() + each.text[1:] if whose else each.text
    return f"{whose}{words}."


def unfit_lines(choices: Choices) -> list[str]:
    """Which blocks of the gear were not proposed, and what would allow it."""
    return [_unfit(each) for each in unfit_blocks(choices)]


def _unfit(each: Unfit) -> str:
    lead = f"'{each.block}' was not proposed for {each.article}:"
    reasons = []
    if each.of_article:
        fields = join_words([f"`{field}`" for field in each.of_article])
        reasons.append(f"measure and state {fields}, from the deck to the centre of the wheels")
    if each.of_block:
        fields = join_words([f"`{name}` ({_NOT_STATED[name]})" for name in each.of_block])
        reasons.append(f"state {fields} in the gear")
    if each.too_low:
        reasons.append("it is too low for its wheels, which would climb it")
    if each.comes_loose:
        reasons.append("it may come loose on the road")
    return f"{lead} {join_words(reasons)}."


def named(found: Sequence[Blocked], article: int) -> tuple[set[str], set[str]]:
    """The names of the blocks that an arrangement puts at an article, and the ways they stop."""
    own = [each for each in found if each.article == article and each.strength is not None]
    return {name for each in own for name in each.names}, {each.way for each in own}
