"""A new file by questions: each answer is checked at once and asked again if it does not fit."""

import copy
import re
from collections.abc import Callable, Set
from dataclasses import dataclass

from checker.documents.document import Data, Document, value_at
from checker.documents.problems import DataPath, Mark, Problem, listed, nearest, quoted
from checker.documents.reader import read_bytes
from checker.documents.validate import validate
from checker.load.convert import field_path
from checker.upkeep.drafting.answers import NO, YES, answer_value, with_value
from checker.upkeep.drafting.draft import Draft
from checker.upkeep.drafting.fields import Field, field_of
from checker.upkeep.drafting.files import Files
from checker.upkeep.drafting.plausibility import Plausibility
from checker.upkeep.drafting.text import to_yaml
from checker.upkeep.drafting.undecided import UndecidedRules

INTRODUCTION = (
    "Enter leaves a field out, ? explains it, < goes one step back. Ctrl-D ends the questions and "
    "keeps the answers, Ctrl-C ends them and writes nothing."
)

_BACK = "<"
_SAME = ("same", "s")
_PLACE = ("x", "y", "z")
_SIDES = {"left": "right", "right": "left"}
# How Python represents bytes from the terminal that are not UTF-8.
_SURROGATE = re.compile("[\ud800-\udfff]")


class _StepBackError(Exception):
    """The person wants to answer the question before this one again."""


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who is asked: `ask` returns the line typed, or raises EOFError at the end."""

    ask: Callable[[str], str]
    show: Callable[[str], None]


def ask_for_fields(
    draft: Draft, person: Person, files: Files, rules: UndecidedRules | None = None
) -> dict[str, Data]:
    """The content of the new file by the answers; valid at every moment.

    With rules, the fields that undecided must-rules need are asked for last, until all are decided.
    """
    given: list[str] = []
    while True:
        asking = _Questions(draft, person, files, given)
        try:
            asking.fields(field_of(draft.kind), (), draft.questions)
            if rules is not None:
                asking.what_rules_need(rules)
        except EOFError:
            person.show("")
        except _StepBackError:
            given = asking.given[:-1]
            continue
        return asking.stated


class _Questions:
    """The questions to one person, and the answers so far.

    Answers given before a step back are taken in place of questions, without a word.
    """

    def __init__(self, draft: Draft, person: Person, files: Files, given: list[str]) -> None:
        self.kind = draft.kind
        self.stated = copy.deepcopy(draft.stated)
        self.person = person
        self.files = files
        self.conditions = draft.conditions
        self.plausibility = Plausibility(draft.kind, files.root)
        self.given: list[str] = []
        self.again = list(reversed(given))
        self.group: DataPath = ()
        self.named: set[DataPath] = set()

    def fields(self, field: Field, path: DataPath, outline: Data) -> None:
        """Ask for each field of the outline that the answers so far leave open."""
        assert isinstance(outline, dict)
        for name, example in outline.items():
            at = (*path, name)
            condition = self.conditions.get(_pattern(at, self.named))
            if condition is None or condition(self.stated):
                self.one(field.below(name), at, example)

    def one(self, field: Field, path: DataPath, example: Data) -> None:
        if field.is_entries:
            self.entries(field, path, example)
        elif field.by_name:
            self.by_name(field, path, example)
        elif field.is_mapping:
            self.fields(field, path, example)
        elif field.refers_to and not self.files.of_kind(field.refers_to):
            words = f"left out, there is no {field.refers_to} file to refer to"
            self.show(f"{field_path(path)}: {words}")
        else:
            self.value(field, path, example)

    def what_rules_need(self, rules: UndecidedRules) -> None:
        """Ask for the fields that undecided must-rules need, each once, until none is left."""
        for problem in rules.problems(self.stated):
            self.show(f"The rules cannot be applied yet: {problem}")
        asked: set[str] = set()
        top = field_of(self.kind)
        order = top.names
        while not rules.problems(self.stated):
            missing = [each for each in rules.missing(self.stated) if each not in asked]
            if not missing:
                left = rules.missing(self.stated)
                self.show(f"Still open: {listed(left)}." if left else "Every must-rule is decided.")
                return
            first = min(missing, key=lambda each: order.index(each.partition(".")[0]))
            path, field = _place(top, first)
            around = first.rpartition(".")[0]
            beside = [each for each in missing if each.rpartition(".")[0] == around]
            answers = [each for each in beside if _place(top, each)[1].choices == ["yes", "no"]]
            if first in answers and len(answers) > _FEW:
                # One or two more are asked with them, not alone.
                all_fit = len(answers) <= _MOST_TOGETHER + _FEW
                together = answers if all_fit else answers[:_MOST_TOGETHER]
                asked.update(together)
                places = [_place(top, each) for each in together]
                self.statements(_place(top, around)[1], places)
            else:
                asked.add(first)
                self.one(field, path, [_named_file(field)] if field.is_entries else None)

    def statements(self, parent: Field, listed_together: list[tuple[DataPath, Field]]) -> None:
        """Ask at once which of several statements are true."""
        path = listed_together[0][0][:-1]
        self.head_group(parent, path)
        for number, (at, field) in enumerate(listed_together, 1):
            self.show(f"{number:>3}. {field.description} ({at[-1]})")
        hint = "yes, or the numbers of those that are NOT, 3? for one not looked at, Enter goes on"
        while typed := self.answer(parent, path, hint, "", words="Are all of these true?"):
            words = [] if typed.casefold() in YES else re.split(r"[\s,;]+", typed)
            numbers = {word.rstrip("?"): word.endswith("?") for word in words}
            if set(numbers) <= {str(each) for each in range(1, len(listed_together) + 1)}:
                break
            wanted = f"yes, or numbers from 1 to {len(listed_together)}"
            self.show(_problem(quoted(typed), wanted).words)
            self.given.pop()
        else:
            return
        for number, (at, field) in enumerate(listed_together, 1):
            not_looked_at = numbers.get(str(number))
            value = "yes" if not_looked_at is None else "no"
            if value == "no":
                # Said once more: a number typed for the opposite would answer the wrong way round.
                said = "Not looked at" if not_looked_at else "NOT true"
                self.show(f"{said}: {field.description}.")
            if not not_looked_at and self.fits(at, value):
                self.stated = with_value(self.stated, at, value)

    def value(self, field: Field, path: DataPath, example: Data) -> None:
        """Ask for one value until it is left out or fits."""
        stands = value_at(self.stated, path)
        left = f"leaves {quoted(stands)}" if isinstance(stands, str) else "leaves it not stated"
        hint = f"Enter {left}" if stands else self.hint(field, example)
        doubted = None
        while answer := self.answer(field, path, hint, f"Enter {left}."):
            value = answer_value(field, answer)
            if self.refers_well(field, value) and self.fits(path, value):
                if not self.is_doubtful(path, value) or doubted == value:
                    self.stated = with_value(self.stated, path, value)
                    return
                doubted = value
            self.given.pop()

    def entries(self, field: Field, path: DataPath, outline: Data) -> None:
        """Ask for the entries of a list one by one; a first `no` states that there are none."""
        assert isinstance(outline, list)
        while True:
            known = value_at(self.stated, path) or []
            at = (*path, len(known))
            same = ", same one like the last in another place" if known else ""
            hint = f"yes adds one{same}, Enter goes on"
            explained = f"{hint}; no at first states that there are none."
            answer = self.answer(field, at, hint, explained).casefold()
            if not answer or (answer in NO and known):
                return
            entry = field.below(0).fields()
            if answer in YES:
                self.fields(entry, at, outline[0])
            elif answer in _SAME and known:
                self.same(entry, at, known[-1], outline[0])
            elif answer not in NO:
                self.show(_problem(quoted(answer), "yes, no or nothing").words)
                self.given.pop()
            elif self.is_valid(path, []):
                self.stated = with_value(self.stated, path, [])
                return
            else:
                self.given.pop()

    def by_name(self, field: Field, path: DataPath, outline: Data) -> None:
        """Ask for names and the fields of each, one by one."""
        self.named.add(path)
        examples = outline if isinstance(outline, dict) else {}
        example, inner = next(iter(examples.items()), ("front", _every_field(field.below("front"))))
        explained = "Give the name of one, then its fields; Enter goes on."
        hint = f"a name such as {example}, Enter goes on"
        while name := self.answer(field, path, hint, explained):
            at = (*path, name)
            if value_at(self.stated, at) is not None:
                self.show(_problem(f"the name {quoted(name)} again", "another name").words)
                self.given.pop()
            elif not self.is_valid(at, {}):
                self.given.pop()
            else:
                last = list((value_at(self.stated, path) or {}).values())[-1:]
                words = "the same as the last but for its place"
                if last and self.agrees(field.below(name), at, words):
                    self.same(field.below(name), at, last[0], inner)
                else:
                    self.fields(field.below(name), at, inner)
                self.mirrored(field, path, name)

    def same(self, field: Field, path: DataPath, last: dict[str, Data], outline: Data) -> None:
        """An entry like the last one; what says where it is is asked for."""
        assert isinstance(outline, dict)
        differs = {name: each for name, each in outline.items() if name in _OF_ITS_PLACE}
        like = {name: each for name, each in last.items() if name not in _OF_ITS_PLACE}
        if like:
            self.stated = with_value(self.stated, path, like)
        self.fields(field, path, differs)

    def mirrored(self, field: Field, path: DataPath, name: str) -> None:
        """Offer the point on the other side of one whose name and y say its side."""
        entry = value_at(self.stated, (*path, name))
        side = next((word for word in _SIDES if word in name.split("-")), None)
        if side is None or not isinstance(entry, dict) or not isinstance(entry.get("y"), str):
            return
        other = "-".join(_SIDES.get(word, word) for word in name.split("-"))
        at = (*path, other)
        if value_at(self.stated, at) is None and self.agrees(
            field.below(other), at, f"the same as {name} on the other side"
        ):
            y = str(entry["y"])
            mirror = y.removeprefix("-").strip() if y.startswith("-") else f"-{y}"
            if self.fits(at, {**entry, "y": mirror}):
                self.stated = with_value(self.stated, at, {**entry, "y": mirror})

    def agrees(self, field: Field, path: DataPath, words: str) -> bool:
        """True if the person says yes; Enter and no are the same."""
        while True:
            answer = self.answer(field, path, f"{words}? yes / no", "Enter is no.").casefold()
            if answer in YES or answer in NO or not answer:
                return answer in YES
            self.show(_problem(quoted(answer), "yes or no").words)
            self.given.pop()

    def answer(
        self, field: Field, path: DataPath, hint: str, explained: str, words: str = ""
    ) -> str:
        """The line typed; `?` prints the explanation of the field and asks again."""
        if self.again:
            self.given.append(self.again.pop())
            return self.given[-1]
        self.head_group(field, path)
        name = field_path(path)
        question = f"{words or field.description or name} ({name}: {hint}): "
        while True:
            typed = self.person.ask(question).strip()
            if typed == "?":
                self.show(f"{field.explained()} {explained}")
            elif typed == _BACK and not self.given:
                self.show("This is the first question.")
            elif typed == _BACK:
                raise _StepBackError
            elif _SURROGATE.search(typed):
                self.show(_problem("bytes that are not UTF-8 text", "plain text").words)
            else:
                self.given.append(typed)
                return typed

    def head_group(self, field: Field, path: DataPath) -> None:
        """A heading where the questions come to another part of the file."""
        of_entry = len(path) > 1 and isinstance(path[1], int)
        inside = len(path) > 1 or field.by_name or field.is_mapping
        group = path[: 2 if of_entry else 1] if inside else ()
        if group != self.group and group:
            self.show(f"\n{field_path(group).replace('_', ' ').replace('.', ' ').upper()}")
        self.group = group

    def show(self, words: str) -> None:
        """Print a line, unless it was printed before a step back."""
        if not self.again:
            self.person.show(words)

    def hint(self, field: Field, example: Data) -> str:
        if field.refers_to:
            return listed(self.files.of_kind(field.refers_to), most=6)
        if field.choices:
            return " / ".join(field.choices)
        meant = field.example if example is None else example
        if meant is None:
            return "a whole number" if field.quantity == "count" else "text"
        return "such as " + (", ".join(map(str, meant)) if isinstance(meant, list) else str(meant))

    def is_valid(self, path: DataPath, value: Data) -> bool:
        """True if the file is still valid with the value; prints the problem if not."""
        whole = Document("", with_value(self.stated, path, value), {}, {})
        # The text shows what no file may contain, such as control characters.
        problems = read_bytes(to_yaml({"typed": value}).encode(), "").problems
        problems += validate(whole, wanted_kind=self.kind)
        for problem in problems:
            self.show(problem.words)
        return not problems

    def fits(self, path: DataPath, value: Data) -> bool:
        """True if the file is still valid with the value, and can be true; prints the problem.

        A problem that was there before is not that of the value.
        """
        if not self.is_valid(path, value):
            return False
        known = self.plausibility.refused(self.stated)
        found = self.plausibility.refused(with_value(self.stated, path, value))
        new = [each for each in found if each not in known]
        for each in new:
            self.show(each)
        return not new

    def is_doubtful(self, path: DataPath, value: Data) -> bool:
        """True if the value is far outside the usual; prints why. Not asked again after a yes."""
        if self.again:
            return False
        known = self.plausibility.doubtful(self.stated)
        found = self.plausibility.doubtful(with_value(self.stated, path, value))
        new = [each for each in found if each not in known]
        for each in new:
            self.show(f"Unusual: {each}. Type it again if it is right.")
        return bool(new)

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


_OF_ITS_PLACE = (*_PLACE, "name", "placed", "article", "anchor", "far_anchor", "attachment", "over")
"""Fields that differ between things that are otherwise the same."""
_FEW = 2
_MOST_TOGETHER = 8
"""Statements that are asked about together: more than a few, no more than a screen shows."""


def _named_file(field: Field) -> Data:
    """The outline of an entry of which nothing is stated: the file it refers to, if it has one."""
    return {"from": None} if "from" in field.below(0).names else _every_field(field.below(0))


def _every_field(field: Field) -> Data:
    return dict.fromkeys(field.names)


def _problem(found: str, wanted: str, suggestion: str | None = None) -> Problem:
    return Problem("", Mark(1, 1), found, wanted, suggestion)


def _place(top: Field, name: str) -> tuple[DataPath, Field]:
    """The path and the field of a name as reports write it, with entries counted from 1."""
    path: DataPath = ()
    field = top
    for part in name.split("."):
        is_index = part.isdecimal() and "items" in field.fields().node
        path = (*path, int(part) - 1 if is_index else part)
        field = field.below(path[-1])
    return path, field


def _pattern(path: DataPath, named: Set[DataPath]) -> str:
    """A path with `*` for entries of lists and for names that the crew chose."""
    parts = (
        "*" if isinstance(part, int) or path[:depth] in named else str(part)
        for depth, part in enumerate(path)
    )
    return ".".join(parts)
