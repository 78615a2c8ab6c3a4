"""Arrangements of bundled loads: their check agrees, and what was right stays.

Each load says in its own comments, by hand, what is wrong with it.
"""

from collections.abc import Callable
from datetime import date

import pytest

from checker.advice.arrange.arrangement import Arrangement, arrange
from checker.advice.arrange.choices import CannotArrangeError
from checker.evaluation.outcome import Outcome
from checker.load.build import Profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict

DAY = date(2026, 6, 11)

Bundled = Callable[[str], Profile]


def arranged(profile: Profile, books: Rulebooks) -> Arrangement:
    found = arrange(profile, books, DAY)
    assert found is not None
    return found


@pytest.mark.parametrize("name", ["side-by-side-in-order", "mower-in-order"])
def test_a_load_in_order_stays_as_it_is(name: str, bundled: Bundled, books: Rulebooks) -> None:
    profile = bundled(name)
    found = arranged(profile, books)
    assert found.figures.changes == 0
    assert found.proved
    assert found.check.outcome is Outcome.NO_RULE_BROKEN
    assert found.profile.stated.articles[0].placed == profile.stated.articles[0].placed


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("accessory-hook", 2),  # the two straps on the brush guard
        ("rear-straps-only", 3),  # off the rail, and two straps at the front
        ("too-far-back", 1),  # forward, hooked as it is
    ],
)
def test_a_load_on_hold_is_mended_with_the_fewest_changes(
    name: str, changes: int, bundled: Bundled, books: Rulebooks
) -> None:
    found = arranged(bundled(name), books)
    assert found.figures.changes == changes
    assert (found.figures.broken, found.figures.undecided, found.figures.short) == (0, 0, 0)
    assert found.check.outcome is Outcome.NO_RULE_BROKEN


def test_a_machine_off_the_rail_no_longer_touches_it(bundled: Bundled, books: Rulebooks) -> None:
    article = arranged(bundled("rear-straps-only"), books).profile.stated.articles[0]
    assert article.placed.x > bundled("rear-straps-only").stated.articles[0].placed.x
    assert (article.touches_front_structure, article.blocking.forward) == (0, 0)


def test_figures_are_those_of_the_check(bundled: Bundled, books: Rulebooks) -> None:
    """The search counts, stage by stage, what an ordinary check of the plan finds at once."""
    found = arranged(bundled("too-far-back"), books)
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
