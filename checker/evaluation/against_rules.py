"""Problems of a load profile that show only with its facts or the rulebooks."""

from collections.abc import Iterator

from checker.documents.problems import Problem
from checker.facts.agreement import pull_problems
from checker.load.build import Profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.unread_jurisdictions import county_problems
from checker.rulebooks.variances import variance_problems


def profile_faults(profile: Profile, rulebooks: Rulebooks) -> Iterator[Problem]:
    """Problems: counties no rulebook names, contradictory pulls, variances that are not allowed."""
    yield from county_problems(profile.merged, rulebooks)
    if any(path[-1:] == ("pulls",) for path in profile.merged.locations):
        yield from (problem for _, problem in pull_problems(profile.stated))
    yield from variance_faults(profile, rulebooks)


def variance_faults(profile: Profile, rulebooks: Rulebooks) -> Iterator[Problem]:
    """Variances nobody can give."""
    # Making the load only to see that it states none would add a third to reading it.
    if "variances" in profile.merged.data:
        yield from variance_problems(profile.stated.variances, rulebooks)
