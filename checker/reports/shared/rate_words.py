"""How often a crew, month or vehicle is on hold, and what comparing it with others shows, in words.

Every form prints these. A group is named only where the corrected test names it.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

from checker.reports.shared.season_names import SeasonNames
from checker.reports.shared.words import number_of
from checker.season.audit import Audit
from checker.season.rates.contrasts import Contrast, Result
from checker.season.rates.correcting import FEWEST, LEVEL
from checker.season.rates.exposure import Exposure
from checker.season.rates.statistics import CONFIDENCE, rate_interval, share_interval
from checker.season.rates.then_and_now import Change, ChangeResult
from checker.season.totals import Tally
from checker.units.formatting import Units

_METRES: Final[Mapping[bool, tuple[float, str]]] = {
    False: (1609.344e3, "1,000 mi"),
    True: (1000e3, "1,000 km"),
}
_MOST_MEASURED: Final = 0.95
"""Share of the hauls that must state a distance for a rate per distance."""
_LEAST_P: Final = 0.0005
_SMALLEST_SHARE: Final = 0.0005
_NEAR_NONE: Final = 0.0995
"""A smaller share has a decimal, so that it has two figures."""

_NO_CHANGE: Final = {
    ChangeResult.UNEXPLAINED: "no difference that chance does not explain",
    ChangeResult.NO_LOAD: "no crew hauled a load both before and after, so nothing can be said",
}
TOO_FEW: Final = "too few to rank"

_OTHERS: Final[Mapping[str, str]] = {
    "month": "other months with the same loads",
    "crew": "other crews with the same loads",
    "trailer": "other trailers with the same machines",
    "machine": "other machines on the same trailers",
    "tow vehicle": "other tow vehicles with the same trailers and machines",
}
_ALONE: Final[Mapping[str, str]] = {
    "month": "no other month had the same loads",
    "crew": "no other crew hauled the same loads",
    "trailer": "no other trailer carried the same machines",
    "machine": "no other machine was on the same trailers",
    "tow vehicle": "no other tow vehicle had the same trailer and machine",
}


def share_words(share: float) -> str:
    """A share of hauls in per cent: 30 %, 5.1 %; 0 % and 100 % only where exact."""
    return _percent(share, 0 if _NEAR_NONE <= share < 1 - _NEAR_NONE / 10 else 1)


def tenths_words(share: float) -> str:
    """The same to a tenth of a per cent: 30.4 %."""
    return _percent(share, 1)


def _percent(share: float, decimals: int) -> str:
    if 0 < share < _SMALLEST_SHARE:
        return "under 0.1 %"
    if 1 - _SMALLEST_SHARE < share < 1:
        return "over 99.9 %"
    return f"{share:.{decimals}%}".replace(".0%", "%").replace("%", " %")


def rate_words(held: int, decided: int) -> str:
    """The share on hold of the decided hauls, and its range; empty if too few are decided."""
    if decided < FEWEST:
        return ""
    low, high = share_interval(held, decided)
    low_text, high_text = share_words(low), share_words(high)
    return f"{share_words(held / decided)} ({low_text.removesuffix(' %')} to {high_text})"


def tally_rate_words(tally: Tally) -> str:
    """The same for counts of hauls."""
    return rate_words(tally.held, tally.hauls - tally.open)


def is_ranked(tally: Tally) -> bool:
    """True if enough hauls are decided to say how often they are on hold."""
    return tally.hauls - tally.open >= FEWEST


def rank(tally: Tally) -> tuple[float, float]:
    """Sort key, the most often on hold first by the low end of the range; groups of few last."""
    if not is_ranked(tally):
        return 0.0, 0.0
    return -1.0, -share_interval(tally.held, tally.hauls - tally.open)[0]


def per_distance(each: Exposure | None, *, metric: bool) -> tuple[float, float, float] | None:
    """Hauls on hold per 1,000 mi or km with the range of that; None if too few state a distance."""
    if each is None or each.decided < FEWEST or not each.metres:
        return None
    if each.measured < _MOST_MEASURED * each.decided:
        return None
    driven = each.metres / _METRES[metric][0]
    return each.held_measured / driven, *rate_interval(each.held_measured, driven)


def per_distance_words(each: Exposure | None, units: Units) -> str:
    """The same in words; empty if too few hauls state a distance."""
    metric = units is Units.SI
    found = per_distance(each, metric=metric)
    if found is None:
        return ""
    rate, low, high = map(figure, found)
    return f"{rate} ({low} to {high}) per {_METRES[metric][1]}"


class RateFigures(NamedTuple):
    """What a table says of a group with hauls enough: its share, ranges, and the comparison."""

    share: float
    low: float
    high: float
    per_1000_km: float | None
    compared: str
    p: float | None


def rate_figures(audit: Audit, kind: str, name: str) -> RateFigures | None:
    """The figures of a group; None if too few of its hauls are decided."""
    each = audit.exposures.get(kind, {}).get(name)
    if each is None or each.decided < FEWEST:
        return None
    driven = per_distance(each, metric=True)
    compared = by_name(audit).get((kind, name))
    return RateFigures(
        each.held / each.decided,
        *share_interval(each.held, each.decided),
        driven[0] if driven else None,
        result_words(compared),
        compared.corrected if compared else None,
    )


def by_name(audit: Audit) -> dict[tuple[str, str], Contrast]:
    """Every comparison by kind and name."""
    return {(each.kind, each.name): each for each in audit.comparisons.contrasts}


def named_words(each: Contrast | None) -> str:
    """What the comparison of a group names; empty if it names nothing."""
    if each is None or each.result is not Result.MORE:
        return ""
    return (
        f"more often on hold than {_others(each)}: {each.compared_held} of {each.compared}; "
        f"at their share it would be {figure(each.expected)}; p {p_words(each.corrected)}"
    )


def result_words(each: Contrast | None) -> str:
    """What the comparison of a group shows, also where it is nothing."""
    if each is None:
        return ""
    if each.result is Result.ALONE:
        return f"{each.result}: {_ALONE[each.kind]}"
    return named_words(each) or str(each.result)


def named(audit: Audit) -> list[Contrast]:
    """The groups that are on hold more often than chance explains, the clearest first."""
    found = [each for each in audit.comparisons.contrasts if each.result is Result.MORE]
    return sorted(found, key=lambda each: (each.corrected, each.p, each.kind, each.name))


def named_lines(audit: Audit) -> list[str]:
    """One line for each group that is named."""
    names = SeasonNames(audit.totals.titles)
    return [
        f"{each.kind} {names.printed(each.kind, each.name)}: {named_words(each)}"
        for each in named(audit)
    ]


def since_lines(audit: Audit) -> list[str]:
    """What the hauls from the day of a change on show against those before; none without one."""
    each, day = audit.comparisons.since, audit.changed_on
    if each is None or day is None:
        return []
    line = f"since {day.isoformat()}: {since_words(each)}"
    if each.now and each.then:
        now, then = (f"{broken} of {hauls}" for broken, hauls in _broken_and_hauls(each))
        line += f" ({now} on hold, before {then}, with the same loads and crews)"
    if day.day > 1:
        line += f"; the hauls of {day.isoformat()[:7]} are left out, as they are of both"
    return [line]


def since_words(each: Change) -> str:
    """What a change within a season shows."""
    if each.result not in (ChangeResult.MORE, ChangeResult.LESS):
        return _NO_CHANGE.get(each.result, str(each.result))
    alone = ", each haul taken by itself as the loads are few" if each.few_loads else ""
    return (
        f"{each.result} on hold than before: {each.now_broken}; at the shares of before it "
        f"would be {figure(each.expected)}; p {p_words(each.corrected)}{alone}"
    )


def _broken_and_hauls(each: Change) -> tuple[tuple[int, int], tuple[int, int]]:
    return (each.now_broken, each.now), (each.then_broken, each.then)


def unnamed_lines(audit: Audit) -> Iterator[str]:
    """For each kind, of how many groups nothing can be said, and why."""
    for kind in _OTHERS:
        of_kind = [each for each in audit.comparisons.contrasts if each.kind == kind]
        counts = Counter(each.result for each in of_kind)
        parts = []
        if counts[Result.TOO_FEW]:
            parts.append(f"{counts[Result.TOO_FEW]} {Result.TOO_FEW}")
        if counts[Result.TOO_OPEN]:
            parts.append(f"{counts[Result.TOO_OPEN]} with {Result.TOO_OPEN}")
        if counts[Result.ALONE]:
            parts.append(f"{counts[Result.ALONE]} {Result.ALONE} ({_ALONE[kind]})")
        if parts:
            yield f"of {number_of(len(of_kind), kind)}: {'; '.join(parts)}"


def legend(audit: Audit) -> Sequence[str]:
    """What the figures mean, in one line each; none without a comparison or rate."""
    made = audit.comparisons.made
    range_words = (
        "The share is that of decided hauls; in brackets the range that holds the true share "
        f"{CONFIDENCE * 100:.0f} times in 100. Of fewer than {FEWEST} decided hauls none is given."
    )
    if not made:
        return [range_words]
    return [
        range_words,
        f"p is the chance of as many on hold if all were alike{counted_words(made)}; only "
        f"{LEVEL:g} or less is named.",
    ]


def counted_words(made: int) -> str:
    """That `p` counts how many comparisons are made; empty for a single one."""
    return f", with all {made} comparisons counted" if made > 1 else ""


def figure(number: float) -> str:
    """A number with two digits, or a whole one."""
    return f"{number:.2g}" if number < 9.95 else f"{number:.0f}"


def _others(each: Contrast) -> str:
    """The others with which a group is compared: what was the same for both."""
    more = [f"{condition}s" for condition in each.within[1:]]
    return _OTHERS[each.kind] + (f" and the same {' and '.join(more)}" if more else "")


def p_words(p: float | None) -> str:
    """A corrected probability with two digits."""
    return "under 0.001" if p is None or p < _LEAST_P else f"{p:.2g}"
