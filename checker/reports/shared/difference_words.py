"""Differences between two sets of rules in words, and how many there are of each effect."""

from collections.abc import Sequence
from typing import Any, Final

from checker.reports.shared.portable_paths import portable
from checker.rulebooks.days import Stretch
from checker.upkeep.review.difference import Difference, Effect, Kind

_MOST_DAYS: Final = 3
"""Stretches of days that are written out."""


def counted(differences: Sequence[Difference]) -> str:
    """How many differences have each effect; says so where there is none."""
    numbers = {effect: sum(each.effect is effect for each in differences) for effect in Effect}
    words = [f"{number} {effect}" for effect, number in numbers.items() if number]
    return f"Rules: {', '.join(words)}" if words else "Rules: no difference"


def difference_words(each: Difference) -> str:
    """What differs, from what to what, on which days and where."""
    what = "" if each.kind in (Kind.RULE, Kind.RULEBOOK, Kind.TABLE) else f"{each.kind} "
    if each.threshold:
        what = f"{each.threshold} "
    change = f"{what}{each.before} -> {each.after}"
    if each.kind is Kind.TEXTS:
        change = f"texts: {each.after}"
    where = f", in {each.place}" if each.place and each.kind is not Kind.RULEBOOK else ""
    days = f", {_days_words(each)}" if each.days and each.kind is not Kind.DAYS else ""
    return f"{each.title} [{each.name}]: {change}{days}{where}"


def _days_words(each: Difference) -> str:
    words = [_stretch_words(stretch) for stretch in each.days[:_MOST_DAYS]]
    more = len(each.days) - len(words)
    if each.each_year:
        words.append("and so on each year")
    elif more:
        words.append(f"and {more} more times")
    return ", ".join(words)


def _stretch_words(stretch: Stretch) -> str:
    return str(stretch) or "on all days"


def difference_data(each: Difference) -> dict[str, Any]:
    """A difference as plain data for JSON."""
    return {
        "effect": each.effect,
        "kind": each.kind,
        "id": each.name,
        "title": each.title,
        "threshold": each.threshold or None,
        "place": each.place or None,
        "before": each.before,
        "after": each.after,
        "days": [
            {
                "from": stretch.starts.isoformat(),
                "until": stretch.ends.isoformat() if stretch.ends else None,
            }
            for stretch in each.days
        ],
        "each_year": each.each_year,
        "rules": sorted(each.rules),
        "at": portable(each.location) if each.location else "",
    }
