"""Why a load has no arrangement: the rules that stop it, and whether that is proved."""

from datetime import date
from time import process_time

from msgspec import Struct
from msgspec.structs import replace

from checker.advice.arrange.blocking import blockings
from checker.advice.arrange.choices import Choices, choices_of
from checker.advice.arrange.helps import Help, Helps
from checker.advice.arrange.influence import Reads
from checker.advice.arrange.tolerances import NO_TOLERANCES, Tolerances, with_tolerances
from checker.advice.arrange.trial import OutOfTimeError, Trial
from checker.load.build import Profile
from checker.load.model import Gear
from checker.rulebooks.model import Rule, Rulebooks

SECONDS = 10.0
"""Time of a processor for the whole answer."""

_SHARE_OF_PROOF = 0.4


class Stop(Struct, frozen=True):
    """What stops plans at one stage of the search.

    With each blocking the stages are gone through once more and counted on. At PLACES `tried`
    counts ways to stand, at ONE_TIEDOWN single tiedowns at the places left, at
    TIEDOWNS and STATICS sets of tiedowns that passed the stage before. Of those that did not pass
    each breaks all of `rules` if they have any in common, else one of them at least: none of these
    can be left out.
    """

    reads: Reads
    tried: int
    passed: int
    rules: tuple[Rule, ...]


class WhyNot(Struct, frozen=True):
    """Why a load has no arrangement that meets every must-rule, and what would help.

    `fixed` are the must-rules broken that no arrangement changes. `stops` are the stages of the
    search in their order; at the last of them nothing passed, which is empty where there is an
    arrangement that meets all but `fixed`. It is a proof where `proved`: of one article, at every
    place and with every hook-up tried. `not_tried` says what of `helps` was not decided in time.
    """

    choices: Choices
    fixed: tuple[Rule, ...]
    stops: tuple[Stop, ...]
    proved: bool
    decided: bool
    helps: tuple[Help, ...]
    not_tried: tuple[str, ...]


def why_not(
    profile: Profile,
    rulebooks: Rulebooks,
    on: date,
    gear: Gear | None = None,
    tolerances: Tolerances = NO_TOLERANCES,
    seconds: float = SECONDS,
) -> WhyNot:
    """Why there is no arrangement with this gear, and the cheapest changes with which there is one.

    Raises CannotArrangeError where too little is stated.
    """
    start = process_time()
    choices = with_tolerances(choices_of(profile, gear or profile.gear), tolerances)
    until = start + _SHARE_OF_PROOF * seconds
    trial = Trial(choices, rulebooks, on, until)
    found, decided, proved = None, True, False
    try:
        found = trial.best()
        proved = trial.exhausted
        for blocking in blockings(choices) if found is None else ():
            blocked = replace(choices, blocking=blocking)
            other = Trial(blocked, rulebooks, on, until, stages=trial.stages)
            found = other.best()
            proved = proved and other.exhausted
            if found:
                break
    except OutOfTimeError:
        decided = False
    rules = trial.rules()
    fixed = tuple(rules[key] for key in trial.broken_whatever_is_arranged())
    stops = () if found else _stops(trial)
    helps = Helps(choices, rulebooks, on, start + seconds, fixed)
    if found is None:
        helps.search(places_stop=bool(stops) and stops[-1].reads is Reads.PLACES)
    elif helps.of_the_rig:
        helps.search(places_stop=True)
    return WhyNot(
        choices=choices,
        fixed=fixed,
        stops=stops,
        proved=decided and found is None and proved,
        decided=decided,
        helps=tuple(helps.found),
        not_tried=tuple(helps.not_tried),
    )


def _stops(trial: Trial) -> tuple[Stop, ...]:
    """The stages of the search up to the one at which nothing passed."""
    rules, found = trial.rules(), []
    for reads, stage in trial.stages.items():
        if stage.tried:
            keys = stage.stopping()
            found.append(Stop(reads, stage.tried, stage.passed, tuple(rules[key] for key in keys)))
            if not stage.passed:
                break
    return tuple(found)
