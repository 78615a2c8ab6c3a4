"""Tolerances: all corners up to ten, the corners that matter beyond, and what would settle it."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.documents.resources import shipped_folder
from checker.evaluation import tolerances
from checker.evaluation.check import check
from checker.load import build
from checker.load.build import read_profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from tests.shipped import shipped_rules

DAY = date(2026, 5, 14)
Book = Callable[..., Rulebooks]

LIMIT = """
- id: gross
  title: Gross weight within the limit
  question: limits
  requires: trailer.gross_weight <= limit
  thresholds:
    limit: {stricter: lower, values: [{value: 2100 lb, from: 2015-10-01, source: print, at: p}]}
  source: print
  at: p
  basis: law
  level: must
  because: it is so
  fix: mend it
  proofs: [{name: a, given: {}, expect: not stated, origin: hand}]
"""


def profile_of(folder: Path, number: int, weight: str, more: str = "") -> build.Profile:
    """A trailer of 1,000 lb with so many articles of one weight."""
    articles = "".join(f"  - {{name: a{index}, weight: {weight}}}\n" for index in range(number))
    file = folder / "load.yaml"
    file.write_text(f"kind: load\ntrailer: {{empty_weight: 1000 lb}}\narticles:\n{articles}{more}")
    return read_profile(file)


@pytest.mark.parametrize(
    ("weight", "verdict"),
    [
        # 1,000 + 11 x 99 = 2,089 and 11 x 100 = 2,100 within; 11 x 101 = 2,111 over.
        ("99 lb ± 1 lb", Verdict.MET),
        ("100 lb ± 1 lb", Verdict.TOO_CLOSE),
        ("101 lb ± 1 lb", Verdict.TOO_CLOSE),
        ("102 lb ± 1 lb", Verdict.NOT_MET),
    ],
)
def test_eleven_tolerances_are_decided_at_their_worst_and_best(
    tmp_path: Path, rulebook: Book, weight: str, verdict: Verdict
) -> None:
    done = tolerances.check_profile(profile_of(tmp_path, 11, weight), rulebook(LIMIT), DAY)
    (finding,) = done.findings
    assert finding.verdict is verdict
    assert done.load.rows <= 3


def asked_from_2100_lb(asked_by: str) -> tuple[str, str]:
    """A rule that the jack is up, asked from a gross weight on: by itself, or by its rulebook.

    Gives the text of the rule, and that of the head of its rulebook.
    """
    thresholds = "".join(LIMIT.splitlines(keepends=True)[5:7])
    assert "limit:" in thresholds
    jack = LIMIT.replace("trailer.gross_weight <= limit", "walkaround.jack_raised")
    when = f"  when: trailer.gross_weight >= limit\n{thresholds}"
    if asked_by == "rule":
        return jack.replace(thresholds, when), ""
    head = f"applies:\n{when}  because: only heavy ones\n  source: print\n  at: p\n"
    proofs = "  proofs: [{name: a, given: {}, expect: not stated, origin: hand}]\n"
    return jack.replace(thresholds, ""), head + proofs


@pytest.mark.parametrize(
    ("weight", "verdict"),
    [
        # The jack is down, which matters from 2,100 lb on: 1,000 + 11 x 98 = 2,078 lb at most;
        # 11 x 98 and 11 x 100 = 2,100 lb on both sides of it; 11 x 101 = 2,111 lb at least.
        ("97 lb ± 1 lb", Verdict.DOES_NOT_APPLY),
        ("99 lb ± 1 lb", Verdict.TOO_CLOSE),
        ("102 lb ± 1 lb", Verdict.NOT_MET),
    ],
)
@pytest.mark.parametrize("asked_by", ["rule", "rulebook"])
def test_eleven_tolerances_decide_whether_a_rule_is_asked(
    tmp_path: Path, rulebook: Book, asked_by: str, weight: str, verdict: Verdict
) -> None:
    books = rulebook(*asked_from_2100_lb(asked_by))
    profile = profile_of(tmp_path, 11, weight, "walkaround: {jack_raised: no}\n")
    (finding,) = tolerances.check_profile(profile, books, DAY).findings
    assert finding.verdict is verdict


def test_the_measurement_that_matters_most_is_named(tmp_path: Path, rulebook: Book) -> None:
    file = tmp_path / "load.yaml"
    file.write_text(
        "kind: load\ntrailer: {empty_weight: 1000 lb ± 5 lb}\n"
        "articles: [{name: a, weight: 600 lb ± 1 lb}, {name: b, weight: 495 lb ± 30 lb}]\n"
    )
    (finding,) = tolerances.check_profile(read_profile(file), rulebook(LIMIT), DAY).findings
    assert finding.verdict is Verdict.TOO_CLOSE
    assert finding.settled_by == "articles.2.weight"


@pytest.mark.parametrize("asked_by", ["rule", "rulebook"])
def test_a_yes_or_no_that_may_not_be_asked_is_settled_by_what_decides_that(
    tmp_path: Path, rulebook: Book, asked_by: str
) -> None:
    """The margin of a no is without end in every row, so it can tell nothing apart."""
    file = tmp_path / "load.yaml"
    file.write_text(
        "kind: load\ntrailer: {empty_weight: 1000 lb ± 1 lb}\nwalkaround: {jack_raised: no}\n"
        "articles: [{name: a, weight: 500 lb ± 1 lb}, {name: b, weight: 600 lb ± 10 lb}]\n"
    )
    books = rulebook(*asked_from_2100_lb(asked_by))
    (finding,) = tolerances.check_profile(read_profile(file), books, DAY).findings
    assert finding.verdict is Verdict.TOO_CLOSE
    assert finding.settled_by == "articles.2.weight"


BUNDLED = sorted((shipped_folder("profiles") / "loads").glob("*.yaml"))
RULES = shipped_rules()


@settings(max_examples=25)
@given(data=st.data())
def test_signs_of_derivatives_find_what_all_corners_find(data: st.DataObject) -> None:
    """The two ways agree on every verdict of a bundled load with its numbers made uncertain."""
    source = read_profile(data.draw(st.sampled_from(BUNDLED)))
    leaves = [
        path
        for path, _, kind in build.quantities(source.merged.data, build.definition("load"), ())
        if kind == "load"
    ]
    chosen = data.draw(st.lists(st.sampled_from(leaves), min_size=1, max_size=5, unique=True))
    merged = source.merged
    for path in chosen:
        node = merged.data
        for part in path[:-1]:
            node = node[part]  # type: ignore[index, assignment, call-overload]
        text = str(node[path[-1]]).split("±")[0].split("+/-")[0].strip()  # type: ignore[index, call-overload]
        node[path[-1]] = f"{text} ± {data.draw(st.integers(1, 20))} %"  # type: ignore[index, call-overload]
    profile = build.Profile(merged, source.file)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tolerances, "MOST_CORNERED", 0)
        patch.setattr(build, "MOST_CORNERED", 0)
        by_signs = tolerances.check_profile(profile, RULES, DAY)
    by_corners = check(profile.load(), RULES, DAY)
    differing = [
        (one.rule.id, one.verdict, other.verdict)
        for one, other in zip(by_signs.findings, by_corners.findings, strict=True)
        if one.verdict is not other.verdict
    ]
    assert differing == []
