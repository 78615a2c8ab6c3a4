"""The questions: each answer is held against the schema at once; the file is always valid."""

import re
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import pytest

from checker.documents.reader import read_bytes
from checker.documents.resources import shipped_folder
from checker.upkeep.drafting.answers import answer_value
from checker.upkeep.drafting.drafts import drafts
from checker.upkeep.drafting.fields import field_of
from checker.upkeep.drafting.files import Files
from checker.upkeep.drafting.guide import Person, ask_for_fields
from checker.upkeep.drafting.text import draft_text, faults

from .conftest import DAY, KINDS

ALL = Files(shipped_folder("profiles"))


class Crew:
    """Answers each question from a list of its own by the field's path; Enter when it is empty."""

    def __init__(self, answers: Mapping[str, Iterable[str]]) -> None:
        self.answers = {path: list(lines) for path, lines in answers.items()}
        self.asked: list[str] = []
        self.told: list[str] = []

    def show(self, words: str) -> None:
        """Keep what is told; a heading, which begins a new group of questions, tells nothing."""
        if not words.startswith("\n"):
            self.told.append(words)

    def ask(self, question: str) -> str:
        found = re.search(r"\(([a-z0-9_. -]+): [^()]*\): $", question)
        assert found, question
        self.asked.append(found[1])
        waiting = self.answers.get(found[1])
        return waiting.pop(0) if waiting else ""


def states(kind: str, answers: Mapping[str, Iterable[str]], files: Files = ALL) -> Any:
    """The person after the questions, and what the file states."""
    person = Crew(answers)
    stated = ask_for_fields(drafts(DAY)[kind], Person(person.ask, person.show), files)
    assert all(not waiting for waiting in person.answers.values()), person.answers
    text = draft_text(drafts(DAY)[kind], stated)
    assert faults(text, kind) == []
    assert read_bytes(text.encode(), "new").data == stated
    return person, {key: value for key, value in stated.items() if key not in ("kind", "title")}


@pytest.mark.parametrize("kind", KINDS)
def test_enter_all_the_way_gives_the_template(kind: str) -> None:
    draft = drafts(DAY)[kind]
    assert ask_for_fields(draft, Person(lambda _question: "", print), ALL) == draft.stated


def _follows_the_hints() -> Callable[[str], str]:
    """Somebody who types what each question gives as its example, once for each question."""
    seen: set[str] = set()

    def ask(question: str) -> str:
        if question in seen:
            return ""
        seen.add(question)
        hint = question.rpartition("(")[2].partition(": ")[2].removesuffix("): ")
        if hint.startswith("yes adds one"):
            return "" if ".2:" in question else "yes"
        if "? yes / no" in hint:
            return "no"
        if hint.startswith("a name such as"):
            return hint.removeprefix("a name such as ").partition(",")[0]
        if hint.startswith("Enter leaves"):
            return "US" if "jurisdiction" in question else "our-new-one"
        if hint.startswith("such as "):
            return hint.removeprefix("such as ")
        if hint in ("text", "a whole number"):
            return "2"
        return hint.partition(" / ")[0].partition(", ")[0]

    return ask


_LEFT_OPEN = {
    # Asked for where they can matter only: grades of chain, a table value where no mark is read,
    # the article of a tiedown where there are several.
    "tiedown": {".grade", ".hooks_grade", ".tensioner_grade", ".unmarked"},
    "load": {".tiedowns.0.article"},
    # The first word of each choice is taken, and these exclude what was answered before.
    "carrier": {".personal_and_unpaid"},
    "trailer": {".axles.main.brakes", ".breakaway_fitted"},
    "machine": {".cg.x"},
}


def _leaves(data: Any, path: str = "") -> list[str]:
    """Paths of the single values, a list of words being one."""
    if isinstance(data, list) and data and isinstance(data[0], dict):
        data = dict(enumerate(data))
    if isinstance(data, dict):
        return [leaf for key, inner in data.items() for leaf in _leaves(inner, f"{path}.{key}")]
    return [path]


@pytest.mark.parametrize("kind", KINDS)
def test_every_question_can_be_answered_by_its_own_example(kind: str) -> None:
    draft = drafts(DAY)[kind]
    told: list[str] = []
    stated = ask_for_fields(draft, Person(_follows_the_hints(), told.append), ALL)
    assert [each for each in told if not each.startswith(("\n", "found `"))] == []
    assert faults(draft_text(draft, stated), kind) == []
    wanted = _leaves(draft.questions)
    assert set(wanted) - set(_leaves(stated)) == _LEFT_OPEN.get(kind, set())


def test_a_wrong_unit_is_told_and_asked_again() -> None:
    person, stated = states("trailer", {"gvwr": ["2990 feet", "2990", "2990 lb"]})
    assert person.asked.count("gvwr") == 3
    assert person.told == [
        "found '2990 feet'; wanted a weight or rating such as '2150 lb' "
        "(in lb, kg, t, kN, daN, lbf or N), not a length",
        "found '2990'; wanted a weight or rating such as '2150 lb' "
        "(in lb, kg, t, kN, daN, lbf or N); did you mean '2990 lb'?",
    ]
    assert stated == {"gvwr": "2990 lb"}


@pytest.mark.parametrize(
    ("path", "typed", "said"),
    [
        ("gvwr", "0 lb", "wanted more than zero"),
        ("gvwr", "-1 lb", "wanted more than zero"),
        ("coupling", "balls", "did you mean 'ball'?"),
        ("breakaway_fitted", "true", "did you mean 'yes'?"),
        ("safety_chains.count", "two", "wanted a whole number"),
        ("safety_chains.count", "2.5", "wanted a whole number"),
        ("safety_chains.count", "{a: b}", "wanted a whole number"),
        ("axles", "Front Axle", "wanted a name in small letters"),
        ("title", "x" * 301, "at most 300 characters"),
        ("title", "a\x1b[Db", "found a control character '\\x1b'"),
        ("title", "caf\udce9", "found bytes that are not UTF-8 text"),
    ],
)
def test_what_does_not_fit_is_asked_again(path: str, typed: str, said: str) -> None:
    person, stated = states("trailer", {path: [typed]})
    assert person.asked.count(path) == 2
    assert said in person.told[0]
    assert stated == {}


@pytest.mark.parametrize(("typed", "meant"), [("y", "yes"), ("N", "no"), ("Yes", "yes")])
def test_short_answers_count(typed: str, meant: str) -> None:
    assert states("carrier", {"government": [typed]})[1] == {"government": meant}


def test_units_and_numbers_are_kept_as_typed() -> None:
    _, stated = states(
        "trailer",
        {
            "empty_weight": ["975 kg"],
            "track": ["5 ft 2 in"],
            "axles": ["front", "rear", ""],
            "axles.front.x": ["10' 4\""],
            "axles.front.tyres": ["2"],
            "axles.rear.x": ["4.1 m ± 1 cm"],
        },
    )
    assert stated == {
        "empty_weight": "975 kg",
        "track": "5 ft 2 in",
        "axles": {"front": {"x": "10' 4\"", "tyres": 2}, "rear": {"x": "4.1 m ± 1 cm"}},
    }


def test_a_question_mark_explains_and_asks_again() -> None:
    person, stated = states("trailer", {"coupling": ["?", "ball"], "gvwr": ["?"], "axles": ["?"]})
    assert person.told == [
        "How it couples to the tow vehicle. One of: ball, gooseneck, fifth wheel, pintle. "
        "Enter leaves it not stated.",
        "Gross vehicle weight rating on the label, coupling load included: MAM, ATM. "
        "Wanted: a weight or rating such as '2150 lb' (in lb, kg, t, kN, daN, lbf or N). "
        "Enter leaves it not stated.",
        "Axles by name, such as front and rear. Give the name of one, then its fields; "
        "Enter goes on.",
    ]
    assert stated == {"coupling": "ball"}


def test_a_name_is_given_once_and_one_without_fields_is_dropped() -> None:
    person, stated = states(
        "trailer",
        {"anchors": ["front-left", "front-left", "rear-left"], "anchors.front-left.x": ["47 in"]},
    )
    assert person.told == ["found the name 'front-left' again; wanted another name"]
    assert stated == {"anchors": {"front-left": {"x": "47 in"}}}


def test_entries_of_a_list_one_after_the_other() -> None:
    _, stated = states(
        "load",
        {
            "articles.1": ["yes"],
            "articles.1.from": ["machines/skid-steer"],
            "articles.2": ["y"],
            "articles.2.name": ["pallet"],
            "articles.3": ["no"],
            "trip.places": ["US-UT, US-CO"],
        },
    )
    assert stated == {
        "articles": [{"from": "machines/skid-steer"}, {"name": "pallet"}],
        "trip": {"places": ["US-UT", "US-CO"]},
    }


def test_a_comma_between_thousands_parts_no_entries() -> None:
    field = field_of("load").below("trip").below("load_checks")
    assert answer_value(field, "[45 mi, 1,000 mi]") == ["45 mi", "1,000 mi"]


def test_no_states_that_there_are_none_where_that_can_be() -> None:
    person, stated = states("load", {"articles.1": ["maybe", "no"], "tiedowns.1": ["no"]})
    assert person.told == ["found 'maybe'; wanted yes, no or nothing"]
    assert stated == {"articles": [], "tiedowns": []}


def test_a_reference_leads_to_a_file_of_its_kind() -> None:
    person, stated = states(
        "load",
        {
            "trailer": ["trailers/utility-single-11", "machines/skid-steer", "../x", ""],
            "tow_vehicle": ["tow-vehicles/half-ton"],
        },
    )
    assert "did you mean 'trailers/utility-single-10'?" in person.told[0]
    assert [words.partition(";")[0] for words in person.told] == [
        "found 'trailers/utility-single-11'",
        "found 'machines/skid-steer'",
        "found '../x'",
    ]
    assert stated == {"tow_vehicle": "tow-vehicles/half-ton"}


def test_without_files_references_are_not_asked_for(tmp_path: Path) -> None:
    person, _ = states("load", {}, Files(tmp_path))
    assert person.told == [
        "trailer: left out, there is no trailer file to refer to",
        "tow_vehicle: left out, there is no tow-vehicle file to refer to",
        "carrier: left out, there is no carrier file to refer to",
    ]


def test_files_are_found_below_the_root_however_deep(tmp_path: Path) -> None:
    for place in ("a.yaml", "ours/b.yaml", "ours/deep/c.yaml"):
        (tmp_path / place).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / place).write_text("kind: trailer\n")
    (tmp_path / "broken.yaml").write_text("kind: [trailer\n")
    files = Files(tmp_path)
    assert files.of_kind("trailer") == ["a", "ours/b"]
    assert files.has("ours/deep/c", "trailer")
    assert not files.has("ours/b", "machine")


def test_the_end_of_input_keeps_the_answers() -> None:
    told: list[str] = []
    lines = iter(["Our trailer", "ball"])

    def ask(_question: str) -> str:
        try:
            return next(lines)
        except StopIteration:
            raise EOFError from None

    stated = ask_for_fields(drafts(DAY)["trailer"], Person(ask, told.append), ALL)
    assert stated == {"kind": "trailer", "title": "Our trailer", "coupling": "ball"}


def test_a_rulebook_is_named_and_still_proves_elsewhere() -> None:
    person, stated = states(
        "rulebook", {"id": ["Crew Rules", "crew-rules"], "jurisdiction": ["Utah", "US-UT"]}
    )
    assert (stated["id"], stated["jurisdiction"]) == ("crew-rules", "US-UT")
    assert [words.partition(";")[0] for words in person.told] == [
        "found 'Crew Rules'",
        "found 'Utah'",
    ]
