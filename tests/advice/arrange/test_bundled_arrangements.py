"""Arrangements of bundled loads: their check agrees, and what was right stays.

Each load says in its own comments, by hand, what is wrong with it.
"""

from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from checker.advice.arrange.arrangement import Arrangement, arrange
from checker.advice.arrange.choices import CannotArrangeError
from checker.documents.resources import shipped_folder
from checker.evaluation.outcome import Outcome
from checker.load.build import Profile, read_profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict

DAY = date(2026, 6, 11)

Arranged = Callable[[str], Arrangement]
Bundled = Callable[[str], Profile]


@pytest.fixture(scope="module")
def arranged(books: Rulebooks) -> Arranged:
    """The arrangement of a bundled load by its name, searched once."""

    @cache
    def search(name: str) -> Arrangement:
        profile = read_profile(Path(str(shipped_folder("profiles") / "loads" / f"{name}.yaml")))
        found = arrange(profile, books, DAY)
        assert found is not None
        return found

    return search


@pytest.mark.parametrize("name", ["side-by-side-in-order", "mower-in-order"])
def test_a_load_in_order_stays_as_it_is(name: str, bundled: Bundled, arranged: Arranged) -> None:
    found = arranged(name)
    assert found.figures.changes == 0
    assert found.proved
    assert found.check.outcome is Outcome.NO_RULE_BROKEN
    assert found.profile.stated.articles[0].placed == bundled(name).stated.articles[0].placed


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("accessory-hook", 2),  # the two straps on the brush guard
        ("rear-straps-only", 3),  # off the rail, and two straps at the front
        ("too-far-back", 1),  # forward, hooked as it is
    ],
)
def test_a_load_on_hold_is_mended_with_the_fewest_changes(
    name: str, changes: int, arranged: Arranged
) -> None:
    found = arranged(name)
    assert found.figures.changes == changes
    assert (found.figures.broken, found.figures.undecided, found.figures.short) == (0, 0, 0)
    assert found.check.outcome is Outcome.NO_RULE_BROKEN


def test_a_machine_off_the_rail_no_longer_touches_it(bundled: Bundled, arranged: Arranged) -> None:
    article = arranged("rear-straps-only").profile.stated.articles[0]
    assert article.placed.x > bundled("rear-straps-only").stated.articles[0].placed.x
    assert (article.touches_front_structure, article.blocking.forward) == (0, 0)


def test_figures_are_those_of_the_check(arranged: Arranged) -> None:
    """The search counts, stage by stage, what an ordinary check of the plan finds at once."""
    found = arranged("too-far-back")
    unmet = (Verdict.NOT_MET, Verdict.NOT_STATED, Verdict.TOO_CLOSE)
    assert [each.rule.id for each in found.check.findings if each.verdict in unmet] == []
    assert (found.figures.broken, found.figures.undecided, found.figures.short) == (0, 0, 0)


def test_a_load_over_its_ratings_has_no_arrangement(bundled: Bundled, books: Rulebooks) -> None:
    assert arrange(bundled("overloaded-axle-below-gvwr"), books, DAY) is None


def test_what_is_not_measured_is_named(bundled: Bundled, books: Rulebooks) -> None:
    with pytest.raises(CannotArrangeError, match=r"no articles\.1\.length, articles\.1\.width"):
        arrange(bundled("missing-information"), books, DAY)


def test_an_article_longer_than_the_deck_is_refused(bundled: Bundled, books: Rulebooks) -> None:
    longer = bundled("mower-in-order").replaced({("articles", 0, "length"): "30 ft"})
    with pytest.raises(CannotArrangeError, match="longer than the deck"):
        arrange(longer, books, DAY)


@pytest.mark.parametrize(
    ("path", "message"),
    [(("trailer", "anchors"), "nothing to hook"), (("articles", 0, "attachments"), "nothing to")],
)
def test_nothing_to_hook_to_is_said(
    path: tuple[str | int, ...], message: str, bundled: Bundled, books: Rulebooks
) -> None:
    bare = bundled("mower-in-order").replaced({path: {}, ("tiedowns",): []})
    with pytest.raises(CannotArrangeError, match=message):
        arrange(bare, books, DAY)
