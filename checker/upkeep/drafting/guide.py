"""A new file by questions: each answer is checked at once and asked again if it does not fit."""

import copy
import itertools
import re
from collections.abc import Callable
from typing import Any

from checker.documents.document import Data
from checker.documents.problems import DataPath, Mark, Problem, listed, nearest, quoted
from checker.documents.reader import read_bytes
from checker.upkeep.drafting.fields import Field, field_of
from checker.upkeep.drafting.files import Files
from checker.upkeep.drafting.outlines import Draft
from checker.upkeep.drafting.text import faults, to_yaml

INTRODUCTION = (
    "Enter leaves a field out, ? explains it. Ctrl-D ends the questions and keeps the answers, "
    "Ctrl-C ends them and writes nothing."
)

_YES, _NO = ("yes", "y"), ("no", "n")
# How Python represents bytes from the terminal that are not UTF-8.
_SURROGATE = re.compile("[\ud800-\udfff]")
# A comma before three digits groups thousands.
_BETWEEN = re.compile(r"\s*;\s*|,\s+|,(?!\d{3}(?!\d))")


def ask_for_fields(
    draft: Draft, ask: Callable[[str], str], show: Callable[[str], None], files: Files
) -> dict[str, Data]:
    """The content of the new file by the answers; valid at every moment.

    `ask` returns the line typed for a question and raises EOFError where there are no more.
    """
    asking = _Questions(draft, ask, show, files)
    try:
        asking.fields(field_of(draft.kind), (), {n: draft.outline[n] for n in draft.asked})
    except EOFError:
        show("")
    return asking.stated


class _Questions:
    """The questions to one person, and the answers so far."""

    def __init__(
        self, draft: Draft, ask: Callable[[str], str], show: Callable[[str], None], files: Files
    ) -> None:
        self.kind = draft.kind
        self.stated = copy.deepcopy(draft.stated)
        self.ask = ask
        self.show = show
        self.files = files

    def fields(self, field: Field, path: DataPath, outline: Data) -> None:
        """Ask for each field of the outline."""
        assert isinstance(outline, dict)
        for name, example in outline.items():
            self.one(field.below(name), (*path, name), example)

    def one(self, field: Field, path: DataPath, example: Data) -> None:
        if field.is_entries:
            self.entries(field, path, example)
        elif field.by_name:
            self.by_name(field, path, example)
        elif field.is_mapping:
            self.fields(field, path, example)
        elif field.refers_to and not self.files.of_kind(field.refers_to):
            self.show(f"{_shown(path)}: left out, there is no {field.refers_to} file to refer to")
        else:
            self.value(field, path, example)

    def value(self, field: Field, path: DataPath, example: Data) -> None:
        """Ask for one value until it is left out or fits."""
        stands = _at(self.stated, path)
        left = f"leaves {quoted(stands)}" if isinstance(stands, str) else "leaves it not stated"
        hint = f"Enter {left}" if stands else self.hint(field, example)
        while answer := self.answer(field, path, hint, f"Enter {left}."):
            value = _value(field, answer)
            if self.refers_well(field, value) and self.fits(path, value):
                self.stated = _with(self.stated, path, value)
                return

    def entries(self, field: Field, path: DataPath, outline: Data) -> None:
        """Ask for the entries of a list one by one; a first `no` states that there are none."""
        assert isinstance(outline, list)
        explained = "yes adds one, Enter goes on; no at first states that there are none."
        while True:
            known = _at(self.stated, path) or []
            at = (*path, len(known))
            answer = self.answer(field, at, "yes adds one, Enter goes on", explained).casefold()
            if not answer or (answer in _NO and known):
                return
            if answer in _YES:
                self.fields(field.below(0).fields(), at, outline[0])
            elif answer not in _NO:
                self.show(_problem(quoted(answer), "yes, no or nothing").words)
            elif self.fits(path, []):
                self.stated = _with(self.stated, path, [])
                return

    def by_name(self, field: Field, path: DataPath, outline: Data) -> None:
        """Ask for names and the fields of each, one by one."""
        assert isinstance(outline, dict)
        (example, inner), *_ = outline.items()
        explained = "Give the name of one, then its fields; Enter goes on."
        hint = f"a name such as {example}, Enter goes on"
        while name := self.answer(field, path, hint, explained):
            at = (*path, name)
            if _at(self.stated, at) is not None:
                self.show(_problem(f"the name {quoted(name)} again", "another name").words)
            elif self.fits(at, {}):
                self.fields(field.below(name), at, inner)

    def answer(self, field: Field, path: DataPath, hint: str, explained: str) -> str:
        """The line typed; `?` prints the explanation of the field and asks again."""
        question = f"{field.description or _shown(path)} ({_shown(path)}: {hint}): "
        while True:
            typed = self.ask(question).strip()
            if typed == "?":
                self.show(f"{field.explained()} {explained}")
            elif _SURROGATE.search(typed):
                self.show(_problem("bytes that are not UTF-8 text", "plain text").words)
            else:
                return typed

    def hint(self, field: Field, example: Data) -> str:
        if field.refers_to:
            return listed(self.files.of_kind(field.refers_to), most=6)
        if field.choices:
            return " / ".join(field.choices)
        shown = field.example if example is None else example
        if shown is None:
            return "a whole number" if field.quantity == "count" else "text"
        return "such as " + (", ".join(map(str, shown)) if isinstance(shown, list) else str(shown))

    def fits(self, path: DataPath, value: Data) -> bool:
        """True if the file is still valid with the value; prints the problem if not."""
        problems = faults(to_yaml(_with(self.stated, path, value)), self.kind)
        for problem in problems:
            self.show(problem.words)
        return not problems

    def refers_well(self, field: Field, value: Data) -> bool:
        """True if a reference leads to a file of its kind; prints the problem if not."""
        kind = field.refers_to
        if kind is None or not isinstance(value, str) or self.files.has(value, kind):
            return True
        known = self.files.of_kind(kind)
        guess = nearest(value, known)
        wanted = f"a {kind} file: {listed(known)}"
        self.show(_problem(quoted(value), wanted, guess and quoted(guess)).words)
        return False


def _problem(found: str, wanted: str, suggestion: str | None = None) -> Problem:
    return Problem("", Mark(1, 1), found, wanted, suggestion)


def _value(field: Field, typed: str) -> Data:
    """The value of the typed line: text as typed, a bare number where one is wanted, a list."""
    if "items" not in field.node:
        return _single(field, typed)
    return [_single(field.single, part) for part in _BETWEEN.split(typed.strip("[] ")) if part]


def _single(field: Field, typed: str) -> Data:
    if field.choices == ["yes", "no"]:
        folded = typed.casefold()
        return "yes" if folded in _YES else "no" if folded in _NO else typed
    if field.node.get("type") in ("integer", "number"):
        number = read_bytes(typed.encode(), "").data
        return number if isinstance(number, int | float) else typed
    return typed


def _shown(path: DataPath) -> str:
    """A path as reports write it, with entries counted from 1."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in path)


def _at(data: Data, path: DataPath) -> Any:
    """The value at a path, or None."""
    inside: Any = data
    for part in path:
        if isinstance(part, int):
            inside = inside[part] if isinstance(inside, list) and part < len(inside) else None
        else:
            inside = inside.get(part) if isinstance(inside, dict) else None
    return inside


def _with(data: dict[str, Data], path: DataPath, value: Data) -> dict[str, Data]:
    """A copy of the data with a value at a path; missing mappings and lists are added."""
    changed = copy.deepcopy(data)
    inside: Any = changed
    for part, following in itertools.pairwise(path):
        empty: Data = [] if isinstance(following, int) else {}
        if isinstance(part, str):
            inside = inside.setdefault(part, empty)
        else:
            if part == len(inside):
                inside.append(empty)
            inside = inside[part]
    last = path[-1]
    if isinstance(last, int) and last == len(inside):
        inside.append(value)
    else:
        inside[last] = value
    return changed
