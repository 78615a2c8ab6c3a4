"""Every doubt has plain words for lists."""

import re

import pytest

from checker.facts.marked import ABOVE_TABLE
from checker.load.plausible.doubts import DOUBTS
from checker.load.plausible.titles import doubt_title


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("trip-speed-high", "speed of the trip unusually high"),
        (
            "articles-weight-wheeled-machine-low",
            "weight of an article (wheeled machine) unusually low",
        ),
        ("articles-axles-front-track-low", "front axle track of an article unusually low"),
        ("trailer-gvwr-low", "GVWR of the trailer unusually low"),
        ("walkaround-tread-depth-high", "tread depth unusually high"),
        ("axles-close", "axles too close to each other for their tyres"),
    ],
)
def test_a_doubt_is_named_in_plain_words(name: str, title: str) -> None:
    assert doubt_title(name) == title


def test_every_doubt_has_a_title_of_its_own_without_code_words() -> None:
    titles = [doubt_title(each.name) for each in (*DOUBTS, ABOVE_TABLE)]
    assert len(set(titles)) == len(titles)
    assert not [each for each in titles if re.search(r"[_.*+-]|gvwr|cg\b", each)]
