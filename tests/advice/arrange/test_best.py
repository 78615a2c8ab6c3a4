"""The search finds the best plan, and its laws: against looking at every plan of small loads.

`python -m tests.benchmarks.bench_arrange` compares fifty.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from checker.advice.arrange.arrangement import Arrangement, arrange
from checker.advice.arrange.choices import choices_of
from checker.advice.arrange.scores import OBJECTIVES, Figures
from checker.advice.arrange.search import Arranger
from checker.load.build import Profile
from checker.rulebooks.model import Rulebooks
from tests.exhaustive_plans import DAY, RULES, best_of_all, small_load

Rules = Callable[..., Rulebooks]
SEEDS = (0, 6, 7, 10, 13, 31)
"""One without a plan, some with two or three tiedowns, some where statics decides."""


@pytest.fixture
def small_rules(rules: Rules) -> Rulebooks:
    return rules(**RULES)


def found(profile: Profile, books: Rulebooks) -> Arrangement | None:
    return arrange(profile, books, DAY)


def figures_of(profile: Profile, books: Rulebooks) -> Figures | None:
    best = found(profile, books)
    return best.figures if best else None


@pytest.mark.parametrize("seed", SEEDS)
def test_it_is_the_best_of_all_plans(seed: int, small_rules: Rulebooks, tmp_path: Path) -> None:
    profile = small_load(seed, tmp_path)
    best, count = best_of_all(choices_of(profile, None), small_rules)
    assert count > 1000
    mine = found(profile, small_rules)
    assert (mine is None) == (best is None)
    if mine and best:
        bound = mine.bound
        assert mine.figures.key(OBJECTIVES) == best.key(OBJECTIVES)
        assert bound is not None
        assert bound.short <= best.short
        assert bound.pieces <= best.pieces
        assert bound.changes <= best.changes
        assert bound.margin >= best.margin


@pytest.mark.parametrize("seed", SEEDS)
def test_its_figures_are_those_of_a_check(
    seed: int, small_rules: Rulebooks, tmp_path: Path
) -> None:
    best = found(small_load(seed, tmp_path), small_rules)
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


@pytest.mark.parametrize("seed", SEEDS)
def test_the_mirror_image_is_as_good(seed: int, small_rules: Rulebooks, tmp_path: Path) -> None:
    # `across` has one side only, so the centre of gravity is in the middle.
    profile = small_load(seed, tmp_path).replaced({("articles", 0, "cg", "y"): "0 in"})
    trailer: Any = profile.merged.data["trailer"]
    articles: Any = profile.merged.data["articles"]
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
    one, other = figures_of(profile, small_rules), figures_of(mirrored, small_rules)
    assert (one is None) == (other is None)
    if one and other:
        assert one.key(OBJECTIVES) == other.key(OBJECTIVES)


def _negative(text: str) -> str:
    return text[1:] if text.startswith("-") else f"-{text}"


@pytest.mark.parametrize("seed", SEEDS)
def test_more_gear_never_makes_it_worse(seed: int, small_rules: Rulebooks, tmp_path: Path) -> None:
    profile = small_load(seed, tmp_path)
    choices = choices_of(profile, None)
    first, *others = choices.kinds
    more = replace(choices, kinds=(replace(first, count=first.count + 2), *others))
    best = Arranger(choices, small_rules, DAY).best()
    richer = Arranger(more, small_rules, DAY).best()
    if best is not None:
        assert richer is not None
        assert richer.figures.key(OBJECTIVES) <= best.figures.key(OBJECTIVES)
