"""A centre of gravity is where the axle weights put it, within what scales are good for."""

import pytest

from checker.documents.problems import Mark
from checker.load.plausible.reading import refusals

PLACES = {(): ("load.yaml", Mark(1, 1))}


def refused(cg: str, front: str, rear: str) -> bool:
    axles = {"front": {"x": "10 in", "weight": front}, "rear": {"x": "110 in", "weight": rear}}
    data = {"articles": [{"cg": {"x": cg}, "axles": axles}]}
    return any("a centre of gravity" in problem.found for problem in refusals(data, PLACES))


# By moments: 10 + 100 x 600 / 1000 = 70 in. Two hundredths of the 100 in between the axles: 2 in.
@pytest.mark.parametrize(
    ("cg", "off"),
    [("67.99 in", True), ("68 in", False), ("70 in", False), ("72 in", False), ("72.01 in", True)],
)
def test_two_hundredths_of_the_distance_between_the_axles_is_the_limit(
    cg: str, *, off: bool
) -> None:
    assert refused(cg, "400 lb", "600 lb") is off


def test_tolerances_widen_what_agrees() -> None:
    assert refused("80 in", "400 lb", "600 lb")
    assert not refused("80 in", "400 lb +/- 50 lb", "600 lb +/- 50 lb")
