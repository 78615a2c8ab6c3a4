"""Which loads are of one shape: those that differ in figures and titles alone."""

from typing import Any

import numpy as np
import pytest

from checker.documents.resources import shipped_folder
from checker.load.build import Profile, read_profile
from checker.season.hauls.same_shape import combine_loads, summary_of


def load(**fields: Any) -> Profile:
    """A bundled load with other texts; `articles__0__weight` is a path."""
    profile = read_profile(shipped_folder("profiles") / "loads" / "side-by-side-in-order.yaml")
    texts = {
        tuple(int(part) if part.isdigit() else part for part in path.split("__")): text
        for path, text in fields.items()
    }
    return profile.replaced(texts)


@pytest.mark.parametrize(
    ("fields", "are_kin"),
    [
        ({}, True),
        ({"articles__0__weight": "1500 lb"}, True),
        ({"title": "another", "trailer__title": "another trailer"}, True),
        ({"trailer__id": "T-104", "articles__0__id": "17"}, True),
        # In a metric unit other printed figures may count, and a tolerance has two ends.
        ({"articles__0__weight": "700 kg"}, False),
        ({"articles__0__weight": "1420 lb +/- 2 %"}, False),
        ({"walkaround__chains_crossed": "no"}, False),
        ({"trip__places": ["US-UT", "US-NV"]}, False),
        ({"trailer__suspension": "another kind"}, False),
    ],
)
def test_kin_differ_in_figures_and_titles_alone(fields: dict[str, Any], are_kin: bool) -> None:
    patterns = [summary_of("x", profile, {}).pattern for profile in (load(), load(**fields))]
    assert (patterns[0] == patterns[1]) is are_kin


@pytest.mark.parametrize(
    ("names", "are_kin"),
    [
        ({}, True),
        ({"tiedowns__0__article": "first"}, False),
        ({"tiedowns__0__article": "cart", "articles__0__name": "cart"}, True),
    ],
)
def test_titles_by_which_tiedowns_know_articles_tell_loads_apart(
    names: dict[str, Any], are_kin: bool
) -> None:
    profiles = [load(articles__0__title=title, **names) for title in ("first", "second")]
    patterns = [summary_of("x", profile, {}).pattern for profile in profiles]
    assert (patterns[0] == patterns[1]) is are_kin


def test_loads_of_more_tolerances_than_can_be_crossed_have_no_kin() -> None:
    weights = {
        path: f"{text} +/- 1 lb"
        for path, text in {
            "articles__0__weight": "1420 lb",
            "trailer__empty_weight": "920 lb",
            "trailer__gvwr": "2990 lb",
            **{f"tiedowns__{place}__marked_working_load_limit": "3333 lb" for place in range(4)},
            "tow_vehicle__gvwr": "7000 lb",
            "tow_vehicle__gcwr": "14000 lb",
            "tow_vehicle__front_axle_rating": "3700 lb",
        }.items()
    }
    one_more = {"tow_vehicle__rear_axle_rating": "4000 lb +/- 1 lb"}
    ten, eleven = load(**weights), load(**weights, **one_more)
    assert (len(ten.tolerances), len(eleven.tolerances)) == (10, 11)
    assert summary_of("x", ten, {}).pattern == summary_of("y", ten, {}).pattern
    assert summary_of("x", eleven, {}).pattern != summary_of("y", eleven, {}).pattern


def test_only_figures_that_differ_are_held_for_each_load() -> None:
    profiles = [load(articles__0__weight=text) for text in ("1420 lb", "1500 lb", "1420 lb")]
    own = combine_loads([summary_of("x", profile, {}) for profile in profiles], profiles[0]).own
    assert list(own) == [("articles", 0, "weight")]
    pound = 4.4482216152605  # N, exact
    weights = own["articles", 0, "weight"]
    assert weights.values == pytest.approx(np.array([1420, 1500, 1420]) * pound, rel=1e-15)
    assert not weights.halves.any()


def test_hauls_are_counted_by_what_their_own_words_say() -> None:
    labels = summary_of("mine", load(), {}).labels({("trailer", "title"): "borrowed"})
    assert labels.titles["trailer"] == {labels.trailer: "borrowed"}
