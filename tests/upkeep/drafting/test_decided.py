"""A crew that answers every question of the six files of a load has every must-rule decided.

Origin of the answers: the bundled load and its files, of which a check decides every must-rule.
"""

import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from checker.documents.document import Data
from checker.documents.reader import read_file
from checker.documents.resources import shipped_folder
from checker.load.build import read_profile
from checker.upkeep.drafting.drafts import drafts
from checker.upkeep.drafting.files import Files
from checker.upkeep.drafting.guide import Person, ask_for_fields
from checker.upkeep.drafting.text import draft_text
from checker.upkeep.drafting.undecided import UndecidedRules
from tests.shipped import shipped_rules

from .conftest import DAY

BUNDLED = shipped_folder("profiles")
MOST_QUESTIONS = 160
"""For the six files of the mower; 226 before statements were asked together and points mirrored."""


def _at(data: Any, path: str) -> Any:
    for part in path.split("."):
        if isinstance(data, list):
            data = data[int(part) - 1] if int(part) <= len(data) else None
        else:
            data = data.get(part) if isinstance(data, dict) else None
    return data


class Crew:
    """Answers from the content of a file, by the path of each question."""

    def __init__(self, own: Data, whole: Data) -> None:
        """`whole` has the files that `own` refers to as well, for what rules need of them."""
        self.own = own
        self.whole = whole
        self.questions = 0
        self.named: set[str] = set()
        self.listed: list[tuple[str, str]] = []
        self.told: list[str] = []

    def show(self, words: str) -> None:
        self.told.append(words)
        if statement := re.fullmatch(r" *([0-9]+)\. .* \(([a-z_]+)\)", words):
            self.listed.append((statement[1], statement[2]))

    def ask(self, question: str) -> str:
        self.questions += 1
        found = re.search(r"\(([^():]+): (.*)\): $", question)
        assert found, question
        path, hint = found.groups()
        if hint.startswith("yes, or"):
            listed, self.listed = self.listed, []
            answers = {number: _at(self.whole, f"{path}.{name}") for number, name in listed}
            assert set(answers.values()) <= {"yes", "no"}, answers
            return " ".join(each for each, answer in answers.items() if answer == "no") or "yes"
        if hint.endswith("? yes / no"):
            self.named.add(path)
            return "yes"
        if hint.startswith("a name such as"):
            names = [each for each in _at(self.own, path) if f"{path}.{each}" not in self.named]
            self.named.update(f"{path}.{each}" for each in names[:1])
            return names[0] if names else ""
        if hint.startswith("yes adds one"):
            like_the_last = "same" if "same one" in hint and path.startswith("tie") else "yes"
            return "" if _at(self.own, path) is None else like_the_last
        answer = _at(self.own, path)
        answer = _at(self.whole, path) if answer is None else answer
        return ", ".join(map(str, answer)) if isinstance(answer, list) else str(answer or "")


@pytest.mark.parametrize(
    ("name", "most"),
    [("mower-in-order", MOST_QUESTIONS), ("mini-excavator-in-order", 190)],
)
def test_every_must_rule_is_decided(name: str, most: int, tmp_path: Path) -> None:
    load: Any = read_file(BUNDLED / "loads" / f"{name}.yaml").data
    straps = dict.fromkeys(each["from"] for each in load["tiedowns"])
    references = [
        ("trailer", load["trailer"]),
        ("tow-vehicle", load["tow_vehicle"]),
        *(("machine", each["from"]) for each in load["articles"]),
        *(("tiedown", each) for each in straps),
        ("carrier", load["carrier"]),
        ("load", f"loads/{name}"),
    ]
    questions = 0
    for kind, reference in references:
        own = read_file(BUNDLED / f"{reference}.yaml").data
        whole: Data = own
        file = tmp_path / f"{reference}.yaml"
        rules = None
        if kind == "load":
            whole = read_profile(BUNDLED / f"{reference}.yaml").merged.data
            rules = UndecidedRules(shipped_rules(), file, tmp_path, DAY)
        crew = Crew(own, whole)
        draft = drafts(DAY)[kind]
        stated = ask_for_fields(draft, Person(crew.ask, crew.show), Files(tmp_path), rules)
        questions += crew.questions
        file.parent.mkdir(exist_ok=True)
        file.write_text(draft_text(draft, stated))
    assert crew.told[-1] == "Every must-rule is decided."
    assert rules is not None
    assert rules.missing(stated) == []
    assert questions <= most


def test_what_is_left_open_is_named_at_the_end(tmp_path: Path) -> None:
    told: list[str] = []
    rules = UndecidedRules(shipped_rules(), tmp_path / "new.yaml", BUNDLED, date(2026, 6, 1))
    stated = ask_for_fields(
        drafts(DAY)["load"], Person(lambda _question: "", told.append), Files(BUNDLED), rules
    )
    assert stated == drafts(DAY)["load"].stated
    assert told[-1].startswith("Still open: ")
