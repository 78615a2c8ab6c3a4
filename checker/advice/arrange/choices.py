"""What an arrangement may choose: places on the deck, courses of tiedowns, pieces of gear."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import permutations, product
from typing import Any, NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.advice.arrange.places import Places, places_today
from checker.documents.problems import DataPath
from checker.load.build import Profile
from checker.load.model import Article, Gear, GearBlock, Load

INCH, QUARTER_DECIMETRE = 0.0254, 0.025
"""Steps along and across the deck in m, of a tape in inches and of a metric one."""

_ANSWERS = ("looped_on_itself", "on_sharp_edge")
HOW_IT_RUNS = ("article", "anchor", "far_anchor", "attachment", "over", "path", *_ANSWERS)
"""What an arrangement states of a tiedown, besides its label."""

NOT_OF_THE_LABEL = ("kind", "note", "pulls", *HOW_IT_RUNS)
_ACROSS = 0.15
"""In m: a tiedown over an article runs to anchors across from each other."""

_NEAR_THE_TOP = 0.75
"""Share of the height of goods from which on a tiedown lies over them, and not around them."""


class CannotArrangeError(Exception):
    """The profile states too little to arrange anything: what was found, and what is wanted."""

    def __init__(self, found: str, wanted: str, at: DataPath = ()) -> None:
        """Both as the end of a sentence; `at` is the part of the load that it is about."""
        super().__init__(f"found {found}; wanted {wanted}")
        self.found, self.wanted, self.at = found, wanted, at


class Course(NamedTuple):
    """How one tiedown runs: from which points of the article to which anchors."""

    article: int
    path: str
    anchor: str
    points: tuple[str, ...]
    far_anchor: str | None = None

    @property
    def anchors(self) -> tuple[str, ...]:
        """The anchors at its ends."""
        return (self.anchor, self.far_anchor) if self.far_anchor else (self.anchor,)


class GearKind(Struct, frozen=True):
    """Tiedowns of one label, and how many there are.

    `label` is the data of its label in full, `written` what a load file states of it: with `from`.
    `length` is how far it reaches, in m, NaN where that is not stated.
    """

    title: str
    label: Mapping[str, Any]
    written: Mapping[str, Any]
    count: int
    length: float


class Blocking(NamedTuple):
    """Blocks of one kind that stop one article one way, named as seen on the trailer.

    `facing` is the way it must face, by its index in FACINGS, or None where both will do.
    `strengths` are what each of them adds against moving that way, in N, with their places in the
    article's own frame; empty where they keep it from rolling and no more.
    """

    article: int
    way: str
    kind: int
    names: tuple[str, ...]
    facing: int | None = None
    points: tuple[tuple[float, float, float], ...] = ()
    strengths: tuple[float, ...] = ()


class Hook(NamedTuple):
    """One tiedown of a plan: a course and a kind of gear, by their index."""

    course: int
    kind: int


class Choices(Struct, frozen=True):
    """What may be chosen for one load.

    `stands` is how its articles stand today, None where that is not stated of all; `hooked` are its
    tiedowns today, None for one that is no choice. `answers` are the answers about a tiedown that
    all of today's agree on. `clearance` is how far an article may miss its place, in m: so much
    room is left to the ends and sides of the deck and, from both, between two articles.
    """

    profile: Profile
    load: Load
    courses: tuple[Course, ...]
    kinds: tuple[GearKind, ...]
    stands: Places | None
    hooked: tuple[Hook | None, ...]
    answers: Mapping[str, str]
    step: float
    clearance: float = 0.0
    blocks: tuple[GearBlock, ...] = ()
    """The kinds of blocks and chocks in the gear."""
    blocking: tuple[Blocking, ...] = ()
    """Those that every plan puts on the deck; besides them everything is chosen."""

    @property
    def blocks_used(self) -> int:
        """How many pieces of the gear the blocking takes."""
        return sum(len(each.names) for each in self.blocking)


def choices_of(profile: Profile, gear: Gear | None) -> Choices:
    """What may be chosen for a load with this gear, or without any with its own tiedowns.

    Raises CannotArrangeError where something that every arrangement needs is not stated.
    """
    if gear is None:
        return choices_with(profile, own_gear(profile))
    return replace(choices_with(profile, _kinds(gear)), blocks=gear.blocks)


def choices_with(profile: Profile, kinds: tuple[GearKind, ...]) -> Choices:
    """What may be chosen for a load with these kinds of gear; errors as in `choices_of`."""
    load = profile.stated
    _ensure_measured(load)
    if not kinds:
        wanted = "gear with tiedowns in it, or a load that has some"
        raise CannotArrangeError("no tiedowns to arrange", wanted)
    courses = tuple(_courses(load))
    for number, article in enumerate(load.articles):
        if not any(each.article == number for each in courses):
            found = f"nothing to hook '{article.title}' to"
            wanted = "anchors of the trailer and attachments of the article, each with its place"
            raise CannotArrangeError(found, wanted, ("articles", number))
    index = {each: number for number, each in enumerate(courses)}
    return Choices(
        profile=profile,
        load=load,
        courses=courses,
        kinds=kinds,
        stands=places_today(load),
        hooked=tuple(_hooked(profile, load, index, kinds)),
        answers=_answers(profile),
        step=QUARTER_DECIMETRE if _is_metric(load) else INCH,
        clearance=clearance_of(profile),
    )


def clearance_of(profile: Profile) -> float:
    """The greatest tolerance of a place that the profile states, in m."""
    placed = (half for path, (_, half) in profile.tolerances.items() if "placed" in path)
    return max(placed, default=0.0)


def _kinds(gear: Gear) -> tuple[GearKind, ...]:
    return tuple(
        GearKind(each.name, label_of(each.stated), each.written, each.count, length)
        for each in gear.tiedowns
        for length in [float(each.length)]
    )


def own_gear(profile: Profile) -> tuple[GearKind, ...]:
    """The tiedowns of the load itself, as gear; how far they reach is not stated."""
    found: list[tuple[dict[str, Any], int]] = []
    for entry in _tiedowns(profile):
        label = label_of(entry)
        same = [number for number, (known, _) in enumerate(found) if known == label]
        if same:
            found[same[0]] = label, found[same[0]][1] + 1
        else:
            found.append((label, 1))
    return tuple(
        GearKind(str(label.get("title", "tiedown")), label, label, count, float("nan"))
        for label, count in found
    )


def _tiedowns(profile: Profile) -> Sequence[Mapping[str, Any]]:
    entries: Any = profile.merged.data.get("tiedowns", ())
    return entries if isinstance(entries, list) else ()


def label_of(entry: Mapping[str, Any]) -> dict[str, Any]:
    """What the label of a tiedown says, without how it is rigged."""
    return {key: value for key, value in entry.items() if key not in NOT_OF_THE_LABEL}


def _ensure_measured(load: Load) -> None:
    deck = load.trailer.deck
    wanted = {
        "trailer.deck.front": deck.front,
        "trailer.deck.rear": deck.rear,
        "trailer.deck.width": deck.width,
    }
    for number, article in enumerate(load.articles, start=1):
        wanted |= {
            f"articles.{number}.length": article.length,
            f"articles.{number}.width": article.width,
        }
    missing = [name for name, value in wanted.items() if np.isnan(value)]
    if missing:
        deck_alone = all(each.startswith("trailer") for each in missing)
        at = ("trailer",) if deck_alone else ("articles",)
        found = f"no {', '.join(missing)}"
        raise CannotArrangeError(found, "the deck and each article measured", at)
    if not load.articles:
        raise CannotArrangeError("no article", "something on the deck to arrange", ("articles",))
    for number, article in enumerate(load.articles):
        if article.length > deck.rear - deck.front:
            found = f"'{article.title}' longer than the deck"
            wanted_length = "an article that stands on it in full"
            raise CannotArrangeError(found, wanted_length, ("articles", number))


def _courses(load: Load) -> Iterator[Course]:
    """Every way to run one tiedown: from a point to an anchor, or over points to both sides."""
    anchors = [each for each in load.trailer.anchors if not np.isnan(each.x + each.y + each.z)]
    for number, article in enumerate(load.articles):
        known = [each for each in article.attachments if not np.isnan(each.x + each.y + each.z)]
        for point, anchor in product(known, anchors):
            yield Course(number, "direct", anchor.name, (point.name,))
        for over in _overs(load, article):
            for near, far in permutations(anchors, 2):
                if near.y > far.y and abs(float(near.x) - float(far.x)) <= _ACROSS:
                    yield Course(number, "other side", near.name, over, far.name)


def _overs(load: Load, article: Article) -> Iterator[tuple[str, ...]]:
    """The points a tiedown may run over, from left to right of the article.

    Those that a tiedown runs over today; where none does, of goods each pair near the top across
    from each other.
    """
    seen = {
        tuple(point.name for point in each.over)
        for each in load.tiedowns or ()
        if each.article is article and each.over and each.path == "other side"
    }
    if article.type == "palletised goods" and not seen:
        for left, right in permutations(article.attachments, 2):
            opposite = left.x == right.x and left.z == right.z and left.y == -right.y
            if opposite and left.y > 0 and bool(left.z >= _NEAR_THE_TOP * article.height):
                seen.add((left.name, right.name))
    yield from sorted(seen)


def _hooked(
    profile: Profile, load: Load, index: Mapping[Course, int], kinds: Sequence[GearKind]
) -> Iterator[Hook | None]:
    for entry, each in zip(_tiedowns(profile), load.tiedowns or (), strict=True):
        number = next(i for i, article in enumerate(load.articles) if article is each.article)
        points = [each.attachment] if each.path == "direct" else [*each.over]
        course = Course(
            number,
            each.path or "",
            each.anchor.name if each.anchor else "",
            tuple(point.name for point in points if point),
            each.far_anchor.name if each.far_anchor and each.path != "direct" else None,
        )
        same = [number for number, kind in enumerate(kinds) if _same(kind.label, label_of(entry))]
        yield Hook(index[course], same[0]) if course in index and same else None


def _same(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    ignored = ("title", "from")
    return {k: v for k, v in one.items() if k not in ignored} == {
        k: v for k, v in other.items() if k not in ignored
    }


def _answers(profile: Profile) -> dict[str, str]:
    found = {}
    for name in _ANSWERS:
        stated = {entry.get(name) for entry in _tiedowns(profile)}
        if len(stated) == 1 and None not in stated:
            found[name] = str(stated.pop())
    return found


def _is_metric(load: Load) -> bool:
    deck = load.origins.get("trailer.deck.front")
    return bool(deck and deck.metric)


def length_text(value: float, step: float, half: float = 0.0) -> str:
    """A length as a profile has it: in inches, or in millimetres where the tape is metric.

    `half` is the half-width of its tolerance.
    """
    unit, size = ("in", INCH) if step == INCH else ("mm", 0.001)
    text = f"{value / size:.6g} {unit}"
    return f"{text} +/- {half / size:.6g} {unit}" if half else text
