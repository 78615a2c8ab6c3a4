"""Fills in a shape of law with what a cell states: the rule as data, and its worked cases."""

import re
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any, Final

from msgspec import Struct

from checker.documents.document import Document
from checker.documents.problems import DataPath, listed, suggestion_for
from checker.rulebooks.law_conditions import (
    CONDITIONS,
    OF_CELLS,
    ROADS,
    apply_conditions,
    condition_proofs,
    first_day,
)
from checker.rulebooks.law_shapes import FIGURE, FORMULAS, SLOT, TEXTS
from checker.rulebooks.model import Shape
from checker.rulebooks.rule_file_set import RuleFileSet
from checker.units.formatting import US, show
from checker.units.parsing import KINDS, Quantity, UnitError, parse, parse_threshold

_ALWAYS: Final = "always"
"""What a slot puts into `when` for a rule that always applies."""
_PUBLIC_ROAD: Final = "trip.public_road"
_SIGN = re.compile(r" ([+-]) ")
_FACT = re.compile(r"[a-z_]+(?:\.[a-z_0-9]+)+")
_BASE_UNITS: Final = {"load": " N", "length": " m", "speed": " m/s", "duration": " s"}
_AS_STATED: Final = ("question", "for_each", "about", "usual_at_limit")
_DAY: Final = timedelta(days=1)


class Filling(Struct, frozen=True):
    """What one cell puts into a shape: words for its slots, figures, and its days in force."""

    place: str
    words: Mapping[str, str]
    figures: Mapping[str, Quantity]
    texts: Mapping[str, str]
    starts: date
    ends: date | None
    origin: str
    conditions: tuple[str, ...]
    """The conditions that its table or the cell itself adds to the shape."""


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
    roads: bool,
) -> Filling | None:
    """What a cell puts into its shape; None, with problems added, where it does not fit.

    With `roads` its rule is for public roads alone.
    """
    problems = len(files.problems)
    limits = limits_of(shape, stated)
    known = [*shape.choices, *shape.limits, *OF_CELLS]
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
    for name, limit in limits.items():
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
    on_roads = (ROADS,) if roads and _PUBLIC_ROAD not in shape.data.get("when", "") else ()
    conditions = (*on_roads, *(name for name in OF_CELLS if name in stated))
    return Filling(place, slots, figures, texts, *days, origin, conditions)


def limits_of(shape: Shape, stated: Mapping[str, Any]) -> Mapping[str, Mapping[str, str]]:
    """Kind and strict direction of each figure of a cell, those of its conditions last."""
    added = {name: CONDITIONS[name].limit for name in OF_CELLS if name in stated}
    return {**shape.limits, **added}


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
    for key in (*FORMULAS, *TEXTS):
        if key in shape.data:
            rule[key] = _put_in(shape.data[key], filling)
    if rule.get("when") == _ALWAYS:
        del rule["when"]
    apply_conditions(rule, filling.conditions)
    return rule


def filled_proofs(
    shape: Shape, filling: Filling, proved_on: date, *, is_first: bool, is_last: bool
) -> Iterator[dict[str, Any]]:
    """The worked cases of a shape for one cell, at the ends of its days too.

    The cells of one rule follow each other; `is_first` and `is_last` say that no other cell of the
    rule is in force before this one, or after it. Facts that a filling does not use are left out.
    """
    rule = filled(shape, filling)
    named = {name for key in FORMULAS for name in _FACT.findall(rule.get(key, ""))}
    common = dict(shape.data.get("given", {}))
    for name in filling.conditions:
        common |= CONDITIONS[name].bound
    own = shape.data["proofs"]
    templates = [*own, *condition_proofs(own, filling.conditions)]
    for template in templates:
        facts = {**common, **template.get("given", {})}
        given = {
            name: _worked(_put_in(str(stated), filling), filling)
            for slot, stated in facts.items()
            if (name := _put_in(slot, filling)) in named
        }
        days = _proof_days(template, filling, proved_on, is_first=is_first, is_last=is_last)
        for day in days:
            yield {
                "name": template["name"],
                "on": day.isoformat(),
                "given": given,
                "expect": _put_in(template["expect"], filling),
                "origin": filling.origin,
            }


def _put_in(text: str, filling: Filling) -> str:
    return SLOT.sub(lambda slot: filling.words[slot[1]], text)


def _proof_days(
    template: Mapping[str, Any],
    filling: Filling,
    proved_on: date,
    *,
    is_first: bool,
    is_last: bool,
) -> list[date]:
    """The days of a proof: every change of the figures by day must be noticed."""
    on = template.get("on")
    if (name := template.get("figure")) and is_first:
        day = first_day(name, filling.texts[name], filling.starts)
        if day != filling.starts:
            return [day if on == "first day" else day - _DAY]
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
    if not FIGURE.search(text):
        return text
    if whole := FIGURE.fullmatch(text):
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
    if kind == "day":
        return show(total, kind, US)
    return f"{total!r}{_BASE_UNITS.get(kind, '')}"


def _product(term: str, filling: Filling) -> tuple[float, str]:
    """The value of a product such as `{share} of 5000 lb`, and the kind of the quantity in it."""
    value, kind = 1.0, "number"
    for factor in term.split(" of "):
        figure = FIGURE.fullmatch(factor)
        quantity = filling.figures[figure[1]] if figure else parse_threshold(factor)
        value *= quantity.value
        if kind in ("number", "ratio") and quantity.kind != "number":
            kind = quantity.kind
    return value, kind
