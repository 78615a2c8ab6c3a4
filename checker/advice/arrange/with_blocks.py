"""The best plan of all: without blocks of the gear first, then with the fewest of them."""

from collections.abc import Sequence
from datetime import date

from msgspec.structs import replace

from checker.advice.arrange.blocking import blockings
from checker.advice.arrange.choices import Choices
from checker.advice.arrange.one_article import Found
from checker.advice.arrange.scores import OBJECTIVES, Figures
from checker.advice.arrange.search import EFFORT, Arranger
from checker.rulebooks.model import Rulebooks

_STEPS_OF_A_BLOCKING, _OF_SEVERAL = 5_000, 60_000
"""What it takes to judge every place with other blocks, in steps of the search: of one article, of
several."""

_SEARCHES_OF_SEVERAL = 8
"""How often each of several articles is hooked up, so that their steps are shared."""

_SHARE_TO_SAVE_GEAR = 0.2
"""Of the steps of the search, where every rule is met without blocks."""


def best_plan(
    choices: Choices,
    rulebooks: Rulebooks,
    on: date,
    order: Sequence[str] = OBJECTIVES,
    effort: int = EFFORT,
) -> tuple[Choices, Found] | None:
    """The best plan that breaks no must-rule, and the choices with its blocking; None without one.

    `effort` bounds the search without blocks, and once more that with all kinds of blocking.
    Where blocks can save no more than tiedowns, that is a share of it; nothing of several articles,
    whose search is no proof anyway.
    """
    several = len(choices.load.articles) > 1
    plain = Arranger(choices, rulebooks, on, order, effort)
    found = plain.best()
    best = None if found is None else (choices, found)
    bound, proved, left = plain.bound, found is None or found.proved, effort
    if found and not found.figures.short and not found.figures.undecided:
        left = 0 if several else int(_SHARE_TO_SAVE_GEAR * effort)
    for blocking in blockings(choices):
        some = replace(choices, blocking=blocking)
        least = _least(some)
        if best and least.key(order) >= best[1].figures.key(order):
            continue
        if left <= 0:
            proved, bound = False, _better(bound, least)
            continue
        steps = left // _SEARCHES_OF_SEVERAL if several else left
        arranger = Arranger(some, rulebooks, on, order, steps)
        better = arranger.best(best[1].figures if best else None)
        left -= arranger.steps + (_OF_SEVERAL if several else _STEPS_OF_A_BLOCKING)
        if not arranger.exhausted:
            proved = False
            bound = _better(bound, arranger.bound._replace(pieces=least.pieces))
        if better:
            best, bound = (some, better), _better(bound, better.figures)
    if best is None:
        return None
    return best[0], best[1]._replace(proved=best[1].proved and proved, bound=bound)


def _least(choices: Choices) -> Figures:
    """Figures that no plan with this blocking is better than, before any is looked at."""
    blocks = choices.blocks_used
    pieces = blocks + len(choices.load.articles)
    return Figures(0, 0, 0, pieces=pieces, changes=blocks, margin=float("inf"))


def _better(one: Figures, other: Figures) -> Figures:
    """The better of each figure."""
    return Figures(
        broken=0,
        undecided=0,
        short=min(one.short, other.short),
        pieces=min(one.pieces, other.pieces),
        changes=min(one.changes, other.changes),
        margin=max(one.margin, other.margin),
    )
