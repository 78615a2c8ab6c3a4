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
from checker.rulebooks.change_reading import NOT_YET_KNOWN
from checker.rulebooks.model import DatedValue, Rule, Rulebooks, Threshold
from checker.units.parsing import KINDS, UnitError, parse_threshold
from checker.units.words import with_own_units
from checker.upkeep.insert import append_entry, insert_note
from checker.upkeep.yaml_positions import CannotInsertError


class CannotAmendError(Exception):
    """A change that is not possible; the message says what would be accepted."""


@dataclass(frozen=True, slots=True)
class RequestedChange:
    """The change asked for, as typed; a correction states only what differs."""

    rule: str
    threshold: str
    value: str | None
    starts: date | None
    ends: date | None
    each_year: Mapping[str, Data] | None
    source: str | None
    at: str | None
    common_practice: bool
    because: str | None
    by: str | None


@dataclass(frozen=True, slots=True)
class TakenBack:
    """That the change from a first day is taken back: who and why; `corrected` or withdrawn."""

    first: date
    by: str
    because: str
    corrected: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """A change as its file states it, and its index among the changes there."""

    index: int
    stated: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Note:
    """What is added to an entry that somebody takes back."""

    index: int
    key: str
    lines: Mapping[str, Data | date]


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
    if found is not kind:
        message = f"found {found.noun}, '{text}'; wanted {kind.wanted}"
        if not found.units:
            message += f"; did you mean '{text} {kind.units[0]}'?"
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


def change_lines(
    wanted: RequestedChange, threshold: Threshold, corrected: Entry | None
) -> dict[str, Data | date]:
    """The lines of the change in the file, in the usual order.

    What is not asked for stays as in the entry it corrects. Raises CannotAmendError.
    """
    is_practice = wanted.common_practice or corrected is None
    stated: dict[str, Any] = {
        "value": None if wanted.value is None else _plain(wanted.value),
        "from": wanted.starts,
        "until": wanted.ends,
        "each_year": dict(wanted.each_year) if wanted.each_year else None,
        "source": wanted.source,
        "at": wanted.at,
        "common_practice": "yes" if is_practice and not wanted.source else None,
        "because": wanted.because,
        "by": wanted.by,
    }
    if corrected is not None:
        old = dict(corrected.stated)
        if wanted.source or wanted.common_practice:
            old = {key: old[key] for key in old.keys() - {"source", "at", "common_practice"}}
        # Who corrects it and why stands with the entry that was wrong.
        for key in ("because", "by"):
            stated[key] = old.get(key, stated[key])
        stated |= {key: old[key] for key in stated if stated[key] is None and key in old}
    for key in ("from", "until"):
        if isinstance(stated[key], str):
            stated[key] = date.fromisoformat(stated[key])
    own = own_value(threshold, stated["from"])
    head = {"rule": wanted.rule, "threshold": wanted.threshold, "was": _plain(own.text)}
    return {key: value for key, value in {**head, **stated}.items() if value is not None}


def note_of(taken: TakenBack, entry: Entry, starts: date | None) -> Note:
    """What is added to an entry taken back; a withdrawn one may count until a day."""
    first = taken.first if taken.corrected or starts is None else starts
    lines: dict[str, Data | date] = {"from": first, "by": taken.by, "because": taken.because}
    return Note(entry.index, "corrected" if taken.corrected else "withdrawn", lines)


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


def counting_change(text: str, file: str, rule: str, threshold: str | None, first: date) -> Entry:
    """The change of a threshold in a file that begins on a day and that nobody took back yet.

    Without `threshold`, of any threshold of the rule.

    Raises CannotAmendError with the days of the changes there are, and ProblemsFoundError where
    the file is not in order.
    """
    data: Any = _data(text, file, complete="changes" in text)
    mine = [
        Entry(index, each)
        for index, each in enumerate(data.get("changes", ()))
        if each["rule"] == rule
        and threshold in (None, each["threshold"])
        and not {"withdrawn", "corrected"} & each.keys()
    ]
    for entry in reversed(mine):
        if entry.stated["from"] == first.isoformat():
            return entry
    known = [f"{each.stated['from']} ({each.stated['value']})" for each in mine]
    message = f"found no change of {threshold or 'a threshold'} of {rule} from {first} in {file}"
    raise CannotAmendError(
        f"{message}; wanted the first day of one: {listed(known) if known else 'there is none'}"
    )


def amended_text(
    text: str, change: Mapping[str, Data | date] | None, note: Note | None, file: str
) -> str:
    """The file with a change in it, and a note on one taken back; read back and compared.

    Raises ProblemsFoundError where the file before or after is not in order, and CannotInsertError.
    """
    before: Any = _data(text, file, complete="changes" in text)
    wanted = list(before.get("changes", ())) if isinstance(before, dict) else []
    after = text
    if note is not None:
        after = insert_note(after, note.index, note.key, note.lines)
        wanted[note.index] = {**wanted[note.index], note.key: note.lines}
    if change is not None:
        after = append_entry(after, "changes", change)
        wanted.append(dict(change))
    data: Any = _data(after, file, complete=True)
    if _as_texts(data["changes"]) != _as_texts(wanted):
        message = "found changes that share their text (`*name`); wanted each written out"
        raise CannotInsertError(message)
    return after


def _as_texts(data: Any) -> Any:
    """The data with every number and day as a text, for comparison."""
    if isinstance(data, Mapping):
        return {key: _as_texts(value) for key, value in data.items()}
    return [_as_texts(each) for each in data] if isinstance(data, list) else str(data)


def _data(text: str, file: str, *, complete: bool) -> Data:
    document: Document = read_bytes(text.encode(), file)
    problems: list[Problem] = list(document.problems)
    if complete:
        problems += validate(document, wanted_kind="amendment")
    if problems:
        raise ProblemsFoundError(problems)
    return document.data
