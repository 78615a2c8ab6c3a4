"""What changed between two seasons beyond chance, in words and as plain data."""

from collections.abc import Sequence
from typing import Final

from checker.reports.shared.rate_words import counted_words, figure, p_words
from checker.season.comparing import Comparison
from checker.season.rates.correcting import LEVEL
from checker.season.rates.then_and_now import Change, ChangeResult

TOO_OPEN: Final = str(ChangeResult.TOO_OPEN)
"""What is said where too few hauls are decided then or now."""


def change_words(each: Change) -> str:
    """What a comparison of now with then shows."""
    if each.result not in (ChangeResult.MORE, ChangeResult.LESS):
        return str(each.result)
    alone = ", each haul taken by itself as the loads are few" if each.few_loads else ""
    return (
        f"{each.result} with the same loads: {each.now_broken} of {each.now}; at the shares of "
        f"then it would be {figure(each.expected)}; p {p_words(each.corrected)}{alone}"
    )


def on_hold_lines(found: Comparison) -> Sequence[str]:
    """How often hauls are on hold now against then, and what p means; none for the same hauls."""
    if found.on_hold is None:
        return ()
    compared = (*found.rules, *(each for kind in found.by.values() for each in kind))
    changes = (found.on_hold, *(each.change for each in compared))
    made = sum(each is not None and each.p is not None for each in changes)
    first = f"on hold, over the loads of both: {change_words(found.on_hold)}"
    if not made:
        return (first,)
    return (
        first,
        f"p is the chance of as large a difference if nothing had changed{counted_words(made)}; "
        f"only {LEVEL:g} or less is called a change",
    )
