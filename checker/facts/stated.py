"""Facts that are a field of the profile as it stands: ratings on labels and people's answers."""

from collections.abc import Callable
from operator import attrgetter

from checker.arithmetic import Number
from checker.documents.schemas import definition, resolved
from checker.facts.catalogue import ANSWER, STATED, Each, Fact, add
from checker.facts.view import View


def add_stated(
    name: str, field: str, *, each: Each | None = None, label: str | None = None
) -> None:
    """Add the fact that is one field, such as `trailer.coupler.rating`; the schema tells its kind.

    `field` starts at the load, or with `article.`, `tiedown.` or `axle.` at the subject.
    """
    top, _, rest = field.partition(".")
    node = definition({"article": "machine", "tow_vehicle": "tow-vehicle"}.get(top, top))
    for part in rest.split("."):
        node = resolved(node["properties"][part])
    pattern = {"article": f"articles.*.{rest}", "tiedown": f"tiedowns.*.{rest}"}.get(top, field)
    if top == "axle":
        pattern = f"trailer.axles.*.{rest}"
    add(
        Fact(
            name=name,
            kind=node.get("quantity", ANSWER),
            label=label or name.partition(".")[2].replace("_", " "),
            meaning=node["description"],
            compute=_reader(top, rest, each),
            each=each,
            fields=(pattern,),
            instead=(),
            uses=(),
            source=STATED,
        )
    )


def _reader(top: str, rest: str, each: Each | None) -> Callable[[View], Number]:
    get = attrgetter(f"{top}.{rest}" if each else f"load.{top}.{rest}")

    def read(view: View) -> Number:
        value: Number = get(view)
        return value

    return read
