"""What of a load profile cannot be, seen with the facts and the rulebooks: it is not judged."""

from collections.abc import Iterator

from checker.documents.problems import Problem
from checker.evaluation.variances import faults
from checker.facts.agreement import pull_problems
from checker.load.build import Profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.unread_jurisdictions import county_problems


def profile_faults(profile: Profile, rulebooks: Rulebooks) -> Iterator[Problem]:
    """Counties that no rulebook names, pulls that no geometry gives, variances nobody can give."""
    yield from county_problems(profile.merged, rulebooks)
    if any(path[-1:] == ("pulls",) for path in profile.merged.places):
        yield from (problem for _, problem in pull_problems(profile.stated))
    yield from variance_faults(profile, rulebooks)


def variance_faults(profile: Profile, rulebooks: Rulebooks) -> Iterator[Problem]:
    """Variances nobody can give."""
    # To make the load only to see that it has none would add a third to reading it.
    if "variances" in profile.merged.data:
        yield from faults(profile.stated, rulebooks)
