"""From a profile file to a `Load`: read, validate, follow references, convert, assemble."""

import itertools
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from checker.arithmetic import Number
from checker.documents.problems import DataPath, Problem, ProblemsFoundError
from checker.documents.reader import read_file
from checker.documents.schemas import definition, resolved
from checker.documents.validate import validate
from checker.load.model import (
    Anchor,
    Article,
    Attachment,
    Axle,
    Blocking,
    Carrier,
    CentreOfGravity,
    Coupler,
    Deck,
    Driver,
    FrontStructure,
    Load,
    MachineAxle,
    MachineAxles,
    Origin,
    Placed,
    Rated,
    SafetyChains,
    Tiedown,
    TowVehicle,
    Trailer,
    Trip,
)
from checker.load.names import article_name, name_problems
from checker.load.references import Merged, References
from checker.units import parse

MOST_TOLERANCES = 10
"""Every stated tolerance doubles the rows of a load: its corners are all looked at."""

_NOT_OF_THE_MODEL = ("kind", "note", "from")


def profile_root(file: Path) -> Path:
    """The folder references start from: the nearest one called `profiles`, else the file's own."""
    for folder in file.resolve().parents:
        if folder.name == "profiles":
            return folder
    return file.resolve().parent


def shown_path(path: Path) -> str:
    """A path as messages show it: from the working directory where it lies below that."""
    here = Path.cwd()
    full = path.absolute()
    return str(full.relative_to(here)) if full.is_relative_to(here) else str(path)


def read_load(file: Path, root: Path | None = None) -> Load:
    """The load of one profile file.

    Raises ProblemsFoundError with every problem of the file and of what it refers to.
    """
    document = read_file(file, shown_path(file))
    problems = document.problems + validate(document, wanted_kind="load")
    if not isinstance(document.data, dict) or document.data.get("kind") != "load":
        raise ProblemsFoundError(problems)
    references = References(root or profile_root(file), shown_path)
    merged = references.merged(document, "load")
    problems += merged.problems
    if merged.complete:
        problems += name_problems(merged)
    if problems:
        raise ProblemsFoundError(problems)
    return _Building(merged, file).load()


class _Building:
    """Converts one faultless merged profile; numbers with a tolerance become arrays."""

    def __init__(self, merged: Merged, file: Path) -> None:
        self.merged = merged
        self.file = file
        self.origins: dict[str, Origin] = {}
        self.variants = self._tolerance_corners()

    def load(self) -> Load:
        top = self._converted(self.merged.data, definition("load"), ())
        trailer = _trailer(top.pop("trailer", {}))
        articles = tuple(
            _article(data, index) for index, data in enumerate(top.pop("articles", []))
        )
        tiedowns = top.pop("tiedowns", None)
        trip: dict[str, Any] = {
            key: tuple(value) if isinstance(value, list) else value
            for key, value in top.pop("trip", {}).items()
        }
        return Load(
            title=top.pop("title", self.file.stem),
            file=self.file,
            rows=1 + 2 ** len(self.variants) if self.variants else 1,
            trailer=trailer,
            tow_vehicle=_tow_vehicle(top.pop("tow_vehicle", {})),
            carrier=Carrier(**top.pop("carrier", {})),
            driver=Driver(**top.pop("driver", {})),
            articles=articles,
            tiedowns=None
            if tiedowns is None
            else tuple(_tiedown(data, trailer, articles) for data in tiedowns),
            walkaround=top.pop("walkaround", {}),
            trip=Trip(**trip),
            origins=self.origins,
        )

    def _tolerance_corners(self) -> dict[DataPath, Number]:
        """For each number with a tolerance, its value in every row: as stated, then all corners."""
        tolerant: dict[DataPath, tuple[float, float]] = {}
        for path, text, kind in _quantities(self.merged.data, definition("load"), ()):
            quantity = parse(text, kind)
            if quantity.half_width:
                tolerant[path] = (quantity.value, quantity.half_width)
        if len(tolerant) > MOST_TOLERANCES:
            path = list(tolerant)[MOST_TOLERANCES]
            file, mark = self.merged.places[path]
            found = f"{len(tolerant)} numbers with a tolerance"
            wanted = f"at most {MOST_TOLERANCES} in one load; state the ones that matter most"
            raise ProblemsFoundError([Problem(file, mark, found, wanted)])
        signs = np.array(list(itertools.product((-1.0, 1.0), repeat=len(tolerant))))
        return {
            path: np.concatenate(([value], value + half * signs[:, column]))
            for column, (path, (value, half)) in enumerate(tolerant.items())
        }

    def _converted(self, data: Any, node: Mapping[str, Any], path: DataPath) -> Any:
        """Quantities as numbers, answers as 1 or 0, everything else as it is; origins noted."""
        node = _choice(resolved(node), data)
        if isinstance(data, dict):
            return {
                key: self._converted(value, below, (*path, key))
                for key, value, below in _fields(data, node)
            }
        if isinstance(data, list):
            plain = [item for item in data if isinstance(item, str)]
            text = f"a list of {len(data)}" if len(plain) < len(data) else f"[{', '.join(plain)}]"
            self._note(path, text, metric=None)
            return [
                self._converted(item, node["items"], (*path, index))
                for index, item in enumerate(data)
            ]
        if "quantity" in node and isinstance(data, str):
            quantity = parse(data, node["quantity"])
            self._note(path, data, metric=quantity.metric)
            return self.variants.get(path, quantity.value)
        self._note(path, str(data), metric=None)
        if node.get("enum") == ["yes", "no"]:
            return 1.0 if data == "yes" else 0.0
        return float(data) if isinstance(data, int) else data

    def _note(self, path: DataPath, text: str, *, metric: bool | None) -> None:
        file, mark = self.merged.places[path]
        self.origins[field_path(path)] = Origin(file, mark, text, metric)


def field_path(path: DataPath) -> str:
    """A field as people write it: `articles.1.weight`, counted from 1."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in path)


def _fields(
    data: Mapping[str, Any], node: Mapping[str, Any]
) -> Iterator[tuple[str, Any, Mapping[str, Any]]]:
    """Keys of a mapping that the model holds, each with its value and its schema node.

    A person may well call an anchor `note`: only the schema's own properties are left out.
    """
    named = node.get("properties", {})
    for key, value in data.items():
        if key not in named:
            yield key, value, node["additionalProperties"]
        elif key not in _NOT_OF_THE_MODEL:
            yield key, value, named[key]


def _choice(node: Mapping[str, Any], data: Any) -> Mapping[str, Any]:
    """The branch of a text-or-mapping node that fits; references are mappings by now."""
    return resolved(node["else"]) if "else" in node and isinstance(data, dict) else node


def _quantities(
    data: Any, node: Mapping[str, Any], path: DataPath
) -> list[tuple[DataPath, str, str]]:
    """Every quantity text below a value, with its path and kind."""
    node = _choice(resolved(node), data)
    if isinstance(data, dict):
        return [
            found
            for key, value, below in _fields(data, node)
            for found in _quantities(value, below, (*path, key))
        ]
    if isinstance(data, list):
        return [
            found
            for index, item in enumerate(data)
            for found in _quantities(item, node["items"], (*path, index))
        ]
    if "quantity" in node and isinstance(data, str):
        return [(path, data, node["quantity"])]
    return []


def _trailer(data: dict[str, Any]) -> Trailer:
    return Trailer(
        axles=tuple(Axle(name=name, **axle) for name, axle in data.pop("axles", {}).items()),
        anchors=tuple(Anchor(name=name, **at) for name, at in data.pop("anchors", {}).items()),
        deck=Deck(**data.pop("deck", {})),
        coupler=Coupler(**data.pop("coupler", {})),
        safety_chains=SafetyChains(**data.pop("safety_chains", {})),
        front_structure=FrontStructure(**data.pop("front_structure", {})),
        **data,
    )


def _tow_vehicle(data: dict[str, Any]) -> TowVehicle:
    return TowVehicle(
        receiver=Rated(**data.pop("receiver", {})),
        ball_mount=Rated(**data.pop("ball_mount", {})),
        ball=Rated(**data.pop("ball", {})),
        **data,
    )


def _article(data: dict[str, Any], index: int) -> Article:
    name = article_name(data, index)
    axles = data.pop("axles", {})
    points = data.pop("attachments", {})
    data.pop("name", None)
    return Article(
        name=name,
        title=data.pop("title", name),
        cg=CentreOfGravity(**data.pop("cg", {})),
        axles=MachineAxles(**{end: MachineAxle(**axle) for end, axle in axles.items()}),
        attachments=tuple(Attachment(name=key, **point) for key, point in points.items()),
        placed=Placed(**data.pop("placed", {})),
        blocking=Blocking(**data.pop("blocking", {})),
        **data,
    )


def _tiedown(data: dict[str, Any], trailer: Trailer, articles: tuple[Article, ...]) -> Tiedown:
    name = data.pop("article", None)
    article = next((each for each in articles if each.name == name), articles[0])
    anchors = {anchor.name: anchor for anchor in trailer.anchors}
    points = {point.name: point for point in article.attachments}
    pulls = data.pop("pulls", None)
    return Tiedown(
        article=article,
        anchor=anchors.get(data.pop("anchor", "")),
        far_anchor=anchors.get(data.pop("far_anchor", "")),
        attachment=points.get(data.pop("attachment", "")),
        pulls=None if pulls is None else tuple(pulls),
        **data,
    )
