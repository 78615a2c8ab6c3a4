"""Which fields would decide an undecided rule, against checks of profiles that state them."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from checker.cli.named_loads import LoadFinder
from checker.documents.resources import shipped_folder
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.logs.columns import data_path
from checker.logs.opening import open_log
from checker.reports.shared.not_decided import NotDecided, not_decided
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import Audit, audit
from checker.season.causes.gaps import Gap, Undecided, add_gaps
from checker.season.causes.usual_values import usual_values
from checker.season.hauls.digests import digest_of_log
from checker.season.hauls.loads import changed_meanwhile
from checker.season.running.worker import Plan
from tests.season.quick import quick_rules
from tests.shipped import shipped_rules

DAY = date(2026, 5, 1)
LOG = """\
load,date,articles.1.touches_front_structure,tow_vehicle.seats
loads/missing-information,2026-05-01,,
loads/missing-information,2026-05-02,,5
loads/side-by-side-in-order,2026-05-03,,
"""


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Audit:
    log = tmp_path_factory.mktemp("season") / "hauls.csv"
    log.write_text(LOG)
    plan = Plan(lambda _: quick_rules(), (), LoadFinder(), None, 0.05)
    return audit(open_log(log), plan, digest_of_log(log))


@pytest.fixture(scope="module")
def found(season: Audit) -> NotDecided:
    return not_decided(season)


def verdicts(stated: Mapping[str, Any], rulebooks: Rulebooks) -> dict[str, Verdict]:
    """The verdicts of the load with missing information, once it states this too."""
    profile = read_profile(shipped_folder("profiles") / "loads" / "missing-information.yaml")
    more = profile.replaced({data_path(field): text for field, text in stated.items()})
    return {each.rule.id: each.verdict for each in check_profile(more, rulebooks, DAY).findings}


def test_the_values_tried_are_usual_ones() -> None:
    assert [each.text for each in usual_values("trip.public_road")] == ["yes", "no"]
    assert {each.text for each in usual_values("articles.1.placed.facing")} == {
        "forward",
        "rearward",
    }
    # From the list of doubtful figures: 2,000 to 100,000 lb, in newtons.
    pound = 4.4482216152605
    figures = [each.si for each in usual_values("tow_vehicle.gvwr")]
    assert figures[:2] == pytest.approx([2000 * pound, 100000 * pound])
    assert {each.si for each in usual_values("tow_vehicle.seats")} >= {0, 9, 16}
    assert usual_values("articles.1.attachments") == ()


@pytest.mark.parametrize(
    ("rule", "sets"),
    [
        # Whether it touches the front decides whether these apply at all.
        ("us-front-structure-height", [(("articles.1.touches_front_structure",), "no")]),
        ("us-special-methods-fastened", [(("articles.1.special_methods",), "no")]),
        # A height of less than 8 ft, or a way without a posted clearance.
        (
            "height-under-lowest-clearance",
            [(("articles.1.height",), ""), (("trip.lowest_clearance",), "none posted")],
        ),
        # How far it stands out behind needs where its rear end is.
        ("us-rear-flag-count", [(("articles.1.length", "articles.1.placed.x"), "")]),
    ],
)
def test_only_fields_that_decide_a_rule_are_named(
    found: NotDecided, rule: str, sets: list[tuple[tuple[str, ...], str]]
) -> None:
    (never,) = (each for each in found.never if each.rule.rule.id == rule)
    assert [(each.fields, each.answer) for each in never.sets] == sets
    assert {each.hauls for each in never.sets} == {never.hauls}


def test_a_check_of_the_profile_with_that_field_says_the_same(found: NotDecided) -> None:
    by_rule = {each.rule.rule.id: each for each in found.never}
    singles = [
        (field, answer)
        for field in ("articles.1.touches_front_structure", "trip.lamps_required")
        for answer in ("yes", "no")
    ]
    for field, answer in singles:
        stated = verdicts({field: answer}, quick_rules())
        for rule, never in by_rule.items():
            decided = stated.get(rule, Verdict.DOES_NOT_APPLY) is not Verdict.NOT_STATED
            named = [each.answer for each in never.sets if each.fields == (field,)]
            assert decided == (named in ([answer], [""])), (rule, field, answer)


def test_fields_are_ranked_by_the_rules_that_they_alone_would_decide(found: NotDecided) -> None:
    decides = [len(each.rules) for each in found.fields]
    assert decides == sorted(decides, reverse=True)
    by_field = {each.field: each for each in found.fields}
    before = verdicts({}, quick_rules())
    tried = [verdicts({"trip.public_road": answer}, quick_rules()) for answer in ("yes", "no")]
    wanted = {
        rule
        for rule, verdict in before.items()
        if verdict is Verdict.NOT_STATED
        and any(each.get(rule, Verdict.DOES_NOT_APPLY) is not Verdict.NOT_STATED for each in tried)
    }
    assert set(by_field["trip.public_road"].rules) == wanted
    assert set(by_field["trip.public_road"].rules.values()) == {2}


def test_a_haul_that_states_one_of_the_fields_has_a_gap_of_its_own(season: Audit) -> None:
    # The second row states the seats, the first does not.
    with_seats = {key: gap for key, gap in season.totals.gaps.items() if "tow_vehicle.seats" in key}
    assert with_seats
    assert {each.row for gap in with_seats.values() for each in gap.rules.values()} == {2}
    assert {each.hauls for gap in with_seats.values() for each in gap.rules.values()} == {1}


def test_gaps_add_up_in_any_order() -> None:
    parts = [("x", 1, 7), ("y", 2, 3), ("x", 4, 5)]
    for order in permutations(parts):
        total: dict[str, Gap] = {}
        for rule, hauls, row in order:
            add_gaps(total, {"a b": Gap({rule: Undecided(hauls, row)})})
        assert total == {"a b": Gap({"x": Undecided(5, 5), "y": Undecided(2, 3)})}


def test_a_rule_is_tried_on_a_haul_in_which_it_is_undecided(tmp_path: Path) -> None:
    """In the first row the machine touches nothing, so what is asked of the structure is moot."""
    rows = ("loads/missing-information,2026-05-01,no", "loads/missing-information,2026-05-02,yes")
    named = []
    for order in (rows, rows[::-1]):
        log = tmp_path / "hauls.csv"
        log.write_text("\n".join([",".join(LOG.splitlines()[0].split(",")[:3]), *order]) + "\n")
        plan = Plan(lambda _: shipped_rules(), (), LoadFinder(), None, 0.05)
        done = audit(open_log(log), plan, digest_of_log(log))
        decisive = done.decisive.would_decide(frozenset())["us-front-structure-openings"]
        named.append({each.fields for each in decisive})
    assert named[0] == named[1] == {("carrier.follows_federal_rules",)}


def test_a_profile_that_was_changed_meanwhile_decides_nothing(
    season: Audit, monkeypatch: pytest.MonkeyPatch
) -> None:
    class ChangedLoads:
        def chunks(self, _: object) -> None:
            raise changed_meanwhile("loads/missing-information.yaml")

    assert season.decisive.would_decide(frozenset())
    monkeypatch.setattr(season.decisive, "_loads", ChangedLoads())
    assert season.decisive.would_decide(frozenset()) == {}


def test_a_rule_that_nothing_tried_decides_says_what_it_asks_for(found: NotDecided) -> None:
    one = replace(found.never[0], sets=(), missing=("a", "b", "c", "d", "e"))
    assert one.words == "no column found; it asks for a, b, c, d and 1 more"
