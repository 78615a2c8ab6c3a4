"""Facts that repeat one field, and answers whether a field is one of some words."""

from collections.abc import Callable, Iterator, Mapping
from operator import attrgetter
from typing import Any

from checker.documents.schemas import definition, field_node, resolved
from checker.facts.catalogue import ANSWER, STATED, Each, Fact, add
from checker.facts.view import View
from checker.units.arithmetic import NOT_STATED, Number

_SUBJECTS: Mapping[str, Each] = {
    "articles.*": "article",
    "tiedowns.*": "tiedown",
    "trailer.axles.*": "axle",
}


def add_stated_facts() -> None:
    """Add every fact that a profile field is declared to be, in the order of the fields."""
    for field, node in _declared(definition("load"), ""):
        _add(
            field,
            name=node["fact"]["name"],
            kind=node.get("quantity", ANSWER),
            label=node["fact"]["label"],
            meaning=node["description"],
            compute=_reader(field),
        )


def add_choice(name: str, field: str, words: tuple[str, ...], meaning: str) -> None:
    """Add the answer whether a field is one of these words; `meaning` is also its label.

    `field` is a path from the top of the profile, such as `tiedowns.*.path`.
    """
    unknown = set(words) - set(field_node(field)["enum"])
    if unknown:
        message = f"{field} is never {unknown}"
        raise ValueError(message)
    read = _reader(field)

    def is_one_of(view: View) -> Number:
        chosen: Any = read(view)
        return NOT_STATED if chosen is None else float(chosen in words)

    label = meaning[0].lower() + meaning[1:].rstrip(".")
    _add(field, name=name, kind=ANSWER, label=label, meaning=meaning, compute=is_one_of)


def _add(
    field: str, *, name: str, kind: str, label: str, meaning: str, compute: Callable[[View], Number]
) -> None:
    each, _ = _subject(field)
    add(Fact(name, kind, label, meaning, compute, each, (field,), (), (), STATED))


def _declared(node: Mapping[str, Any], path: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Every field below a schema node that is a fact, with its path and its own node."""
    if not node.get("checked", True):
        return
    node = resolved(node)
    node = resolved(node.get("else", node))
    if "fact" in node:
        yield path, node
    below = f"{path}." if path else ""
    for key, inside in node.get("properties", {}).items():
        yield from _declared(inside, f"{below}{key}")
    entries = node.get("items") or node.get("additionalProperties")
    if entries:
        yield from _declared(entries, f"{below}*")


def _subject(field: str) -> tuple[Each | None, str]:
    """What a field belongs to (load, article, tiedown, axle), and how to get it from a view."""
    for entries, each in _SUBJECTS.items():
        if field.startswith(f"{entries}."):
            return each, each + field.removeprefix(entries)
    return None, f"load.{field}"


def _reader(field: str) -> Callable[[View], Number]:
    _, asked = _subject(field)
    get = attrgetter(asked)

    def read(view: View) -> Number:
        value: Number = get(view)
        return value

    return read


add_stated_facts()
