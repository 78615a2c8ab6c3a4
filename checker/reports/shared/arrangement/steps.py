"""The steps of an arrangement, in the order in which a crew does the work."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from checker.advice.arrange.arrangement import Arrangement
from checker.evaluation.check import Check
from checker.facts.bodies import on_trailer
from checker.load.model import Article, Load
from checker.reports.shared.arrangement.answers import (
    BEFORE_LOADING,
    BY_EYE,
    MADE_READY,
    asked,
)
from checker.reports.shared.arrangement.blocking import Blocked, block_details, blocked, named
from checker.reports.shared.arrangement.standing import moved_words, standing_words
from checker.reports.shared.arrangement.tying import (
    Tied,
    corner,
    course_words,
    difference_words,
    length_words,
    piece_words,
    taken_off,
    tighten_words,
)
from checker.reports.shared.glossary import words_of
from checker.reports.shared.words import join_words
from checker.units.arithmetic import as_stated
from checker.units.formatting import System, show


class Step(Struct, frozen=True):
    """One step: what to do, and below it what belongs to it.

    `kind` is `fetch`, `before loading`, `set on`, `make ready`, `block`, `tie down` or `by eye`.
    `article` is the index of the article it is about, `tiedown` the number in the drawing; None
    where it is about neither.
    """

    kind: str
    text: str
    details: Sequence[str] = ()
    article: int | None = None
    tiedown: int | None = None


def steps_of(
    arrangement: Arrangement,
    found: Sequence[Tied],
    check: Check,
    system: System,
    gear: str | None,
) -> list[Step]:
    """All steps; of several articles the one nearest the coupler is set on and tied down first."""
    load = check.load
    order = sorted(range(len(load.articles)), key=lambda at: as_stated(load.articles[at].placed.x))
    blocks = blocked(arrangement)
    steps = [_fetch(arrangement, found, blocks, gear)]
    before = asked(check, BEFORE_LOADING)
    if before:
        words = "Before loading, as the rules in force ask:"
        steps.append(Step("before loading", words, [each.words for each in before]))
    for article in order:
        steps += _of_article(arrangement, found, blocks, check, system, article)
    return [*steps, _by_eye(arrangement, found, check)]


def _fetch(
    arrangement: Arrangement, found: Sequence[Tied], blocks: Sequence[Blocked], gear: str | None
) -> Step:
    """Which pieces to take, and which tiedowns of the load to take off."""
    local = words_of(arrangement.check.load)
    most: dict[str, Tied] = {}
    for each in found:
        most[each.gear] = each
    last = {each.gear: each for each in blocks}
    taken = [(each.piece, each.pieces, name) for name, each in most.items()]
    taken += [(each.last, each.pieces, name) for name, each in last.items()]
    pieces = join_words([f'{used} of the {count} "{name}"' for used, count, name in taken])
    where = f'From "{gear}" take' if gear else local("Of the tiedowns that the load states take")
    today = arrangement.choices.load.tiedowns or ()
    off = [
        local("If the load is tied down as stated, take off tiedown {} ({}).").format(
            number, today[number - 1].title
        )
        for number in taken_off(arrangement, found)
    ]
    return Step("fetch", f"{where} {pieces}.", off)


def _of_article(
    arrangement: Arrangement,
    found: Sequence[Tied],
    chosen: Sequence[Blocked],
    check: Check,
    system: System,
    index: int,
) -> Iterator[Step]:
    load, local = check.load, words_of(check.load)
    article, today = load.articles[index], arrangement.choices.load.articles[index]
    moved = moved_words(today, article, system)
    against = f"Against the load as stated: {join_words(moved)}." if moved else "As stated."
    words = standing_words(load, article, system)
    yield Step("set on", f"{article.title}: {_lower(words)}", [against], index)
    ready = asked(check, MADE_READY, index)
    if ready:
        words = f"Make {article.title} ready to be tied down:"
        yield Step("make ready", local(words), [each.words for each in ready], index)
    for block in (each for each in chosen if each.article == index):
        words = f"{_whose(block, load)}{block.text}."
        yield Step("block", words, [*block_details(block, system)], index)
    new = named(chosen, index)
    blocks = list(_blocks(article, today, new, moved=bool(moved), system=system))
    if blocks:
        yield Step("block", f"Blocks of {article.title}, as the load states them:", blocks, index)
    own = [each for each in found if each.article == index]
    for front in (True, False):
        group = [each for each in own if each.front is front]
        for each in group:
            last = each is group[-1]
            yield Step(
                "tie down",
                _tie_words(each, system, alone=len(load.articles) == 1),
                [
                    *_kept_words(each, arrangement, moved=bool(moved)),
                    *(tighten_words(group, own) if last else ()),
                ],
                index,
                each.number,
            )


def _whose(each: Blocked, load: Load) -> str:
    """The article that is chocked, where there are several; other blocks name it themselves."""
    return f"{each.title}: " if each.wheels and len(load.articles) > 1 else ""


def _lower(words: str) -> str:
    return words[0].lower() + words[1:]


def _tie_words(each: Tied, system: System, *, alone: bool) -> str:
    whose = "" if alone else f"{each.tiedown.article.title}, "
    where = f"{whose}{corner(each)}"
    return (
        f"{where[0].upper()}{where[1:]} ({each.number} in the drawing): {each.noun} "
        f"{course_words(each)}. {piece_words(each)}. {length_words(each, system)}"
    )


def _kept_words(each: Tied, arrangement: Arrangement, *, moved: bool) -> Iterator[str]:
    words = difference_words(each, arrangement)
    if each.kept and moved:
        words += "; draw it anew for the new place"
    yield f"{words[0].upper()}{words[1:]}."


def _blocks(
    article: Article,
    today: Article,
    new: tuple[set[str], set[str]],
    *,
    moved: bool,
    system: System,
) -> Iterator[str]:
    """Blocks and what else stops the article; where it moved they have to follow it.

    `new` are the names of blocks that the arrangement adds, and the ways that these stop it.
    """
    turned = moved and article.placed.facing != today.placed.facing
    stated = [block for block in article.blocks if block.name not in new[0]]
    for block in stated:
        x, _, _ = on_trailer(article, block.x, block.y, block.z)
        at = show(round(as_stated(x), 6), "length", system)
        words = f"{block.name}: stops it {block.stops or 'a way that is not stated'}"
        if moved:
            words += f". It was stated for another place: set it anew, {at} behind the ball"
        yield f"{words}."
    ways = ("forward", "rearward", "left", "right")
    stopped = [
        way for way in ways if way not in new[1] and as_stated(getattr(article.blocking, way)) == 1
    ]
    if stopped:
        named = join_words(stopped)
        words = f"The load states that something stops it moving {named}"
        yield f"{words}{': see that it does where it stands now' if moved else ''}."
    if turned and (stated or stopped):
        yield "It was stated for an article that faces the other way: state it anew."


def _by_eye(arrangement: Arrangement, found: Sequence[Tied], check: Check) -> Step:
    """The walk-around answers that depend on how the load stands and is tied down."""
    changed = bool(arrangement.choices.blocking) or any(not each.kept for each in found)
    changed = changed or any(
        moved_words(before, after, System())
        for before, after in zip(
            arrangement.choices.load.articles, check.load.articles, strict=True
        )
    )
    words = "Walk around it and check by eye"
    if changed:
        words += ". The load states these answers for how it stood before: give them again"
    return Step("by eye", f"{words}:", [each.words for each in asked(check, BY_EYE)])
