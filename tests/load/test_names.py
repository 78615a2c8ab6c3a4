"""Names inside one profile that lead nowhere, and axle weights that do not add up."""

from pathlib import Path

import pytest

from checker.documents.reader import read_bytes
from checker.load.names import article_name, name_problems
from checker.load.references import References


def told(text: str) -> list[str]:
    document = read_bytes(f"kind: load\n{text}".encode(), "x.yaml")
    assert document.problems == []
    merged = References(Path.cwd(), str).merged(document, "load")
    assert merged.problems == []
    return [str(problem).removeprefix("x.yaml:") for problem in name_problems(merged)]


@pytest.mark.parametrize(
    ("data", "name"),
    [
        ({"name": "mower", "title": "Wide mower"}, "mower"),
        ({"title": "Wide mower"}, "Wide mower"),
        ({}, "article 3"),
    ],
)
def test_name_of_an_article(data: dict[str, str], name: str) -> None:
    assert article_name(data, 2) == name


RIG = """\
trailer: {anchors: {front left: {}, rear left: {}}}
articles:
- {name: mower, attachments: {front hook: {}}}
- {name: roller, attachments: {frame eye: {}}}
tiedowns:
- """


@pytest.mark.parametrize(
    ("tiedown", "problems"),
    [
        ("{article: mower, anchor: front left, attachment: front hook}", []),
        ("{article: mower, anchor: front left, far_anchor: rear left, path: direct}", []),
        ("{article: mower}", []),
        (
            "{article: mower, anchor: front lft}",
            ["7:28: found 'front lft'; wanted an anchor named in this load: front left, "
             "rear left; did you mean 'front left'?"],
        ),
        (
            "{article: mower, far_anchor: x}",
            ["7:32: found 'x'; wanted an anchor named in this load: front left, rear left"],
        ),
        (
            "{article: mover}",
            ["7:13: found 'mover'; wanted an article named in this load: mower, roller; "
             "did you mean 'mower'?"],
        ),
        (
            "{article: mower, attachment: frame eye}",
            ["7:32: found 'frame eye'; wanted an attachment named in this load: front hook"],
        ),
        (
            "{anchor: front left}",
            ["7:3: found no 'article' in a tiedown; wanted `article: ...`, one of: mower, roller"],
        ),
        ("{article: 3, anchor: [a], attachment: {}}", []),
        ("null", []),
        ("[a]", []),
    ],
)  # fmt: skip
def test_tiedown_names(tiedown: str, problems: list[str]) -> None:
    assert told(RIG + tiedown) == problems


@pytest.mark.parametrize(
    ("text", "problems"),
    [
        ("articles: [{}]\ntiedowns: [{attachment: hook}]\n",
         ["3:25: found 'hook'; wanted an attachment to be listed"]),
        ("articles: [{}]\ntiedowns: [{anchor: d}]\n",
         ["3:21: found 'd'; wanted an anchor to be listed"]),
        ("tiedowns: [{article: a}, {}]\n",
         ["2:11: found tiedowns, but no articles; wanted `articles:` that they hold"]),
        ("tiedowns: []\n", []),
        ("tiedowns: 3\narticles: 4\n", []),
        ("tiedowns: {a: {}}\n", []),
        ("tiedowns: [{article: a}]\narticles: {a: {}}\n", []),
        ("articles: [{}, {}]\n", []),
        ("articles: [null, null, 3]\n", []),
        ("articles: [{name: a}, {title: a}]\n",
         ["2:23: found a second article 'a'; wanted a `name:` of its own for each article"]),
        ("articles: [{title: A}, null, {title: A}]\n",
         ["2:30: found a second article 'A'; wanted a `name:` of its own for each article"]),
    ],
)  # fmt: skip
def test_what_is_missing_or_odd(text: str, problems: list[str]) -> None:
    assert told(text) == problems


# Two axles of 490 lb against 1000 lb are 2 % apart: the edge of the tolerance.
@pytest.mark.parametrize(
    ("weight", "front", "rear", "added"),
    [
        ("1000 lb", "500 lb", "500 lb", None),
        ("1000 lb", "490 lb", "490 lb", None),
        ("1000 lb", "490 lb", "489 lb", "979 lb"),
        ("1000 lb", "510 lb", "510 lb", None),
        ("1000 lb", "510 lb", "511 lb", "1,021 lb"),
        ("1000 lb ± 1 lb", "490 lb", "489 lb", None),
        ("1000 lb", "490 lb ± 1 lb", "489 lb", None),
        ("1000 lb ± 1 lb", "490 lb ± 1 lb", "488 lb", None),
        ("1000 lb ± 1 lb", "490 lb ± 1 lb", "487 lb", "977 lb"),
    ],
)
def test_axle_weights_against_the_weight(
    weight: str, front: str, rear: str, added: str | None
) -> None:
    axles = f"{{front: {{weight: {front}}}, rear: {{weight: {rear}}}}}"
    expected = f"2:{30 + len(weight)}: found axle weights that add to {added}; "
    expected += "wanted the article's weight, 1,000 lb"
    found = told(f"articles: [{{weight: {weight}, axles: {axles}}}]\n")
    assert found == ([expected] if added else [])


def test_axle_weights_are_told_in_the_units_of_the_profile() -> None:
    axles = "{front: {weight: 200 kg}, rear: {weight: 200 kg}}"
    assert told(f"articles: [{{weight: 500 kg, axles: {axles}}}]\n") == [
        "2:36: found axle weights that add to 400 kg; wanted the article's weight, 500 kg"
    ]


@pytest.mark.parametrize(
    "article",
    [
        "{axles: {front: {weight: 1 lb}, rear: {weight: 1 lb}}}",
        "{weight: 9 lb, axles: {front: {weight: 1 lb}}}",
        "{weight: 9 lb, axles: {front: {weight: 1 lb}, rear: {}}}",
        "{weight: 9, axles: {front: {weight: 1 lb}, rear: {weight: 1 lb}}}",
        "{weight: 9 ft, axles: {front: {weight: 1 lb}, rear: {weight: 1 lb}}}",
        "{weight: 9 lb, axles: {front: {weight: x}, rear: {weight: 1 lb}}}",
        "{weight: 9 lb, axles: {front: 3, rear: {weight: 1 lb}}}",
        "{weight: 9 lb, axles: [1 lb]}",
        "{weight: 9 lb, axles: {}}",
        "{axles: {}}",
    ],
)
def test_axle_weights_are_compared_only_when_all_are_stated(article: str) -> None:
    assert told(f"articles: [{article}]\n") == []


# By moments: 10 + 100 x 600 / 1000 = 70 in. Two hundredths of the 100 in between the axles: 2 in.
@pytest.mark.parametrize(
    ("cg", "agrees"),
    [("70 in", True), ("72 in", True), ("72.01 in", False), ("67.99 in", False), ("68 in", True)],
)
def test_a_centre_of_gravity_is_where_the_axle_weights_put_it(cg: str, *, agrees: bool) -> None:
    axles = "{front: {x: 10 in, weight: 400 lb}, rear: {x: 110 in, weight: 600 lb}}"
    found = told(f"articles: [{{cg: {{x: {cg}}}, axles: {axles}}}]\n")
    wanted = "wanted where the axle weights put it, 70 in"
    shown = f"2:21: found a centre of gravity {cg} behind the front end; {wanted}"
    assert found == ([] if agrees else [shown])


def test_tolerances_widen_what_agrees() -> None:
    """Weights that are 50 lb out each move it by 100 x 100 / 1000 = 10 in more."""
    rear = "rear: {x: 110 in, weight: 600 lb +/- 50 lb}"
    axles = f"{{front: {{x: 10 in, weight: 400 lb +/- 50 lb}}, {rear}}}"
    assert told(f"articles: [{{cg: {{x: 82 in}}, axles: {axles}}}]\n") == []
    assert len(told(f"articles: [{{cg: {{x: 82.1 in}}, axles: {axles}}}]\n")) == 1
