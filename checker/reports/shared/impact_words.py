"""What a change of rules turns, in words, by rule and outcome with the number of loads."""

from checker.reports.shared.words import number_of
from checker.rulebooks.verdicts import Verdict
from checker.season.impact import ChangedOutcome, ChangedVerdict, Impact

_DID_NOT_APPLY = "does not apply"


def summary_words(found: Impact, refused: int, loads: int) -> str:
    """How many loads were checked, and how many verdicts change in how many of them.

    Outcomes count for loads of which no verdict changes, as under another variance.
    """
    verdicts = sum(len(each.hauls.rows) for each in found.verdicts)
    with_verdicts = {row for each in found.verdicts for row in each.hauls.rows}
    alone = {row for each in found.outcomes for row in each.hauls.rows} - with_verdicts
    what = number_of(verdicts, "verdict")
    if alone:
        what += f" and {number_of(len(alone), 'outcome')}"
    return (
        f"{number_of(found.checked, 'load')} checked, {refused} refused: "
        f"{what} in {number_of(loads, 'load')} change{'s' if verdicts == 1 and not alone else ''}"
    )


def turn_words(before: Verdict | None, after: Verdict | None) -> str:
    """A verdict before and after; a rule that is not in force does not apply."""
    return f"{before or _DID_NOT_APPLY} -> {after or _DID_NOT_APPLY}"


def verdict_words(each: ChangedVerdict) -> str:
    """One rule whose verdict changes, and on how many loads."""
    level = "" if each.rule.level == "must" else " (should)"
    loads = number_of(len(each.hauls.rows), "load")
    turn = turn_words(each.before, each.after)
    return f"{each.rule.title}{level} [{each.rule.id}]: {turn} on {loads}"


def worst_first(found: Impact) -> list[ChangedVerdict]:
    """The changed verdicts: broken must-rules first, then those of most loads."""
    return sorted(found.verdicts, key=lambda each: (not each.breaks, -len(each.hauls.rows)))


def outcome_words(each: ChangedOutcome) -> str:
    """One change of outcome, and of how many loads."""
    return f"{each.before} -> {each.after}: {number_of(len(each.hauls.rows), 'load')}"
