"""Where an article should stand, as a document."""

import math
from typing import Final

from msgspec import Struct

from checker.advice.place import BrokenRule, Facing, Placement, Spot, Stretch
from checker.reports.shared.json_document import record_document
from checker.reports.shared.records import BrokenSide, RuleName, broken_side, rule_name
from checker.reports.shared.words import CAUTIONS, HOOK_ANEW

KIND: Final = "positions"


class StretchRecord(Struct, frozen=True):
    """A stretch of deck on which every rule is met."""

    front: float
    """Foremost position, in m behind the ball."""
    rear: float
    """Rearmost position, in m behind the ball."""
    ended_front: tuple[BrokenSide, ...]
    """Rules that are not met further forward; empty at the end of the deck."""
    ended_rear: tuple[BrokenSide, ...]
    """Rules that are not met further back; empty at the end of the deck."""


class BestSpot(Struct, frozen=True):
    """The position whose closest limit is farthest away."""

    position: float
    """The position, in m behind the ball."""
    margin: float | None
    """Distance to the closest limit, as a share of it; null where no limit is near."""
    closest: RuleName
    """The rule with that limit."""


class PartNeeded(Struct, frozen=True):
    """A rating with which a position becomes possible."""

    rule: RuleName
    """The rule that asks for it."""
    rating: str
    """Name of the fact that is the rating."""
    least: float
    """The least value that is enough."""


class OneWay(Struct, frozen=True):
    """The result for the article facing one way."""

    facing: str
    """Which way it faces."""
    stretches: tuple[StretchRecord, ...]
    """Where every rule is met; empty where there is no such position."""
    best: BestSpot | None
    """The best position; null where there is none."""
    never: tuple[BrokenSide, ...]
    """Rules that no position meets."""
    contradiction: tuple[RuleName, ...]
    """Rules that are each met somewhere, but nowhere together."""
    fix_first: tuple[BrokenSide, ...]
    """Rules that no position and no rating would meet."""
    ratings_needed: tuple[PartNeeded, ...]
    """For rules met nowhere, the least ratings that would meet them."""
    lighter: float | None
    """The largest weight, in N, for which there is a position; null where there is none."""


class Today(Struct, frozen=True):
    """Where the article is now."""

    position: float
    """Its position, in m behind the ball."""
    facing: str | None
    """Which way it faces; null where not stated."""
    not_met: tuple[BrokenSide, ...]
    """Rules that are not met there."""


class Document(Struct, frozen=True):
    """Where an article should stand: positions of its end that is nearest the coupler."""

    article: str
    """Title of the article."""
    trailer: str
    """Title of the trailer."""
    ways: tuple[OneWay, ...]
    """The result for each way of facing."""
    today: Today | None
    """Where it is now; null where not stated."""
    cautions: tuple[str, ...]
    """What the advice does not do, for people to read."""


def document(placement: Placement) -> str:
    """The positions as a document."""
    today = None
    if placement.today is not None:
        not_met = _broken(placement.not_met_today)
        today = Today(placement.today, placement.today_facing, not_met)
    return record_document(
        KIND,
        Document(
            article=placement.load.articles[placement.article].title,
            trailer=placement.load.trailer.title,
            ways=tuple(map(_one_way, placement.facings)),
            today=today,
            cautions=(HOOK_ANEW, *CAUTIONS),
        ),
    )


def _one_way(facing: Facing) -> OneWay:
    return OneWay(
        facing=facing.facing,
        stretches=tuple(map(_stretch, facing.stretches)),
        best=_best(facing.best) if facing.best else None,
        never=_broken(facing.never),
        contradiction=tuple(map(rule_name, facing.contradiction)),
        fix_first=_broken(facing.fix_first),
        ratings_needed=tuple(
            PartNeeded(rule_name(each.rule), each.rating, each.least) for each in facing.wanted
        ),
        lighter=facing.lighter,
    )


def _stretch(each: Stretch) -> StretchRecord:
    ended = _broken(each.ended_front), _broken(each.ended_rear)
    return StretchRecord(each.front, each.rear, *ended)


def _best(best: Spot) -> BestSpot:
    margin = best.margin if math.isfinite(best.margin) else None
    return BestSpot(best.position, margin, rule_name(best.closest))


def _broken(rules: tuple[BrokenRule, ...]) -> tuple[BrokenSide, ...]:
    return tuple(broken_side(each.rule, each.side) for each in rules)
