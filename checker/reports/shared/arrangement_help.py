"""What would give a load an arrangement, which gear it needs, and the room at the mark, in words.

Each comes as lines for a page or a terminal, and as plain data for JSON.
"""

import math
from collections.abc import Iterator, Sequence
from typing import Any

from checker.advice.arrange.blocking import is_on_offer
from checker.advice.arrange.helps import Help
from checker.advice.arrange.influence import Reads
from checker.advice.arrange.mark_room import FURTHEST, MarkRoom, WayOff
from checker.advice.arrange.one_article import MOST_PIECES
from checker.advice.arrange.what_if import GearNeed
from checker.advice.arrange.why_not import Stop, WhyNot
from checker.reports.shared.actions import tape_step
from checker.reports.shared.arrangement.blocking import unfit_lines
from checker.reports.shared.words import join_words, number_of
from checker.rulebooks.model import Rule
from checker.units.formatting import FORCE, System, show

_TRIED = {
    Reads.PLACES: ("way to stand", "ways to stand"),
    Reads.ONE_TIEDOWN: ("single tiedown", "single tiedowns"),
    Reads.TIEDOWNS: ("set of tiedowns", "sets of tiedowns"),
    Reads.STATICS: ("set of tiedowns", "sets of tiedowns"),
}
_MOST_NAMED = 6
_SMALLER = {"a lighter article": "More", "more pieces": "Fewer"}
_FIGURES = {
    "more pieces": "count",
    "stronger tiedowns": "working_load_limit",
    "stronger anchors": "rating",
    "a pair of anchors": "rating",
    "a lighter article": "weight",
}
_LEFT = {
    "as good": "{without} there is an arrangement as good",
    "worse": "{without} the arrangement is worse",
    "possible": "{without} there is an arrangement, which was not compared in time",
    "impossible": "{without} there is no arrangement",
    "not decided": "whether there is an arrangement {without} was not decided in time",
}


def why_not_lines(why: WhyNot, system: System) -> Iterator[str]:
    """Why there is no arrangement, what stops it, what would help, and what was not tried."""
    if why.fixed:
        yield "No arrangement changes these; fix them first:"
        yield from (f"- {_rule_words(rule)}" for rule in why.fixed)
    if not why.decided:
        yield "The search ended before it was decided whether there is an arrangement."
    elif why.stops:
        yield from _stop_lines(why)
    if why.helps:
        yield "With one of these there is an arrangement, the cheapest first:"
        yield from (f"- {help_words(each, system)}" for each in why.helps)
    elif why.stops or not why.decided:
        yield "No single change tried would give it an arrangement."
    yield from unfit_lines(why.choices)
    if why.not_tried:
        yield f"Not decided in time, or not tried: {', '.join(why.not_tried)}."


def _stop_lines(why: WhyNot) -> Iterator[str]:
    *before, last = why.stops
    step = "1 in" if why.choices.step > 0.0252 else "25 mm"
    if why.proved:
        yield (
            f"There is no arrangement. That is proved: every way to stand in steps of {step} "
            f"was tried with every tiedown of the gear, up to {MOST_PIECES} and one to an anchor"
            f"{', and with its blocks' if is_on_offer(why.choices) else ''}."
        )
    else:
        yield "No arrangement was found. That is no proof: not all of them were tried."
    for stop in before:
        if stop.passed < stop.tried and stop.rules:
            left = stop.tried - stop.passed
            yield f"{_counted(left, stop)} of {stop.tried:,} {_them(left)} ruled out by:"
            yield from (f"- {_rule_words(rule)}" for rule in stop.rules)
    if last.passed:
        yield (
            f"Of the {_counted(last.passed, last)} left no set fits: every tiedown needs an anchor "
            "of its own, and the points of the article share them evenly."
        )
        return
    yield f"{_counted(last.tried, last)} left, all stopped by:"
    yield from (f"- {_rule_words(rule)}" for rule in last.rules[:_MOST_NAMED])
    if len(last.rules) > _MOST_NAMED:
        yield f"- and {number_of(len(last.rules) - _MOST_NAMED, 'more rule')}"


def _counted(number: int, stop: Stop) -> str:
    return f"{number:,} {_TRIED[stop.reads][number != 1]}"


def _them(number: int) -> str:
    return "is" if number == 1 else "are"


def _rule_words(rule: Rule) -> str:
    return f"{rule.when_broken()} [{rule.id}]"


def help_words(each: Help, system: System) -> str:
    """One change with which there is an arrangement, as a sentence."""
    words = _change_words(each, system)
    if each.undecided:
        named = ", ".join(rule.id for rule in each.undecided[:_MOST_NAMED])
        more = len(each.undecided) - _MOST_NAMED
        named += f" and {more} more" if more > 0 else ""
        words += f" State what these rules need there first: {named}."
    if each.closest:
        return words
    return f"{words} {_SMALLER.get(each.kind, 'Less')} may do."


def _change_words(each: Help, system: System) -> str:
    match each.kind:
        case "more pieces":
            return f"Carry {each.figure:.0f} of '{each.name}' in all."
        case "stronger tiedowns":
            limit = show(each.figure, FORCE, system)
            return (
                f"In place of '{each.name}': tiedowns with a working load limit of {limit}, "
                f"hooks and tensioners included; it takes {each.pieces}."
            )
        case "stronger anchors":
            return f"Have every anchor rated at least {show(each.figure, 'load', system)}."
        case "another anchor":
            return f"Fit an anchor like '{each.name}' {_at(each, system)}."
        case "a pair of anchors":
            rating = "" if math.isnan(each.figure) else f", as strong as '{each.name}'"
            return f"Fit a pair of anchors, one on each side, {_at(each, system)}{rating}."
        case "a lighter article":
            most = show(each.figure, "load", system)
            return f"Haul '{each.name}' at {most} or less, with the same balance."
        case "another tow vehicle":
            return f"Tow with '{each.name}' ({each.file})."
    return f"Take the trailer '{each.name}' ({each.file})."


def _at(each: Help, system: System) -> str:
    x, y = each.at or (math.nan, math.nan)
    side = "left" if y > 0 else "right"
    behind, across = show(x, "length", system), show(abs(y), "length", system)
    if each.kind == "a pair of anchors":
        return f"{behind} behind the ball and {across} from the middle"
    return f"{behind} behind the ball and {across} {side} of the middle"


def why_not_data(why: WhyNot) -> dict[str, Any]:
    """The same as plain data: forces in N, lengths in m, rules by their id."""
    return {
        "proved": why.proved,
        "decided": why.decided,
        "no_arrangement_changes": [rule.id for rule in why.fixed],
        "stopped_by": [
            {
                "stage": stop.reads.name.lower(),
                "tried": stop.tried,
                "passed": stop.passed,
                "rules": [rule.id for rule in stop.rules],
            }
            for stop in why.stops
        ],
        "would_help": [_help_data(each) for each in why.helps],
        "not_tried": list(why.not_tried),
    }


def _help_data(each: Help) -> dict[str, Any]:
    found: dict[str, Any] = {"change": each.kind, "name": each.name, "closest": each.closest}
    if each.kind in _FIGURES and not math.isnan(each.figure):
        is_count = each.kind == "more pieces"
        found[_FIGURES[each.kind]] = int(each.figure) if is_count else each.figure
    if each.pieces:
        found["pieces"] = each.pieces
    if each.at:
        found["at"] = {"x": each.at[0], "y": each.at[1]}
    if each.file:
        found["file"] = each.file
        found["undecided"] = [rule.id for rule in each.undecided]
    return found


def gear_need_lines(needs: Sequence[GearNeed]) -> Iterator[str]:
    """Which gear an arrangement never needs, and what is left without the rest."""
    never = [f"'{each.title}'" for each in needs if not each.used]
    if never:
        yield f"Never needed: {join_words(never)}."
    for each in needs:
        if not each.used:
            continue
        spare = each.count - each.used
        words = f"'{each.title}': {each.used} of {each.count} used"
        words += f"; {_LEFT[each.without].format(without='without them')}"
        if spare:
            words += f"; {number_of(spare, 'piece')} can stay behind"
        elif each.one_less != each.without:
            words += f"; {_LEFT[each.one_less].format(without='with one less')}"
        yield f"{words}."


def gear_need_data(needs: Sequence[GearNeed]) -> list[dict[str, Any]]:
    """The same as plain data."""
    return [
        {
            "title": each.title,
            "count": each.count,
            "used": each.used,
            "without": each.without,
            "one_less": each.one_less,
        }
        for each in needs
    ]


def mark_room_lines(rooms: Sequence[MarkRoom], system: System) -> Iterator[str]:
    """How far the crew may miss the mark, rounded down to what a tape reads."""
    for room in rooms:
        yield (
            f"{room.article}: up to {_distance(room.every_way, system)} off its mark in any "
            "direction, along and across at once."
        )
        for way in room.ways:
            yield f"- {_way_words(way, system)}"


def _way_words(way: WayOff, system: System) -> str:
    direction = way.way if way.way in ("forward", "rearward") else f"to the {way.way}"
    distance = _distance(way.distance, system)
    match way.end:
        case "furthest":
            return f"{_distance(FURTHEST, system)} {direction} and more"
        case "rules":
            named = join_words([f"{each.title} [{each.id}]" for each in way.ended_by])
            return f"{distance} {direction}; not met further on: {named}"
        case "article":
            return f"{distance} {direction}, up to the next article"
        case "reach":
            return f"{distance} {direction}, as far as the tiedowns reach"
    return f"{distance} {direction}, to the end of the deck"


def _distance(distance: float, system: System) -> str:
    step = tape_step(system)
    return show(math.floor(distance / step + 1e-6) * step, "length", system)


def mark_room_data(rooms: Sequence[MarkRoom]) -> list[dict[str, Any]]:
    """The same as plain data, in m."""
    return [
        {
            "article": room.article,
            "every_way": room.every_way,
            "ways": [
                {
                    "way": way.way,
                    "distance": way.distance,
                    "end": way.end,
                    "rules": [rule.id for rule in way.ended_by],
                }
                for way in room.ways
            ],
        }
        for room in rooms
    ]
