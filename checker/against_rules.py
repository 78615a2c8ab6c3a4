"""What of a load profile cannot be under some rulebooks, so that it is not judged by them."""

from collections.abc import Iterator

from checker.documents.problems import Problem
from checker.load.build import Profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.unread import county_faults
from checker.variances import faults


def profile_faults(profile: Profile, rulebooks: Rulebooks) -> Iterator[Problem]:
    """Counties that no rulebook names, and variances that cannot be given."""
    yield from county_faults(profile.merged, rulebooks)
    # To make the load only to see that it has none would add a third to reading it.
    if "variances" in profile.merged.data:
        yield from faults(profile.stated, rulebooks)
