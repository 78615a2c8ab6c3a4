"""Where to stand, and the effect of a field: deck bars and lists of changes on a terminal."""

import math
from collections.abc import Iterator, Sequence

from rich.console import Console

from checker.advice.place import BrokenRule, Facing, Placement, Spot
from checker.advice.vary import Varied
from checker.facts.catalogue import catalogue
from checker.facts.printed_kind import printed_kind
from checker.reports.shared.actions import tape_step
from checker.reports.shared.glossary import Words, words_of
from checker.reports.shared.page import Page
from checker.reports.shared.words import CAUTIONS, HOOK_ANEW
from checker.rulebooks.model import Rule
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import System, show

_LEFT_FREE = 12
"""Columns beside the drawn deck, for the words in front of it."""


def print_place(placement: Placement, console: Console, system: System) -> None:
    """Print both ways of facing: the stretch where all rules are met, its ends, the best spot."""
    page = Page(console)
    machine = placement.load.articles[placement.article]
    page.line(f"Where {machine.title} stands on {placement.load.trailer.title}", style="bold")
    page.line(
        "Readings are from the centre of the ball to the end of it that is nearest the coupler."
    )
    for facing in placement.facings:
        page.heading(f"FACING {facing.facing.upper()}")
        _bar(placement, facing, page)
        if facing.stretches:
            _stretches(facing, page, system)
        else:
            _no_spot(facing, page, system, words_of(placement.load))
    _today(placement, page, system)
    page.line()
    page.line(" ".join((HOOK_ANEW, *CAUTIONS)))


def _bar(placement: Placement, facing: Facing, page: Page) -> None:
    """The deck to scale, coupler to the left: good and present positions of the front end."""
    front, rear = placement.deck
    columns = max(page.width - _LEFT_FREE, 20)

    def column(position: float) -> int:
        share = (position - front) / (rear - front)
        return min(max(int(share * (columns - 1)), 0), columns - 1)

    good = ["."] * columns
    for position in facing.positions[facing.good]:
        good[column(float(position))] = "#"
    marks = [" "] * columns
    if placement.today is not None and placement.today_facing == facing.facing:
        marks[column(placement.today)] = "^"
    if facing.best:
        marks[column(facing.best.position)] = "*"
    page.drawn(f"{'good spots':<{_LEFT_FREE}}{''.join(good)}")
    page.drawn(f"{'':<{_LEFT_FREE}}{''.join(marks)}".rstrip())
    page.line("# good  . not good  * best  ^ today; coupler to the left, deck to scale")


def _stretches(facing: Facing, page: Page, system: System) -> None:
    for stretch in facing.stretches:
        front, rear = _inward(stretch.front, stretch.rear, system)
        page.line(f"Stop between {front} and {rear}.", style="bold")
        page.line(f"Further forward: {_ended(stretch.ended_front)}.", lead="- ")
        page.line(f"Further back: {_ended(stretch.ended_rear)}.", lead="- ")
    if facing.best:
        page.line(_best(facing.best, system))


def _inward(front: float, rear: float, system: System) -> tuple[str, str]:
    """Both ends as a tape reads them, rounded so that they stay inside the stretch."""
    step = tape_step(system)
    inside = (math.ceil(front / step - 1e-6) * step, math.floor(rear / step + 1e-6) * step)
    first, last = (show(end, "length", system) for end in inside)
    return first, last


def _best(best: Spot, system: System) -> str:
    where = show(best.position, "length", system)
    if not math.isfinite(best.margin):
        return f"Any position there is as good as another, such as {where}."
    margin = f"{best.margin:.1%}".replace("%", " %")
    return (
        f"Best spot: {where}. There the closest limit is {margin} away: "
        f"{best.closest.title} [{best.closest.id}]."
    )


def _ended(rules: Sequence[BrokenRule]) -> str:
    return "; ".join(map(_broken_words, rules)) or "the end of the deck"


def _broken_words(broken: BrokenRule) -> str:
    return f"{broken.rule.when_broken(broken.side)} [{broken.id}]"


def _no_spot(facing: Facing, page: Page, system: System, words: Words) -> None:
    page.line("No position on the deck meets every rule facing this way.", style="bold")
    if facing.never:
        page.line("Broken at every position:")
    for broken in facing.never:
        page.line(_broken_words(broken), lead="- ")
    if facing.contradiction:
        page.line("Rules that cannot all be met at one position:")
    for rule in facing.contradiction:
        page.line(f"{rule.title} [{rule.id}]", lead="- ")
    if facing.fix_first:
        page.line("Fix first, whatever the position:")
    for broken in facing.fix_first:
        page.line(f"{broken.rule.fix_for(broken.side)} [{broken.id}]", lead="- ")
    if facing.lighter is not None:
        most = show(facing.lighter, "load", system)
        page.line(f"Another of the same balance, of {most} or less, has a position on this deck.")
    for wanted in facing.wanted:
        fact = catalogue()[wanted.rating]
        label = words.label(fact)
        least = show(wanted.least, printed_kind(fact), system)
        page.line(f"Or with another part: {label} of at least {least} [{wanted.rule.id}].")
    if facing.lighter is None and not facing.wanted and not facing.fix_first:
        page.line("Neither less weight nor one higher rating is enough; another trailer may be.")


def _today(placement: Placement, page: Page, system: System) -> None:
    if placement.today is None:
        return
    page.heading("TODAY")
    where = f"{show(placement.today, 'length', system)}, facing {placement.today_facing}"
    if not placement.not_met_today:
        page.line(f"It is at {where}, where all these rules are met.")
        return
    page.line(f"It is at {where}. Not met there:")
    for broken in placement.not_met_today:
        page.line(_broken_words(broken), lead="- ")
    moves = list(_moves(placement, system))
    if moves:
        page.line(f"Move it {moves[0]}.", style="bold")


def _moves(placement: Placement, system: System) -> Iterator[str]:
    """The distance from today's position to the best spot facing the same way."""
    for facing in placement.facings:
        if facing.facing == placement.today_facing and facing.best and placement.today is not None:
            change = facing.best.position - placement.today
            way = "rearward" if change > 0 else "forward"
            where = show(facing.best.position, "length", system)
            yield f"{show(abs(change), 'length', system)} {way}, to {where}"


def print_varied(varied: Varied, console: Console, system: System) -> None:
    """Print every change of a verdict as the field grows, and the rules never met."""
    page = Page(console)
    low, high = (
        show(float(end), varied.kind, system) for end in (varied.values[0], varied.values[-1])
    )
    page.line(f"{varied.field} from {low} to {high}", style="bold")
    if not varied.changes:
        page.line("No rule changes its verdict.")
    for change in varied.changes:
        value = show(change.value, varied.kind, system)
        page.line(
            f"above {value}: {change.before} -> {change.after}: {change.rule.title} "
            f"[{change.rule.id}]",
            lead="- ",
            style="bold" if _matters(change.rule, change.after) else "",
        )
    for rule in varied.never_met:
        page.line(f"Met at no value tried: {rule.title} [{rule.id}]")


def _matters(rule: Rule, after: Verdict) -> bool:
    return rule.level == "must" and after is Verdict.NOT_MET
