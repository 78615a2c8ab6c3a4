"""Whether a machine fits a trailer with the gear at hand, and the rules that stop it where not."""

import math
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from datetime import date
from enum import StrEnum
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.advice.arrange.choices import CannotArrangeError, Choices, choices_of
from checker.advice.arrange.hookups import Hookups, Taken
from checker.advice.arrange.influence import Key, Reads
from checker.advice.arrange.one_article import MOST_PIECES, Found
from checker.advice.arrange.options import Options
from checker.advice.arrange.places import Places, places_of
from checker.advice.arrange.plan_rows import PlanRows, Plans
from checker.advice.arrange.scores import Figures
from checker.advice.arrange.search import Arranger
from checker.advice.arrange.trial import Trial
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.outcome import Outcome
from checker.evaluation.tolerances import check_profile
from checker.load.build import Profile
from checker.load.model import Attachment, Gear, Load
from checker.rulebooks.model import Rulebooks

ORDER: Final = ("shoulds",)
"""What is compared: whether it fits. The best place and the least gear are for `arrange`."""

_APART = 4
"""Places tried are so many steps apart along the deck."""
_PLACES_FOR_SHOULDS = 4
_STEPS_OF_PROOF = 60_000
"""Some second of one processor."""
_FEW_POINTS = 6
_BOLTED_ON = ("accessory", "wheel", "other", None)


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

    `gear` has the kinds of tiedowns in the arrangement found, and how many of each. `check` is that
    of the arrangement, else of the place at which rules are `broken`; None where
    nothing could be arranged, for the `reason`. `broken` are the must-rules that stop it, the
    furthest from its limit first, `undecided` those that lack something, `short` the should-rules
    that are not met.
    """

    fit: Fit
    gear: tuple[tuple[str, int], ...] = ()
    check: Check | None = None
    broken: tuple[Finding, ...] = ()
    undecided: tuple[Finding, ...] = ()
    short: tuple[Finding, ...] = ()
    reason: str = ""
    proved: bool = False


def try_pair(profile: Profile, rulebooks: Rulebooks, on: date, gear: Gear | None) -> Pairing:
    """How the only article of a profile fits its trailer; its place and tiedowns are open."""
    try:
        choices = choices_of(profile, gear or profile.gear)
    except CannotArrangeError as error:
        if _is_longer_than_deck(profile.stated):
            return Pairing(Fit.DOES_NOT_FIT, reason="it is longer than the deck", proved=True)
        return Pairing(Fit.UNDECIDED, reason=str(error))
    for some in _narrowed(choices):
        arranger = Arranger(some, rulebooks, on, ORDER)
        places, figures = _some_places(arranger)
        stopped = _stopped_at(places.take([0]), arranger, rulebooks, on)
        if stopped is not None:
            return stopped
        found = _search(arranger, places, figures)
        if found is not None:
            return _of_plan(found, some, rulebooks, on)
    trial = Trial(choices, rulebooks, on, until=math.inf, effort=_STEPS_OF_PROOF)
    found = trial.best()
    if found is not None:
        return _of_plan(found, choices, rulebooks, on)
    stopping = trial.stopping() if trial.exhausted else frozenset()
    return _without_hookup(places.take([0]), arranger, rulebooks, on, stopping)


def _of_plan(found: Found, choices: Choices, rulebooks: Rulebooks, on: date) -> Pairing:
    kinds = Counter(choices.kinds[hook.kind].title for hook in found.hooks())
    return _of_check(_check_of(found.plan, choices, rulebooks, on), tuple(kinds.items()))


def _search(arranger: Arranger, places: Places, figures: Sequence[Figures]) -> Found | None:
    """A plan for the first place at which one breaks no must-rule; None where none does.

    Where it is short of a should-rule, a few more places are tried.
    """
    search = arranger.search_of(0)
    more = _PLACES_FOR_SHOULDS
    for row in range(places.size):
        goes_on = search.go_on(places.take([row]), [figures[row]])
        found = search.found()
        if found is not None:
            more -= 1
        if not goes_on or (found is not None and not (found.figures.short and more)):
            break
    return search.found()


def _narrowed(choices: Choices) -> Iterator[Choices]:
    """The choices at the corners of the article, then all where they are few."""
    corners = _at_corners(choices)
    yield corners
    points = len(choices.load.articles[0].attachments)
    if points <= _FEW_POINTS and len(corners.courses) < len(choices.courses):
        yield choices


def _at_corners(choices: Choices) -> Choices:
    """The choices with one attachment for each corner and side of the article.

    A chart asks whether it can be tied down at all; every hook-up of an article with eight points
    would take minutes. Kept are points with a rating stated, of the machine itself and not of what
    is bolted on, then the outermost ones. Courses over goods are kept where no point can be hooked
    to.
    """
    article = choices.load.articles[0]
    middle = float(article.length) / 2

    def worth(point: Attachment) -> tuple[bool, bool, float]:
        is_rated = not np.isnan(point.working_load_limit)
        return is_rated, point.part not in _BOLTED_ON, abs(float(point.x) - middle)

    kept: dict[tuple[float, float], Attachment] = {}
    for point in article.attachments:
        corner = float(np.sign(float(point.x) - middle)), float(np.sign(point.y))
        if corner not in kept or worth(point) > worth(kept[corner]):
            kept[corner] = point
    names = {(point.name,) for point in kept.values()}
    direct = tuple(each for each in choices.courses if each.points in names)
    return replace(choices, courses=direct) if direct else choices


def _some_places(arranger: Arranger) -> tuple[Places, list[Figures]]:
    """Ways to stand with their figures before anything is tied down, the best first.

    Of those close to each other along the deck and facing the same way the best one.
    """
    places = places_of(arranger.choices.load, arranger.choices.step)
    figures = arranger.figures_of_places(places)
    order = sorted(range(places.size), key=lambda row: figures[row].key((*ORDER, "margin")))
    apart = _APART * arranger.choices.step
    best: dict[tuple[int, int], int] = {}
    for row in order:
        best.setdefault((int(places.facings[row, 0]), int(places.x[row, 0] // apart)), row)
    rows = list(best.values())
    return places.take(rows), [figures[row] for row in rows]


def _is_longer_than_deck(load: Load) -> bool:
    deck = load.trailer.deck
    return any(each.length > deck.rear - deck.front for each in load.articles)


def _stopped_at(
    place: Places, arranger: Arranger, rulebooks: Rulebooks, on: date
) -> Pairing | None:
    """What stops it wherever it stands and however it is tied down; None where nothing does."""
    none = np.zeros((1, 0), dtype=np.intp)
    plans = Plans(place, none, none)
    broken: dict[Reads, set[Key]] = {}
    for reads in (Reads.NOTHING, Reads.PLACES):
        table = arranger.judge.table(plans, reads)
        flags = zip(table.rules, table.broken, strict=True)
        broken[reads] = {key for key, each in flags if each.any()}
    if not any(broken.values()):
        return None
    check = _check_of(plans, arranger.choices, rulebooks, on)
    # What no place changes comes first: where it is overloaded, no place gives a tongue weight.
    found = [each for keys in broken.values() for each in _broken(check, keys)]
    return Pairing(Fit.DOES_NOT_FIT, check=check, broken=tuple(found), proved=True)


def _without_hookup(
    place: Places,
    arranger: Arranger,
    rulebooks: Rulebooks,
    on: date,
    stopping: Collection[Key],
) -> Pairing:
    """Which must-rules the most tiedowns leave broken at the best place.

    Of those, where it is proved that there is no arrangement, the rules that are `stopping` all.
    """
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
    if proved := _broken(check, stopping):
        return Pairing(Fit.DOES_NOT_FIT, check=check, broken=proved, proved=True)
    broken = _broken(check)
    if broken:
        return Pairing(Fit.DOES_NOT_FIT, check=check, broken=broken)
    return Pairing(Fit.UNDECIDED, reason="no arrangement was found in the time for one pair")


def _check_of(plans: Plans, choices: Choices, rulebooks: Rulebooks, on: date) -> Check:
    return check_profile(PlanRows(choices).profile_of(plans, 0), rulebooks, on)


def _of_check(check: Check, gear: tuple[tuple[str, int], ...]) -> Pairing:
    """The fit of an arrangement with this gear, by the check of it."""
    short = tuple(
        each
        for each in check.findings
        if each.rule.level == "should" and (each.rows.broken[0] or each.rows.undecided[0])
    )
    if check.outcome is Outcome.HOLD:
        return Pairing(Fit.DOES_NOT_FIT, check=check, broken=_broken(check))
    if check.outcome is Outcome.NO_RULE_BROKEN:
        return Pairing(Fit.SHORT if short else Fit.FITS, gear, check, short=short)
    undecided = tuple(
        each for each in check.findings if each.rule.level == "must" and each.rows.undecided[0]
    )
    return Pairing(
        Fit.UNDECIDED, gear, check, undecided=undecided, reason=_why_open(check, undecided)
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
