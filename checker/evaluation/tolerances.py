"""A check of a profile with any number of tolerances.

Up to ten, all corners of the stated tolerances are rows of the load. Beyond that the corners that
matter are found by the signs of the derivatives: each tolerance is moved to both its ends alone,
every rule's margin says which end is worse, and only the worst and the best corner of each rule
are looked at. That finds the extremes of margins that rise or fall steadily with each number, as
those of balance, ratings and counts do.
"""

from collections.abc import Iterator
from datetime import date

import numpy as np
from msgspec.structs import replace

from checker.evaluation.engine import Check, check
from checker.facts.marked import above_table
from checker.facts.view import Facts, Subject
from checker.load.build import MOST_CORNERED, Profile
from checker.load.plausible.reading import Doubt, doubts
from checker.rulebooks.layering import rules_in_force
from checker.rulebooks.model import Rule, Rulebooks
from checker.units.arithmetic import Number


def check_profile(profile: Profile, rulebooks: Rulebooks, on: date) -> Check:
    """Hold a profile against every rule, with all its tolerances."""
    load = profile.load()
    ends = len(profile.tolerances)
    if ends > MOST_CORNERED:
        facts = Facts(load, rulebooks.unmarked_on(on))
        corners = {
            corner
            for book in rules_in_force(rulebooks, load.trip.places, on).books
            for rule in (*book.rules, *((book.scope,) if book.scope else ()))
            for margins in _margins(facts, rule, on)
            for corner in _corners(margins, ends)
        }
        load = profile.with_signs(sorted(corners))
    return replace(check(load, rulebooks, on), doubts=_doubts(profile, rulebooks, on))


def _doubts(profile: Profile, rulebooks: Rulebooks, on: date) -> tuple[Doubt, ...]:
    """Figures of the profile that are far outside the usual, those of the day's tables too."""
    data, places = profile.merged.data, profile.merged.places
    marked = above_table(data, rulebooks.unmarked_on(on))
    return (*profile.doubts, *doubts(data, places, marked))


def _margins(facts: Facts, rule: Rule, on: date) -> Iterator[Number]:
    """Margins of a rule's formulas in every row, for each of its subjects."""
    subjects: list[Subject | None] = [None]
    if rule.for_each:
        subjects = list(facts.subjects(rule.for_each))
    values = {name: threshold.on(on) for name, threshold in rule.thresholds.items()}
    numbers = {
        name: value.value(metric=False) if value else np.nan for name, value in values.items()
    }
    for subject in subjects:
        env = numbers | {name: facts.value(name, subject) for name in rule.facts}
        for formula in (rule.when, rule.requires):
            if formula is not None:
                yield formula.margins(env)


def _corners(margins: Number, ends: int) -> Iterator[tuple[float, ...]]:
    """The corner where a margin is least and the one where it is most.

    `margins` has the row as stated, then each tolerance at its upper end, then each at its lower.
    """
    rows = np.asarray(margins)
    if rows.ndim == 0 or not np.isfinite(rows).all():
        return
    rising = np.sign(rows[1 : ends + 1] - rows[ends + 1 :])
    if rising.any():
        yield tuple((-rising).tolist())
        yield tuple(rising.tolist())
