"""A lashing carries what its weakest part carries, in the calculations at LC.

Expected figures are the lowest of the stated ratings, or laws: a weaker part never helps, and the
units in which a rating is written do not matter.
"""

import copy
import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checker.documents.problems import ProblemsFoundError
from checker.facts.view import Facts
from checker.units.arithmetic import NONE
from tests.lashed_goods import Data, add_direct, add_over, goods

Read = Callable[[Data], Facts]

LABEL = {"lashing_capacity": "2000 daN", "standard_tension": "300 daN"}


def lashed(**label: Any) -> Data:
    """A crate with one direct lashing and one over the top."""
    data = goods(10_000.0, friction=0.3)
    add_direct(data, (1.0, 0.0, 1.0), (1.0, 0.0, -1.0), **(LABEL | label))
    add_over(data, math.radians(80), **(LABEL | label))
    return data


def of_tiedown(facts: Facts, name: str, index: int = 0) -> float:
    return float(facts.value(f"tiedown.{name}", facts.subjects("tiedown")[index]))


def test_a_label_alone_counts_for_hooks_and_tensioner(read: Read) -> None:
    """LC of EN 12195-2 is that of the assembled lashing (reference, secondary copy)."""
    facts = read(lashed())
    assert of_tiedown(facts, "lashing_strength") == pytest.approx(20_000)
    assert of_tiedown(facts, "lashing_tension") == pytest.approx(3_000)


@pytest.mark.parametrize("field", ["lashing_capacity", "working_load_limit"])
@pytest.mark.parametrize("part", ["hooks", "tensioner", "anchor", "attachment"])
def test_each_part_limits_by_its_lc_or_else_its_working_load_limit(
    read: Read, part: str, field: str
) -> None:
    data = lashed()
    strap = data["tiedowns"][0]
    if part in ("hooks", "tensioner"):
        strap[f"{part}_{field}"] = "100 daN"
    else:
        points = data["trailer"]["anchors"] if part == "anchor" else None
        point = (points or data["articles"][0]["attachments"])[strap[part]]
        del point["working_load_limit"]
        point[field] = "100 daN"
    facts = read(data)
    assert of_tiedown(facts, "lashing_strength") == pytest.approx(1_000)
    assert of_tiedown(facts, "lashing_tension") == pytest.approx(1_000)
    assert of_tiedown(facts, "lashing_strength", 1) == pytest.approx(20_000)


def test_the_lc_of_a_part_comes_before_its_working_load_limit(read: Read) -> None:
    data = lashed(hooks_working_load_limit="700 daN", hooks_lashing_capacity="1400 daN")
    assert of_tiedown(read(data), "lashing_strength") == pytest.approx(14_000)


def test_the_far_ring_of_a_lashing_over_the_top_counts(read: Read) -> None:
    data = lashed()
    data["trailer"]["anchors"]["over-1-right"]["working_load_limit"] = "200 daN"
    facts = read(data)
    assert of_tiedown(facts, "lashing_tension", 1) == pytest.approx(2_000)
    assert of_tiedown(facts, "counted_lashing_capacity", 1) == pytest.approx(2_000)


def test_a_ring_that_holds_both_ends_of_a_loop_counts_at_half(read: Read) -> None:
    """GDV 3.4.3: LC of a loop no more than half of the point's, text seen."""
    data = lashed()
    loop = data["tiedowns"][1]
    loop |= {"path": "same side", "far_anchor": loop["anchor"]}
    data["trailer"]["anchors"]["over-1-left"]["working_load_limit"] = "2000 daN"
    assert of_tiedown(read(data), "lashing_strength", 1) == pytest.approx(10_000)


@pytest.mark.parametrize("at", ["anchors", "attachments"])
def test_a_point_without_a_rating_leaves_it_open(read: Read, at: str) -> None:
    data = lashed()
    points = data["trailer"][at] if at == "anchors" else data["articles"][0][at]
    del points["point-0"]["working_load_limit"]
    facts = read(data)
    assert math.isnan(of_tiedown(facts, "lashing_strength"))
    missing = facts.missing("tiedown.lashing_strength", facts.subjects("tiedown")[0])
    assert (
        f"{'trailer' if at == 'anchors' else 'articles.1'}.{at}.point-0.lashing_capacity" in missing
    )


def test_fittings_that_are_not_rated_limit_nothing(read: Read) -> None:
    assert of_tiedown(read(lashed()), "fittings_lashing_capacity") == NONE


@pytest.mark.parametrize("unit", ["daN", "N", "kN", "kg", "lbf"])
def test_the_unit_of_a_label_does_not_matter(read: Read, unit: str) -> None:
    """1 kg stands for 9.80665 N, 1 lbf for 4.4482216152605 N, exact."""
    newtons = {"daN": 10.0, "N": 1.0, "kN": 1000.0, "kg": 9.80665, "lbf": 4.4482216152605}[unit]
    data = lashed(lashing_capacity=f"{20_000 / newtons!r} {unit}")
    assert of_tiedown(read(data), "lashing_strength") == pytest.approx(20_000)


G_HELD = [
    f"{name}_{way}"
    for name in ("en_12195_1_sliding", "en_12195_1_direct_tilting", "australia_direct")
    for way in ("forward", "rearward", "left", "right")
]
PARTS = (
    ("tiedowns", 0, "lashing_capacity"),
    ("tiedowns", 1, "hooks_lashing_capacity"),
    ("tiedowns", 2, "tensioner_working_load_limit"),
    ("trailer", "anchors", "point-3", "working_load_limit"),
    ("articles", 0, "attachments", "point-0", "working_load_limit"),
    ("articles", 0, "weight"),
)


def at_corners() -> Data:
    """A crate with a lashing from each corner, outward and down."""
    data = goods(12_000.0, friction=0.3)
    for x, out in ((0.1, -0.8), (1.9, 0.8)):
        for y in (0.9, -0.9):
            add_direct(data, (x, y, 0.8), (out, 0.4 * y, -0.7), **LABEL)
    return data


def held(facts: Facts) -> dict[str, float]:
    article = facts.subjects("article")[0]
    return {name: float(facts.value(f"article.{name}", article)) for name in G_HELD}


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(part=st.sampled_from(PARTS), low=st.floats(3_500, 30_000), more=st.floats(1.0, 3.0))
def test_a_weaker_part_or_more_load_never_holds_more(
    read: Read, *, part: tuple[str | int, ...], low: float, more: float
) -> None:
    """Friction is a share of the weight, so that more weight takes away what lashings add."""

    def with_figure(newtons: float) -> dict[str, float]:
        data = copy.deepcopy(at_corners())
        inside: Any = data
        for each in part[:-1]:
            inside = inside[each]
        inside[part[-1]] = f"{newtons!r} N"
        return held(read(data))

    less, greater = with_figure(low), with_figure(low * more)
    if part[-1] == "weight":
        less, greater = greater, less
    assert [name for name in G_HELD if not greater[name] >= less[name] - 1e-12] == []


def test_a_point_said_to_have_no_rating_has_no_lc(read: Read) -> None:
    data = lashed()
    data["articles"][0]["attachments"]["point-0"]["lashing_capacity"] = "900 daN"
    with pytest.raises(ProblemsFoundError, match="no rating exists"):
        read(data)
