"""Arrangements without a search: loads moved and tied down otherwise, for tests of the rest."""

from collections.abc import Callable, Sequence
from datetime import date

import numpy as np

from checker.advice.arrange.arrangement import Arrangement, as_arrangement
from checker.advice.arrange.choices import Choices, Hook, choices_of
from checker.advice.arrange.places import Places, places_of
from checker.advice.arrange.plan_rows import Plans
from checker.advice.arrange.scores import Figures
from checker.advice.arrange.search import Found
from checker.documents.resources import shipped_folder
from checker.load.build import Profile, read_profile
from checker.rulebooks.model import Rulebooks

DAY = date(2026, 6, 11)
FIGURES = Figures(broken=0, undecided=0, short=0, pieces=0, changes=0, margin=0.1)


def bundled_load(name: str) -> Profile:
    return read_profile(shipped_folder("profiles") / "loads" / f"{name}.yaml")


def bundled_names() -> list[str]:
    """The bundled loads that can be arranged."""
    files = sorted((shipped_folder("profiles") / "loads").glob("*.yaml"))
    return [file.stem for file in files if file.stem != "missing-information"]


def hooks_of_today(choices: Choices) -> list[Hook]:
    return [hook for hook in choices.hooked if hook]


def other_hooks(choices: Choices) -> list[Hook]:
    """Half of today's tiedowns, and for each other one a course that no tiedown has today."""
    today = hooks_of_today(choices)
    stay = today[::2]
    taken = {anchor for hook in stay for anchor in choices.courses[hook.course].anchors}
    for _ in range(max(len(today) - len(stay), 1)):
        for number, course in enumerate(choices.courses):
            if not taken & set(course.anchors) and Hook(number, 0) not in today:
                stay.append(Hook(number, 0))
                taken |= set(course.anchors)
                break
    return stay


def arranged(
    profile: Profile,
    rulebooks: Rulebooks,
    *,
    further_back: float = 0.0,
    further_left: float = 0.0,
    turned: bool = False,
    day: date = DAY,
    hooks: Callable[[Choices], Sequence[Hook]] = hooks_of_today,
) -> Arrangement:
    """The load with its articles moved by so many metres, or turned, and other tiedowns."""
    choices = choices_of(profile, profile.gear)
    today = choices.stands or places_of(choices.load, choices.step).take([0])
    facings = 1 - today.facings if turned else today.facings
    places = Places(facings, today.x + further_back, today.y + further_left)
    chosen = hooks(choices)
    plan = Plans(
        places,
        np.array([[each.course for each in chosen]], dtype=np.intp),
        np.array([[each.kind for each in chosen]], dtype=np.intp),
    )
    return as_arrangement(choices, Found(plan, FIGURES, proved=True, looked_at=1), rulebooks, day)
