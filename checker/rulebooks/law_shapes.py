"""Shapes of law: templates of rules that the cells of a law table fill in.

A shape is a rule whose figures are missing. Its `limits` name the figures, with kind and strict
direction; its `choices` name the words a cell chooses from, such as `over` or `from`, and what each
puts into the texts and formulas of the shape, where they stand in square brackets. Its proofs give
facts as sums over the figures, such as `{weight} + 1 lb` or `{share} of 5000 lb`.
"""

import re
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from checker.documents.document import Document
from checker.documents.problems import DataPath, listed, suggestion_for
from checker.rulebooks.model import Shape
from checker.rulebooks.rule_file_set import RuleFileSet, data_of
from checker.units.parsing import KINDS, Quantity, UnitError, parse, parse_threshold

SHAPES: Final = "law-shapes"
"""The kind of file that holds shapes."""

ALWAYS: Final = "always"
"""What a slot puts into `when` for a rule that always applies."""
PUBLIC_ROAD: Final = "trip.public_road"
"""The fact that decides about the rules of a table for public roads."""

_SLOT = re.compile(r"\[([a-z_]+)\]")
_FIGURE = re.compile(r"\{([a-z_]+)\}")
_SIGN = re.compile(r" ([+-]) ")
_FACTOR = re.compile(r" [+-] | of ")
_FACT = re.compile(r"[a-z_]+(?:\.[a-z_0-9]+)+")
_BASE_UNITS: Final = {"load": " N", "length": " m", "speed": " m/s", "duration": " s"}
_FORMULAS: Final = ("when", "requires")
_TEXTS: Final = ("title", "broken", "because", "fix", "fix_below", "fix_above")
_AS_STATED: Final = ("question", "for_each", "about", "usual_at_limit")
_DAY: Final = timedelta(days=1)


def read_shapes(files: RuleFileSet, known: Mapping[str, Shape]) -> Mapping[str, Shape]:
    """The shapes of a set of files by id, with those `known` from another set."""
    shapes = dict(known)
    for document in files.of_kind(SHAPES):
        data = data_of(document)
        for index, stated in enumerate(data["shapes"]):
            path: DataPath = ("shapes", index)
            files.note_id("shape", stated["id"], document, (*path, "id"))
            before = len(files.problems)
            choices = _choices(stated, data.get("choices", {}), document, path, files)
            shape = Shape(stated["id"], stated, choices, document, path)
            _check_texts(shape, files)
            shapes[shape.id] = replace(shape, is_sound=len(files.problems) == before)
    return shapes


def _choices(
    shape: Mapping[str, Any],
    shared: Mapping[str, Mapping[str, Mapping[str, str]]],
    document: Document,
    path: DataPath,
    files: RuleFileSet,
) -> Mapping[str, Mapping[str, Mapping[str, str]]]:
    """The choices that a shape names, with a problem for each one that its file does not have."""
    found = {}
    for index, name in enumerate(shape.get("choices", ())):
        if name in shared:
            found[name] = shared[name]
            continue
        guess = suggestion_for(name, shared, files.problems)
        wanted = f"one of the file's `choices`: {listed(shared)}"
        at = (*path, "choices", index)
        files.problems.append(document.problem(at, f"the choice '{name}'", wanted, guess))
    return found


def _check_texts(shape: Shape, files: RuleFileSet) -> None:
    """Add a problem for each slot or figure in a shape's texts that nothing fills."""
    slots = {"place"}
    for words in shape.choices.values():
        slots |= set.intersection(*(set(filled) for filled in words.values()))

    def check(text: str, path: DataPath) -> None:
        for slot in _SLOT.findall(text):
            if slot not in slots:
                wanted = f"a slot that every word of a choice fills: {listed(sorted(slots))}"
                guess = suggestion_for(slot, slots, files.problems)
                at = (*shape.path, *path)
                files.problems.append(shape.document.problem(at, f"'[{slot}]'", wanted, guess))

    for key in (*_FORMULAS, *_TEXTS):
        check(shape.data.get(key, ""), (key,))
    facts: list[tuple[DataPath, Mapping[str, Any]]] = [(("given",), shape.data.get("given", {}))]
    for index, proof in enumerate(shape.data["proofs"]):
        check(proof["expect"], ("proofs", index, "expect"))
        facts.append((("proofs", index, "given"), proof.get("given", {})))
    for path, given in facts:
        for name, stated in given.items():
            check(f"{name} {stated}", (*path, name))
            if (fault := _fault_of_given(str(stated), shape)) is not None:
                at = (*shape.path, *path, name)
                files.problems.append(shape.document.problem(at, *fault))


def _fault_of_given(text: str, shape: Shape) -> tuple[str, str] | None:
    """What was found and what is wanted, where a given with figures cannot be worked out."""
    for figure in _FIGURE.findall(text):
        if figure not in shape.limits:
            return f"'{{{figure}}}'", f"a limit: {listed(shape.limits)}"
    for factor in _FACTOR.split(text) if _FIGURE.search(text) else ():
        try:
            if not _FIGURE.fullmatch(factor):
                parse_threshold(factor)
        except UnitError:
            return f"'{factor}'", "a sum such as `{weight} + 1 lb`, or `{share} of 5000 lb`"
    return None


class Filling(Struct, frozen=True):
    """What one cell puts into a shape: words for its slots, figures, and its days in force."""

    place: str
    words: Mapping[str, str]
    figures: Mapping[str, Quantity]
    texts: Mapping[str, str]
    starts: date
    ends: date | None
    origin: str
    on_public_roads: bool
    """True if its rule is for public roads alone, also where the shape does not say so."""


def read_filling(
    shape: Shape,
    stated: Mapping[str, Any],
    document: Document,
    path: DataPath,
    files: RuleFileSet,
    *,
    place: str,
    days: tuple[date, date | None],
    origin: str,
    on_public_roads: bool,
) -> Filling | None:
    """What a cell puts into its shape; None, with problems added, where it does not fit."""
    problems = len(files.problems)
    known = [*shape.choices, *shape.limits]
    for key in stated:
        if key not in known:
            guess = suggestion_for(key, known, files.problems)
            wanted = f"a key of the shape {shape.id}: {listed(known)}"
            files.problems.append(document.problem((*path, key), f"'{key}'", wanted, guess))
    slots = {"place": place}
    for name, accepted in shape.choices.items():
        word = str(stated.get(name, ""))
        if word in accepted:
            slots |= accepted[word]
            continue
        found, at = (f"'{word}'", (*path, name)) if name in stated else (f"no '{name}'", path)
        guess = suggestion_for(word, accepted, files.problems) if word else None
        wanted = f"`{name}:` {listed(accepted)}"
        files.problems.append(document.problem(at, found, wanted, guess))
    figures: dict[str, Quantity] = {}
    for name, limit in shape.limits.items():
        if name not in stated:
            wanted = f"`{name}:` with {KINDS[limit['kind']].wanted}"
            files.problems.append(document.problem(path, f"no '{name}'", wanted))
            continue
        try:
            figures[name] = _figure(stated[name], limit["kind"])
        except UnitError as error:
            files.add_unit_problem(error, stated[name], document, (*path, name))
    if len(files.problems) > problems:
        return None
    texts = {name: str(stated[name]) for name in figures}
    return Filling(place, slots, figures, texts, *days, origin, on_public_roads)


def _figure(stated: str | float, kind: str) -> Quantity:
    """The figure of a cell. Raises UnitError where it is of another kind, or not above zero."""
    if kind == "number":
        quantity = parse_threshold(stated)
        if quantity.kind != kind:
            raise UnitError(str(stated), KINDS[kind].wanted)
    else:
        quantity = parse(str(stated), kind)
    if quantity.value <= 0:
        raise UnitError(str(stated), "more than zero")
    return quantity


def filled(shape: Shape, filling: Filling) -> dict[str, Any]:
    """The keys of a rule that a shape gives when it is filled in, without its proofs."""
    rule: dict[str, Any] = {key: shape.data[key] for key in _AS_STATED if key in shape.data}
    for key in (*_FORMULAS, *_TEXTS):
        if key in shape.data:
            rule[key] = _put_in(shape.data[key], filling)
    if rule.get("when") == ALWAYS:
        del rule["when"]
    if _is_for_public_roads(shape, filling):
        rule["when"] = f"{PUBLIC_ROAD} and ({rule['when']})" if "when" in rule else PUBLIC_ROAD
    return rule


def _is_for_public_roads(shape: Shape, filling: Filling) -> bool:
    """True if the table confines the rule to public roads, and its shape does not."""
    return filling.on_public_roads and PUBLIC_ROAD not in _put_in(
        shape.data.get("when", ""), filling
    )


def filled_proofs(
    shape: Shape, filling: Filling, proved_on: date, *, is_first: bool, is_last: bool
) -> Iterator[dict[str, Any]]:
    """The worked cases of a shape for one cell, at the ends of its days too.

    The cells of one rule follow each other; `is_first` and `is_last` say that no other cell of the
    rule is in force before this one, or after it. Facts that a filling does not use are left out.
    """
    named = {
        name
        for key in _FORMULAS
        for name in _FACT.findall(_put_in(shape.data.get(key, ""), filling))
    }
    templates = shape.data["proofs"]
    common = dict(shape.data.get("given", {}))
    if _is_for_public_roads(shape, filling):
        named.add(PUBLIC_ROAD)
        common[PUBLIC_ROAD] = "yes"
        off_road = {**templates[0].get("given", {}), PUBLIC_ROAD: "no"}
        case = {"name": "on no public road", "given": off_road, "expect": "does not apply"}
        templates = [*templates, case]
    for template in templates:
        facts = {**common, **template.get("given", {})}
        given = {
            name: _worked(_put_in(str(stated), filling), filling)
            for slot, stated in facts.items()
            if (name := _put_in(slot, filling)) in named
        }
        days = _proof_days(
            template.get("on"), filling, proved_on, is_first=is_first, is_last=is_last
        )
        for day in days:
            yield {
                "name": template["name"],
                "on": day.isoformat(),
                "given": given,
                "expect": _put_in(template["expect"], filling),
                "origin": filling.origin,
            }


def _put_in(text: str, filling: Filling) -> str:
    return _SLOT.sub(lambda slot: filling.words[slot[1]], text)


def _proof_days(
    on: str | None, filling: Filling, proved_on: date, *, is_first: bool, is_last: bool
) -> list[date]:
    """The days of a proof: every change of the figures by day must be noticed."""
    last = filling.ends - _DAY if filling.ends else None
    at_the_ends = [day for day in (filling.starts, last) if day is not None]
    if on == "day before":
        before = [filling.starts - _DAY] if is_first and filling.starts > date.min else []
        return before + ([filling.ends] if filling.ends and is_last else [])
    if on == "first day":
        return at_the_ends
    usual = max(proved_on, filling.starts)
    days = [min(usual, last) if last else usual]
    return days if is_first and is_last else [*days, *at_the_ends]


def _worked(text: str, filling: Filling) -> str:
    """A given fact with its figures put in and its sum worked out, as text."""
    if not _FIGURE.search(text):
        return text
    if whole := _FIGURE.fullmatch(text):
        return filling.texts[whole[1]]
    first, *others = _SIGN.split(text)
    total, kind = _product(first, filling)
    for sign, term in zip(others[::2], others[1::2], strict=True):
        value, _ = _product(term, filling)
        total += value if sign == "+" else -value
    if kind == "number" and total == int(total):
        return str(int(total))
    if kind == "ratio":
        return f"{total * 100!r} %"
    return f"{total!r}{_BASE_UNITS.get(kind, '')}"


def _product(term: str, filling: Filling) -> tuple[float, str]:
    """The value of a product such as `{share} of 5000 lb`, and the kind of the quantity in it."""
    value, kind = 1.0, "number"
    for factor in term.split(" of "):
        figure = _FIGURE.fullmatch(factor)
        quantity = filling.figures[figure[1]] if figure else parse_threshold(factor)
        value *= quantity.value
        if kind in ("number", "ratio") and quantity.kind != "number":
            kind = quantity.kind
    return value, kind
