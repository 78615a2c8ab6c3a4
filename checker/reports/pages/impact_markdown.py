"""The effect of a change of rules in Markdown, for a pull request."""

from collections.abc import Iterator, Sequence
from typing import Final

from checker.reports.shared.difference_words import counted, difference_words
from checker.reports.shared.impact_totals import GROUPS, changed_loads, totals
from checker.reports.shared.impact_words import (
    outcome_words,
    summary_words,
    verdict_words,
    worst_first,
)
from checker.reports.shared.markdown import plain
from checker.reports.shared.words import CAUTIONS
from checker.season.impact import Impact
from checker.upkeep.review.difference import Difference, Effect

_MOST: Final = 30
"""Lines of one list; a comment on a pull request has room for so much."""


def impact_markdown(found: Impact, differences: Sequence[Difference], refused: int) -> str:
    """What differs in the rules, then which verdicts and outcomes change, on how many loads."""
    lines = [f"## cinchbook: {plain(counted(differences))}", ""]
    for effect in Effect:
        mine = [difference_words(each) for each in differences if each.effect is effect]
        if mine:
            lines += [f"**{effect.capitalize()}**", "", *_listed(mine), ""]
    lines += [f"**{plain(summary_words(found, refused, changed_loads(found)))}**", ""]
    if found.outcomes:
        lines += [*_listed([outcome_words(each) for each in found.outcomes]), ""]
    if found.verdicts:
        lines += [*_listed([verdict_words(each) for each in worst_first(found)]), ""]
    for group in GROUPS:
        lines += _table(found, group)
    return "\n".join([*lines, *(f"_{plain(each)}_  " for each in CAUTIONS), ""])


def _listed(words: Sequence[str]) -> Iterator[str]:
    yield from (f"- {plain(each)}" for each in words[:_MOST])
    if len(words) > _MOST:
        yield f"- and {len(words) - _MOST} more"


def _table(found: Impact, group: str) -> Iterator[str]:
    rows = totals(found, group)
    if rows:
        yield f"| {group} | loads that change | with another outcome |"
        yield "|---|---|---|"
        for each in rows[:_MOST]:
            yield f"| {plain(each.printed)} | {each.loads} | {each.outcomes} |"
        if len(rows) > _MOST:
            yield f"| and {len(rows) - _MOST} more | | |"
        yield ""
