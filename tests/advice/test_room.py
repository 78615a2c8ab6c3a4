"""How far one thing may change before a rule that is met no longer is."""

from datetime import date

import pytest

from checker.advice.room import rooms
from checker.documents.resources import shipped_folder
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.tolerances import check_profile
from checker.load.build import Profile, read_profile
from checker.rulebooks.model import Rulebooks
from checker.units.parsing import parse
from tests.shipped import shipped_rules

INCH, POUND = parse("1 in", "length").value, parse("1 lb", "load").value


@pytest.fixture(scope="module")
def rulebooks() -> Rulebooks:
    return shipped_rules()


@pytest.fixture(scope="module")
def profile() -> Profile:
    return read_profile(shipped_folder("profiles") / "loads/side-by-side-in-order.yaml", None)


def test_the_last_place_by_hand(profile: Profile, rulebooks: Rulebooks) -> None:
    """105 + 1420 x (124 - x - 57.352) / 124 = 10 % of 2,340 at x = 55.383 in.

    Further forward and at any weight up to twice today's the share stays inside: at the front rail
    and at 2,840 lb the tongue is below 15 %, and a lighter machine leaves the empty 11.4 %.
    """
    (room,) = rooms(*_judged("tongue-share-ball", profile, rulebooks))
    assert (room.kind, room.least) == ("place", None)
    assert room.today / INCH == pytest.approx(52)
    assert room.most is not None
    cg = 14 + 76 * 810 / 1420
    assert room.most / INCH == pytest.approx(124 - 129 * 124 / 1420 - cg, abs=1e-4)


def test_the_heaviest_machine_by_hand(profile: Profile, rulebooks: Rulebooks) -> None:
    """Gross 920 + w reaches its rating, 2,990 lb, at w = 2,070 lb; its place is all one."""
    (room,) = rooms(*_judged("trailer-within-gvwr", profile, rulebooks))
    assert (room.kind, room.least) == ("weight", None)
    assert room.today / POUND == pytest.approx(1420)
    assert room.most is not None
    assert room.most / POUND == pytest.approx(2070, abs=0.01)
    assert room.most / POUND > 2070


def _judged(
    rule_id: str, profile: Profile, rulebooks: Rulebooks
) -> tuple[Finding, Profile, Check, Rulebooks]:
    done = check_profile(profile, rulebooks, date(2026, 5, 14))
    finding = next(each for each in done.findings if each.rule.id == rule_id)
    return finding, profile, done, rulebooks
