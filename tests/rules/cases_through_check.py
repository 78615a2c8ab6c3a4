"""The published cases of load securing, and a rule held against a load on both sides of a case."""

from collections.abc import Callable, Mapping
from typing import Any

from checker.rulebooks.verdicts import Verdict
from tests.lashed_goods import Data, amount
from tests.published import published_cases

CASES = published_cases("international-cases")
NEAR = 0.002
NOT_NEEDED = "none needed"
RULES = {
    "forward": "eu-sliding-forward",
    "rear": "eu-sliding-rearward",
    "side": "eu-sliding-sideways",
}
WAYS = {"forward": "forward", "rear": "rearward", "side": "left"}

Build = Callable[[float, Mapping[str, str]], Data]


def around(build: Build, weight: float, given: Mapping[str, str]) -> tuple[Data, Data]:
    """The load just within a weight in N, and just beyond it."""
    return build(weight * (1 - NEAR), given), build(weight * (1 + NEAR), given)


def holds(
    verdict: Any, rule: str, build: Build, text: str, given: Mapping[str, str], place: str = "FR"
) -> None:
    """The rule is met up to the printed mass, and by any mass where none is needed."""
    if text == NOT_NEEDED:
        assert verdict(rule, build(1e6, given), place) is Verdict.MET
        return
    within, beyond = around(build, amount(text), given)
    assert verdict(rule, within, place) is Verdict.MET
    assert verdict(rule, beyond, place) is Verdict.NOT_MET
