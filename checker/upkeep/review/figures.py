"""The figures of a rule in two sets of rules, day by day, with every amendment."""

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from datetime import MAXYEAR, date
from functools import partial
from itertools import groupby, pairwise
from typing import Final, NamedTuple, TypeAlias

from checker.documents.jurisdiction_codes import ANYWHERE
from checker.rulebooks.days import Days, Stretch
from checker.rulebooks.direction import Way, narrows, way_of
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.layering import repeals
from checker.rulebooks.model import Change, DatedValue, Rule, Rulebook, Threshold
from checker.rulebooks.timeline import Applied, Value, applied, value_on
from checker.upkeep.review.difference import Difference, Effect, Kind

_YEARS_SHOWN: Final = 2
"""Years after the last known day in which the days of a season are listed."""


class RuleWithChanges(NamedTuple):
    """A rule of one set of rules, with its rulebook and the changes of it."""

    book: Rulebook
    rule: Rule
    changes: Sequence[Change]


class _OnDay(NamedTuple):
    """What differs on a day; days on which it is equal belong to one difference."""

    effect: Effect
    before: str
    after: str
    location: str


def figure_differences(old: RuleWithChanges, new: RuleWithChanges) -> Iterator[Difference]:
    """Figures and repeals that differ, each with its days, on any trip and in places that amend."""
    told: set[Hashable] = set()
    for trip in _trips(old, new):
        for each in (*_repeals(old, new, trip), *_figures(old, new, trip)):
            what = (each.kind, each.threshold, each.effect, each.before, each.after, each.days)
            if what not in told:
                told.add(what)
                yield each
    if not told:
        yield from _same_figures(old, new)


def _same_figures(old: RuleWithChanges, new: RuleWithChanges) -> Iterator[Difference]:
    """Changes by a place that leave the figures as they are.

    Where nobody knows whether a trip goes to the place, its rule is undecided by them.
    """
    was, now = ({_content(each): each for each in side.changes} for side in (old, new))
    keys = [key for key in (*was, *now) if (key in was) != (key in now)]
    differing = [was.get(key) or now[key] for key in keys]
    for each in differing:
        amendment = each.amendment
        if amendment.jurisdiction == ANYWHERE or each.threshold is None:
            continue
        words = "not amended", f"amended by {amendment.title}, with the same figure"
        yield Difference(
            effect=Effect.UNCERTAIN,
            kind=Kind.FIGURE,
            name=new.rule.id,
            title=new.rule.title,
            before=words[_content(each) in was],
            after=words[_content(each) in now],
            location=str(each.locations[""]),
            threshold=each.threshold,
            place=amendment.jurisdiction,
            rules=frozenset({new.rule.id}),
            figures_change=frozenset(each.days.turns(each.starts, each.starts)),
        )


def _content(change: Change) -> tuple[object, ...]:
    amendment = change.amendment
    value = change.value and change.value.quantity.value
    return change.threshold, amendment.layer, amendment.jurisdiction, change.days, value


def _trips(*sides: RuleWithChanges) -> list[tuple[str, ...]]:
    """A trip that no place amends, and one to each place whose amendments reach the rule."""
    places = {each.amendment.jurisdiction for side in sides for each in side.changes} - {ANYWHERE}
    reached = sorted(
        place
        for place in places
        if any(touches(side.book.jurisdiction, (place,)) != 0 for side in sides)
    )
    return [(), *((place,) for place in reached)]


def _figures(
    old: RuleWithChanges, new: RuleWithChanges, trip: tuple[str, ...]
) -> Iterator[Difference]:
    for name, threshold in new.rule.thresholds.items():
        if name not in old.rule.thresholds:
            continue
        both = (
            (old.rule.thresholds[name], _applied(old, trip, name)),
            (
                threshold,
                _applied(new, trip, name),
            ),
        )
        own = [Days(value.starts, value.ends) for each, _ in both for value in each.values]
        changes = [each.change.days for _, here in both for each in here]
        standing = partial(_figure_on, new, *both)
        yield from _by_days(Kind.FIGURE, new, trip, name, _turns(own, changes), standing)


_Side: TypeAlias = tuple[Threshold, Sequence[Applied]]


def _figure_on(new: RuleWithChanges, old_side: _Side, new_side: _Side, day: date) -> _OnDay | None:
    was, now = (
        value_on(threshold, [each for each in here if each.change.days.holds_on(day)], day)
        for threshold, here in (old_side, new_side)
    )
    effect = _effect(new.rule, new_side[0], was.value, now.value)
    if effect is None:
        return None
    by = now.value.change if now.value else now.undecided
    at = by.locations[""] if by else now.value and now.value.location
    return _OnDay(effect, _words(was), _words(now), str(at or new.rule.location))


def _repeals(
    old: RuleWithChanges, new: RuleWithChanges, trip: tuple[str, ...]
) -> Iterator[Difference]:
    was, now = (
        [each.change for each in _applied(side, trip, None) if repeals(each)] for side in (old, new)
    )
    turns = _turns([], [each.days for each in (*was, *now)])
    yield from _by_days(Kind.REPEAL, new, trip, "", turns, partial(_repeal_on, new, was, now))


def _repeal_on(
    new: RuleWithChanges, was: Sequence[Change], now: Sequence[Change], day: date
) -> _OnDay | None:
    before, after = (
        next((each for each in side if each.days.holds_on(day)), None) for side in (was, now)
    )
    if (before is None) == (after is None):
        return None
    if after is None:
        return _OnDay(Effect.TIGHTENED, "repealed", "in force", str(new.rule.location))
    return _OnDay(Effect.LOOSENED, "in force", "repealed", str(after.locations[""]))


def _applied(side: RuleWithChanges, trip: tuple[str, ...], name: str | None) -> list[Applied]:
    mine = [each for each in side.changes if each.threshold == name]
    return applied(mine, side.book.jurisdiction, trip)


class _Turns(NamedTuple):
    """The stretches of days between any two of which nothing changes."""

    stretches: Sequence[Stretch]
    each_year: bool


def _turns(own: Iterable[Days], changes: Iterable[Days]) -> _Turns:
    """The stretches between the days on which one of them begins or ends, in order.

    A season without an end is followed for some years after the last known day.
    """
    days = [each for each in (*own, *changes) if each.first_from(each.starts)]
    if not days:
        return _Turns((), each_year=False)
    each_year = any(each.season and each.ends is None for each in days)
    first = min(each.starts for each in days)
    known = max(each.ends or each.starts for each in days)
    beyond = date(min(known.year + _YEARS_SHOWN, MAXYEAR - 1), 12, 31)
    turns = sorted({day for each in days for day in each.turns(first, beyond) if day >= first})
    found = [Stretch(*pair) for pair in pairwise(turns)]
    return _Turns(found if each_year else [*found, Stretch(turns[-1])], each_year)


def _by_days(
    kind: Kind,
    new: RuleWithChanges,
    trip: tuple[str, ...],
    name: str,
    turns: _Turns,
    on_day: Callable[[date], _OnDay | None],
) -> Iterator[Difference]:
    """A difference for each effect and pair of values, with all its days."""
    found: dict[_OnDay, list[Stretch]] = {}
    by_day = [(each, on_day(each.starts)) for each in turns.stretches]
    for what, run in groupby(by_day, key=lambda each: each[1]):
        if what is not None:
            stretches = [each for each, _ in run]
            whole = Stretch(stretches[0].starts, stretches[-1].ends)
            found.setdefault(what, []).append(whole)
    for what, days in found.items():
        yield Difference(
            effect=what.effect,
            kind=kind,
            name=new.rule.id,
            title=new.rule.title,
            before=what.before,
            after=what.after,
            location=what.location,
            threshold=name,
            place=trip[0] if trip else "",
            days=tuple(days),
            each_year=turns.each_year and len(days) > 1,
            rules=frozenset({new.rule.id}),
        )


def _effect(
    rule: Rule, threshold: Threshold, old: DatedValue | None, new: DatedValue | None
) -> Effect | None:
    """What another value does; None if both are equal. An unknown one is the least strict."""
    if old is None or new is None:
        if old is new:
            return None
        return Effect.LOOSENED if new is None else Effect.TIGHTENED
    steps = [new.value(metric=metric) - old.value(metric=metric) for metric in (False, True)]
    if not any(steps):
        return None
    if threshold.name in rule.requires.names:
        stricter = {"higher": 1, "lower": -1}.get(threshold.stricter)
    elif rule.when and threshold.name in rule.when.names:
        # More loads to which the rule applies make it stricter.
        way = way_of(rule.when.text, threshold.name)
        stricter = way if way in (Way.LESS, Way.MORE) else None
    else:
        return Effect.TEXTS
    if stricter is None:
        return Effect.UNCERTAIN
    is_looser = any(step * stricter < 0 for step in steps)
    if is_looser or narrows(rule, threshold, new.quantity, old):
        return Effect.LOOSENED
    return Effect.TIGHTENED


def _words(value: Value) -> str:
    if value.undecided:
        return "not yet known"
    return value.value.text if value.value else "no value"
