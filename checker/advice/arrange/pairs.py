"""Profiles of a machine on a trailer, each from a file of its own, on the trip of another load."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from checker.advice.arrange.choices import label_of
from checker.documents.problems import DataPath, Mark, Problem, ProblemsFoundError
from checker.documents.validate import validate
from checker.load.build import Profile, profile_root, shown_path
from checker.load.names import lost_names
from checker.load.plausible.entry import Grade
from checker.load.plausible.reading import OfProfile, cases, refusals
from checker.load.references import Library, Locations, Merged, References

_RIGGING: Final = ("looped_on_itself", "on_sharp_edge")
_OF_THE_BASE_ALONE: Final = ("trailer", "articles", "tiedowns", "variances", "title", "note")
"""What a base load states of itself: a variance, too, is for one load."""

MADE_READY: Final = (
    "parking_brake_set",
    "in_park",
    "chocked",
    "accessories_lowered",
    "accessories_secured",
    "coupler_pins_in",
    "articulation_locked",
    "loose_parts_secured",
    "boom_rests",
    "slew_locked",
    "mower_deck_rests",
    "roof_and_windscreen_secured",
    "engine_stopped",
    "fuel_shut",
    "tracks_clean",
    "fixed_to_pallet",
    "pallet_sound",
    "securement_route",
    "surface_condition",
)
"""Fields of an article that say how a crew makes it ready, and not what it is."""

OF_ANY_MACHINE: Final = ("special_methods",)
"""Fields that say what an article is: taken from a base only where it names no machine."""

ALONE: Final[Mapping[str, Any]] = {
    "blocking": dict.fromkeys(("forward", "rearward", "left", "right"), "no"),
    "touches_front_structure": "no",
    "fully_contained": "no",
}
"""How each machine stands: alone on the deck, held by tiedowns and nothing else."""


class Part(Struct, frozen=True):
    """A machine, a trailer or a tow vehicle from its file; `name` is that which references use."""

    title: str
    file: Path
    name: str | None
    merged: Merged


class Base(Struct, frozen=True):
    """What all pairs have in common: the trip, who hauls, with what, and answers.

    `made_ready` are the answers about an article that all its articles agree on, `tiedowns` what
    its tiedowns are made of, not rigged yet, with the location of each value.
    """

    profile: Profile
    made_ready: Mapping[str, str]
    tiedowns: tuple[dict[str, Any], ...] = ()
    tiedowns_at: Locations = {}


def read_part(file: Path, kind: str, root: Path | None, library: Library) -> Part:
    """The machine, the trailer or the tow vehicle of a file.

    Raises ProblemsFoundError with every problem of the file and of what it refers to.
    """
    document = library.take(file, shown_path(file))
    problems = document.problems + validate(document, wanted_kind=kind)
    if document.kind != kind:
        raise ProblemsFoundError(problems)
    references = References(root or profile_root(file), shown_path, library)
    merged = references.merged(document, kind)
    problems += merged.problems
    if merged.complete:
        data, at = _of_kind(kind, merged)
        problems += refusals(data, {(): (document.file, Mark(1, 1)), **at})
    if problems:
        raise ProblemsFoundError(problems)
    title = str(merged.data.get("title") or file.stem)
    return Part(title, file, references.name_of(file.resolve()), merged)


def _of_kind(kind: str, merged: Merged) -> tuple[dict[str, Any], Locations]:
    """The data of a part where a load has it, with the location of each value."""
    start: DataPath = ("articles", 0) if kind == "machine" else (kind.replace("-", "_"),)
    data: dict[str, Any] = (
        {"articles": [merged.data]} if kind == "machine" else {start[0]: merged.data}  # type: ignore[dict-item]
    )
    return data, {(*start, *path): at for path, at in merged.locations.items()}


def without_base(folder: Path) -> Base:
    """A base that states nothing; problems of what is not stated are located at a folder."""
    merged = Merged({"kind": "load"}, {(): (shown_path(folder), Mark(1, 1))})
    return Base(Profile(merged, folder), {})


def base_of(load: Profile, root: Path | None) -> Base:
    """The part of a load that all pairs have in common."""
    data, locations = load.merged.data, load.merged.locations
    kept = {key: value for key, value in data.items() if key not in _OF_THE_BASE_ALONE}
    stated: Any = data.get("tiedowns", ())
    tiedowns = tuple(
        label_of(each) | {key: each[key] for key in _RIGGING if key in each} for each in stated
    )
    of_tiedowns = {path: where for path, where in locations.items() if path[:1] == ("tiedowns",)}
    at = {path: where for path, where in locations.items() if not path or path[0] in kept}
    files = {file for file, _ in at.values()}
    top = root or profile_root(load.file)
    uses = frozenset(name for name in load.uses if shown_path(top / f"{name}.yaml") in files)
    profile = replace(
        load, merged=replace(load.merged, data=kept, locations=at, sections={}), uses=uses
    )
    return Base(profile, dict(_made_ready(load)), tiedowns, of_tiedowns)


def with_tow_vehicle(base: Base, part: Part) -> Base:
    """The base with another tow vehicle."""
    common = base.profile.merged
    data, at = _of_kind("tow-vehicle", part.merged)
    kept = {path: where for path, where in common.locations.items() if path[:1] != ("tow_vehicle",)}
    merged = replace(common, data={**common.data, **data}, locations={**kept, **at})
    uses = base.profile.uses | ({part.name} if part.name else set())
    return replace(base, profile=replace(base.profile, merged=merged, uses=uses))


def _made_ready(load: Profile) -> Iterator[tuple[str, str]]:
    """Answers that the load itself states of its articles, where all that have them agree."""
    data, locations = load.merged.data, load.merged.locations
    own = locations[()][0]
    articles: Any = data.get("articles", ())
    for key in (*MADE_READY, *OF_ANY_MACHINE):
        stated = {
            str(each[key])
            for number, each in enumerate(articles)
            if key in each
            and locations["articles", number, key][0] == own
            and not (key in OF_ANY_MACHINE and "from" in each)
        }
        if len(stated) == 1:
            yield key, stated.pop()


def pair(base: Base, machine: Part, trailer: Part) -> Profile:
    """The machine on the trailer, with its place and its tiedowns open.

    Answers of the base that cannot be given here, such as one about a breakaway device that the
    trailer does not have, are left out. Raises ProblemsFoundError where the two files contradict
    each other or the base.
    """
    common = base.profile.merged
    of_machine, at_machine = _of_kind("machine", machine.merged)
    of_trailer, at_trailer = _of_kind("trailer", trailer.merged)
    stated = of_machine["articles"][0]
    ready = {key: word for key, word in base.made_ready.items() if key not in stated}
    alone = {key: value for key, value in ALONE.items() if key not in stated}
    data = {
        **common.data,
        **of_trailer,
        "title": f"{machine.title} on {trailer.title}",
        "articles": [{**stated, **ready, **alone}],
    }
    here = common.locations[()]
    paths = [("articles", 0, *path) for path in _paths(ready, alone)]
    added: Locations = dict.fromkeys([("title",), ("articles",), *paths], here)
    if base.tiedowns:
        data["tiedowns"] = [*base.tiedowns]
    locations = {**common.locations, **base.tiedowns_at, **added, **at_machine, **at_trailer}
    merged = replace(common, data=_without_contradicted(data, ready), locations=locations)
    problems: list[Problem] = [*lost_names(merged), *refusals(merged.data, locations)]
    if problems:
        raise ProblemsFoundError(problems)
    names = {name for name in (machine.name, trailer.name) if name}
    return replace(base.profile, merged=merged, uses=base.profile.uses | names)


def _paths(*fields: Mapping[str, Any]) -> Iterator[DataPath]:
    """The paths of all values of some fields, one level deep."""
    for each in fields:
        for key, value in each.items():
            yield (key,)
            yield from ((key, inside) for inside in value if isinstance(value, Mapping))


def _without_contradicted(data: dict[str, Any], ready: Mapping[str, str]) -> dict[str, Any]:
    """The data without the answers of the base that contradict the machine or the trailer."""
    stated = OfProfile(data)
    for case in cases(Grade.REFUSED, data):
        if not case.holds(stated):
            continue
        for path in case.paths:
            match path:
                case ("walkaround", str(key)):
                    data["walkaround"] = _without(data["walkaround"], key)
                case ("articles", 0, str(key)) if key in ready:
                    data["articles"] = [_without(data["articles"][0], key)]
    return data


def _without(mapping: Mapping[str, Any], key: str) -> dict[str, Any]:
    return {name: value for name, value in mapping.items() if name != key}
