"""Numbers of one first day in `when` and `requires` can all be proved, and only what can differ."""

import re
from collections.abc import Callable

import pytest

from checker.rulebooks.model import Rulebooks
from checker.upkeep.proving import prove

Book = Callable[..., Rulebooks]

RULE = """
- id: heavy-slow
  title: A heavy trailer goes slowly
  question: trip
  when: trailer.gvwr > heavy
  requires: trip.speed <= fastest
  thresholds:
    heavy:
      stricter: lower
      values:
        - {value: 5000 lb, from: 2025-04-01, common_practice: yes}
    fastest:
      stricter: lower
      values:
        - {value: 55 mph, from: 2025-04-01, common_practice: yes}
  common_practice: yes
  basis: common practice
  level: must
  because: it is so
  fix: mend it
  proofs:
    - {name: over, given: {trailer.gvwr: 5004 lb, trip.speed: 55.05 mph}, expect: not met, origin: o}
    - {name: at, given: {trailer.gvwr: 7000 lb, trip.speed: 55 mph}, expect: met, origin: o}
    - {name: light, given: {trailer.gvwr: 5000 lb, trip.speed: 60 mph}, expect: does not apply, origin: o}
    - {name: lighter, given: {trailer.gvwr: 4999 lb, trip.speed: 60 mph}, expect: does not apply, origin: o}
    - {name: first, on: 2025-04-01, given: {trailer.gvwr: 7000 lb, trip.speed: 50 mph}, expect: met, origin: o}
    - {name: day before, on: 2025-03-31, given: {trailer.gvwr: 7000 lb, trip.speed: 50 mph}, expect: not stated, origin: o}
    - {name: light before, on: 2025-03-31, given: {trailer.gvwr: 4000 lb, trip.speed: 50 mph}, expect: not stated, origin: o}
"""  # noqa: E501 - one proof a line, so that a test takes one away


def without(*names: str) -> str:
    lines = RULE.splitlines()
    return "\n".join(
        line for line in lines if not any(f"{{name: {each}," in line for each in names)
    )


def gaps(rulebook: Book, text: str) -> list[str]:
    done = prove(rulebook(text))
    assert done.failures == ()
    return [each.change for each in done.unnoticed]


def test_a_number_in_when_and_one_in_requires_of_one_day_are_proved(rulebook: Book) -> None:
    # Two values both ways, two days both ways, two comparisons made strict or loose.
    done = prove(rulebook(RULE))
    assert (done.nudges, done.unnoticed, done.failures) == (10, (), ())


def test_the_first_day_still_needs_its_proofs(rulebook: Book) -> None:
    heavy = "heavy 5000 lb from 2025-03-31 in place of 2025-04-01"
    fastest = "fastest 55 mph from 2025-03-31 in place of 2025-04-01"
    # Without a number in `when` the rule has no verdict on the day before, whatever its limit.
    assert gaps(rulebook, without("day before", "light before")) == [
        heavy,
        f"{fastest}, with all its numbers that change on that day",
    ]
    # A heavy trailer cannot tell whether `when` alone has its number, a light one can.
    assert gaps(rulebook, without("light before")) == [heavy]


def test_a_day_after_the_first_is_noticed_by_each_number(rulebook: Book) -> None:
    assert gaps(rulebook, without("first")) == [
        "heavy 5000 lb from 2025-04-02 in place of 2025-04-01",
        "fastest 55 mph from 2025-04-02 in place of 2025-04-01",
    ]


@pytest.mark.parametrize(
    ("requires", "change"),
    [
        # Each decides alone which speed is broken: below one, above the other.
        (
            "slowest <= trip.speed <= fastest",
            "fastest 55 mph from 2025-03-31 in place of 2025-04-01",
        ),
        ("trip.speed >= slowest and trip.speed <= fastest", "slowest 20 mph from 2025-03-31"),
    ],
)
def test_two_numbers_of_requires_need_a_proof_each(
    rulebook: Book, requires: str, change: str
) -> None:
    text = without("light", "lighter", "light before")
    text = re.sub(r"trailer.gvwr: \d+ lb, ", "", text).replace("  when: trailer.gvwr > heavy\n", "")
    text = text.replace("heavy:", "slowest:").replace("5000 lb", "20 mph")
    text = text.replace("trip.speed <= fastest", requires)
    found = gaps(rulebook, text)
    assert any(each.startswith(change) for each in found)
    assert not any("all its numbers" in each for each in found)
