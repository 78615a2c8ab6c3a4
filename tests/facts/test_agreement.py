"""Ways a tiedown is said to pull are held against the measured places of its ends."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from checker.facts.agreement import pull_problems
from checker.load.model import Load

Data = dict[str, Any]


def strap(pulls: list[str], **anchor: str) -> Data:
    """From the middle of a machine's front, 20 in up, to an anchor 40 in ahead of it."""
    return {
        "kind": "load",
        "trailer": {"anchors": {"ring": {"x": "60 in", "y": "0 in", "z": "0 in", **anchor}}},
        "articles": [
            {
                "placed": {"x": "100 in", "y": "0 in", "facing": "forward"},
                "attachments": {"eye": {"x": "0 in", "y": "0 in", "z": "20 in"}},
            }
        ],
        "tiedowns": [{"anchor": "ring", "attachment": "eye", "path": "direct", "pulls": pulls}],
    }


# 3 degrees out of square is sin(3 degrees) of the tension: with y of the anchor at 2.34 in it is
# 2.34 / sqrt(40**2 + 2.34**2 + 20**2) = 0.0523, just above 0.0523 = sin(3 degrees); 2.34 rounds it.
@pytest.mark.parametrize(
    ("pulls", "y", "wrong"),
    [
        (["forward", "down"], "0 in", None),
        (["down"], "0 in", None),
        (["rearward"], "0 in", "'rearward'"),
        (["forward", "left"], "2.4 in", None),
        (["forward", "left"], "2.3 in", "'left'"),
        (["rearward", "left"], "0 in", "'rearward', 'left'"),
    ],
)
def test_what_is_said_must_be_what_is_measured(
    profile: Callable[[str], Load], pulls: list[str], y: str, wrong: str | None
) -> None:
    found = [each.found for _, each in pull_problems(profile(json.dumps(strap(pulls, y=y))))]
    assert found == ([f"{wrong} among the pulls of tiedown 1 at ring"] if wrong else [])


def test_an_end_not_measured_leaves_it_to_the_eye(profile: Callable[[str], Load]) -> None:
    data = strap(["rearward"])
    del data["trailer"]["anchors"]["ring"]["x"]
    assert list(pull_problems(profile(json.dumps(data)))) == []
