"""A set of rule files that are read together: their sources, the ids in use, the problems found."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from checker.documents.document import Document
from checker.documents.problems import DataPath, Problem, listed, suggestion_for
from checker.documents.validate import validate
from checker.rulebooks.citations import Citation, Location, Source
from checker.rulebooks.days import Stretch
from checker.units.parsing import Quantity, UnitError, parse_threshold


class RuleFileSet:
    """State shared by the readers of rules, amendments and tables of one set of files."""

    def __init__(self, documents: Sequence[Document], known: Mapping[str, Source]) -> None:
        self.problems: list[Problem] = []
        self.sources: dict[str, Source] = dict(known)
        self.documents: list[Document] = []
        self.sound_shapes: dict[str, bool] = {}
        """The shapes that were looked at, and whether cells can fill them in."""
        self._faulty: list[Document] = []
        self._first_use: dict[tuple[str, str], Location] = {}
        for document in documents:
            found = document.problems + (validate(document) if document.whole else [])
            self.problems += found
            (self._faulty if found else self.documents).append(document)

    def of_kind(self, kind: str) -> list[Document]:
        """The documents of one kind, such as `rulebook`, in the order they were read."""
        return [each for each in self.documents if data_of(each)["kind"] == kind]

    def is_any_faulty(self, kind: str) -> bool:
        """True if a document of that kind has a problem, so that what it holds is not known."""
        return any(
            isinstance(each.data, dict) and each.data.get("kind") == kind for each in self._faulty
        )

    def note_id(self, kind: str, name: str, document: Document, path: DataPath) -> None:
        """Record an id; add a problem if another entry of that kind uses it already."""
        here = location(document, path)
        first = self._first_use.setdefault((kind, name), here)
        if first != here:
            wanted = f"an id of its own for each {kind}; it is already used at {first}"
            self.problems.append(document.problem(path, f"the id '{name}' again", wanted))

    def cite(self, data: Mapping[str, Any], document: Document, path: DataPath) -> Citation:
        """The citation of a rule or a value; a problem if no sources file lists its source."""
        wanted = data.get("source")
        if wanted is None:
            return Citation(None)
        source = self.source(wanted, document, (*path, "source"))
        return Citation(source, data["at"] if source else None)

    def source(self, name: str, document: Document, path: DataPath) -> Source | None:
        """The document of that id; None, with a problem added at the path, if there is none."""
        if name not in self.sources and not self.is_any_faulty("sources"):
            guess = suggestion_for(name, self.sources, self.problems)
            started = "`cinchbook draft sources FILE` starts one"
            wanted = f"a document that a sources file lists ({started}): {listed(self.sources)}"
            self.problems.append(document.problem(path, f"the source '{name}'", wanted, guess))
        return self.sources.get(name)

    def read_quantity(
        self, stated: str | int | float, document: Document, path: DataPath
    ) -> Quantity | None:
        """The quantity of a threshold; None, with a problem added, if it cannot be read."""
        try:
            return parse_threshold(stated)
        except UnitError as error:
            self.add_unit_problem(error, stated, document, path)
            return None

    def read_stretch(
        self, stated: Mapping[str, Any], document: Document, path: DataPath
    ) -> Stretch | None:
        """The days of `from` and `until`; None where neither is stated. An end needs no start."""
        if "from" not in stated and "until" not in stated:
            return None
        starts = date.fromisoformat(stated["from"]) if "from" in stated else date.min
        ends = date.fromisoformat(stated["until"]) if "until" in stated else None
        if ends is not None and ends <= starts:
            found = f"`until: {ends}`"
            self.problems.append(document.problem((*path, "until"), found, f"after {starts}"))
        return Stretch(starts, ends)

    def add_unit_problem(
        self, error: UnitError, stated: object, document: Document, path: DataPath
    ) -> None:
        """Add a problem for a text that is not a quantity of the wanted kind."""
        guess = error.suggestion and f"'{error.suggestion}'"
        self.problems.append(document.problem(path, f"'{stated}'", error.wanted, guess))


def data_of(document: Document) -> dict[str, Any]:
    """The top-level mapping of a valid document."""
    assert isinstance(document.data, dict)
    return document.data


def location(document: Document, path: DataPath) -> Location:
    """The file and position of the value at a path."""
    return Location(*document.located(path))
