"""Searches for an arrangement of a load changed in one thing, ended by a time."""

from collections.abc import Callable, Sequence
from datetime import date
from time import process_time

from checker.advice.arrange.arrangement import Arrangement, as_arrangement
from checker.advice.arrange.choices import Choices
from checker.advice.arrange.one_article import Found
from checker.advice.arrange.trial import OutOfTimeError, Trial
from checker.evaluation.check import Check
from checker.evaluation.tolerances import check_profile
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.verdicts import Verdict

_PARTS = (1, 4, 16)
"""Parts of a range whose ends are tried for a start."""


class Attempts:
    """Searches for changed loads; each raises OutOfTimeError at `until`, of `process_time`."""

    def __init__(
        self, today: Choices, rulebooks: Rulebooks, on: date, broken_today: frozenset[str]
    ) -> None:
        """`broken_today` are the must-rules that no arrangement of today's load meets."""
        self._rulebooks, self._on, self._broken_today = rulebooks, on, broken_today
        check = check_profile(today.profile, rulebooks, on)
        undecided = _must_rules(check, Verdict.NOT_STATED, Verdict.TOO_CLOSE)
        self._undecided = {each.id for each in undecided}
        self.until = process_time()

    def works(self, choices: Choices, allowed: frozenset[str] | None = None) -> Arrangement | None:
        """An arrangement that breaks no must-rules but the allowed ones; None where there is none.

        The best places are tried first, as most changes that help do so there.
        """
        found = self._plan(choices, allowed, everywhere=False)
        found = found or self._plan(choices, allowed, everywhere=True)
        return self._verified(choices, found, allowed) if found else None

    def _plan(
        self, choices: Choices, allowed: frozenset[str] | None, *, everywhere: bool
    ) -> Found | None:
        """A plan by the rules that arrangements change, where no others are broken than allowed."""
        trial = Trial(choices, self._rulebooks, self._on, self.until)
        broken = {key.rule for key in trial.broken_whatever_is_arranged()}
        if not broken <= (self._broken_today if allowed is None else allowed):
            return None
        return trial.best() if everywhere else trial.at_the_best_places()

    def _verified(
        self, choices: Choices, found: Found, allowed: frozenset[str] | None
    ) -> Arrangement | None:
        """The arrangement of a plan, if a check finds no must-rule broken but the allowed ones."""
        arrangement = as_arrangement(choices, found, self._rulebooks, self._on)
        broken = {each.id for each in _must_rules(arrangement.check, Verdict.NOT_MET)}
        return (
            arrangement if broken <= (self._broken_today if allowed is None else allowed) else None
        )

    def newly_undecided(self, arrangement: Arrangement) -> tuple[Rule, ...]:
        """The must-rules that are undecided in an arrangement, and are not in today's load."""
        found = _must_rules(arrangement.check, Verdict.NOT_STATED, Verdict.TOO_CLOSE)
        return tuple(each for each in found if each.id not in self._undecided)

    def smallest(
        self,
        values: Sequence[float],
        changed: Callable[[float], Choices],
        allowed: frozenset[str] | None = None,
    ) -> tuple[float, Arrangement, bool] | None:
        """The first of these values with which it works, if it does with the next ones.

        With the last of them it need not: nobody believes the label of a thin strap that is rated
        for a truck. It is sought at the best places. The flag is False where one before it works
        elsewhere, or where time ran out before that was sure.
        """
        if not values:
            return None
        for known in sorted({(len(values) - 1) // part for part in _PARTS}, reverse=True):
            if best := self._plan(changed(values[known]), allowed, everywhere=False):
                break
        else:
            known = len(values) - 1
            best = self._plan(changed(values[known]), allowed, everywhere=True)
        if best is None:
            return None
        below, closest = -1, True
        try:
            while known - below > 1:
                middle = (below + known) // 2
                found = self._plan(changed(values[middle]), allowed, everywhere=False)
                if found is None:
                    below = middle
                else:
                    known, best = middle, found
            if known and (
                found := self._plan(changed(values[known - 1]), allowed, everywhere=True)
            ):
                known, best, closest = known - 1, found, False
        except OutOfTimeError:
            closest = False
        arrangement = self._verified(changed(values[known]), best, allowed)
        return (values[known], arrangement, closest) if arrangement else None


def _must_rules(check: Check, *verdicts: Verdict) -> list[Rule]:
    """The must-rules with one of these verdicts that no variance excuses."""
    return [
        each.rule
        for each in check.findings
        if each.rule.level == "must" and each.verdict in verdicts and not each.variance
    ]
