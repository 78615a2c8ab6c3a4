"""What would give a load an arrangement, the cheapest change first; each change stands alone."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from functools import partial
from pathlib import Path
from time import process_time
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.advice.arrange.arrangement import Arrangement
from checker.advice.arrange.attempts import Attempts
from checker.advice.arrange.choices import (
    INCH,
    CannotArrangeError,
    Choices,
    choices_with,
)
from checker.advice.arrange.one_article import MOST_PIECES
from checker.advice.arrange.trial import OutOfTimeError
from checker.advice.place import QUESTIONS
from checker.load.build import Library, profile_root, shown_path
from checker.load.model import Anchor
from checker.mechanics.quantities import POUND_FORCE
from checker.rulebooks.model import Rule, Rulebooks
from checker.units.parsing import parse

if TYPE_CHECKING:
    from checker.documents.problems import DataPath

_STRENGTHS = (
    "marked_working_load_limit",
    "hooks_working_load_limit",
    "tensioner_working_load_limit",
    "lashing_capacity",
    "hooks_lashing_capacity",
    "tensioner_lashing_capacity",
    "breaking_strength",
)
"""What of a label grows with its strength."""

_STRONGEST = 15800 * POUND_FORCE
"""Working load limit of a 5/8 in grade 70 chain (49 CFR 393.108), the strongest in use."""
_STRONGEST_ANCHOR = 20000 * POUND_FORCE
_LIGHTEST_SHARE = 0.3
_SHARE = 0.3
"""Of the time left, what each change may take: the cheapest come first and get most."""
_STATION = 24 * INCH
"""Distance between places for another pair of anchors."""
_FROM_THE_SIDE = 2 * INCH
_APART = 6 * INCH


class Help(Struct, frozen=True):
    """One change with which there is an arrangement that meets every must-rule it can change.

    `kind` is "more pieces", "stronger tiedowns", "stronger anchors", "another anchor",
    "a pair of anchors", "a lighter article", "another tow vehicle" or "another trailer"; `name` is
    the gear, anchor, article, or the title of the other file, which is `file`. `figure` is how many
    pieces, or the limit, rating or weight in N; NaN where the change has none. `pieces` are those
    of the gear that the arrangement uses. `at` is the place of an anchor in m (behind the ball,
    left of the middle). `closest` is False where a smaller change may do, as time ran out.
    `undecided` are must-rules that are undecided with another rig, and are not today.
    """

    kind: str
    name: str
    arrangement: Arrangement
    figure: float = float("nan")
    pieces: int = 0
    at: tuple[float, float] | None = None
    file: str = ""
    closest: bool = True
    undecided: tuple[Rule, ...] = ()


class _Group(NamedTuple):
    """Changes of one kind, tried in turn; the name says what is missing where time runs out."""

    name: str
    search: Callable[[], Iterator[Help]]


class Helps:
    """The changes tried for one load, each judged by a search of its own."""

    def __init__(
        self, choices: Choices, rulebooks: Rulebooks, on: date, until: float, fixed: Sequence[Rule]
    ) -> None:
        """`fixed` are the must-rules that are broken whatever is arranged."""
        self._choices, self._end = choices, until
        self._attempts = Attempts(choices, rulebooks, on, frozenset(rule.id for rule in fixed))
        self.of_the_rig = frozenset(rule.id for rule in fixed if rule.question in QUESTIONS)
        """Those of `fixed` that another weight or another rig may meet."""
        self._of_no_rig = frozenset(rule.id for rule in fixed) - self.of_the_rig
        self.found: list[Help] = []
        self.not_tried: list[str] = []
        us = choices.step == INCH
        self._load_step, self._unit = (50 * POUND_FORCE, "lb") if us else (500.0, "N")

    def search(self, *, places_stop: bool) -> None:
        """Try every change, as long as there is time.

        Where no place is allowed, or the rig alone stops it, no gear and no anchor helps.
        """
        groups = [_Group("a lighter article", self._lighter), *self._other_rigs()]
        if not places_stop and not self.of_the_rig:
            groups = [*self._of_gear(), *groups]
        for number, group in enumerate(groups):
            now, left = process_time(), len(groups) - number
            self._attempts.until = now + (self._end - now) * max(1 / left, _SHARE)
            try:
                self.found += group.search()
            except OutOfTimeError:
                self.not_tried.append(group.name)

    def _of_gear(self) -> Iterator[_Group]:
        kinds = list(enumerate(self._choices.kinds))
        for number, kind in kinds:
            yield _Group(f"more of '{kind.title}'", partial(self._more_pieces, number))
        for number, kind in kinds:
            yield _Group(f"stronger '{kind.title}'", partial(self._stronger, number))
        yield _Group("stronger anchors", self._stronger_anchors)
        yield _Group("another anchor", self._anchors)

    # -- gear ----------------------------------------------------------------------------------

    def _with_kind(self, number: int, **changes: Any) -> Choices:
        kinds = list(self._choices.kinds)
        kinds[number] = replace(kinds[number], **changes)
        hooked = self._choices.hooked
        if "label" in changes:
            # Those in use today are of the old label and do not stay.
            hooked = tuple(None if each and each.kind == number else each for each in hooked)
        return replace(self._choices, kinds=tuple(kinds), hooked=hooked)

    def _more_pieces(self, number: int) -> Iterator[Help]:
        """The plans found first have the fewest pieces, so that what they use is enough."""
        kind, most = self._choices.kinds[number], MOST_PIECES * len(self._choices.load.articles)
        found = None
        if kind.count < most:
            found = self._attempts.works(self._with_kind(number, count=most))
        if found is None:
            return
        pieces, closest = _used(found, number), True
        try:
            while pieces - 1 > kind.count:
                fewer = self._attempts.works(self._with_kind(number, count=pieces - 1))
                if fewer is None:
                    break
                found, pieces = fewer, _used(fewer, number)
        except OutOfTimeError:
            closest = False
        yield Help("more pieces", kind.title, found, float(pieces), pieces, closest=closest)

    def _stronger(self, number: int) -> Iterator[Help]:
        kind = self._choices.kinds[number]
        if not kind.count:
            return
        strengths = _strengths(kind.label)
        limits = [each for name, each in strengths.items() if name != "breaking_strength"]
        if not limits:
            self.not_tried.append(f"stronger '{kind.title}', whose label states no limit")
            return
        today = min(limits)
        limits = _steps(today, self._strongest(), self._load_step)
        found = self._attempts.smallest(
            limits,
            lambda limit: self._with_kind(number, label=self._scaled(kind.label, limit / today)),
        )
        if found:
            limit, arrangement, closest = found
            pieces = _used(arrangement, number)
            title = kind.title
            yield Help("stronger tiedowns", title, arrangement, limit, pieces, closest=closest)

    def _strongest(self) -> float:
        """No tiedown needs to be stronger than the strongest anchor."""
        ratings = [float(each.working_load_limit) for each in self._choices.load.trailer.anchors]
        return min(_STRONGEST, max(ratings)) if np.isfinite(ratings).all() else _STRONGEST

    def _scaled(self, label: Mapping[str, Any], factor: float) -> dict[str, Any]:
        scaled = {name: self._text(each * factor) for name, each in _strengths(label).items()}
        return {**label, **scaled}

    def _text(self, force: float) -> str:
        return f"{force / (POUND_FORCE if self._unit == 'lb' else 1.0):.10g} {self._unit}"

    # -- anchors -------------------------------------------------------------------------------

    def _stronger_anchors(self) -> Iterator[Help]:
        anchors = self._choices.load.trailer.anchors
        rated = {each.name: float(each.working_load_limit) for each in anchors}
        rated = {name: rating for name, rating in rated.items() if np.isfinite(rating)}
        if not rated:
            return

        def raised(least: float) -> Choices:
            texts: dict[DataPath, Any] = {
                ("trailer", "anchors", name, "working_load_limit"): self._text(least)
                for name, rating in rated.items()
                if rating < least
            }
            profile = self._choices.profile.replaced(texts)
            return replace(self._choices, profile=profile, load=profile.stated)

        ratings = _steps(min(rated.values()), _STRONGEST_ANCHOR, self._load_step)
        if found := self._attempts.smallest(ratings, raised):
            rating, arrangement, closest = found
            yield Help("stronger anchors", "", arrangement, rating, closest=closest)

    def _anchors(self) -> Iterator[Help]:
        known = [each for each in self._choices.load.trailer.anchors if each.x == each.x]
        if not known:
            return
        for each in known:
            across = [other for other in known if _close(each.x, each.y, other, mirrored=True)]
            place = float(each.x), -float(each.y)
            if across or abs(place[1]) < _APART:
                continue
            if arrangement := self._attempts.works(self._with_anchors(each, [place])):
                yield Help("another anchor", each.name, arrangement, at=place)
                return
        yield from self._pair(known)

    def _pair(self, known: Sequence[Anchor]) -> Iterator[Help]:
        deck = self._choices.load.trailer.deck
        strongest = max(known, key=lambda each: np.nan_to_num(float(each.working_load_limit)))
        side = float(deck.width) / 2 - _FROM_THE_SIDE
        stations = [
            float(x)
            for x in np.arange(float(deck.front) + _FROM_THE_SIDE, float(deck.rear), _STATION)
            if not any(_close(x, side, each) or _close(x, -side, each) for each in known)
        ]
        pairs = [[(x, side), (x, -side)] for x in stations]
        if (
            not pairs
            or self._attempts.works(
                self._with_anchors(strongest, [each for pair in pairs for each in pair])
            )
            is None
        ):
            return
        for pair in pairs:
            if arrangement := self._attempts.works(self._with_anchors(strongest, pair)):
                rating = float(strongest.working_load_limit)
                yield Help("a pair of anchors", strongest.name, arrangement, rating, at=pair[0])
                return

    def _with_anchors(self, like: Anchor, places: Sequence[tuple[float, float]]) -> Choices:
        data: Any = self._choices.profile.merged.data
        entry = data["trailer"]["anchors"][like.name]
        texts: dict[DataPath, Any] = {
            ("trailer", "anchors", f"added-{number}"): {
                **entry,
                "x": f"{x / INCH:.10g} in",
                "y": f"{y / INCH:.10g} in",
            }
            for number, (x, y) in enumerate(places, start=1)
        }
        return self._rearranged(texts)

    def _rearranged(self, texts: Mapping["DataPath", Any]) -> Choices:
        """The same load with another trailer or other anchors, and what may be chosen then."""
        choices = choices_with(self._choices.profile.replaced(texts), self._choices.kinds)
        return replace(choices, answers=self._choices.answers, step=self._choices.step)

    # -- the article and the rig ---------------------------------------------------------------

    def _lighter(self) -> Iterator[Help]:
        for index, article in enumerate(self._choices.load.articles):
            today = float(article.weight)
            if today != today:
                continue
            lightest = _LIGHTEST_SHARE * today
            weights = [-each for each in _steps(-today, -lightest, self._load_step)]

            def lighter(weight: float, index: int = index, today: float = today) -> Choices:
                return self._of_weight(index, weight / today)

            if found := self._attempts.smallest(weights, lighter, self._of_no_rig):
                weight, arrangement, closest = found
                yield Help("a lighter article", article.title, arrangement, weight, closest=closest)

    def _of_weight(self, index: int, share: float) -> Choices:
        """The same with an article of that share of its weight, its balance kept."""
        profile, article = self._choices.profile, self._choices.load.articles[index]
        weights: dict[DataPath, float] = {
            ("articles", index, "weight"): float(article.weight),
            ("articles", index, "axles", "front", "weight"): float(article.axles.front.weight),
            ("articles", index, "axles", "rear", "weight"): float(article.axles.rear.weight),
        }
        texts: dict[DataPath, Any] = {}
        for path, weight in weights.items():
            if weight == weight:
                _, half = profile.tolerances.get(path, (0.0, 0.0))
                spread = f" +/- {self._text(half * share)}" if half else ""
                texts[path] = f"{self._text(weight * share)}{spread}"
        changed = profile.replaced(texts)
        return replace(self._choices, profile=changed, load=changed.stated)

    def _other_rigs(self) -> Iterator[_Group]:
        """A group for each other tow vehicle and trailer in the folder of the profile."""
        profile = self._choices.profile
        root = profile_root(profile.file)
        for kind in ("tow-vehicle", "trailer"):
            for file in sorted((root / f"{kind}s").glob("*.yaml")):
                name = f"{kind}s/{file.stem}"
                if name not in profile.uses:
                    yield _Group(name, partial(self._other_rig, file, kind, name))

    def _other_rig(self, file: Path, kind: str, name: str) -> Iterator[Help]:
        document, problems = Library().read(file, shown_path(file), kind)
        if problems or document.kind != kind or not isinstance(document.data, dict):
            self.not_tried.append(f"{name}, which has problems")
            return
        try:
            choices = self._rearranged({(kind.replace("-", "_"),): document.data})
        except CannotArrangeError as error:
            self.not_tried.append(f"{name}: {error}")
            return
        if arrangement := self._attempts.works(choices, self._of_no_rig):
            title = str(document.data.get("title", file.stem))
            undecided = self._attempts.newly_undecided(arrangement)
            what = f"another {kind.replace('-', ' ')}"
            yield Help(what, title, arrangement, file=name, undecided=undecided)


def _used(arrangement: Arrangement, number: int) -> int:
    """How many pieces of a kind an arrangement uses."""
    kind = arrangement.choices.kinds[number]
    return sum(each is kind for _, each in arrangement.tiedowns)


def _strengths(label: Mapping[str, Any]) -> dict[str, float]:
    """The strengths that a label states, in N."""
    texts = {name: label[name] for name in _STRENGTHS if name in label}
    return {name: parse(text, "load").value for name, text in texts.items() if text[:1].isdecimal()}


def _steps(today: float, last: float, step: float) -> list[float]:
    """Whole steps above today's value, up to the last."""
    first = np.floor(today / step + 1e-9) + 1
    return [float(each * step) for each in np.arange(first, np.floor(last / step + 1e-9) + 1)]


def _close(x: Any, y: Any, anchor: Anchor, *, mirrored: bool = False) -> bool:
    """True if an anchor is at that place, or across the deck from it."""
    side = -anchor.y if mirrored else anchor.y
    return bool(abs(x - anchor.x) < _APART and abs(y - side) < _APART)
