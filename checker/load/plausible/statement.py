"""One line of the lists of this room: parsed once, then held against a load.

A statement is a line such as

    trailer.deck.rear < trailer.deck.front
    trailer.safety_chains.count is 0
    trailer.coupling is ball|pintle
    tiedowns.*.pulls has forward
    tiedowns.*.far_anchor stated
    trip.places crosses US
    |articles.*.placed.y| + 0.5 * articles.*.width > 0.5 * trailer.deck.width + 12in

Every `*` after the same words means the same entry, `+` a later entry of the same list.
`|field|` is the size of a figure without its sign, and 0 at least where the field is not stated.
`#field` is how many entries a list has. A statement holds only where it holds for every value
within the stated tolerances, so that nothing is refused that can still be true.
"""

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache, reduce
from typing import Any, Final, Protocol, TypeAlias

import numpy as np
from msgspec import Struct

from checker.documents.document import value_at
from checker.documents.problems import DataPath
from checker.documents.schemas import field_node, word_for_none
from checker.units.arithmetic import Number, at_least, more_than
from checker.units.parsing import parse

Interval: TypeAlias = tuple[Number, Number]
"""Least and greatest value of a figure, in N, m, s; an answer is 1 or 0."""
Holds: TypeAlias = Any
"""A plain bool, or an array of them with one row a haul."""
Bound: TypeAlias = Mapping[str, str | int]
"""The index chosen for each list, by the path up to its `*` or `+`."""

COUNT: Final = "count"
ANSWER: Final = "answer"
"""The kind of a field that is `yes` or `no`."""
ANSWERS: Final = {"yes": 1.0, "no": 0.0}
_CONSTANT: Final = re.compile(r"(-?\d+(?:\.\d+)?)(in|lb|kg|m|mi|mph|h|min|psi|%)?")
_LONGEST_LIST: Final = 200
_KIND_OF_UNIT: Final = {
    "in": "length",
    "m": "length",
    "mi": "length",
    "lb": "load",
    "kg": "load",
    "mph": "speed",
    "h": "duration",
    "min": "duration",
    "psi": "pressure",
    "%": "ratio",
}
_WORDS: Final = re.compile(r"(?P<field>\S+) (?:(?P<verb>is|has|crosses) (?P<words>.+)|stated)")
_COMPARED: Final = re.compile(r"(?P<left>.+) (?P<sign><=|<|>=|>) (?P<right>.+)")


class Stated(Protocol):
    """What a load states: its words, and its figures as intervals."""

    def word(self, path: DataPath) -> Any:
        """The text, list or mapping at a path; None where there is none."""

    def interval(self, path: DataPath, kind: str) -> Interval | None:
        """The figure, count or answer at a path; None where it is not stated."""

    def shown(self, path: DataPath, kind: str | None, row: int) -> str:
        """The stated value as text; `row` is the haul, if there are many."""

    def is_metric(self, path: DataPath, kind: str, row: int) -> bool:
        """True if the figure at a path is stated in a metric unit."""


class Term(Struct, frozen=True):
    """A factor and the fields it multiplies; `size` means without the sign."""

    factor: float
    fields: tuple[str, ...]
    size: bool = False

    def interval(self, stated: Stated, bound: Bound) -> Interval | None:
        """Least and most that it may come to; None where a field is not stated."""
        product: Interval | None = None
        for field in self.fields:
            found = _interval(field, stated, bound)
            if found is None and not self.size:
                return None
            found = (0.0, np.inf) if found is None else found
            found = _without_sign(found) if self.size else found
            product = found if product is None else _times(product, found)
        low, high = product or (1.0, 1.0)
        ends = self.factor * low, self.factor * high
        return ends if self.factor >= 0 else (ends[1], ends[0])


class Words(Struct, frozen=True):
    """A field that is one of some words, contains one of them, or is stated at all.

    A list of jurisdictions crosses a country if it names two parts of it.
    """

    field: str
    verb: str
    words: tuple[str, ...]
    for_none: bool = False
    """It is the word that a quantity has where there is none."""

    @property
    def fields(self) -> tuple[str, ...]:
        """The field it names."""
        return (self.field,)

    @property
    def needs(self) -> tuple[str, ...]:
        """The fields without which it holds nowhere."""
        return (self.field,)

    def holds(self, stated: Stated, bound: Bound) -> Holds:
        """True where the statement holds."""
        if not self.for_none and kind_of(self.field) is not None:
            figure = _interval(self.field, stated, bound)
            return False if figure is None else self._holds_of(figure)
        found = stated.word(path_of(self.field, bound))
        if self.verb == "stated":
            return found is not None
        if self.verb == "has":
            return isinstance(found, list) and any(word in found for word in self.words)
        if self.verb == "crosses":
            named = [str(each).split("-") for each in found] if isinstance(found, list) else []
            inside = {each[1] for each in named if each[0] == self.words[0] and len(each) > 1}
            return len(inside) > 1
        return found in self.words

    def _holds_of(self, figure: Interval) -> Holds:
        low, high = figure
        if self.verb == "stated":
            return low == low  # NaN, in a column of figures, is not stated
        number = ANSWERS.get(self.words[0])
        number = float(self.words[0]) if number is None else number
        return (low == number) & (high == number)


class Compared(Struct, frozen=True):
    """A sum that is certainly less than another, or certainly not more."""

    left: tuple[Term, ...]
    right: tuple[Term, ...]
    strict: bool
    fields: tuple[str, ...]
    """The fields it names, as written."""

    @property
    def needs(self) -> tuple[str, ...]:
        """The fields without which it holds nowhere."""
        terms = (term for term in (*self.left, *self.right) if not term.size)
        return tuple(field for term in terms for field in term.fields)

    def sums(self, stated: Stated, bound: Bound) -> tuple[Interval, Interval] | None:
        """Both sides; None where a field is not stated."""
        left = _sum(self.left, stated, bound)
        right = None if left is None else _sum(self.right, stated, bound)
        return None if left is None or right is None else (left, right)

    def holds(self, stated: Stated, bound: Bound) -> Holds:
        """True where the comparison holds for every value within the tolerances."""
        sums = self.sums(stated, bound)
        if sums is None:
            return False
        (_, left), (right, _) = sums
        truth = more_than(right, left) if self.strict else at_least(right, left)
        return np.equal(truth, 1) if np.ndim(truth) else truth == 1


Clause: TypeAlias = Words | Compared


@lru_cache(maxsize=1024)
def clause(text: str) -> Clause:
    """One parsed statement."""
    words = _WORDS.fullmatch(text)
    if words:
        chosen = tuple((words["words"] or "").split("|"))
        field, verb = words["field"], words["verb"] or "stated"
        is_a_figure = not field.startswith("#") and verb == "is"
        none = word_for_none(field) if is_a_figure else None
        return Words(field, verb, chosen, for_none=none is not None and chosen == (none,))
    compared = _COMPARED.fullmatch(text)
    if compared is None:
        raise ValueError(f"found the statement '{text}'; wanted words or a comparison")
    left, right = _terms(compared["left"]), _terms(compared["right"])
    fields = tuple(field for term in (*left, *right) for field in term.fields)
    if compared["sign"].startswith(">"):
        left, right = right, left
    return Compared(left, right, len(compared["sign"]) == 1, fields)


def _terms(text: str) -> tuple[Term, ...]:
    found = []
    sign = 1.0
    for part in re.split(r" ([+-]) ", text):
        if part in ("+", "-"):
            sign = 1.0 if part == "+" else -1.0
            continue
        found.append(_term(part, sign))
    return tuple(found)


def _term(text: str, sign: float) -> Term:
    factor, fields, size = sign, [], False
    for piece in text.split(" * "):
        constant = _CONSTANT.fullmatch(piece)
        if constant:
            factor *= _si(constant[1], constant[2])
        else:
            size = size or piece.startswith("|")
            fields.append(piece.strip("|"))
    return Term(factor, tuple(fields), size)


def _si(number: str, unit: str | None) -> float:
    return float(number) if unit is None else parse(f"{number} {unit}", _KIND_OF_UNIT[unit]).value


def _sum(terms: tuple[Term, ...], stated: Stated, bound: Bound) -> Interval | None:
    low: Number = 0.0
    high: Number = 0.0
    for term in terms:
        found = term.interval(stated, bound)
        if found is None:
            return None
        low, high = low + found[0], high + found[1]
    return low, high


def _interval(field: str, stated: Stated, bound: Bound) -> Interval | None:
    if not field.startswith("#"):
        return stated.interval(path_of(field, bound), kind_of(field) or ANSWER)
    entries = stated.word(path_of(field[1:], bound))
    number = float(len(entries)) if isinstance(entries, list | dict) else None
    return None if number is None else (number, number)


def _times(one: Interval, other: Interval) -> Interval:
    corners = [each * end for each in one for end in other]
    return reduce(np.minimum, corners), reduce(np.maximum, corners)


def _without_sign(figure: Interval) -> Interval:
    low, high = figure
    return np.maximum(np.maximum(low, -high), 0.0), np.maximum(np.abs(low), np.abs(high))


@lru_cache(maxsize=1024)
def kind_of(field: str) -> str | None:
    """The kind of figure a field holds, ANSWER for yes and no, None for words and lists."""
    if field.startswith("#"):
        return COUNT
    node = field_node(field)
    return node.get("quantity") or (ANSWER if node.get("enum") == ["yes", "no"] else None)


@lru_cache(maxsize=1024)
def _parts(field: str) -> tuple[tuple[str, str | None], ...]:
    """The parts of a field path, and for each `*` or `+` the path before it."""
    parts = field.split(".")
    return tuple(
        (part, ".".join(parts[: index + 1]) if part in ("*", "+") else None)
        for index, part in enumerate(parts)
    )


@lru_cache(maxsize=1024)
def _path_outside_lists(field: str) -> DataPath | None:
    """The path of a field that is in no list, the same for every choice of entries."""
    found = _parts(field)
    return None if any(prefix for _, prefix in found) else tuple(part for part, _ in found)


def path_of(field: str, bound: Bound) -> DataPath:
    """The path of a field with its `*` and `+` replaced by list indices."""
    outside = _path_outside_lists(field)
    if outside is not None:
        return outside
    return tuple([part if prefix is None else bound[prefix] for part, prefix in _parts(field)])


Pattern: TypeAlias = tuple[str, ...]
"""The parts of a field path, with `*` for every entry of a list."""


def pattern_of(field: str) -> Pattern:
    """The parts of a field path; whichever entry `*` and `+` mean."""
    return tuple("*" if part == "+" else part for part in field.lstrip("#").split("."))


def is_stated(pattern: Pattern, data: Any) -> bool:
    """True if the data state a field, in lists for one of their entries at least."""
    for index, part in enumerate(pattern):
        if part == "*":
            entries = data.values() if isinstance(data, dict) else data
            return isinstance(data, dict | list) and any(
                is_stated(pattern[index + 1 :], each) for each in entries
            )
        data = data.get(part) if isinstance(data, dict) else None
        if data is None:
            return False
    return True


def bindings(fields: tuple[str, ...], data: Any) -> Iterator[dict[str, str | int]]:
    """Every combination of list entries for the `*` and `+` in some fields."""
    return _bound(_prefixes(fields), {}, data)


@lru_cache(maxsize=1024)
def _prefixes(fields: tuple[str, ...]) -> tuple[str, ...]:
    """The paths up to each `*` and `+` in some fields, in the order in which they are bound."""
    found = {prefix for field in fields for _, prefix in _parts(field.lstrip("#")) if prefix}
    # A `*` comes before the `+` that counts on from it, and an outer list before an inner one.
    return tuple(sorted(found, key=lambda each: (each.count("."), each[-1] == "+")))


def _bound(
    prefixes: tuple[str, ...], bound: dict[str, str | int], data: Any
) -> Iterator[dict[str, str | int]]:
    if not prefixes:
        yield bound
        return
    first, others = prefixes[0], prefixes[1:]
    entries = value_at(data, path_of(first[:-2], bound))
    keys: list[str | int] = []
    if isinstance(entries, dict):
        keys = list(entries)
    elif isinstance(entries, list):
        keys = list(range(len(entries)))
    if first[-1] == "+":
        keys = keys[keys.index(bound[f"{first[:-1]}*"]) + 1 :]
    # The schema refuses longer lists, which would make very many pairs.
    for key in keys[:_LONGEST_LIST]:
        yield from _bound(others, {**bound, first: key}, data)
