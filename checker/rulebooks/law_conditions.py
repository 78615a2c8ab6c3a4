"""Conditions that a table or a cell may add to any shape: public roads, build dates, carriers.

A condition confines whom a rule binds. Each brings worked cases on both sides of its edge.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any, Final

from msgspec import Struct

ROADS: Final = "roads"


class Condition(Struct, frozen=True):
    """One condition: part of the formula, its figure, and facts on both sides of its edge."""

    when: str = ""
    """What must hold for the rule to apply."""
    unless: str = ""
    """What frees: the rule asks nothing more where this holds."""
    limit: Mapping[str, str] = {}
    """Kind and strict direction of the figure, which has the name of the condition."""
    because: str = ""
    in_title: str = ""
    """What follows the title, so that rules for others do not read alike."""
    bound: Mapping[str, str] = {}
    """Facts under which the rule binds."""
    bound_too: Mapping[str, Mapping[str, str]] = {}
    """Other such facts, by the name of the case."""
    free: Mapping[str, str] = {}
    """Facts under which it does not."""
    free_name: str = ""


CONDITIONS: Final[Mapping[str, Condition]] = {
    ROADS: Condition(
        when="trip.public_road",
        bound={"trip.public_road": "yes"},
        free={"trip.public_road": "no"},
        free_name="on no public road",
    ),
    "built_from": Condition(
        unless="trailer.built < built_from",
        limit={"kind": "day", "stricter": "lower"},
        in_title=" (built from {built_from} on)",
        bound={"trailer.built": "{built_from}"},
        free={"trailer.built": "{built_from} - 24 h"},
        free_name="built a day too early",
    ),
    "built_before": Condition(
        unless="trailer.built >= built_before",
        limit={"kind": "day", "stricter": "higher"},
        in_title=" (built before {built_before})",
        bound={"trailer.built": "{built_before} - 24 h"},
        free={"trailer.built": "{built_before}"},
        free_name="built on the first day too late",
    ),
    "federal_from": Condition(
        unless=(
            "(trip.interstate and not carrier.personal_and_unpaid "
            "and combination.weight_or_rating >= federal_from)"
        ),
        limit={"kind": "load", "stricter": "higher"},
        because="Hauls in business between states are free of it from {federal_from}.",
        bound={
            "trip.interstate": "no",
            "carrier.personal_and_unpaid": "no",
            "combination.weight_or_rating": "2 of {federal_from}",
        },
        bound_too={
            "between states, half a pound too light": {
                "trip.interstate": "yes",
                "combination.weight_or_rating": "{federal_from} - 0.5 lb",
            },
            "between states, private": {
                "trip.interstate": "yes",
                "carrier.personal_and_unpaid": "yes",
            },
        },
        free={"trip.interstate": "yes", "combination.weight_or_rating": "{federal_from}"},
        free_name="between states in business, exactly the weight",
    ),
}


OF_CELLS: Final = tuple(name for name in CONDITIONS if name != ROADS)
"""The conditions that a cell adds, each by its figure; ROADS is that of a whole table."""


def apply_conditions(rule: dict[str, Any], names: Sequence[str]) -> None:
    """Put the conditions of those names into the formulas and the reason of a rule's data."""
    for name in names:
        condition = CONDITIONS[name]
        if condition.when:
            bound = condition.when
            rule["when"] = f"{bound} and ({rule['when']})" if "when" in rule else bound
        if condition.unless:
            rule["requires"] = f"{rule['requires']} unless {condition.unless}"
        for key in ("title", "broken"):
            rule[key] += condition.in_title
        if condition.because:
            rule["because"] = f"{rule['because']} {condition.because}"


def condition_proofs(
    templates: Sequence[Mapping[str, Any]], names: Sequence[str]
) -> Iterator[dict[str, Any]]:
    """The worked cases of conditions, made from those of the shape.

    Those about the first day of a figure name its condition under `figure`.
    """
    broken = next((each for each in templates if _is_broken(each)), templates[0])
    for name in names:
        condition = CONDITIONS[name]
        free = {**broken.get("given", {}), **condition.free}
        expect = "does not apply" if condition.when else "met"
        case = {"name": condition.free_name, "given": free, "expect": expect}
        yield case
        for other, facts in condition.bound_too.items():
            bound = {**broken.get("given", {}), **facts}
            yield {"name": other, "given": bound, "expect": broken["expect"]}
        if condition.limit:
            for on, verdict in (("first day", "met"), ("day before", "not stated")):
                words = f"{condition.free_name}, {on}"
                yield case | {"name": words, "on": on, "figure": name, "expect": verdict}


def first_day(name: str, figure: str, starts: date) -> date:
    """The first day of the figure of a condition, whose cell counts from `starts`.

    A figure that is a day counts from itself on: it says whom the law binds, not since when.
    """
    if CONDITIONS[name].limit["kind"] != "day":
        return starts
    return min(date.fromisoformat(figure), starts)


def _is_broken(template: Mapping[str, Any]) -> bool:
    return template["expect"] == "not met" and "on" not in template
