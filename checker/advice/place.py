"""Where one article should stand on the deck: a sweep of its position under every rule in force."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from checker.advice.sweep import all_satisfied, runs, sweep, varies
from checker.documents.problems import DataPath
from checker.evaluation.evaluator import evaluators
from checker.evaluation.rule_rows import RuleRows
from checker.load.build import Profile
from checker.load.model import Load
from checker.rulebooks.formula import Governing
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.rule_text import Side
from checker.rulebooks.verdicts import Verdict

QUESTIONS = ("placement", "limits", "coupling")
"""Questions of the rules that decide its position; tiedowns are hooked there afterwards."""

STEP = 0.00635
"""Coarse step along the deck in m: a quarter of an inch, as a tape is read."""

_FINE_STEPS = 256
"""Steps into which the coarse step at an edge is divided, twice."""

_LIGHTEST_SHARE = 0.3
_LIGHTER_STEPS = 71


class CannotPlaceError(Exception):
    """The profile states too little to move the article; the message says what is missing."""


@dataclass(frozen=True)
class BrokenRule:
    """A rule that is not met somewhere, and the side of its limit on which its value lies there."""

    rule: Rule
    side: Side | None

    @property
    def id(self) -> str:
        """The id of the rule."""
        return self.rule.id


@dataclass(frozen=True)
class Stretch:
    """A stretch of deck: the positions of the article's front end behind the ball, in m.

    `ended_front` and `ended_rear` are the rules that limit it on each side; none at the deck's end.
    """

    front: float
    rear: float
    ended_front: tuple[BrokenRule, ...]
    ended_rear: tuple[BrokenRule, ...]


@dataclass(frozen=True)
class Spot:
    """The best position: its smallest margin is the largest; and the rule with that margin."""

    position: float
    margin: float
    closest: Rule


@dataclass(frozen=True)
class RatingNeeded:
    """A rating that a rule compares the load with, and the least value that would help."""

    rule: Rule
    rating: str
    """Name of the fact that is the rating."""
    least: float


@dataclass(frozen=True)
class Facing:
    """The result for the article facing one way."""

    facing: str
    positions: NDArray[np.float64]
    good: NDArray[np.bool_]
    stretches: tuple[Stretch, ...]
    best: Spot | None
    never: tuple[BrokenRule, ...]
    """Where there is no stretch: the rules that are met nowhere on the deck."""
    contradiction: tuple[Rule, ...]
    """Where there is no stretch: rules that are each met somewhere, but nowhere together.

    Without any one of them, the others are met together somewhere.
    """
    wanted: tuple[RatingNeeded, ...]
    """Where there is no stretch: for rules met nowhere, the least rating that would meet them.

    With all of these, and the rules of `fix_first` met, a position becomes possible.
    """
    fix_first: tuple[BrokenRule, ...]
    """Where there is no stretch: rules that no position and no rating would meet."""
    lighter: float | None
    """Where there is no stretch: the largest weight, in N, for which there is one."""


@dataclass(frozen=True)
class Placement:
    """The whole answer for one article: facing both ways, and its present position."""

    load: Load
    article: int
    deck: tuple[float, float]
    facings: tuple[Facing, ...]
    today: float | None
    today_facing: str | None
    not_met_today: tuple[BrokenRule, ...]


def place(profile: Profile, article: int, rulebooks: Rulebooks, on: date) -> Placement:
    """Sweep an article (counted from 0) along the deck, both ways round.

    Raises CannotPlaceError where the deck or the article's length is not stated.
    """
    load = profile.stated
    deck = load.trailer.deck
    machine = load.articles[article]
    front, rear, length = float(deck.front), float(deck.rear), float(machine.length)
    names = ("trailer.deck.front", "trailer.deck.rear", f"articles.{article + 1}.length")
    missing = [
        name for name, value in zip(names, (front, rear, length), strict=True) if np.isnan(value)
    ]
    if missing:
        message = f"found no {', '.join(missing)}; wanted to know the deck and the article's length"
        raise CannotPlaceError(message)
    positions = np.arange(front, max(rear - length, front) + length / 2, STEP)
    at: DataPath = ("articles", article, "placed")
    facings = []
    for facing in ("forward", "rearward"):
        turned = profile.replaced(
            {(*at, "facing"): facing, (*at, "x"): "0 in", (*at, "y"): _lateral(profile, at)}
        )
        facings.append(_Sweep(turned, article, rulebooks, on, positions).found(facing))
    today = float(machine.placed.x)
    not_met: tuple[BrokenRule, ...] = ()
    if not np.isnan(today) and machine.placed.facing:
        rows = sweep(profile, {(*at, "x"): np.array([today])}, rulebooks, on, _decides_place)
        not_met = tuple(_broken(each) for each in rows if each.are(Verdict.NOT_MET)[0])
    return Placement(
        load=load,
        article=article,
        deck=(front, rear),
        facings=tuple(facings),
        today=None if np.isnan(today) else today,
        today_facing=machine.placed.facing,
        not_met_today=not_met,
    )


def _lateral(profile: Profile, at: DataPath) -> str:
    """Its offset from the centre line as stated; in the middle where it is not."""
    found: object = profile.merged.data
    for part in (*at, "y"):
        if isinstance(found, dict):
            found = found.get(str(part))
        elif isinstance(found, list):
            found = found[int(part)]
    return found if isinstance(found, str) else "0 in"


def _decides_place(rule: Rule) -> bool:
    return rule.question in QUESTIONS


def _decides_position(rows: RuleRows) -> bool:
    """True if a rule decides where to stand, or whether any position is allowed.

    A rule that is undecided at every position decides nothing, nor does one with the same verdict
    everywhere, unless it is a must-rule that no position meets.
    """
    if rows.are(Verdict.NOT_STATED).all():
        return False
    return varies(rows) or (rows.rule.level == "must" and bool(rows.are(Verdict.NOT_MET).all()))


def _smallest_margins(rules: Sequence[RuleRows]) -> NDArray[np.float64]:
    """The smallest margin of the rules in each row; yes/no rules do not count."""
    margins = [np.where(np.isneginf(each.distances), np.inf, each.distances) for each in rules]
    smallest: NDArray[np.float64] = np.minimum.reduce(margins)
    return smallest


def _broken(rows: RuleRows, at: int | slice = slice(None)) -> BrokenRule:
    """A rule that is broken in some rows, with the side of its limit if it is one side in all."""
    side = next((side for side in Side if np.all(rows.broken_on(side)[at])), None)
    return BrokenRule(rows.rule, side)


def _rating_of(rule: Rule, found: Governing) -> Iterator[RatingNeeded]:
    """The rating in a comparison of two facts, `load <= rating` or `rating >= load`."""
    if found.left not in rule.facts or found.right not in rule.facts:
        return
    if found.operator == "<=":
        yield RatingNeeded(rule, found.right, found.left_value)
    if found.operator == ">=":
        yield RatingNeeded(rule, found.left, found.right_value)


class _Sweep:
    """One article, facing one way, at many positions."""

    def __init__(
        self,
        profile: Profile,
        article: int,
        rulebooks: Rulebooks,
        on: date,
        positions: NDArray[np.float64],
    ) -> None:
        self.profile, self.article = profile, article
        self.rulebooks, self.on = rulebooks, on
        self.positions = positions
        self.path: DataPath = ("articles", article, "placed", "x")
        swept = sweep(profile, {self.path: positions}, rulebooks, on, _decides_place)
        self.rules = [each for each in swept if _decides_position(each)]
        self.ids = {each.rule.id for each in self.rules}

    def _at(self, positions: NDArray[np.float64]) -> list[RuleRows]:
        """The rules that decide, at other positions."""
        values = {self.path: positions}
        return sweep(self.profile, values, self.rulebooks, self.on, lambda r: r.id in self.ids)

    def found(self, facing: str) -> Facing:
        good = all_satisfied(self.rules, len(self.positions)) & bool(self.rules)
        stretches = tuple(self._stretch(first, last) for first, last in runs(good))
        never = [each for each in self.rules if not each.satisfied.any()]
        wanted = self._wanted(never)
        rated = {each.rule.id for each in wanted}
        return Facing(
            facing=facing,
            positions=self.positions,
            good=good,
            stretches=stretches,
            best=self._best(good) if stretches else None,
            never=tuple(map(_broken, never)),
            contradiction=() if stretches else self._contradiction(),
            wanted=wanted,
            fix_first=tuple(
                _broken(each) for each in never if not varies(each) and each.rule.id not in rated
            ),
            lighter=None if stretches else self._lighter(),
        )

    def _stretch(self, first: int, last: int) -> Stretch:
        front, ended_front = self._edge(first, first - 1)
        rear, ended_rear = self._edge(last, last + 1)
        return Stretch(front, rear, ended_front, ended_rear)

    def _edge(self, inside: int, outside: int) -> tuple[float, tuple[BrokenRule, ...]]:
        """The last good position before a bad row, and the rules that end the stretch there."""
        if not 0 <= outside < len(self.positions):
            return float(self.positions[inside]), ()
        good, bad = float(self.positions[inside]), float(self.positions[outside])
        ended: tuple[BrokenRule, ...] = ()
        for _ in range(2):
            fine = np.linspace(good, bad, _FINE_STEPS + 1)
            rules = self._at(fine)
            satisfied = all_satisfied(rules, len(fine))
            last = int(np.flatnonzero(~satisfied)[0]) - 1
            good, bad = float(fine[last]), float(fine[last + 1])
            ended = tuple(_broken(each, last + 1) for each in rules if not each.satisfied[last + 1])
        return good, ended

    def _best(self, good: NDArray[np.bool_]) -> Spot:
        """The good row whose smallest margin is largest; yes/no rules have no margin to count."""
        margins = np.array(
            [np.where(np.isfinite(each.distances), each.distances, np.inf) for each in self.rules]
        )
        smallest = np.where(good, margins.min(axis=0), -np.inf)
        row = int(smallest.argmax())
        closest = int(margins[:, row].argmin())
        return Spot(float(self.positions[row]), float(smallest[row]), self.rules[closest].rule)

    def _contradiction(self) -> tuple[Rule, ...]:
        """Rules that are together met nowhere, but would be without any one of them.

        Each rule in turn is left out for good if the rest still exclude each other.
        """
        named = self._met_somewhere()
        if all_satisfied(named, len(self.positions)).any():
            return ()
        for each in reversed(named):
            rest = [other for other in named if other is not each]
            if not all_satisfied(rest, len(self.positions)).any():
                named = rest
        return tuple(each.rule for each in named)

    def _met_somewhere(self) -> list[RuleRows]:
        return [each for each in self.rules if each.satisfied.any()]

    def _wanted(self, never: Sequence[RuleRows]) -> tuple[RatingNeeded, ...]:
        """For limits met nowhere: the ratings needed at the position that misses them least.

        Only positions where all the other rules are met count: elsewhere no rating would help.
        Empty where a rule that is met nowhere has no rating to raise.
        """
        open_else = np.flatnonzero(all_satisfied(self._met_somewhere(), len(self.positions)))
        if not never or not open_else.size:
            return ()
        row = int(open_else[_smallest_margins(never)[open_else].argmax()])
        load = self.profile.load({self.path: self.positions[row : row + 1]})
        met_nowhere = {each.rule.id for each in never}
        found = tuple(
            wanted
            for evaluator in evaluators(load, self.rulebooks, self.on).in_reach()
            for rule in evaluator.book.rules
            if rule.id in met_nowhere
            for comparison in evaluator.comparisons(rule)
            if comparison.margin < 0
            for wanted in _rating_of(rule, comparison)
        )
        rated = {each.rule.id for each in found}
        return found if all(each.rule.id in rated for each in never if varies(each)) else ()

    def _lighter(self) -> float | None:
        """The greatest weight of the article, balance kept, at which some position is good."""
        load = self.profile.stated
        machine = load.articles[self.article]
        weight = float(machine.weight)
        if np.isnan(weight):
            return None
        shares = np.linspace(1.0, _LIGHTEST_SHARE, _LIGHTER_STEPS)
        positions = self.positions[:: max(len(self.positions) // 120, 1)]
        grid_shares = np.repeat(shares, len(positions))
        values = {self.path: np.tile(positions, len(shares))}
        values |= dict(_scaled_weights(self.profile, self.article, grid_shares))
        rules = sweep(
            self.profile, values, self.rulebooks, self.on, lambda rule: rule.id in self.ids
        )
        good = all_satisfied(rules, len(grid_shares))
        return float(grid_shares[good].max() * weight) if good.any() else None


def _scaled_weights(
    profile: Profile, article: int, shares: NDArray[np.float64]
) -> Iterator[tuple[DataPath, NDArray[np.float64]]]:
    """The article's weight and axle weights, each times the share of every row."""
    load = profile.stated
    machine = load.articles[article]
    weights: Sequence[tuple[DataPath, float]] = (
        (("articles", article, "weight"), float(machine.weight)),
        (("articles", article, "axles", "front", "weight"), float(machine.axles.front.weight)),
        (("articles", article, "axles", "rear", "weight"), float(machine.axles.rear.weight)),
    )
    return ((path, weight * shares) for path, weight in weights if not np.isnan(weight))
