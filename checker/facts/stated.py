"""Facts that are a field of the profile as it stands: ratings on labels and people's answers."""

from collections.abc import Callable, Mapping
from operator import attrgetter
from typing import Any

from checker.documents.schemas import definition, resolved
from checker.facts.catalogue import ANSWER, STATED, Each, Fact, add
from checker.facts.view import View
from checker.units.arithmetic import NOT_STATED, Number


def add_stated(
    name: str, field: str, *, each: Each | None = None, label: str | None = None
) -> None:
    """Add the fact that is one field, such as `trailer.coupler.rating`; the schema tells its kind.

    `field` starts at the load, or with `article.`, `tiedown.` or `axle.` at the subject.
    """
    node = _node(field)
    add(
        Fact(
            name=name,
            kind=node.get("quantity", ANSWER),
            label=label or name.partition(".")[2].replace("_", " "),
            meaning=node["description"],
            compute=_reader(field, each),
            each=each,
            fields=(_pattern(field),),
            instead=(),
            uses=(),
            source=STATED,
        )
    )


def add_choice(
    name: str, field: str, words: tuple[str, ...], meaning: str, *, each: Each | None = None
) -> None:
    """Add the answer whether a field is one of these words; `meaning` is also its label."""
    unknown = set(words) - set(_node(field)["enum"])
    if unknown:
        message = f"{field} is never {unknown}"
        raise ValueError(message)
    read = _reader(field, each)

    def is_one_of(view: View) -> Number:
        chosen: Any = read(view)
        return NOT_STATED if chosen is None else float(chosen in words)

    add(
        Fact(
            name=name,
            kind=ANSWER,
            label=meaning[0].lower() + meaning[1:].rstrip("."),
            meaning=meaning,
            compute=is_one_of,
            each=each,
            fields=(_pattern(field),),
            instead=(),
            uses=(),
            source=STATED,
        )
    )


def _node(field: str) -> Mapping[str, Any]:
    """The schema of a field."""
    top, _, rest = field.partition(".")
    node = definition({"article": "machine", "tow_vehicle": "tow-vehicle"}.get(top, top))
    for part in rest.split("."):
        node = resolved(node["properties"][part])
    return node


def _pattern(field: str) -> str:
    """The field as findings name it, from the top of the profile."""
    top, _, rest = field.partition(".")
    lists = {"article": "articles.*", "tiedown": "tiedowns.*", "axle": "trailer.axles.*"}
    return f"{lists.get(top, top)}.{rest}"


def _reader(field: str, each: Each | None) -> Callable[[View], Number]:
    get = attrgetter(field if each else f"load.{field}")

    def read(view: View) -> Number:
        value: Number = get(view)
        return value

    return read
