"""Fewer questions for things that are alike, and one step back."""

import re
from pathlib import Path

import pytest

from checker.upkeep.drafting.drafts import drafts
from checker.upkeep.drafting.files import Files
from checker.upkeep.drafting.guide import Person, ask_for_fields
from checker.upkeep.drafting.undecided import UndecidedRules
from tests.shipped import shipped_rules

from .conftest import DAY
from .test_guide import ALL, states

POINT = {"x": "47 in", "y": "24 in", "z": "1 in", "type": "d-ring"}


def _answers_of(name: str, **fields: str) -> dict[str, list[str]]:
    return {f"anchors.{name}.{key}": [text] for key, text in fields.items()}


def test_the_point_on_the_other_side_takes_one_answer() -> None:
    person, stated = states(
        "trailer",
        {
            "anchors": ["front-left"],
            **_answers_of("front-left", **POINT),
            "anchors.front-right": ["y"],
        },
    )
    assert stated["anchors"] == {"front-left": POINT, "front-right": {**POINT, "y": "-24 in"}}
    assert not any(each.startswith("anchors.front-right.") for each in person.asked)


@pytest.mark.parametrize("answer", ["no", ""])
def test_nothing_is_mirrored_without_a_yes(answer: str) -> None:
    _, stated = states(
        "trailer",
        {
            "anchors": ["front-left"],
            **_answers_of("front-left", **POINT),
            "anchors.front-right": [answer],
        },
    )
    assert list(stated["anchors"]) == ["front-left"]


def test_a_further_point_like_the_last_is_asked_for_its_place_only() -> None:
    person, stated = states(
        "trailer",
        {
            "anchors": ["front-left", "rear-left"],
            **_answers_of("front-left", **POINT),
            "anchors.rear-left": ["yes"],
            **_answers_of("rear-left", x="150 in", y="24 in", z="1 in"),
        },
    )
    assert stated["anchors"]["rear-left"] == {**POINT, "x": "150 in"}
    assert "anchors.rear-left.type" not in person.asked


def test_a_further_tiedown_like_the_last_is_asked_for_where_it_runs() -> None:
    person, stated = states(
        "load",
        {
            "trailer": ["trailers/utility-single-10"],
            "tiedowns.1": ["yes"],
            "tiedowns.1.from": ["tiedowns/ratchet-strap-2in"],
            "tiedowns.1.anchor": ["front-left"],
            "tiedowns.1.attachment": ["front-left"],
            "tiedowns.1.on_sharp_edge": ["no"],
            "tiedowns.2": ["same"],
            "tiedowns.2.anchor": ["front-right"],
        },
    )
    strap = {"from": "tiedowns/ratchet-strap-2in", "on_sharp_edge": "no"}
    assert stated["tiedowns"] == [
        {**strap, "anchor": "front-left", "attachment": "front-left"},
        {**strap, "anchor": "front-right"},
    ]
    assert "tiedowns.2.on_sharp_edge" not in person.asked


def _typed(kind: str, lines: list[str]) -> tuple[dict[str, object], list[str], list[str]]:
    """What is stated after these lines, the questions, and what was told."""
    asked: list[str] = []
    told: list[str] = []
    waiting = iter(lines)

    def ask(question: str) -> str:
        asked.append(question)
        try:
            return next(waiting)
        except StopIteration:
            raise EOFError from None

    return ask_for_fields(drafts(DAY)[kind], Person(ask, told.append), ALL), asked, told


def test_one_step_back_asks_the_question_before_again() -> None:
    stated, asked, told = _typed("carrier", ["Ours", "yes", "<", "no", "yes"])
    assert [each.rpartition("(")[2].partition(":")[0] for each in asked] == [
        *("title", "government", "follows_federal_rules"),
        *("government", "follows_federal_rules", "personal_and_unpaid"),
    ]
    assert stated == {
        "kind": "carrier",
        "title": "Ours",
        "government": "no",
        "follows_federal_rules": "yes",
    }
    assert told == [""]


def test_several_steps_back_and_over_what_did_not_fit() -> None:
    stated, _, told = _typed("carrier", ["Ours", "maybe", "no", "yes", "<", "<", "<", "Theirs"])
    assert stated == {"kind": "carrier", "title": "Theirs"}
    # What did not fit is told once, not again on the way back.
    assert sum("maybe" in each for each in told) == 1


def test_there_is_no_step_back_from_the_first_question() -> None:
    stated, asked, told = _typed("carrier", ["<", "Ours"])
    assert told[0] == "This is the first question."
    assert asked[0] == asked[1]
    assert stated == {"kind": "carrier", "title": "Ours"}


def test_statements_are_answered_together_and_what_is_not_true_is_said_again(
    tmp_path: Path,
) -> None:
    told: list[str] = []
    given: list[str] = []
    listed: list[str] = []
    rules = UndecidedRules(shipped_rules(), tmp_path / "new.yaml", tmp_path, DAY)

    def ask(question: str) -> str:
        if "yes, or the numbers" not in question or given:
            return ""
        given.append(question)
        listed.extend(each for each in told if re.match(" +[0-9]+[.] ", each))
        return "2 3?"

    stated = ask_for_fields(drafts(DAY)["load"], Person(ask, told.append), Files(tmp_path), rules)
    names = [each.rpartition("(")[2].rstrip(")") for each in listed]
    part = given[0].rpartition("(")[2].partition(":")[0]
    assert stated[part] == {
        name: "no" if place == 1 else "yes" for place, name in enumerate(names) if place != 2
    }
    said = [each for each in told if each.startswith(("NOT true: ", "Not looked at: "))]
    assert [each.partition(":")[0] for each in said] == ["NOT true", "Not looked at"]
