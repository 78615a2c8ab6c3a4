"""Variances: which days they hold, what they excuse, what they cannot, and how it is told."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from checker.cli.app import application
from checker.evaluation.check import Check, check
from checker.evaluation.outcome import Outcome
from checker.evaluation.variances import VarianceStatus
from checker.load.build import read_profile
from checker.load.model import Load
from checker.reports.shared.outcome_words import headline
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.variances import variance_problems
from checker.rulebooks.verdicts import Verdict

RULE = """\
- id: {id}
  title: At most 7,000 lb
  question: limits
  requires: trailer.gvwr <= limit
  thresholds:
    limit:
      stricter: lower
      values:
        - {{value: 7000 lb, from: 2015-10-01, source: print, at: p. 1}}
  source: print
  at: p. 1
  basis: {basis}
  level: {level}
  because: it is so
  fix: mend it
  proofs:
    - {{name: at, given: {{trailer.gvwr: 7000 lb}}, expect: met, origin: hand}}
"""
BEGINS, ENDS = date(2026, 5, 1), date(2026, 6, 1)

Book = Callable[..., Rulebooks]


@pytest.fixture
def books(rulebook: Book) -> Rulebooks:
    """Three rules of one limit: a must by guidance, a should by law, a must by law."""
    kinds = (("guide", "guidance", "must"), ("advice", "law", "should"), ("law", "law", "must"))
    return rulebook("".join(RULE.format(id=i, basis=b, level=level) for i, b, level in kinds))


def variance(rule: str, starts: date = BEGINS, ends: date = ENDS) -> str:
    return (
        f"  - {{rule: {rule}, because: no other trailer, conditions: below 25 mph, by: Ann, "
        f"from: {starts}, until: {ends}}}\n"
    )


def load_of(weight: str, *variances: str) -> str:
    stated = f"variances:\n{''.join(variances)}" if variances else ""
    return f"kind: load\ntrailer: {{{weight}}}\n{stated}"


HEAVY, LIGHT = "gvwr: 7100 lb", "gvwr: 6900 lb"
Held = Callable[[str, date], Check]


@pytest.fixture
def held(rulebook: Book, profile: Callable[[str], Load]) -> Held:
    """Held against one must-rule by guidance alone."""
    one = rulebook(RULE.format(id="guide", basis="guidance", level="must"))
    return lambda text, day: check(profile(text), one, day)


@pytest.mark.parametrize(
    ("day", "outcome", "status"),
    [
        (date(2026, 4, 30), Outcome.HOLD, VarianceStatus.NOT_BEGUN),
        (date(2026, 5, 1), Outcome.OPEN, VarianceStatus.IN_USE),
        (date(2026, 5, 31), Outcome.OPEN, VarianceStatus.IN_USE),
        (date(2026, 6, 1), Outcome.HOLD, VarianceStatus.EXPIRED),
    ],
)
def test_it_holds_from_its_first_day_to_the_day_before_until(
    held: Held, day: date, outcome: Outcome, status: VarianceStatus
) -> None:
    """The only rule is excused, so nothing was met, and that is no pass either."""
    done = held(load_of(HEAVY, variance("guide")), day)
    assert done.outcome is outcome
    assert [each for _, each in done.variances] == [status]
    (finding,) = done.findings
    assert finding.verdict is Verdict.NOT_MET
    assert (finding.variance is not None) == (status is VarianceStatus.IN_USE)


def test_with_another_rule_met_the_load_may_go(
    rulebook: Book, profile: Callable[[str], Load]
) -> None:
    other = RULE.format(id="other", basis="guidance", level="must").replace("7000 lb", "8000 lb")
    books = rulebook(RULE.format(id="guide", basis="guidance", level="must") + other)
    text = load_of(HEAVY, variance("guide"))
    assert check(profile(text), books, BEGINS).outcome is Outcome.NO_RULE_BROKEN
    assert check(profile(load_of(HEAVY)), books, BEGINS).outcome is Outcome.HOLD


@pytest.mark.parametrize("day", [date(2026, 4, 30), date(2026, 6, 1)])
def test_one_out_of_date_does_not_count(held: Held, day: date) -> None:
    """A load that meets every rule needs none."""
    assert held(load_of(LIGHT, variance("guide")), day).outcome is Outcome.NO_RULE_BROKEN


def test_what_is_met_needs_none(held: Held) -> None:
    done = held(load_of(LIGHT, variance("guide")), BEGINS)
    assert done.outcome is Outcome.NO_RULE_BROKEN
    assert [each for _, each in done.variances] == [VarianceStatus.NOT_NEEDED]


def test_what_is_not_stated_stays_open(held: Held) -> None:
    done = held(load_of("title: none", variance("guide")), BEGINS)
    assert done.outcome is Outcome.OPEN
    assert [(each.verdict, each.variance) for each in done.findings] == [(Verdict.NOT_STATED, None)]


def test_too_close_to_call_is_excused_like_not_met(held: Held) -> None:
    text = load_of("gvwr: 7000 lb +/- 50 lb", variance("guide"))
    (finding,) = held(text, BEGINS).findings
    assert finding.verdict is Verdict.TOO_CLOSE
    assert finding.variance is not None


def test_a_law_is_never_excused_even_where_nobody_looked(
    books: Rulebooks, profile: Callable[[str], Load]
) -> None:
    done = check(profile(load_of(HEAVY, variance("law"))), books, BEGINS)
    assert done.outcome is Outcome.HOLD
    assert [each.variance for each in done.findings] == [None, None, None]


@pytest.mark.parametrize(
    ("places", "company", "excused"),
    [
        # Utah's law asks for 6,500 lb, the company for 6,400 lb, guidance for 7,000 lb, of 7,100.
        ("[US-NV]", False, True),
        ("[US-UT]", False, False),
        ("[US-UT]", True, False),
        ("[US-NV]", True, True),
    ],
)
def test_a_number_set_by_the_law_of_a_place_is_never_excused(
    rulebook: Book, profile: Callable[[str], Load], places: str, *, company: bool, excused: bool
) -> None:
    books = rulebook(RULE.format(id="guide", basis="guidance", level="must"))
    folder = Path(books.books[0].file).absolute().parent
    change = "rule: guide, threshold: limit, was: 7000 lb, from: 2026-01-01"
    (folder / "law.yaml").write_text(
        "kind: sources\nsources:\n  - {id: utah, title: Utah Code, issuer: a, edition: b, "
        "jurisdiction: US-UT, read_as: text seen, look_again: 2030-01-01}\n"
    )
    (folder / "utah.yaml").write_text(
        "kind: amendment\nid: utah\ntitle: Utah\nlayer: place\njurisdiction: US-UT\nchanges:\n"
        f"  - {{{change}, value: 6500 lb, source: utah, at: 1-1}}\n"
    )
    if company:
        (folder / "crew.yaml").write_text(
            "kind: amendment\nid: crew\ntitle: Crew\nlayer: company\njurisdiction: any\nchanges:\n"
            f"  - {{{change}, value: 6400 lb, common_practice: yes}}\n"
        )
    changed = load_rulebooks(folder)
    text = load_of(HEAVY, variance("guide")) + f"trip: {{places: {places}}}\n"
    (finding,) = check(profile(text), changed, BEGINS).findings
    assert finding.verdict is Verdict.NOT_MET
    assert (finding.variance is not None) == excused


@pytest.mark.parametrize(
    ("weight", "excused"),
    # The law allows 7,000 lb, the company 6,500 lb: its own 500 lb may be excused, no more.
    [("6900 lb", True), ("7000 lb", True), ("7001 lb", False), ("6999 lb +/- 2 lb", False)],
)
def test_what_a_company_is_stricter_by_may_be_excused_down_to_the_law(
    books: Rulebooks, profile: Callable[[str], Load], weight: str, *, excused: bool
) -> None:
    folder = Path(books.books[0].file).absolute().parent
    (folder / "crew.yaml").write_text(
        "kind: amendment\nid: crew\ntitle: Crew\nlayer: company\njurisdiction: any\nchanges:\n"
        "  - {rule: law, threshold: limit, was: 7000 lb, value: 6500 lb, from: 2026-05-10,\n"
        "     common_practice: yes}\n"
    )
    changed = load_rulebooks(folder)
    load = profile(load_of(f"gvwr: {weight}", variance("law")))
    assert list(variance_problems(load.variances, changed)) == []
    day = date(2026, 5, 10)
    done = check(load, changed, day)
    (finding,) = [each for each in done.findings if each.rule.id == "law"]
    assert finding.verdict is Verdict.NOT_MET
    assert (finding.variance is not None) == excused
    statuses = [status for _, status in done.variances]
    assert statuses == [VarianceStatus.IN_USE if excused else VarianceStatus.NOT_ENOUGH]
    outcome = check(profile(load_of(f"gvwr: {weight}")), changed, day).outcome
    assert outcome is Outcome.HOLD
    # Before the policy there is nothing of its own to excuse.
    (before,) = [each for each in check(load, changed, BEGINS).findings if each.rule.id == "law"]
    assert before.variance is None


def test_before_the_policy_a_variance_of_the_law_is_refused(
    books: Rulebooks, profile: Callable[[str], Load]
) -> None:
    folder = Path(books.books[0].file).absolute().parent
    (folder / "crew.yaml").write_text(
        "kind: amendment\nid: crew\ntitle: Crew\nlayer: company\njurisdiction: any\nchanges:\n"
        "  - {rule: law, threshold: limit, was: 7000 lb, value: 6500 lb, from: 2026-06-01,\n"
        "     common_practice: yes}\n"
    )
    given = profile(load_of(HEAVY, variance("law"))).variances
    (problem,) = variance_problems(given, load_rulebooks(folder))
    assert "found a variance of law, which is law" in str(problem)


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        ([variance("law")], "4:12: found a variance of law, which is law (The Print, p. 1)"),
        ([variance("gide")], "4:12: found the rule 'gide'; wanted the id of a rule; did you mean"),
        ([variance("guide", ENDS, ENDS)], "4:12: found a variance that ends on 2026-06-01"),
        (
            [variance("guide"), variance("guide", date(2026, 5, 31), date(2026, 7, 1))],
            "5:12: found a second variance of guide from 2026-05-31",
        ),
        ([variance("advice")], None),
        ([variance("guide"), variance("guide", ENDS, date(2026, 7, 1))], None),
    ],
)
def test_what_is_refused_is_told_at_its_line(
    books: Rulebooks, profile: Callable[[str], Load], stated: list[str], said: str | None
) -> None:
    problems = [
        str(each) for each in variance_problems(profile(load_of(HEAVY, *stated)).variances, books)
    ]
    assert len(problems) == (said is not None)
    assert said is None or said in problems[0]


def test_a_field_left_out_is_told(tmp_path: Path) -> None:
    file = tmp_path / "load.yaml"
    file.write_text(load_of(HEAVY, variance("guide").replace("by: Ann, ", "")))
    done = CliRunner().invoke(application(), ["check", str(file)])
    assert done.exit_code == 2
    assert "no 'by'" in done.stderr


def test_the_bundled_load_tells_it_in_words() -> None:
    """The first stop is at mile 30: common practice wants 25, the law 50."""
    shown = CliRunner().invoke(application(), ["check", "loads/variance-late-first-stop"])
    words = " ".join(shown.stdout.split())
    assert shown.exit_code == 0
    assert "NO OTHER RULE BROKEN, of those looked at; 1 rule not met under" in words
    assert "first stop to check the load 30 mi; wanted at most 25 mi" in words
    assert "Variance until 2026-11-01 by M. Quill, safety officer: The canyon road" in words
    late = CliRunner().invoke(
        application(), ["check", "loads/variance-late-first-stop", "--on", "2026-11-01"]
    )
    assert late.exit_code == 0  # a should-rule
    assert "variance of first-load-check-early by M. Quill, safety officer expired" in " ".join(
        late.stdout.split()
    )


def test_a_variance_survives_other_numbers_in_the_load(tmp_path: Path) -> None:
    file = tmp_path / "load.yaml"
    file.write_text(load_of(HEAVY, variance("guide")))
    changed = read_profile(file).replaced({("trailer", "gvwr"): "9000 lb"}).load()
    assert [each.by for each in changed.variances] == ["Ann"]


def test_the_headline_tells_not_met_from_too_close(held: Held) -> None:
    broken = held(load_of("gvwr: 7001 lb", variance("guide")), BEGINS)
    assert "1 rule not met under a variance" in headline(broken)
    close = held(load_of("gvwr: 7000 lb +/- 10 lb", variance("guide")), BEGINS)
    assert "1 rule too close to call under a variance" in headline(close)
    assert "not met under" not in headline(close)


def test_a_long_variance_that_overlaps_two_others_is_told_with_each(
    tmp_path: Path, books: Rulebooks
) -> None:
    days = [date(2026, 1, 1), date(2026, 2, 1), date(2026, 3, 1), date(2026, 12, 31)]
    texts = [
        variance("guide", days[0], days[3]),
        variance("guide", days[1], days[2]),
        variance("guide", days[2], date(2026, 4, 1)),
        variance("guide", days[3], date(2027, 1, 1)),
    ]
    file = tmp_path / "three.yaml"
    file.write_text(load_of("gvwr: 7001 lb", *texts))
    told = [
        str(problem) for problem in variance_problems(read_profile(file).stated.variances, books)
    ]
    # The second and the third lie within the first; the fourth begins on the day the first ends.
    assert [line.split(": ", 1)[1] for line in told] == [
        f"found a second variance of guide from {day}; wanted one at a time; the other holds until "
        "2026-12-31"
        for day in ("2026-02-01", "2026-03-01")
    ]
