"""The tiedowns of a plan in the order in which a crew works, with what stays as it is today."""

from collections.abc import Sequence
from typing import Any

from checker.advice.arrange.choices import Choices, Hook
from checker.facts.bodies import on_trailer
from checker.load.build import Profile
from checker.load.model import Attachment, Load, Tiedown
from checker.units.arithmetic import as_stated


def points_of(tiedown: Tiedown) -> tuple[Attachment, ...]:
    """The points of its article that a tiedown hooks to or runs over."""
    if tiedown.path == "direct":
        return (tiedown.attachment,) if tiedown.attachment else ()
    return tiedown.over


def place_of(tiedown: Tiedown) -> tuple[float, float]:
    """How far behind the ball and left of the middle a tiedown holds its article, in m."""
    points = [on_trailer(tiedown.article, each.x, each.y, each.z) for each in points_of(tiedown)]
    number = max(len(points), 1)
    along, across = (sum(as_stated(each[axis]) for each in points) / number for axis in (0, 1))
    return along, across


def at_the_front(tiedown: Tiedown) -> bool:
    """True where a tiedown holds the half of its article that is nearer to the coupler."""
    article = tiedown.article
    middle = as_stated(article.placed.x) + as_stated(article.length) / 2
    return place_of(tiedown)[0] < middle


def crew_order(load: Load, hooks: Sequence[Hook], today: Sequence[Hook | None]) -> list[int]:
    """The indices of the tiedowns of a plan in the order of the work.

    The foremost article comes first, then its front end, then its left side. Where the tiedowns are
    those of today, their order is that of the profile.
    """
    if len(hooks) == len(today) and set(hooks) == set(today):
        return sorted(range(len(hooks)), key=lambda each: today.index(hooks[each]))
    tiedowns = load.tiedowns or ()

    def key(index: int) -> tuple[float, bool, float, float]:
        each = tiedowns[index]
        along, across = place_of(each)
        return as_stated(each.article.placed.x), not at_the_front(each), along, -across

    return sorted(range(len(tiedowns)), key=key)


def kept(hooks: Sequence[Hook], today: Sequence[Hook | None]) -> tuple[int | None, ...]:
    """For each tiedown of a plan the index of the one of today that it is; None for a new one."""
    left: list[Hook | None] = list(today)
    found: list[int | None] = []
    for hook in hooks:
        found.append(left.index(hook) if hook in left else None)
        if found[-1] is not None:
            left[found[-1]] = None
    return tuple(found)


def with_entries_of_today(plan: Profile, choices: Choices, kept: Sequence[int | None]) -> Profile:
    """The plan with what the profile states of each tiedown that stays: its notes and answers."""
    today: Any = choices.profile.merged.data.get("tiedowns", ())
    return plan.replaced(
        {
            ("tiedowns", number): today[index]
            for number, index in enumerate(kept)
            if index is not None
        }
    )
