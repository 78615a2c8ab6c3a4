"""`prove` must turn red: for a proof that is wrong, and for a number no proof guards."""

from collections.abc import Callable

from checker.rulebooks.model import Rulebooks
from checker.upkeep.proving import prove

Book = Callable[..., Rulebooks]

RULE = """
- id: one
  title: A rule
  question: limits
  when: trailer.has_brakes
  requires: trailer.gvwr <= limit
  thresholds:
    limit:
      stricter: lower
      values:
        - {value: 7000 lb, from: 2015-10-01, source: print, at: p. 1}
  source: print
  at: p. 1
  basis: law
  level: must
  because: it is so
  fix: mend it
  proofs:
    - {name: at, on: 2015-10-01, expect: met, origin: hand,
       given: {trailer.has_brakes: yes, trailer.gvwr: 7000 lb}}
    - {name: above, expect: not met, origin: hand,
       given: {trailer.has_brakes: yes, trailer.gvwr: 7001 lb}}
    - {name: early, on: 2015-09-30, expect: not stated, origin: hand,
       given: {trailer.has_brakes: yes, trailer.gvwr: 1 lb}}
    - {name: none, expect: does not apply, origin: hand,
       given: {trailer.has_brakes: no, trailer.gvwr: 9000 lb}}
"""


def test_a_rule_with_a_proof_for_everything_is_proved(rulebook: Book) -> None:
    done = prove(rulebook(RULE))
    assert done.proved
    # 7000 lb up and down, its first day both ways, and one comparison made strict.
    assert (done.rules, done.proofs, done.nudges) == (1, 4, 5)


def _without(name: str) -> str:
    """The rule without one of its proofs, each of which stands on two lines."""
    lines = RULE.splitlines()
    first = next(index for index, line in enumerate(lines) if f"name: {name}," in line)
    return "\n".join(lines[:first] + lines[first + 2 :])


def test_each_missing_proof_leaves_its_nudge_unnoticed(rulebook: Book) -> None:
    gaps = {
        name: [gap.change for gap in prove(rulebook(_without(name))).unnoticed]
        for name in ("at", "above", "early")
    }
    assert gaps == {
        "at": [
            "limit 7000 lb a little lower",
            "limit 7000 lb from 2015-10-02 in place of 2015-10-01",
            "requires with < for <= in `trailer.gvwr <= limit`",
        ],
        "above": ["limit 7000 lb a little higher"],
        "early": ["limit 7000 lb from 2015-09-30 in place of 2015-10-01"],
    }


def test_a_wrong_expectation_fails_with_its_place(rulebook: Book) -> None:
    done = prove(rulebook(RULE.replace("expect: not met", "expect: met")))
    (failure,) = done.failures
    assert (failure.rule, failure.proof, failure.expected, failure.found) == (
        "one",
        "above",
        "met",
        "not met",
    )
    assert not done.proved


def test_a_fact_that_decides_nothing_is_told(rulebook: Book) -> None:
    # With no case above the limit left, the second way to meet the rule is never looked at.
    idle = _without("above").replace(
        "requires: trailer.gvwr <= limit", "requires: trailer.gvwr <= limit or trip.interstate"
    )
    changes = [gap.change for gap in prove(rulebook(idle)).idle]
    assert changes == ["without trip.interstate every proof gives the same result"]


def test_two_values_in_a_row_can_be_proved(rulebook: Book) -> None:
    """The day on which one value follows another is one date, guarded from both sides."""
    two = RULE.replace(
        "from: 2015-10-01, source: print, at: p. 1}",
        "from: 2015-10-01, until: 2020-01-01, source: print, at: p. 1}\n"
        "        - {value: 8000 lb, from: 2020-01-01, source: print, at: p. 2}",
    ).replace("name: above, expect", "name: above, on: 2019-12-31, expect")
    given = "given: {trailer.has_brakes: yes, trailer.gvwr: "
    two += (
        f"    - {{name: new, on: 2020-01-01, expect: met, origin: hand, {given}8000 lb}}}}\n"
        f"    - {{name: over, expect: not met, origin: hand, {given}8001 lb}}}}\n"
    )
    done = prove(rulebook(two))
    assert done.failures == ()
    assert done.unnoticed == ()


def test_a_rule_with_a_failing_proof_is_not_nudged(rulebook: Book) -> None:
    done = prove(rulebook(RULE.replace("expect: not met", "expect: met")))
    assert done.nudges == 0


DAYS = (
    RULE.replace("  requires:", "  from: 2015-10-01\n  until: 2027-01-01\n  requires:").replace(
        "expect: not stated", "expect: does not apply"
    )
    + """\
    - {name: last, on: 2026-12-31, expect: met, origin: hand,
       given: {trailer.has_brakes: yes, trailer.gvwr: 1 lb}}
    - {name: late, on: 2027-01-01, expect: does not apply, origin: hand,
       given: {trailer.has_brakes: yes, trailer.gvwr: 1 lb}}
"""
)


def test_the_first_and_the_last_day_of_a_rule_are_nudged_too(rulebook: Book) -> None:
    """The day before the first value is not one of the rule, so its date moves one way alone."""
    done = prove(rulebook(DAYS))
    assert (done.proved, done.nudges) == (True, 5 - 1 + 4)
    lines = DAYS.splitlines()
    for name, changes in (
        ("early", ["from 2015-09-30 in place of 2015-10-01"]),
        ("last", ["until 2026-12-31 in place of 2027-01-01"]),
        ("late", ["until 2027-01-02 in place of 2027-01-01"]),
    ):
        first = next(index for index, line in enumerate(lines) if f"name: {name}," in line)
        rest = "\n".join(lines[:first] + lines[first + 2 :])
        assert [gap.change for gap in prove(rulebook(rest)).unnoticed] == changes
