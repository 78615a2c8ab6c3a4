"""What differs in the tables of unmarked devices and in the variances of two sets of rules."""

from collections.abc import Iterable, Iterator, Mapping
from itertools import chain

from checker.facts.unmarked import UnmarkedRating
from checker.load.model import Variance
from checker.rulebooks.days import Stretch
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.rating_tables import RatingsTable
from checker.units.formatting import US, show
from checker.upkeep.review.difference import Difference, Effect, Kind


def table_differences(old: Rulebooks, new: Rulebooks) -> Iterator[Difference]:
    """Tables that are new, gone or changed, each limit by itself.

    A device without a limit leaves its rules undecided, so one that gets or loses a limit may
    loosen them.
    """
    was, now = ({each.id: each for each in side.tables} for side in (old, new))
    for name in sorted({*was, *now}):
        before, after = was.get(name), now.get(name)
        if before is None or after is None:
            either = after or before
            assert either is not None
            words = ("none", "in use") if before is None else ("in use", "none")
            yield _of_table(either, Effect.UNCERTAIN, words, _days_of(either))
        else:
            yield from _changed(before, after)


def _changed(old: RatingsTable, new: RatingsTable) -> Iterator[Difference]:
    pairs = [
        (f"jurisdiction {old.jurisdiction}", f"jurisdiction {new.jurisdiction}"),
        (f"goes before {old.goes_before}", f"goes before {new.goes_before}"),
        (f"replaces {old.replaces}", f"replaces {new.replaces}"),
        (str(_days_of(old)), str(_days_of(new))),
    ]
    if old.ratings.counts_as != new.ratings.counts_as:
        pairs.append(("`counts_as`", "another `counts_as`"))
    days = _days_of(old), _days_of(new)
    for words in pairs:
        if words[0] != words[1]:
            yield _of_table(new, Effect.UNCERTAIN, words, *days)
    was, now = (_limits(each) for each in (old, new))
    for device in dict.fromkeys(chain(was, now)):
        before, after = was.get(device), now.get(device)
        if before != after:
            effect = Effect.UNCERTAIN
            if before is not None and after is not None:
                effect = Effect.LOOSENED if after > before else Effect.TIGHTENED
            words = _device_words(device, before), _device_words(device, after)
            yield _of_table(new, effect, words, days[1])


def _days_of(table: RatingsTable) -> Stretch:
    return Stretch(table.starts, table.ends)


def _limits(table: RatingsTable) -> Mapping[UnmarkedRating, float]:
    """The limit of each device in newtons, by the device without its limit."""
    return {
        UnmarkedRating(row.device, row.grade, row.size, row.thickness, 0.0): row.working_load_limit
        for row in table.ratings.rows
    }


def _device_words(device: UnmarkedRating, limit: float | None) -> str:
    grade = f" grade {device.grade}" if device.grade else ""
    size = show(device.size, "length", US)
    amount = "no limit" if limit is None else show(limit, "load", US)
    return f"{device.device}{grade}, {size}: {amount}"


def _of_table(
    table: RatingsTable, effect: Effect, words: tuple[str, str], *days: Stretch
) -> Difference:
    return Difference(
        effect=effect,
        kind=Kind.TABLE,
        name=table.id,
        title=table.title,
        before=words[0],
        after=words[1],
        location=str(table.location),
        place=table.jurisdiction,
        days=tuple(dict.fromkeys(days)),
    )


def variance_differences(old: Rulebooks, new: Rulebooks) -> Iterator[Difference]:
    """Variances of registers that are new or gone; one with other days or loads is both."""
    was, now = ({_key(each): each for each in side.variances} for side in (old, new))
    gone = (each for key, each in was.items() if key not in now)
    given = (each for key, each in now.items() if key not in was)
    yield from _of_variances(Effect.TIGHTENED, gone, old)
    yield from _of_variances(Effect.LOOSENED, given, new)
    limits = old.longest_variance, new.longest_variance
    if limits[0] != limits[1]:
        looser = limits[1] is None or (limits[0] is not None and limits[1] > limits[0])
        yield Difference(
            effect=Effect.LOOSENED if looser else Effect.TIGHTENED,
            kind=Kind.SETTING,
            name="longest_variance",
            title="Most days that a variance may last",
            before=_days(limits[0]),
            after=_days(limits[1]),
            location="",
        )


def _days(limit: int | None) -> str:
    return f"{limit} days" if limit is not None else "no limit"


def _key(each: Variance) -> tuple[object, ...]:
    return each.rule, each.uses, each.crews, each.starts, each.ends, each.conditions


def _of_variances(
    effect: Effect, variances: Iterable[Variance], rulebooks: Rulebooks
) -> Iterator[Difference]:
    for each in variances:
        of_rule = rulebooks.rule(each.rule)
        words = f"excused for {', '.join(sorted({*each.uses, *each.crews})) or 'every load'}"
        pair = ("in force", words) if effect is Effect.LOOSENED else (words, "in force")
        yield Difference(
            effect=effect,
            kind=Kind.VARIANCE,
            name=each.rule,
            title=of_rule[1].title if of_rule else each.because,
            before=pair[0],
            after=pair[1],
            location=str(each.location),
            days=(Stretch(each.starts, each.ends),),
            rules=frozenset({each.rule}),
        )
