"""Order does not matter, and the mirror image of a load has the mirror warnings."""

import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.documents.problems import Mark
from checker.documents.resources import shipped_folder
from checker.load.build import read_profile
from checker.load.plausible.entry import Grade
from checker.load.plausible.reading import OfProfile, cases, doubts, refusals

TOP = {(): ("load.yaml", Mark(1, 1))}
inches = st.integers(-80, 400).map(lambda value: f"{value} in")
places = st.fixed_dictionaries({"x": inches, "y": inches, "z": st.just("1 in")})
anchors = st.dictionaries(st.sampled_from("abcdef"), places, max_size=6)
articles = st.lists(
    st.fixed_dictionaries(
        {
            "length": st.sampled_from(["30 in", "90 in"]),
            "width": st.sampled_from(["20 in", "60 in"]),
            "placed": st.fixed_dictionaries({"x": inches, "y": inches}),
            "cg": st.fixed_dictionaries({"y": inches}),
        }
    ),
    max_size=4,
)
DECK = {"front": "50 in", "rear": "242 in", "width": "82 in"}


def names(data: dict[str, Any]) -> list[str]:
    """Every entry that holds, once for each of its cases."""
    stated = OfProfile(data)
    return sorted(
        case.entry.name for grade in Grade for case in cases(grade, data) if case.holds(stated)
    )


def mirrored(text: str) -> str:
    return text[1:] if text.startswith("-") else f"-{text}"


@given(anchors=anchors, articles=articles)
def test_the_mirror_image_has_the_mirror_warnings(
    anchors: dict[str, Any], articles: list[Any]
) -> None:
    data = {"trailer": {"deck": DECK, "anchors": anchors}, "articles": articles}
    mirror = {
        "trailer": {
            "deck": DECK,
            "anchors": {name: at | {"y": mirrored(at["y"])} for name, at in anchors.items()},
        },
        "articles": [
            each
            | {
                "placed": each["placed"] | {"y": mirrored(each["placed"]["y"])},
                "cg": {"y": mirrored(each["cg"]["y"])},
            }
            for each in articles
        ],
    }
    assert names(mirror) == names(data)


@given(anchors=anchors, articles=articles, seed=st.integers())
def test_the_order_of_entries_does_not_matter(
    anchors: dict[str, Any], articles: list[Any], seed: int
) -> None:
    data = {"trailer": {"deck": DECK, "anchors": anchors}, "articles": articles}
    draw = random.Random(seed)  # noqa: S311 - a test
    keys, others = list(anchors), list(articles)
    draw.shuffle(keys)
    draw.shuffle(others)
    shuffled = {
        "trailer": {"deck": DECK, "anchors": {key: anchors[key] for key in keys}},
        "articles": others,
    }
    kinds = set(map(_either_way, names(data)))
    assert set(map(_either_way, names(shuffled))) == kinds


def _either_way(name: str) -> str:
    """Which of two articles is the later one in the list is a matter of order."""
    return name.replace("a-later-one", "another").replace("an-earlier-one", "another")


def test_axles_of_a_track_wider_than_the_deck_are_doubtful() -> None:
    """A 90 in track on an 82 in deck: each wheel centre is 4 in over the edge."""
    file = Path(str(shipped_folder("profiles") / "loads/loader-tractor-in-order.yaml"))
    data: Any = (
        read_profile(file)
        .replaced(
            {
                ("articles", 0, "axles", "front", "track"): "90 in",
                ("articles", 0, "width"): "100 in",
            }
        )
        .merged.data
    )
    assert refusals(data, TOP) == []
    assert [each.name for each in doubts(data, TOP)] == ["wheels-outside-deck-front"]


@pytest.mark.parametrize(
    ("places", "refused", "doubtful"),
    [
        ((60, 160), False, False),
        ((60, 150), False, False),  # end to end
        ((60, 147), False, True),  # 3 in
        ((60, 110), False, True),  # less than half of it
        ((60, 100), True, True),  # more than half of it
        ((100, 60), True, True),
        ((60, 60), True, True),
    ],
)
def test_articles_in_each_others_place(
    places: tuple[int, int], refused: bool, doubtful: bool
) -> None:
    """Two articles 90 in long, of which the second begins so far behind the first."""
    data = {
        "articles": [
            {"length": "90 in", "width": "60 in", "placed": {"x": f"{x} in", "y": "0 in"}}
            for x in places
        ]
    }
    assert bool(refusals(data, TOP)) == refused
    assert ("articles-overlap" in [each.name for each in doubts(data, TOP)]) == doubtful
