"""Names inside one profile that lead nowhere."""

from pathlib import Path

import pytest

from checker.documents.reader import read_bytes
from checker.load.names import article_name, lost_names
from checker.load.references import References


def told(text: str) -> list[str]:
    document = read_bytes(f"kind: load\n{text}".encode(), "x.yaml")
    assert document.problems == []
    merged = References(Path.cwd(), str).merged(document, "load")
    assert merged.problems == []
    return [str(problem).removeprefix("x.yaml:") for problem in lost_names(merged)]


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
