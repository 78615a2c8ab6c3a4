"""The arrangement of one load: the best plan found, as a profile with its check."""

from collections.abc import Sequence
from datetime import date

from msgspec import Struct

from checker.advice.arrange.choices import Choices, Course, GearKind, choices_of
from checker.advice.arrange.crew_order import crew_order, kept, with_entries_of_today
from checker.advice.arrange.one_article import Found
from checker.advice.arrange.plan_rows import PlanRows
from checker.advice.arrange.scores import OBJECTIVES, Figures
from checker.advice.arrange.search import EFFORT
from checker.advice.arrange.tolerances import NO_TOLERANCES, Tolerances, with_tolerances
from checker.advice.arrange.with_blocks import best_plan
from checker.evaluation.check import Check
from checker.evaluation.tolerances import check_profile
from checker.load.build import Profile
from checker.load.model import Gear
from checker.rulebooks.model import Rulebooks


class Arrangement(Struct, frozen=True):
    """An arrangement: where everything stands and what holds it.

    `tiedowns` are its courses with the gear for each, in the order of the profile's, which is that
    of the work; `kept` says which tiedown of today each is, None for a new one. `proved` says that
    no other plan is better, `looked_at` how many plans were judged to the end.
    """

    choices: Choices
    profile: Profile
    tiedowns: tuple[tuple[Course, GearKind], ...]
    kept: tuple[int | None, ...]
    figures: Figures
    check: Check
    proved: bool
    looked_at: int
    bound: Figures | None = None
    """Figures that no plan at the places looked at is better than."""


def arrange(
    profile: Profile,
    rulebooks: Rulebooks,
    on: date,
    gear: Gear | None = None,
    order: Sequence[str] = OBJECTIVES,
    tolerances: Tolerances = NO_TOLERANCES,
    effort: int = EFFORT,
) -> Arrangement | None:
    """The best arrangement of a load; None where none was found that breaks no must-rule.

    `gear` defaults to that of the load. It holds in all corners of the tolerances, which its
    profile states. `effort` bounds the search, see `Arranger`. Raises CannotArrangeError
    where too little is stated.
    """
    choices = with_tolerances(choices_of(profile, gear or profile.gear), tolerances)
    found = best_plan(choices, rulebooks, on, order, effort)
    return None if found is None else as_arrangement(*found, rulebooks, on)


def as_arrangement(choices: Choices, found: Found, rulebooks: Rulebooks, on: date) -> Arrangement:
    """A plan as an arrangement: its tiedowns in the order of the work, its profile, its check."""
    rows, plans = PlanRows(choices), found.plan
    order = crew_order(rows.profile_of(plans, 0).stated, found.hooks(), choices.hooked)
    plans = plans._replace(courses=plans.courses[:, order], kinds=plans.kinds[:, order])
    hooks = [found.hooks()[each] for each in order]
    same = kept(hooks, choices.hooked)
    plan = with_entries_of_today(rows.profile_of(plans, 0), choices, same)
    return Arrangement(
        choices=choices,
        profile=plan,
        tiedowns=tuple((choices.courses[each.course], choices.kinds[each.kind]) for each in hooks),
        kept=same,
        figures=found.figures,
        check=check_profile(plan, rulebooks, on),
        proved=found.proved,
        looked_at=found.looked_at,
        bound=found.bound,
    )
