"""The search finds the best plan, and its laws: against looking at every plan of small loads.

`python -m tests.benchmarks.bench_arrange` compares fifty.
"""

from textwrap import indent
from typing import Any, NamedTuple

import pytest
from msgspec.structs import replace

from checker.advice.arrange.arrangement import Arrangement, arrange
from checker.advice.arrange.choices import choices_of
from checker.advice.arrange.scores import OBJECTIVES
from checker.advice.arrange.search import Arranger
from checker.load.build import Profile
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from tests.conftest import SOURCES
from tests.exhaustive_plans import DAY, RULES, best_of_all, small_load
from tests.small_rules import rules_text

SEEDS = (0, 6, 7, 10, 13, 31)
"""One without a plan, some with two or three tiedowns, some where statics decides."""


class Searched(NamedTuple):
    """A small load and the plan that the search finds for it."""

    profile: Profile
    found: Arrangement | None


@pytest.fixture(scope="module")
def small_rules(tmp_path_factory: pytest.TempPathFactory) -> Rulebooks:
    folder = tmp_path_factory.mktemp("rules")
    (folder / "sources.yaml").write_text(SOURCES)
    head = "kind: rulebook\nid: book\ntitle: A book\njurisdiction: any\nproved_on: 2026-01-01\n"
    (folder / "book.yaml").write_text(head + "rules:\n" + indent(rules_text(RULES), "  "))
    return load_rulebooks(folder, with_proofs=True)


@pytest.fixture(scope="module", params=SEEDS)
def searched(
    request: pytest.FixtureRequest, small_rules: Rulebooks, tmp_path_factory: pytest.TempPathFactory
) -> Searched:
    """Each of the small loads, searched once."""
    profile = small_load(request.param, tmp_path_factory.mktemp("load"))
    return Searched(profile, arrange(profile, small_rules, DAY))


def test_it_is_the_best_of_all_plans(searched: Searched, small_rules: Rulebooks) -> None:
    profile, mine = searched
    best, count = best_of_all(choices_of(profile, None), small_rules)
    assert count > 1000
    assert (mine is None) == (best is None)
    if mine and best:
        bound = mine.bound
        assert mine.figures.key(OBJECTIVES) == best.key(OBJECTIVES)
        assert bound is not None
        assert bound.short <= best.short
        assert bound.pieces <= best.pieces
        assert bound.changes <= best.changes
        assert bound.margin >= best.margin


def test_its_figures_are_those_of_a_check(searched: Searched) -> None:
    best = searched.found
    if best is None:
        return
    rows = [each.rows for each in best.check.findings]
    musts = [each for each in rows if each.rule.level == "must"]
    shoulds = [each for each in rows if each.rule.level == "should"]
    assert sum(bool(each.broken[0]) for each in musts) == best.figures.broken == 0
    assert sum(bool(each.undecided[0]) for each in musts) == best.figures.undecided
    assert sum(not each.satisfied[0] for each in shoulds) == best.figures.short
    spare = [float(each.spare[0]) for each in rows if each.satisfied[0]]
    assert min(each for each in spare if each == each) == pytest.approx(best.figures.margin)


def test_the_mirror_image_is_as_good(searched: Searched, small_rules: Rulebooks) -> None:
    profile, mine = searched
    articles: Any = profile.merged.data["articles"]
    # `across` has one side only, so the centre of gravity is in the middle.
    if articles[0]["cg"]["y"] != "0 in":
        profile = profile.replaced({("articles", 0, "cg", "y"): "0 in"})
        mine = arrange(profile, small_rules, DAY)
    trailer: Any = profile.merged.data["trailer"]
    mirrored = profile.replaced(
        {
            **{
                ("trailer", "anchors", name, "y"): _negative(each["y"])
                for name, each in trailer["anchors"].items()
            },
            **{
                ("articles", 0, "attachments", name, "y"): _negative(each["y"])
                for name, each in articles[0]["attachments"].items()
            },
        }
    )
    other = arrange(mirrored, small_rules, DAY)
    assert (mine is None) == (other is None)
    if mine and other:
        assert mine.figures.key(OBJECTIVES) == other.figures.key(OBJECTIVES)


def _negative(text: str) -> str:
    return text[1:] if text.startswith("-") else f"-{text}"


def test_more_gear_never_makes_it_worse(searched: Searched, small_rules: Rulebooks) -> None:
    profile, best = searched
    choices = choices_of(profile, None)
    first, *others = choices.kinds
    more = replace(choices, kinds=(replace(first, count=first.count + 2), *others))
    richer = Arranger(more, small_rules, DAY).best()
    if best is not None:
        assert richer is not None
        assert richer.figures.key(OBJECTIVES) <= best.figures.key(OBJECTIVES)
