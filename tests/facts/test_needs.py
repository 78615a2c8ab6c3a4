"""What every fact says it needs, held against what it really reads.

The bundled loads are changed field by field. A fact may only move with a field it names; it has
to bear any field left out; and when it is not known it has to name a field that is missing.
Nothing here says what a value ought to be: the expected answer is "unchanged".

Numbers and answers are changed all at once: each row of the load has one of them changed, the
first row none.
"""

import json
import math
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from msgspec.structs import fields as fields_of

from checker.documents.resources import shipped_folder
from checker.documents.schemas import definition, resolved
from checker.facts.catalogue import STATED, catalogue
from checker.facts.view import Facts, Subject
from checker.load.model import RECORDS, Load
from checker.load.references import Merged
from checker.rulebooks.model import Rulebooks
from checker.units.arithmetic import Number
from tests.facts.changed_rows import (
    DAY,
    changes_that_move,
    is_answer,
    looked_up,
    merged_once,
    number,
    same,
    varies_by_row,
    with_changes,
)
from tests.lashed_goods import add_direct, add_over, goods, metres
from tests.stated_fields import Leaf, built, leaves, with_value, without

LOADS = sorted((shipped_folder("profiles") / "loads").glob("*.yaml"))
SLOW = "article.holds_"
"""Facts that solve linear programmes, a second for a hundred of them: tried on fewer loads."""
NAMES = ("anchor", "far_anchor", "attachment")


def all_facts(facts: Facts, *, slow: bool = False) -> Iterator[tuple[str, Subject | None, Number]]:
    """Every fact of the load that is quickly worked out; or, with `slow`, every other one."""
    for name, known in catalogue().items():
        if name.startswith(SLOW) is not slow:
            continue
        subjects = [None] if known.each is None else facts.subjects(known.each)
        for subject in subjects:
            yield name, subject, facts.value(name, subject)


def changed_numbers(leaf: Leaf) -> tuple[float, ...]:
    """Not stated; larger; smaller, and of the other sign where that may be. Zero moves as well."""
    value = leaf.value
    if np.isinf(value):  # a word for none: any figure is another value
        return (np.nan, 2000.0, 0.2)
    smaller = value * 0.4 if "sign" in leaf.node else -value * 0.4 - 0.02
    return (np.nan, value * 1.3 + 0.05, smaller)


def moved(old: Number, new: Number) -> bool:
    """True if a fact differs in some row."""
    if isinstance(old, float) and isinstance(new, float):
        # As `same`, which takes twenty times as long for one number.
        both_unknown = old != old and new != new
        return not (both_unknown or old == new or math.isclose(old, new, rel_tol=1e-12))
    return not same(old, new).all()


def unknown(value: Number) -> bool:
    """True if a fact is not known in some row."""
    return value != value if isinstance(value, float) else bool(np.isnan(value).any())


@pytest.mark.parametrize("file", LOADS, ids=lambda file: file.stem)
def test_no_fact_moves_with_a_quantity_it_does_not_name(file: Path, books: Rulebooks) -> None:
    merged = merged_once(file)
    changes = [
        (leaf, value)
        for leaf in leaves(merged.data, definition("load"))
        if leaf.is_quantity and not looked_up(leaf)
        for value in changed_numbers(leaf)
    ]
    facts = with_changes(merged, changes, books)
    moved_by_any, unnamed = set(), {}
    for name, subject, value in all_facts(facts):
        moving = {leaf.field for leaf, _ in changes_that_move(value, changes)}
        named = set(facts.fields(name, subject))
        # A fact that names a plain list names everything in it.
        if rest := {each for each in moving if not {each, each.rpartition(".")[0]} & named}:
            unnamed[name] = sorted(rest)
        moved_by_any |= moving
    assert unnamed == {}, "facts move with these fields: name them in `fields` of @fact"
    assert len(moved_by_any) > 20


def other_values(leaf: Leaf, merged: Merged) -> list[Any]:
    """Everything else that may stand in a field that is no quantity."""
    choices = leaf.node.get("enum")
    if choices:
        return [word for word in choices if word != leaf.stated]
    if isinstance(leaf.stated, int | float):
        return [leaf.stated + 1]
    if looked_up(leaf):
        return ["1/2 in", "3/8 in", "0.05 in"]
    if leaf.path[-1] in NAMES:
        # Every other end of a tiedown of this load; a name that leads nowhere is nobody's.
        ends = {each.get(leaf.path[-1]) for each in merged.data["tiedowns"]}
        return [end for end in ends if end not in (None, leaf.stated)][:2]
    return {"pulls": [["down"], []], "places": [["CA"]]}.get(str(leaf.path[-1]), [])


def first_of_each(fields: Iterator[Leaf]) -> list[Leaf]:
    """One field for all its likes: one tiedown, anchor or attachment stands for the others."""
    found: dict[str, Leaf] = {}
    for leaf in fields:
        found.setdefault(leaf.pattern, leaf)
    return list(found.values())


SECTIONS = (
    "trailer",
    "tow_vehicle",
    "carrier",
    "driver",
    "articles",
    "tiedowns",
    "walkaround",
    "trip",
)


def loads_with_different(section: str) -> list[Merged]:
    """One bundled load for each trailer, trip, set of articles... that is not alike but for sizes.

    Which fields a fact reads may hang on names and words, and not on numbers.
    """
    loads = [merged_once(file) for file in LOADS]
    shapes = {re.sub(r"[\d.]+", "#", repr(load.data.get(section))): load for load in loads}
    return list(shapes.values())


@pytest.mark.parametrize("section", SECTIONS)
def test_no_fact_moves_with_an_answer_word_or_name_it_does_not_name(
    section: str, books: Rulebooks
) -> None:
    unnamed = set()
    for merged in loads_with_different(section):
        unnamed |= moved_but_unnamed(merged, section, books)
    assert unnamed == set()


def moved_but_unnamed(merged: Merged, section: str, books: Rulebooks) -> set[tuple[str, str, str]]:
    """Facts that move with a field they do not name, with the field and what was put there."""
    chosen = [
        leaf
        for leaf in first_of_each(leaves(merged.data, definition("load")))
        if leaf.path[0] == section and (not leaf.is_quantity or looked_up(leaf))
    ]
    answers = [leaf for leaf in chosen if varies_by_row(leaf)]
    words = [leaf for leaf in chosen if not varies_by_row(leaf)]
    return moved_by_answers(merged, answers, books) | moved_by_words(merged, words, books)


def moved_by_answers(
    merged: Merged, answers: list[Leaf], books: Rulebooks
) -> set[tuple[str, str, str]]:
    """Those that move with the other answer, or with one more of what is counted."""
    changes = [
        (leaf, 1.0 - number(leaf) if is_answer(leaf.node) else number(leaf) + 1.0)
        for leaf in answers
    ]
    facts = with_changes(merged, changes, books)
    return {
        (name, leaf.field, str(value))
        for name, subject, column in all_facts(facts)
        for leaf, value in changes_that_move(column, changes)
        if leaf.field not in facts.fields(name, subject)
    }


def moved_by_words(
    merged: Merged, words: list[Leaf], books: Rulebooks
) -> set[tuple[str, str, str]]:
    """Those that move with another word, list or name."""
    facts = Facts(built(merged, merged.data), books.unmarked_on(DAY))
    before = list(all_facts(facts))
    unnamed = set()
    for leaf in words:
        field = leaf.field
        for value in other_values(leaf, merged):
            changed = built(merged, with_value(merged, leaf.path, value))
            after = all_facts(Facts(changed, books.unmarked_on(DAY)))
            for (name, subject, old), (_, _, new) in zip(before, after, strict=True):
                if moved(old, new) and field not in facts.fields(name, subject):
                    unnamed.add((name, field, str(value)))
    return unnamed


def silent_facts(
    merged: Merged, books: Rulebooks, left_out: Iterable[Leaf], *, slow: bool = False
) -> set[tuple[str, str]]:
    """Facts that a field left out makes unknown and that then ask for nothing, with the field."""
    chosen = first_of_each(left_out)
    numbers = [leaf for leaf in chosen if varies_by_row(leaf)]
    facts = with_changes(merged, [(leaf, np.nan) for leaf in numbers], books)
    known, silent = set(), set()
    for name, subject, value in all_facts(facts, slow=slow):
        column = np.isnan(np.broadcast_to(value, 1 + len(numbers)))
        if column[0]:
            continue
        known.add((name, subject))
        if column.any():
            asked = np.zeros_like(column)
            for field, rows in facts.missing_by_row(name, subject).items():
                asked |= rows
                for row in np.flatnonzero(np.broadcast_to(rows, column.shape)):
                    left = numbers[row - 1].field
                    assert field == left or field not in facts.load.origins, name
            silent |= {(name, numbers[row - 1].pattern) for row in np.flatnonzero(column & ~asked)}
    for leaf in chosen:
        if varies_by_row(leaf):
            continue
        load = built(merged, without(merged, leaf.path))
        facts = Facts(load, books.unmarked_on(DAY))
        for name, subject, value in all_facts(facts, slow=slow):
            if unknown(value) and (name, subject) in known:
                missing = facts.missing(name, subject)
                assert not set(missing) & load.origins.keys(), name
                if not missing:
                    silent.add((name, leaf.pattern))
    return silent


def test_a_number_or_an_answer_left_out_is_nan() -> None:
    """So a row in which it is NaN is a load that leaves it out."""
    optional = {
        (name, field.name): field.default
        for name, record in RECORDS.items()
        for field in fields_of(record)
        if not field.required
        and (node := definition(name)["properties"].get(field.name))
        and (is_answer(resolved(node)) or "quantity" in resolved(node))
    }
    assert len(optional) > 200
    assert [each for each, value in optional.items() if not math.isnan(value)] == []


@pytest.mark.parametrize("section", SECTIONS)
def test_every_fact_bears_a_field_left_out_and_asks(section: str, books: Rulebooks) -> None:
    silent = set()
    for merged in loads_with_different(section):
        fields = leaves(merged.data, definition("load"))
        silent |= silent_facts(merged, books, (leaf for leaf in fields if leaf.path[0] == section))
    assert silent == set()


RESTRAINED = ("side-by-side-in-order", "pallet-of-attachments")
"""One load of direct tiedowns, one of tiedowns over the cargo with blocks."""


@pytest.mark.parametrize("name", RESTRAINED)
def test_no_restraint_figure_moves_with_a_quantity_it_does_not_name(
    name: str, books: Rulebooks
) -> None:
    """Everything a group of figures does not name is changed at once; they have to stay."""
    merged = merged_once(shipped_folder("profiles") / "loads" / f"{name}.yaml")
    chosen = [leaf for leaf in leaves(merged.data, definition("load")) if leaf.is_quantity]
    facts = Facts(built(merged, merged.data), books.unmarked_on(DAY))
    needs: dict[frozenset[str], list[str]] = {}
    (article,) = facts.subjects("article")
    for figure in catalogue():
        if figure.startswith(SLOW):
            needs.setdefault(frozenset(facts.fields(figure, article)), []).append(figure)
    assert len(needs) > 1
    for named, figures in needs.items():
        others = [leaf for leaf in chosen if leaf.field not in named]
        assert len(others) > 20
        values = {leaf.path: changed_numbers(leaf)[2] for leaf in others}
        changed = Facts(built(merged, merged.data, values), books.unmarked_on(DAY))
        for figure in figures:
            before, after = (each.value(figure, article) for each in (facts, changed))
            assert not moved(before, after), figure


@pytest.mark.parametrize("name", RESTRAINED)
def test_every_restraint_figure_bears_a_field_left_out_and_asks(
    name: str, books: Rulebooks
) -> None:
    merged = merged_once(shipped_folder("profiles") / "loads" / f"{name}.yaml")
    facts = Facts(built(merged, merged.data), books.unmarked_on(DAY))
    (article,) = facts.subjects("article")
    named = {
        field
        for figure in catalogue()
        if figure.startswith(SLOW)
        for field in facts.fields(figure, article)
    }
    fields = leaves(merged.data, definition("load"))
    left_out = (leaf for leaf in fields if leaf.field in named)
    assert silent_facts(merged, books, left_out, slow=True) == set()


def test_the_length_of_an_article_that_faces_rearward_is_asked_for(
    profile: Callable[[str], Load], books: Rulebooks
) -> None:
    """Its centre of gravity is stated from its own front, which is its far end on the deck."""
    load = profile(
        "{kind: load, articles: [{cg: {x: 40 in}, placed: {x: 60 in, facing: rearward}}]}"
    )
    facts = Facts(load, books.unmarked_on(DAY))
    (article,) = facts.subjects("article")
    assert facts.missing("article.cg_position", article) == ["articles.1.length"]


@pytest.mark.parametrize(
    "file",
    LOADS,
    ids=[file.stem for file in LOADS],
)
def test_a_fact_that_is_not_known_names_what_is_missing(file: Path, books: Rulebooks) -> None:
    load = built(merged := merged_once(file), merged.data)
    facts = Facts(load, books.unmarked_on(DAY))
    for name, subject, value in all_facts(facts):
        if unknown(value):
            missing = facts.missing(name, subject)
            assert missing, (name, subject)
            assert not set(missing) & set(load.origins), (name, subject)


LOOP = {
    "path": "same side",
    "device": "webbing",
    "over_wheel": "no",
    "anchor": "low",
    "far_anchor": "high",
    "over": ["right", "right-top", "left-top"],
    "lashing_capacity": "2500 daN",
    "standard_tension": "350 daN",
    "hooks_lashing_capacity": "24 kN",
}
"""A half-loop round the crate; no bundled load has lashings with an LC."""


@pytest.fixture
def lashed(tmp_path: Path) -> Path:
    """A load with every kind of lashing that has an LC."""
    data = goods(12_000.0, friction=0.3, cg={"x": "1.1 m", "y": "0.1 m", "z": "0.6 m"})
    for side in (1.0, -1.0):
        label = {"lashing_capacity": "20 kN", "tensioner_working_load_limit": "18 kN"}
        add_direct(data, (0.3, side, 0.8), (-0.8, 0.3 * side, -0.7), **label)
    add_over(data, 1.2, lashing_capacity="25 kN", standard_tension="4 kN", pretension="2 kN")
    free = {"working_load_limit": "no rating exists"}
    points = {"right": (0.6, -0.9, 0.1), "right-top": (0.6, -0.9, 0.9), "left-top": (0.6, 0.9, 0.9)}
    data["articles"][0]["attachments"] |= {
        name: metres(*place) | free for name, place in points.items()
    }
    data["trailer"]["anchors"] |= {
        "low": metres(3.5, 1.4, 0.0) | {"lashing_capacity": "12 kN"},
        "high": metres(3.7, 1.1, 0.0) | {"working_load_limit": "11 kN"},
    }
    data["tiedowns"].append(LOOP)
    file = tmp_path / "lashed.yaml"
    file.write_text(json.dumps({"kind": "load", **data}), encoding="utf-8")
    return file


def test_no_sum_at_lc_moves_with_a_quantity_it_does_not_name(
    lashed: Path, books: Rulebooks
) -> None:
    test_no_fact_moves_with_a_quantity_it_does_not_name(lashed, books)


def test_every_computed_fact_is_known_in_a_load_tried_here(lashed: Path, books: Rulebooks) -> None:
    """One that is never known moves with nothing, whatever fields it names."""
    loads = (built(merged := merged_once(file), merged.data) for file in (*LOADS, lashed))
    known = {
        name
        for load in loads
        for name, _, value in all_facts(Facts(load, books.unmarked_on(DAY)))
        if not unknown(value)
    }
    computed = {
        fact.name
        for fact in catalogue().values()
        if (fact.uses or fact.source != STATED) and not fact.name.startswith(SLOW)
    }
    assert computed - known == set(), "state the fields of these facts in a bundled load"
