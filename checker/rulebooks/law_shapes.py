"""Shapes of law: templates of rules that the cells of a law table fill in.

A shape is a rule whose figures are missing. Its `limits` name the figures, with kind and strict
direction; its `choices` name the words a cell chooses from, such as `over` or `from`, and what each
puts into the texts and formulas of the shape, where they stand in square brackets. Its proofs give
facts as sums over the figures, such as `{weight} + 1 lb` or `{share} of 5000 lb`.
"""

import re
from collections.abc import Mapping
from typing import Any, Final

from checker.documents.document import Document
from checker.documents.problems import DataPath, listed, suggestion_for
from checker.rulebooks.model import Shape
from checker.rulebooks.rule_file_set import RuleFileSet, data_of
from checker.units.parsing import UnitError, parse_threshold

SHAPES: Final = "law-shapes"
"""The kind of file that holds shapes."""

SLOT: Final = re.compile(r"\[([a-z_]+)\]")
"""A slot of a text: the name of what a choice puts there."""
FIGURE: Final = re.compile(r"\{([a-z_]+)\}")
"""A figure of a cell, in a text or a given fact."""
FORMULAS: Final = ("when", "requires")
TEXTS: Final = ("title", "broken", "because", "fix", "fix_below", "fix_above")
_FACTOR = re.compile(r" [+-] | of ")


def read_shapes(
    files: RuleFileSet, known: Mapping[str, Shape], *, all_are_needed: bool
) -> Mapping[str, Shape]:
    """The shapes of a set of files by id, with those `known` from another set.

    The texts of a shape are looked at when a cell fills it in, or all of them at once.
    """
    shapes = dict(known)
    for document in files.of_kind(SHAPES):
        data = data_of(document)
        for index, stated in enumerate(data["shapes"]):
            path: DataPath = ("shapes", index)
            files.note_id("shape", stated["id"], document, (*path, "id"))
            before = len(files.problems)
            choices = _choices(stated, data.get("choices", {}), document, path, files)
            shape = Shape(stated["id"], stated, choices, document, path)
            shapes[shape.id] = shape
            is_whole = len(files.problems) == before
            if all_are_needed:
                is_sound(shape, files)
            if not is_whole:
                files.sound_shapes[shape.id] = False
    return shapes


def is_sound(shape: Shape, files: RuleFileSet) -> bool:
    """True if a cell can fill in the shape; its problems are added when first asked."""
    before = len(files.problems)
    if (known := files.sound_shapes.get(shape.id)) is not None:
        return known
    _check_texts(shape, files)
    files.sound_shapes[shape.id] = len(files.problems) == before
    return files.sound_shapes[shape.id]


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
        for slot in SLOT.findall(text):
            if slot not in slots:
                wanted = f"a slot that every word of a choice fills: {listed(sorted(slots))}"
                guess = suggestion_for(slot, slots, files.problems)
                at = (*shape.path, *path)
                files.problems.append(shape.document.problem(at, f"'[{slot}]'", wanted, guess))

    for key in (*FORMULAS, *TEXTS):
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
    for figure in FIGURE.findall(text):
        if figure not in shape.limits:
            return f"'{{{figure}}}'", f"a limit: {listed(shape.limits)}"
    for factor in _FACTOR.split(text) if FIGURE.search(text) else ():
        try:
            if not FIGURE.fullmatch(factor):
                parse_threshold(factor)
        except UnitError:
            return f"'{factor}'", "a sum such as `{weight} + 1 lb`, or `{share} of 5000 lb`"
    return None
