"""Small loads made at random, and the best of all their plans by looking at every one.

This does not go stage by stage as the search does: every place, every set of courses, every choice
of gear, all rules by the evaluator; statics where no other must-rule is broken.
"""

import json
import random
from collections.abc import Iterator
from datetime import date
from itertools import combinations, product
from pathlib import Path
from typing import Any

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from checker.advice.arrange.blocking import blockings
from checker.advice.arrange.choices import INCH, Choices, Hook
from checker.advice.arrange.hookups import changes
from checker.advice.arrange.places import places_of
from checker.advice.arrange.plan_rows import PlanRows, Plans
from checker.advice.arrange.scores import OBJECTIVES, Figures
from checker.documents.problems import DataPath, Mark
from checker.evaluation.evaluator import evaluate, evaluators
from checker.evaluation.rule_rows import expand
from checker.load.build import Profile, read_profile
from checker.load.model import GearBlock
from checker.mechanics.quantities import POUND_FORCE
from checker.rulebooks.model import Rulebooks

DAY = date(2026, 6, 11)

RULES = {
    "tongue": "hitch.tongue_share >= limit; 9 %",
    "tongue_heavy": "hitch.tongue_share <= limit; 16 %; should",
    "across": "article.cg_lateral <= limit; 2 in; should",
    "steep": "tiedown.angle_above_deck >= limit; 20 deg; should",
    "flat": "tiedown.angle_above_deck <= limit; 75 deg",
    "front": "article.front_tiedowns >= limit; 1",
    "rear": "article.rear_tiedowns >= limit; 1",
    "strong": "article.aggregate_working_load_limit >= limit; 2200 lb",
    "forward": "article.holds_forward >= limit; 0.8; should",
    "rearward": "article.holds_rearward >= limit; 0.4",
}
"""Rules that read places, one tiedown, several, and statics; the figures are the test's own."""

STATICS = ("forward", "rearward")
"""Those of them that are linear programmes."""


def small_load(seed: int, folder: Path) -> Profile:
    """A machine with three points on a trailer with four anchors, and three straps of two kinds."""
    draw = random.Random(seed)  # noqa: S311 - no secret
    length, width = draw.randint(60, 70), 48
    front = 40
    points = {
        f"p{number}": {
            "x": f"{x} in",
            "y": f"{draw.choice((-18, 0, 18))} in",
            "z": f"{draw.randint(8, 30)} in",
            "part": "frame",
            "working_load_limit": "no rating exists",
        }
        for number, x in enumerate((4, draw.randint(20, 40), length - 4))
    }
    anchors = {
        f"a{number}": {
            "x": f"{x} in",
            "y": f"{side * 24} in",
            "z": "0 in",
            "encloses_hook": "yes",
            "working_load_limit": f"{draw.choice((1000, 2000, 4000))} lb",
        }
        for number, (x, side) in enumerate(
            (front + draw.randint(0, 90), side) for side in (1, -1, 1, -1)
        )
    }
    straps = [
        {
            "title": f"strap of {rating} lb",
            "device": "webbing",
            "size": "2 in",
            "marked_working_load_limit": f"{rating} lb",
            "hooks_working_load_limit": f"{rating} lb",
            "tensioner_working_load_limit": f"{rating} lb",
            "pretension": "100 lbf",
            "anchor": anchor,
            "attachment": point,
            "path": "direct",
        }
        for rating, anchor, point in zip(
            draw.choice(((1100, 1100, 2500), (900, 2500, 2500))),
            draw.sample(sorted(anchors), 3),
            draw.sample(sorted(points), 3),
            strict=True,
        )
    ]
    machine = {
        "title": "machine",
        "type": "wheeled machine",
        "weight": f"{draw.randint(1200, 2400)} lb",
        "length": f"{length} in",
        "width": f"{width} in",
        "cg": {"y": f"{draw.choice((0, 2))} in", "z": "24 in"},
        "friction": 0.4,
        "axles": {
            "front": {"x": "10 in", "track": "40 in"},
            "rear": {"x": f"{length - 10} in", "track": "40 in"},
        },
        "attachments": points,
        "placed": {"x": f"{front + draw.randint(0, 6)} in", "y": "0 in", "facing": "forward"},
        "parking_brake_set": "yes",
        "in_park": "yes",
    }
    weight = int(machine["weight"].split()[0])  # type: ignore[attr-defined]
    ahead = draw.randint(40, 60) * weight // 100
    machine["axles"]["front"]["weight"] = f"{ahead} lb"  # type: ignore[index]
    machine["axles"]["rear"]["weight"] = f"{weight - ahead} lb"  # type: ignore[index]
    trailer = {
        "coupling": "ball",
        "empty_weight": "1000 lb",
        "empty_tongue_weight": "130 lb",
        "axles": {"only": {"x": f"{draw.randint(80, 96)} in", "rating": "5000 lb"}},
        "deck": {"front": f"{front} in", "rear": f"{front + length + 6} in", "width": "50 in"},
        "anchors": anchors,
    }
    data: dict[str, Any] = {
        "kind": "load",
        "trailer": trailer,
        "articles": [machine],
        "tiedowns": straps,
        "trip": {"date": "2026-06-11", "places": ["US-UT"]},
    }
    file = folder / f"load-{seed}.yaml"
    file.write_text(json.dumps(data))
    return read_profile(file)


def chocked_load(seed: int, folder: Path) -> Profile:
    """The same on a deck just 2 in longer, with the radius of its wheels stated."""
    profile = small_load(seed, folder)
    radius = random.Random(seed).choice((10, 12, 16))  # noqa: S311 - no secret
    length = float(profile.stated.articles[0].length) / INCH
    texts: dict[DataPath, Any] = {("trailer", "deck", "rear"): f"{42 + length:g} in"}
    for end in ("front", "rear"):
        texts["articles", 0, "axles", end, "wheel_radius"] = f"{radius} in"
    return profile.replaced(texts)


def chocks(count: int) -> GearBlock:
    """Chocks that stop the machine of a small load, two of them at both wheels of an end."""
    return GearBlock(
        title="chock",
        count=count,
        strength=2000 * POUND_FORCE,
        height=8 * INCH,
        chocks_wheels=1.0,
        cannot_come_loose=1.0,
        location=("", Mark(0, 0)),
    )


def best_of_all(choices: Choices, books: Rulebooks) -> tuple[Figures | None, int]:
    """The figures of the best plan that breaks no must-rule, and how many plans there are."""
    best: Figures | None = None
    count = 0
    for blocking in ((), *blockings(choices)):
        some = replace(choices, blocking=blocking)
        for plans in _every_plan(some):
            count += plans.size
            for figures in _figures(some, plans.take(_unbroken(some, plans, books)), books):
                if best is None or figures.key(OBJECTIVES) < best.key(OBJECTIVES):
                    best = figures
    return best, count


def _every_plan(choices: Choices) -> Iterator[Plans]:
    places = places_of(choices.load, choices.step)
    for each in choices.blocking:
        places = places.take(places.facings[:, 0] == each.facing)
    for pieces in range(1, sum(kind.count for kind in choices.kinds) + 1):
        sets = []
        for courses in combinations(range(len(choices.courses)), pieces):
            runs = [choices.courses[each] for each in courses]
            if len({each.anchor for each in runs}) < pieces:
                continue
            used = [each.points for each in runs]
            if max(map(used.count, used)) > -(-pieces // 3):
                continue
            sets += [
                (courses, kinds)
                for kinds in product(range(len(choices.kinds)), repeat=pieces)
                if all(kinds.count(n) <= kind.count for n, kind in enumerate(choices.kinds))
            ]
        if not sets:
            continue
        rows = np.repeat(np.arange(places.size), len(sets))
        yield Plans(
            places.take(rows),
            np.tile([each for each, _ in sets], (places.size, 1)),
            np.tile([each for _, each in sets], (places.size, 1)),
        )


def _unbroken(choices: Choices, plans: Plans, books: Rulebooks) -> NDArray[np.bool_]:
    """True in plans that break no must-rule but perhaps one of statics, which takes the time."""
    found = np.ones(plans.size, dtype=bool)
    for load, rows in PlanRows(choices).loads(plans):
        for each in evaluators(load, books, DAY).in_reach():
            for rule in each.book.rules:
                if rule.level == "must" and rule.id not in STATICS:
                    found[rows] &= ~each.rule_rows(rule).broken
    return found


def _figures(choices: Choices, plans: Plans, books: Rulebooks) -> Iterator[Figures]:
    """The figures of every plan that breaks no must-rule."""
    size = plans.size
    broken, undecided, short = (np.zeros(size, dtype=int) for _ in range(3))
    margin = np.full(size, np.inf)
    for load, rows in PlanRows(choices).loads(plans):
        for each in evaluate(load, books, DAY):
            full = each.expanded(len(rows))
            if each.rule.level == "must":
                broken[rows] += full.broken
                undecided[rows] += full.undecided
            else:
                short[rows] += full.broken | full.undecided
            spare = expand(np.where(full.satisfied, full.spare, np.nan), len(rows))
            margin[rows] = np.fmin(margin[rows], spare)
    today, blocks = choices.stands, sum(len(each.names) for each in choices.blocking)
    assert today is not None
    for row in np.flatnonzero(broken == 0).tolist():
        moved = (
            int(abs(plans.places.x[row, 0] - today.x[0, 0]) > 1e-5)
            + int(abs(plans.places.y[row, 0] - today.y[0, 0]) > 1e-5)
            + int(plans.places.facings[row, 0] != today.facings[0, 0])
        )
        pairs = zip(plans.courses[row].tolist(), plans.kinds[row].tolist(), strict=True)
        hooks = [Hook(*each) for each in pairs]
        yield Figures(
            int(broken[row]),
            int(undecided[row]),
            int(short[row]),
            plans.pieces + blocks,
            moved + changes(hooks, choices.hooked) + blocks,
            float(margin[row]),
        )
