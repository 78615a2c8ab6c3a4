"""A change that an officer asks for, and the amendment file for it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from checker.documents.document import Data, Document
from checker.documents.problems import Problem, ProblemsFoundError, listed, nearest
from checker.documents.reader import read_bytes
from checker.documents.validate import validate
from checker.rulebooks.amendments import NOT_YET_KNOWN
from checker.rulebooks.model import DatedValue, Rule, Rulebooks, Threshold
from checker.units.parsing import KINDS, UnitError, parse_threshold
from checker.units.words import with_own_units
from checker.upkeep.insert import insert_change


class CannotAmendError(Exception):
    """A change that is not possible; the message says what would be accepted."""


@dataclass(frozen=True, slots=True)
class RequestedChange:
    """The change asked for, as typed."""

    rule: str
    threshold: str
    value: str
    starts: date
    ends: date | None
    source: str | None
    at: str | None
    because: str | None
    by: str | None


def find_amendable_rule(rulebooks: Rulebooks, rule_id: str) -> Rule:
    """The rule of that id, with a threshold. Raises CannotAmendError with a suggestion."""
    found = rulebooks.rule(rule_id)
    if found is None:
        known = [rule.id for book in rulebooks.books for rule in book.rules]
        raise CannotAmendError(_unknown(f"rule '{rule_id}'", "the id of a rule", rule_id, known))
    if not found[1].thresholds:
        message = f"found the rule '{rule_id}', which has no threshold; wanted one with a number"
        raise CannotAmendError(message)
    return found[1]


def threshold_of(rule: Rule, name: str) -> Threshold:
    """The threshold of that name. Raises CannotAmendError with a suggestion."""
    if name not in rule.thresholds:
        wanted = f"one of its thresholds: {listed(rule.thresholds)}"
        found_words = f"threshold '{name}' of {rule.id}"
        raise CannotAmendError(_unknown(found_words, wanted, name, list(rule.thresholds)))
    return rule.thresholds[name]


def check_value(threshold: Threshold, text: str) -> str:
    """The text of a new value, checked to be of the threshold's kind. Raises CannotAmendError."""
    if text == NOT_YET_KNOWN:
        return text
    kind = KINDS[threshold.values[0].quantity.kind]
    try:
        with with_own_units(()):  # as in the amendment file it goes into
            found = KINDS[parse_threshold(_plain(text)).kind]
    except UnitError as error:
        raise CannotAmendError(str(error)) from error
    if found.dimension != kind.dimension:
        message = f"found {found.noun}, '{text}'; wanted {kind.wanted}"
        raise CannotAmendError(message)
    return text


def _unknown(found: str, wanted: str, word: str, known: list[str]) -> str:
    guess = nearest(word, known)
    return f"found the {found}; wanted {wanted}" + (f"; did you mean '{guess}'?" if guess else "")


def own_value(threshold: Threshold, day: date) -> DatedValue:
    """The rulebook's own value on the day a change begins. Raises CannotAmendError."""
    value = threshold.on(day)
    if value is None:
        first = threshold.values[0].starts
        message = f"found the day {day}; wanted one from {first} on, when its first value begins"
        raise CannotAmendError(message)
    return value


def change_lines(wanted: RequestedChange, was: DatedValue) -> dict[str, Data | date]:
    """The lines of the change in the file, in the usual order."""
    stated: dict[str, Data | date | None] = {
        "rule": wanted.rule,
        "threshold": wanted.threshold,
        "was": _plain(was.text),
        "value": _plain(wanted.value),
        "from": wanted.starts,
        "until": wanted.ends,
        "source": wanted.source,
        "at": wanted.at,
        "common_practice": None if wanted.source else "yes",
        "because": wanted.because,
        "by": wanted.by,
    }
    return {key: value for key, value in stated.items() if value is not None}


def _plain(text: str) -> str | int | float:
    """A bare number as a number, so that it is written without quotes."""
    if re.fullmatch(r"\d+", text):
        return int(text)
    return float(text) if re.fullmatch(r"\d+\.\d+", text) else text


def new_file(name: str, jurisdiction: str | None) -> str:
    """The head of a new amendment file, by the law of a jurisdiction or a company's own policy."""
    whose = f"the law of {jurisdiction}" if jurisdiction else "the company"
    title = f"Changes by {whose}"
    return f"""\
# Changes to rules by {whose}. Each says which rule and threshold, what the rulebook
# says on those days (`was`), the new value, the first day, where it comes from, why, and who
# is responsible. `cinchbook amend` adds to it; `cinchbook impact` shows what a change does.
kind: amendment
id: {name}
title: {title}
layer: {"place" if jurisdiction else "company"}
jurisdiction: {jurisdiction or "any"}
"""


def amended_text(text: str, change: Mapping[str, Data | date], file: str) -> str:
    """The file with the change in it, read back and compared with the intended content.

    Raises ProblemsFoundError where the file before or after is not in order, and CannotInsertError.
    """
    before: Any = _data(text, file, complete="changes" in text)
    after = insert_change(text, change)
    data: Any = _data(after, file, complete=True)
    entries = list(before.get("changes", ())) if isinstance(before, dict) else []
    added = data["changes"][len(entries)]
    assert {key: str(value) for key, value in added.items()} == {
        key: str(value) for key, value in change.items()
    }, "the file read back differs from the change asked for"
    return after


def _data(text: str, file: str, *, complete: bool) -> Data:
    document: Document = read_bytes(text.encode(), file)
    problems: list[Problem] = list(document.problems)
    if complete:
        problems += validate(document, wanted_kind="amendment")
    if problems:
        raise ProblemsFoundError(problems)
    return document.data
