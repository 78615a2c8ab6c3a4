"""What to do about a load that no single change mends: the nearest arrangement, or how to ask."""

from collections.abc import Mapping, Sequence

from checker.advice.fixes import Fix
from checker.advice.nearest import NearestOnDemand, asks_for_several
from checker.evaluation.check import Check
from checker.evaluation.outcome import Outcome
from checker.reports.shared.actions import NO_SINGLE_CHANGE, arrange_command
from checker.reports.shared.arrangement.record import report_of
from checker.reports.shared.words import number_of
from checker.units.formatting import System


def nearest_words(
    check: Check,
    fixes: Mapping[str, Sequence[Fix]],
    system: System,
    nearest: NearestOnDemand | None,
) -> str | None:
    """The changes of the nearest arrangement, searched for here; None where there is none.

    None as well where one change is enough.
    """
    if nearest is None or not asks_for_several(check, fixes) or nearest.found is None:
        return None
    found = nearest.found
    changes = report_of(found, found.check, system, gear=None).changes
    number = number_of(len(changes), "change")
    lead = f"{NO_SINGLE_CHANGE}. {number} together break no must-rule"
    if found.check.outcome is Outcome.HOLD:
        lead = f"No arrangement meets every must-rule. To meet all others takes {number}"
    return f"{lead}: {' '.join(changes)} Steps and drawing: {arrange_command(check)}"
