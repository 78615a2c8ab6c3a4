"""Whose fields stand behind a fact, and in which rows it waits for them.

Expected values follow from how the two loads below are tied down: each article by tiedowns of its
own, to anchors and points of its own.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from checker.facts.catalogue import catalogue
from checker.facts.unmarked import UnmarkedRatings
from checker.facts.view import Facts, Subject
from checker.load.build import read_profile
from checker.load.model import Load

NAN = np.nan
POINTS = {
    name: {"x": "10 in", "y": "5 in", "z": "20 in", "working_load_limit": "5000 lb"}
    for name in ("eye", "rail")
}
TWO_ARTICLES = {
    "trailer": {
        "anchors": {f"a{number}": {"working_load_limit": "5000 lb"} for number in range(1, 5)},
        "axles": {"front": {"rating": "3000 lb"}, "rear": {"rating": "3000 lb"}},
    },
    "articles": [
        {"name": "first", "weight": "900 lb", "attachments": POINTS},
        {"name": "second", "weight": "800 lb", "attachments": POINTS},
    ],
    "tiedowns": [
        {"article": "first", "path": "direct", "anchor": "a1", "attachment": "eye"},
        {"article": "second", "path": "other side", "anchor": "a2", "far_anchor": "a3",
         "over": ["rail"]},
        {"article": "second", "path": "direct", "anchor": "a4", "attachment": "eye"},
    ],
}  # fmt: skip


def load_of(folder: Path, data: dict[str, Any]) -> Load:
    file = folder / "load.yaml"
    file.write_text(json.dumps({"kind": "load", **data}))
    return read_profile(file).load()


@pytest.fixture
def facts(tmp_path: Path) -> Facts:
    return Facts(load_of(tmp_path, TWO_ARTICLES), UnmarkedRatings())


def fields_of(facts: Facts, subject: Subject) -> set[str]:
    """Every field behind any fact of a subject."""
    return {
        field
        for name, known in catalogue().items()
        if known.each == subject.each
        for field in facts.fields(name, subject)
    }


def entries(fields: set[str], head: str) -> set[str]:
    """Which entries of a list or mapping the fields stand in."""
    start = f"{head}."
    return {field[len(start) :].split(".")[0] for field in fields if field.startswith(start)}


def test_a_tiedown_is_asked_about_itself_and_what_it_ties(facts: Facts) -> None:
    tied = [("1", {"1"}, {"a1"}, {"eye"}), ("2", {"2"}, {"a2", "a3"}, {"rail"})]
    tied.append(("3", {"2"}, {"a4"}, {"eye"}))
    subjects = facts.subjects("tiedown")
    for subject, (number, article, anchors, points) in zip(subjects, tied, strict=True):
        fields = fields_of(facts, subject)
        assert entries(fields, "tiedowns") == {number}
        assert entries(fields, "articles") == article
        assert entries(fields, "trailer.anchors") == anchors
        assert entries(fields, f"articles.{article.copy().pop()}.attachments") == points


def test_an_article_uses_the_facts_of_its_own_tiedowns(facts: Facts) -> None:
    for subject, tiedowns in zip(facts.subjects("article"), ([0], [1, 2]), strict=True):
        assert entries(fields_of(facts, subject), "articles") == {str(subject.index + 1)}
        using = [
            [part.index for _, part in uses if part and part.each == "tiedown"]
            for name, known in catalogue().items()
            if known.each == "article" and (uses := facts.inputs(name, subject).uses)
        ]
        seen = [dict.fromkeys(indices) for indices in using if indices]
        assert len(seen) > 10
        assert all(list(indices) == tiedowns for indices in seen)


def test_an_axle_is_asked_about_its_own_rating(facts: Facts) -> None:
    front, rear = facts.subjects("axle")
    assert list(facts.fields("axle.rating", front)) == ["trailer.axles.front.rating"]
    assert list(facts.fields("axle.rating", rear)) == ["trailer.axles.rear.rating"]


def test_a_tiedown_has_the_facts_of_the_article_that_it_holds(facts: Facts) -> None:
    # 900 and 800 lb; one tiedown holds the first article, two the second.
    weights = [facts.value("article.weight", each) for each in facts.subjects("tiedown")]
    assert weights == [
        facts.value("article.weight", facts.subjects("article")[i]) for i in (0, 1, 1)
    ]
    ratings = [
        facts.view(each).of_tiedowns("tiedown.device_rating") for each in facts.subjects("article")
    ]
    assert [each and len(each) for each in ratings] == [1, 2]


def test_where_the_article_stands_is_asked_of_the_tiedown_that_holds_it(facts: Facts) -> None:
    """By the middle of the article, a fact of its own, which the tiedown's fact uses."""
    for subject, own in zip(facts.subjects("tiedown"), "122", strict=True):
        fields = set(facts.fields("tiedown.anchor_at_same_corner", subject))
        assert f"articles.{own}.placed.x" in fields
        assert entries(fields, "articles") == {own}


def test_which_entries_a_list_has_comes_first(profile: Callable[[str], Load]) -> None:
    facts = Facts(profile("kind: load\n"), UnmarkedRatings())
    assert facts.missing("cargo.weight", None) == ["articles"]
    assert facts.missing("trailer.gross_weight", None) == ["trailer.empty_weight", "articles"]
    axles = facts.missing("trailer.axle_group_position", None)
    assert axles == ["trailer.axles", "trailer.suspension"]


def test_a_field_is_missing_only_in_rows_in_which_the_fact_is_not_known(tmp_path: Path) -> None:
    """The greater of rating and weight as far as stated: either of them will do."""
    data = {"trailer": {"gvwr": "1 N", "empty_weight": "1 N"}, "articles": [{"weight": "900 N"}]}
    (tmp_path / "load.yaml").write_text(json.dumps({"kind": "load", **data}))
    values = {
        ("trailer", "gvwr"): np.array([3000.0, NAN, NAN]),
        ("trailer", "empty_weight"): np.array([NAN, NAN, 700.0]),
    }
    facts = Facts(read_profile(tmp_path / "load.yaml").load(values), UnmarkedRatings())
    found = facts.missing_by_row("trailer.weight_or_rating_at_least", None)
    assert {field: np.asarray(rows).tolist() for field, rows in found.items()} == {
        "trailer.empty_weight": [False, True, False]
    }


def test_what_a_fact_turns_to_otherwise_is_asked_where_all_else_is_stated(tmp_path: Path) -> None:
    """An article that faces rearward stands at its far end; first comes where it stands at all."""
    article = {"cg": {"x": "40 in"}, "placed": {"x": "60 in", "facing": "rearward"}}
    (tmp_path / "load.yaml").write_text(json.dumps({"kind": "load", "articles": [article]}))
    values = {("articles", 0, "placed", "x"): np.array([NAN, 1.5])}
    facts = Facts(read_profile(tmp_path / "load.yaml").load(values), UnmarkedRatings())
    found = facts.missing_by_row("article.cg_position", facts.subjects("article")[0])
    assert {field: np.asarray(rows).tolist() for field, rows in found.items()} == {
        "articles.1.placed.x": [True, False],
        "articles.1.length": [False, True],
    }


def test_the_parts_of_a_fact_leave_out_what_a_direct_tiedown_does_not_have(facts: Facts) -> None:
    """A direct tiedown has an attachment; one over the article a far anchor and what it passes."""
    direct, over, _ = facts.subjects("tiedown")
    for name, known in catalogue().items():
        if known.each != "tiedown":
            continue
        asked = {
            path.split(".")[2] for path in facts.inputs(name, direct).fields if "tiedowns" in path
        }
        assert not asked & {"far_anchor", "over"}, name
        asked = {
            path.split(".")[2] for path in facts.inputs(name, over).fields if "tiedowns" in path
        }
        assert "attachment" not in asked, name
