"""Whether a machine fits a trailer with the gear at hand, and the rules that stop it where not."""

from collections.abc import Collection, Iterator
from datetime import date
from enum import StrEnum
from typing import Final

import numpy as np
from msgspec import Struct

from checker.advice.arrange.arrangement import Arrangement, arrange
from checker.advice.arrange.choices import CannotArrangeError, Choices, choices_of
from checker.advice.arrange.hookups import Hookups, Taken
from checker.advice.arrange.influence import Key, Reads
from checker.advice.arrange.options import Options
from checker.advice.arrange.places import Places, places_of
from checker.advice.arrange.plan_rows import PlanRows, Plans
from checker.advice.arrange.search import MOST_PIECES, Arranger
from checker.evaluation.check import Check, Finding
from checker.evaluation.outcome import Outcome
from checker.evaluation.tolerances import check_profile
from checker.load.build import Profile
from checker.load.model import Gear, Load
from checker.rulebooks.model import Rulebooks

ORDER: Final = ("shoulds", "pieces")
"""What is compared: whether it fits, and with how little gear. The best place is for `arrange`."""


class Fit(StrEnum):
    """How a machine fits a trailer."""

    FITS = "fits"
    """An arrangement meets every must-rule and every should-rule."""
    SHORT = "fits, short of a should-rule"
    """An arrangement meets every must-rule."""
    UNDECIDED = "undecided"
    """No must-rule is broken, and some cannot be decided."""
    DOES_NOT_FIT = "does not fit"
    """No arrangement was found that breaks no must-rule."""


class Pairing(Struct, frozen=True):
    """One machine on one trailer.

    `check` is that of the arrangement, else of the place at which rules are `broken`; None where
    nothing could be arranged, for the `reason`. `broken` are the must-rules that stop it, the
    furthest from its limit first, `undecided` those that lack something, `short` the should-rules
    that are not met.
    """

    fit: Fit
    arrangement: Arrangement | None = None
    check: Check | None = None
    broken: tuple[Finding, ...] = ()
    undecided: tuple[Finding, ...] = ()
    short: tuple[Finding, ...] = ()
    reason: str = ""


def try_pair(profile: Profile, rulebooks: Rulebooks, on: date, gear: Gear | None) -> Pairing:
    """How the only article of a profile fits its trailer; its place and tiedowns are open."""
    try:
        choices = choices_of(profile, gear or profile.gear)
    except CannotArrangeError as error:
        fit = Fit.DOES_NOT_FIT if _is_longer_than_deck(profile.stated) else Fit.UNDECIDED
        return Pairing(fit, reason=str(error))
    arranger = Arranger(choices, rulebooks, on, ORDER)
    places = places_of(choices.load, choices.step)
    best = _best(arranger, places)
    stopped = _stopped_at(best, arranger, rulebooks, on)
    if stopped is not None:
        return stopped
    found = arrange(profile, rulebooks, on, gear, ORDER)
    if found is not None:
        return _of_check(found.check, found)
    return _without_hookup(best, arranger, rulebooks, on)


def _is_longer_than_deck(load: Load) -> bool:
    deck = load.trailer.deck
    return any(each.length > deck.rear - deck.front for each in load.articles)


def _best(arranger: Arranger, places: Places) -> Places:
    """The best way to stand, before anything is tied down."""
    figures = arranger.figures_of_places(places)
    row = min(range(places.size), key=lambda each: figures[each].key(ORDER))
    return places.take([row])


def _stopped_at(
    place: Places, arranger: Arranger, rulebooks: Rulebooks, on: date
) -> Pairing | None:
    """What stops it wherever it stands and however it is tied down; None where nothing does."""
    none = np.zeros((1, 0), dtype=np.intp)
    plans = Plans(place, none, none)
    broken: set[Key] = set()
    for reads in (Reads.NOTHING, Reads.PLACES):
        table = arranger.judge.table(plans, reads)
        broken |= {
            key for key, flags in zip(table.rules, table.broken, strict=True) if flags.any()
        }
    if not broken:
        return None
    check = _check_of(plans, arranger.choices, rulebooks, on)
    return Pairing(Fit.DOES_NOT_FIT, check=check, broken=_broken(check, broken))


def _without_hookup(place: Places, arranger: Arranger, rulebooks: Rulebooks, on: date) -> Pairing:
    """Which must-rules the most tiedowns leave broken at the best place."""
    choices = arranger.choices
    options = Options(choices, arranger.judge, 0).at(place)[0]
    options.sort(key=lambda each: (len(each.broken), -sum(each.pulls)))
    hookups = Hookups(choices, len({each.points for each in choices.courses}), Taken())
    tried = (hookups.some(pieces, options) for pieces in range(MOST_PIECES, 0, -1))
    hooks = next(filter(None, tried), [])
    plans = Plans(
        place,
        np.array([[each.course for each in hooks]], dtype=np.intp),
        np.array([[each.kind for each in hooks]], dtype=np.intp),
    )
    check = _check_of(plans, choices, rulebooks, on)
    broken = _broken(check)
    if broken:
        return Pairing(Fit.DOES_NOT_FIT, check=check, broken=broken)
    return Pairing(Fit.UNDECIDED, reason="no arrangement was found in the time for one pair")


def _check_of(plans: Plans, choices: Choices, rulebooks: Rulebooks, on: date) -> Check:
    return check_profile(PlanRows(choices).profile_of(plans, 0), rulebooks, on)


def _of_check(check: Check, arrangement: Arrangement) -> Pairing:
    """The fit of an arrangement, by the check of it."""
    short = tuple(
        each
        for each in check.findings
        if each.rule.level == "should" and (each.rows.broken[0] or each.rows.undecided[0])
    )
    if check.outcome is Outcome.HOLD:
        return Pairing(Fit.DOES_NOT_FIT, check=check, broken=_broken(check))
    if check.outcome is Outcome.NO_RULE_BROKEN:
        return Pairing(Fit.SHORT if short else Fit.FITS, arrangement, check, short=short)
    undecided = tuple(
        each for each in check.findings if each.rule.level == "must" and each.rows.undecided[0]
    )
    return Pairing(
        Fit.UNDECIDED, arrangement, check, undecided=undecided, reason=_why_open(check, undecided)
    )


def _why_open(check: Check, undecided: Collection[Finding]) -> str:
    if undecided:
        return ""
    if check.unread:
        return f"no rules of {', '.join(check.unread)} were read"
    return "no must-rule was met"


def _broken(check: Check, of: Collection[Key] | None = None) -> tuple[Finding, ...]:
    """The broken must-rules, of these or all; the furthest from its limit first."""

    def wanted() -> Iterator[Finding]:
        for each in check.findings:
            known = of is None or Key(each.book.id, each.rule.id) in of
            if known and each.rule.level == "must" and each.rows.broken[0]:
                yield each

    return tuple(sorted(wanted(), key=lambda each: 0.0 if each.margin is None else each.margin))
