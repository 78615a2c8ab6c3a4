"""The nearest arrangement of a load that breaks rules, where no single change mends it."""

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from checker.advice.fixes import Fix
from checker.evaluation.check import Check
from checker.evaluation.outcome import Outcome
from checker.load.build import Profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict

if TYPE_CHECKING:
    from checker.advice.arrange.arrangement import Arrangement

_EFFORT = 50_000
"""A check waits for it: enough for the nearest arrangement, too few to prove that it is."""

_ARRANGED = ("placement", "tiedowns", "limits")
"""Questions of the rules that an arrangement may meet."""


def asks_for_several(check: Check, fixes: Mapping[str, Sequence[Fix]]) -> bool:
    """True if must-rules about place or tiedowns are broken and no single change meets all."""
    broken = {
        each.rule.id
        for each in check.findings
        if each.verdict is Verdict.NOT_MET
        and each.rule.level == "must"
        and each.rule.question in _ARRANGED
        and not each.variance
    }
    if not broken or check.outcome is not Outcome.HOLD:
        return False
    return not any(
        not fix.breaks and broken <= fix.meets for of_rule in fixes.values() for fix in of_rule
    )


class NearestOnDemand:
    """The nearest arrangement, searched for when a report asks for it."""

    def __init__(self, profile: Profile, check: Check, rulebooks: Rulebooks) -> None:
        """Hold what the search needs."""
        self._search = profile, check, rulebooks

    @cached_property
    def found(self) -> "Arrangement | None":
        """The arrangement; None where none was found, or too little is stated to look for one."""
        from checker.advice.arrange.arrangement import arrange
        from checker.advice.arrange.choices import CannotArrangeError

        profile, check, rulebooks = self._search
        try:
            return arrange(profile, rulebooks, check.on, effort=_EFFORT)
        except CannotArrangeError:
            return None
