"""Checks a profile with any number of tolerances.

With up to ten, all corners of the stated tolerances are rows of the load. With more, the sign of
each derivative selects the corners to check: each tolerance is moved to both its ends alone, every
rule's margin shows which end is worse, and only the worst and the best corner of each rule are
rows. That finds the extremes of margins that rise or fall steadily with each number, as those of
balance, ratings and counts do.
"""

from collections.abc import Iterator
from datetime import date

import numpy as np
from msgspec.structs import replace

from checker.evaluation.check import Check, check
from checker.evaluation.evaluator import BookEvaluator, evaluators
from checker.evaluation.route import route_of
from checker.facts.marked import above_table
from checker.load.build import MOST_CORNERED, Profile
from checker.load.model import Load
from checker.load.plausible.reading import Doubt, doubts
from checker.rulebooks.model import Rule, Rulebooks
from checker.units.arithmetic import Number


def load_with_corners(profile: Profile, rulebooks: Rulebooks, on: date) -> Load:
    """The load of a profile: one row as stated, then one for each corner that matters."""
    load = profile.load()
    ends = len(profile.tolerances)
    if ends <= MOST_CORNERED:
        return load
    corners = {
        corner
        for evaluator in evaluators(load, rulebooks, on).books
        for rule in (*evaluator.book.rules, *filter(None, (evaluator.book.scope,)))
        for margins in _margins(evaluator, rule)
        for corner in _corners(margins, ends)
    }
    return profile.with_signs(sorted(corners))


def check_profile(profile: Profile, rulebooks: Rulebooks, on: date) -> Check:
    """The check of a profile with all its tolerances, its doubtful figures and its route."""
    done = check(load_with_corners(profile, rulebooks, on), rulebooks, on)
    return replace(done, doubts=_doubts(profile, rulebooks, on), route=route_of(done, rulebooks))


def _doubts(profile: Profile, rulebooks: Rulebooks, on: date) -> tuple[Doubt, ...]:
    """Figures of the profile far outside the usual, by the lists and by the day's tables."""
    data, locations = profile.merged.data, profile.merged.locations
    marked = above_table(data, rulebooks.unmarked_on(on, profile.stated.trip.places))
    return (*profile.doubts, *doubts(data, locations, marked))


def _margins(evaluator: BookEvaluator, rule: Rule) -> Iterator[Number]:
    """The margins of a rule's formulas in every row, for each of its subjects."""
    for subject in evaluator.subjects(rule):
        env = evaluator.env(rule, subject, metric=False)
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
