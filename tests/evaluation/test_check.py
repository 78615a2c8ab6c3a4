"""Verdicts, outcomes and findings: hand-made rules over hand-made loads."""

from collections.abc import Callable
from datetime import date

import pytest

from checker.evaluation.check import Check, check, deciding_fields
from checker.evaluation.finding import Finding
from checker.evaluation.outcome import Outcome
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from tests.small_rules import rule, threshold

DAY = date(2026, 5, 14)
Profile = Callable[[str], Load]
Book = Callable[..., Rulebooks]


def only(done: Check) -> Finding:
    (finding,) = done.findings
    return finding


@pytest.mark.parametrize(
    ("gvwr", "verdict", "outcome"),
    [
        ("6999.9 lb", Verdict.MET, Outcome.NO_RULE_BROKEN),
        ("7000 lb", Verdict.MET, Outcome.NO_RULE_BROKEN),
        ("7000.1 lb", Verdict.NOT_MET, Outcome.HOLD),
        ("7000 lb +/- 1 lb", Verdict.TOO_CLOSE, Outcome.OPEN),
        ("6998 lb +/- 1 lb", Verdict.MET, Outcome.NO_RULE_BROKEN),
        ("7002 lb +/- 1 lb", Verdict.NOT_MET, Outcome.HOLD),
    ],
)
def test_a_limit_decides_at_below_and_above(
    profile: Profile, rulebook: Book, gvwr: str, verdict: Verdict, outcome: Outcome
) -> None:
    books = rulebook(rule("trailer.gvwr <= limit", more=threshold("7000 lb")))
    done = check(profile(f"kind: load\ntrailer: {{gvwr: {gvwr}}}\n"), books, DAY)
    assert only(done).verdict is verdict
    assert done.outcome is outcome


def test_what_is_not_stated_is_never_met_and_is_named(profile: Profile, rulebook: Book) -> None:
    books = rulebook(rule("trailer.gvwr <= limit", more=threshold("7000 lb")))
    done = check(profile("kind: load\n"), books, DAY)
    assert only(done).verdict is Verdict.NOT_STATED
    assert only(done).missing == ("trailer.gvwr",)
    assert done.outcome is Outcome.OPEN


def test_a_finding_names_the_line_of_every_field_behind_its_facts(
    profile: Profile, rulebook: Book
) -> None:
    books = rulebook(rule("cargo.weight <= limit", more=threshold("1 lb")))
    text = "kind: load\narticles:\n  - weight: 900 lb\n  - {name: two, weight: 0.5 t}\n"
    (used,) = only(check(profile(text), books, DAY)).facts
    places = {field: (origin.mark.line, origin.text) for field, origin in used.origins.items()}
    assert places == {"articles.1.weight": (3, "900 lb"), "articles.2.weight": (4, "0.5 t")}


def test_margin_is_a_share_of_the_limit(profile: Profile, rulebook: Book) -> None:
    books = rulebook(rule("trailer.gvwr <= limit", more=threshold("8000 lb")))
    done = check(profile("kind: load\ntrailer: {gvwr: 7000 lb}\n"), books, DAY)
    assert only(done).margin == pytest.approx(0.125)  # (8000 - 7000) / 8000


@pytest.mark.parametrize(
    ("gvwr", "verdict", "fix"),
    [
        ("4900 lb", Verdict.NOT_MET, "add"),
        ("5100 lb", Verdict.MET, "add"),  # 100 lb above the lower limit, 4900 lb below the upper
        ("5000 lb +/- 100 lb", Verdict.TOO_CLOSE, "add"),
        ("9900 lb", Verdict.MET, "remove"),
        ("10000 lb +/- 100 lb", Verdict.TOO_CLOSE, "remove"),
        ("10100 lb", Verdict.NOT_MET, "remove"),
    ],
)
def test_what_to_do_goes_away_from_the_nearer_limit(
    profile: Profile, rulebook: Book, gvwr: str, verdict: Verdict, fix: str
) -> None:
    texts = (
        "fix_below: add\n  fix_above: remove\n  broken: wrong\n  broken_below: too light\n  "
        f"broken_above: too heavy\n  {threshold('5000 lb')}"
    )
    books = rulebook(rule("limit <= trailer.gvwr <= 2 * limit", more=texts))
    done = check(profile(f"kind: load\ntrailer: {{gvwr: {gvwr}}}\n"), books, DAY)
    assert only(done).verdict is verdict
    assert only(done).fix == fix
    broken = {"add": "too light", "remove": "too heavy"}[fix]
    assert only(done).broken == (broken if verdict is Verdict.NOT_MET else None)
    assert only(done).statement == (broken if verdict is Verdict.NOT_MET else "A rule")


def test_a_rule_that_does_not_apply_is_no_pass(profile: Profile, rulebook: Book) -> None:
    books = rulebook(rule("trailer.breakaway_fitted", more="when: trailer.has_brakes"))
    done = check(profile("kind: load\ntrailer: {brakes: none}\n"), books, DAY)
    assert only(done).verdict is Verdict.DOES_NOT_APPLY
    assert done.outcome is Outcome.OPEN


def test_unknown_whether_it_applies_is_not_stated_even_when_it_would_be_met(
    profile: Profile, rulebook: Book
) -> None:
    books = rulebook(rule("trailer.breakaway_fitted", more="when: trailer.has_brakes"))
    done = check(profile("kind: load\ntrailer: {breakaway_fitted: yes}\n"), books, DAY)
    assert only(done).verdict is Verdict.NOT_STATED
    assert only(done).missing == ("trailer.brakes",)


def test_should_rules_do_not_hold_a_load(profile: Profile, rulebook: Book) -> None:
    rules = rule("trailer.gvwr <= limit", id="advice", level="should", more=threshold("1 lb"))
    rules += rule("trailer.breakaway_fitted", id="duty")
    done = check(
        profile("kind: load\ntrailer: {gvwr: 7000 lb, breakaway_fitted: yes}\n"),
        rulebook(rules),
        DAY,
    )
    assert [each.verdict for each in done.findings] == [Verdict.NOT_MET, Verdict.MET]
    assert done.outcome is Outcome.NO_RULE_BROKEN


def test_the_worst_article_governs_whatever_the_order(profile: Profile, rulebook: Book) -> None:
    books = rulebook(
        rule("article.weight <= limit", more="for_each: article\n  " + threshold("1000 lb"))
    )
    articles = [
        "{name: light, weight: 900 lb}",
        "{name: heavy, weight: 1300 lb}",
        "{name: less, weight: 1200 lb}",
    ]
    for order in (articles, articles[::-1]):
        text = "kind: load\narticles:\n" + "".join(f"  - {each}\n" for each in order)
        finding = only(check(profile(text), books, DAY))
        assert finding.verdict is Verdict.NOT_MET
        assert finding.subject is not None
        assert finding.subject.name == "heavy"
        assert {s.name: str(v) for s, v in finding.subjects} == {
            "light": "met",
            "heavy": "not met",
            "less": "not met",
        }


@pytest.mark.parametrize(
    ("tiedowns", "verdict"), [("", Verdict.NOT_STATED), ("tiedowns: []\n", Verdict.DOES_NOT_APPLY)]
)
def test_no_tiedowns_is_not_the_same_as_tiedowns_not_stated(
    profile: Profile, rulebook: Book, tiedowns: str, verdict: Verdict
) -> None:
    books = rulebook(rule("tiedown.can_be_tightened", more="for_each: tiedown"))
    done = check(profile(f"kind: load\narticles: [{{weight: 1 lb}}]\n{tiedowns}"), books, DAY)
    assert only(done).verdict is verdict


class TestDates:
    """Half-open intervals: in force from the first day, up to the day before `until`."""

    @pytest.mark.parametrize(
        ("day", "verdict"),
        [
            (date(2020, 6, 30), Verdict.NOT_STATED),
            (date(2020, 7, 1), Verdict.MET),
            (date(2021, 6, 30), Verdict.MET),
            (date(2021, 7, 1), Verdict.NOT_STATED),
        ],
    )
    def test_a_value_holds_on_its_own_days_only(
        self, profile: Profile, rulebook: Book, day: date, verdict: Verdict
    ) -> None:
        limit = threshold("7000 lb", starts="2020-07-01", more=", until: 2021-07-01")
        books = rulebook(rule("trailer.gvwr <= limit", more=limit))
        done = check(profile("kind: load\ntrailer: {gvwr: 7000 lb}\n"), books, day)
        assert only(done).verdict is verdict

    def test_outside_all_dates_the_nearest_value_is_told(
        self, profile: Profile, rulebook: Book
    ) -> None:
        books = rulebook(
            rule("trailer.gvwr <= limit", more=threshold("7000 lb", starts="2020-07-01"))
        )
        done = check(profile("kind: load\ntrailer: {gvwr: 1 lb}\n"), books, date(2020, 6, 30))
        assert only(done).reason == (
            "no value of 'limit' on 2020-06-30; the nearest is 7000 lb from 2020-07-01 "
            "(The Print, p. 1)"
        )


class TestScope:
    HEAD = """
    applies:
      when: trip.interstate
      because: only between states
      proofs: [{name: a, given: {}, expect: not stated, origin: hand}]
    """

    @pytest.mark.parametrize(
        ("interstate", "verdict"),
        [
            ("yes", Verdict.NOT_MET),
            ("no", Verdict.DOES_NOT_APPLY),
            (None, Verdict.NOT_STATED),
        ],
    )
    def test_a_rulebook_out_of_force_takes_its_rules_along(
        self, profile: Profile, rulebook: Book, interstate: str | None, verdict: Verdict
    ) -> None:
        books = rulebook(rule("trailer.breakaway_fitted"), self.HEAD)
        trip = f"trip: {{interstate: {interstate}}}\n" if interstate else ""
        load = profile(f"kind: load\ntrailer: {{breakaway_fitted: no}}\n{trip}")
        finding = only(check(load, books, DAY))
        assert finding.verdict is verdict
        if interstate == "no":
            assert finding.reason == "only between states"
        if interstate is None:
            assert finding.missing == ("trip.interstate",)


class TestTwoPrints:
    """A figure printed in feet and in metres that are not equal: the stricter decides in metric."""

    RULE = (
        "- {id: long, title: t, question: limits, for_each: article, "
        "requires: article.length <= limit, thresholds: {limit: {stricter: lower, values: "
        "[{value: 10 ft, metric_print: 3.04 m, from: 2015-10-01, source: print, at: p}]}}, "
        "source: print, at: p, basis: law, level: must, because: b, fix: f, "
        "proofs: [{name: a, given: {}, expect: not stated, origin: o}]}"
    )

    @pytest.mark.parametrize(
        ("length", "verdict", "metric"),
        [
            ("10 ft", Verdict.MET, False),
            ("3.045 m", Verdict.NOT_MET, True),
            ("3.04 m", Verdict.MET, False),
            ("3.049 m", Verdict.NOT_MET, False),
        ],
    )
    def test_inside_the_gap_only_a_metric_length_fails(
        self, profile: Profile, rulebook: Book, length: str, verdict: Verdict, metric: bool
    ) -> None:
        load = profile(f"kind: load\narticles: [{{length: {length}}}]\n")
        finding = only(check(load, rulebook(self.RULE), DAY))
        assert finding.verdict is verdict
        assert finding.metric_print is metric


def test_a_field_that_decides_at_once_comes_before_one_that_many_rules_lack(
    profile: Profile, rulebook: Book
) -> None:
    """The ball size is lacking in three rules, but alone decides none of them."""
    rules = rule("hitch.ball_size == hitch.coupler_size", id="a")
    for name in ("length", "width"):
        each = {"id": name, "more": "for_each: article"}
        rules += rule(f"hitch.ball_size == article.{name}", **each)
    rules += rule("trailer.gvwr <= limit", id="z", more=threshold("1 lb"))
    done = check(profile("kind: load\narticles: [{}]\n"), rulebook(rules), DAY)
    first, second, *_ = deciding_fields(done.findings)
    assert first == ("trailer.gvwr", 1, 1)
    assert second == ("tow_vehicle.ball.size", 0, 0)


@pytest.mark.parametrize(("most", "asked"), [(2, []), (3, ["length", "width", "height"])])
def test_a_should_that_lacks_more_than_is_listed_is_not_asked_for(
    profile: Profile, rulebook: Book, most: int, asked: list[str]
) -> None:
    size = "article.length + article.width <= article.height"
    books = rulebook(rule(size, level="should", more="for_each: article"))
    done = check(profile("kind: load\narticles: [{}]\n"), books, DAY)
    found = {field.field for field in deciding_fields(done.findings, most)}
    assert found == {f"articles.1.{name}" for name in asked}


def test_the_fields_that_decide_most_come_first(profile: Profile, rulebook: Book) -> None:
    rules = rule("trailer.gvwr <= limit", id="a", more=threshold("1 lb"))
    rules += rule("trailer.gvwr >= limit", id="b", more=threshold("1 lb"))
    rules += rule("hitch.ball_size == hitch.coupler_size", id="c")
    done = check(profile("kind: load\n"), rulebook(rules), DAY)
    assert deciding_fields(done.findings) == [
        ("trailer.gvwr", 2, 2),
        ("tow_vehicle.ball.size", 0, 0),
        ("trailer.coupler.size", 1, 1),
    ]
