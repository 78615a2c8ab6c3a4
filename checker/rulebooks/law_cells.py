"""One cell of a law table: what it states, its citation and level, and the rule it becomes."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from itertools import pairwise
from typing import Any, Final

from msgspec import Struct

from checker.documents.document import Document
from checker.documents.problems import DataPath, Mark, listed, suggestion_for
from checker.rulebooks.citations import LAW_OF_A_CELL, Source
from checker.rulebooks.law_conditions import ROADS, first_day
from checker.rulebooks.law_filling import (
    Filling,
    filled,
    filled_proofs,
    limits_of,
    read_filling,
)
from checker.rulebooks.law_shapes import SHAPES, is_sound
from checker.rulebooks.model import TEXT_SEEN, Rule, Shape
from checker.rulebooks.rule_file_set import RuleFileSet, data_of, location
from checker.rulebooks.rule_reading import read_rule

_OF_A_CELL: Final = frozenset(
    {"shape", "id", "section", "law", "edition", "read", "level", "also", "note", "proofs"}
)
"""Keys of a cell that are no figures or words of its shape."""
CITED: Final = ("law", "section", "edition", "read")
_UNREAD: Final = "Not read in the statute: open the statute itself."
_HOW_READ: Final = {"secondary copy": "read in a secondary copy"}


class _FilledShape(Document, frozen=True, kw_only=True):
    """A shape filled in by cells: a figure lies in its cell, the rule in the first of them."""

    table: Document
    cells: Sequence[DataPath]
    stated_in: Mapping[str, Sequence[int]]
    """For each figure the cells, by index, that its values are read from."""
    shape_path: DataPath
    shape_proofs: int

    def located(self, path: DataPath) -> tuple[str, Mark]:
        """The file and position of a value of the rule."""
        match path:
            case ("thresholds", str(name), "values", int(index), *_):
                cell = self.cells[self.stated_in[name][index]]
                return self.table.located((*cell, name))
            case ("thresholds", name, *_):
                return self.table.located((*self.cells[0], name))
            case ("proofs", int(index), *rest) if index >= self.shape_proofs:
                own = ("proofs", index - self.shape_proofs, *rest)
                return self.table.located((*self.cells[0], *own))
            case () | ("id",):
                return self.table.located((*self.cells[0], *path))
        return self.file, self.value_mark((*self.shape_path, *path))

    def located_inside(self, path: DataPath, offset: int) -> tuple[str, Mark]:
        """The position of the whole text: slots that were filled in move its characters."""
        del offset
        return self.located(path)


class Cell(Struct, frozen=True):
    """One cell as read, before its rule is made."""

    rule_id: str
    shape: Shape
    filling: Filling
    data: Mapping[str, Any]
    path: DataPath
    citation: Mapping[str, str]
    level: str


def read_cell(
    document: Document,
    path: DataPath,
    days: tuple[date, date | None],
    place: str,
    shapes: Mapping[str, Shape],
    files: RuleFileSet,
) -> Cell | None:
    """The cell at a path of a table; None, with its problems added, if it cannot become a rule.

    `days` are those of its row, and `place` is the name of the row's place.
    """
    table = data_of(document)
    row = table["places"][path[1]]
    data = row["cells"][path[3]]
    cited = {key: each[key] for each in (row, data) for key in CITED if key in each}
    for key in CITED:
        if key not in cited:
            wanted = f"`{key}:` on the cell or its row: nobody can look up a figure without it"
            files.problems.append(document.problem(path, f"a cell without '{key}'", wanted))
            return None
    level = data.get("level", "must" if cited["read"] == TEXT_SEEN else "should")
    if level == "must" and cited["read"] != TEXT_SEEN:
        found = f"`level: must` of a text {_HOW_READ.get(cited['read'], cited['read'])}"
        wanted = "`level: should`: only a text that was seen makes a must"
        files.problems.append(document.problem((*path, "level"), found, wanted))
        return None
    shape = shapes.get(data["shape"])
    if shape is None and files.is_any_faulty(SHAPES):
        return None
    if shape is None:
        guess = suggestion_for(data["shape"], shapes, files.problems)
        found, wanted = f"the shape '{data['shape']}'", f"a shape: {listed(shapes)}"
        files.problems.append(document.problem((*path, "shape"), found, wanted, guess))
        return None
    if not is_sound(shape, files):
        return None
    origin = f"{cited['law']} {cited['section']}: the figure of the cell"
    figures = {key: value for key, value in data.items() if key not in _OF_A_CELL}
    filling = read_filling(
        shape,
        figures,
        document,
        path,
        files,
        place=place,
        days=days,
        origin=origin,
        roads=ROADS in table,
    )
    if filling is None:
        return None
    rule_id = data.get("id", f"{row['place'].lower()}-{shape.data['rule']}")
    return Cell(rule_id, shape, filling, data, path, cited, level)


def may_follow(document: Document, cells: Sequence[Cell], files: RuleFileSet) -> bool:
    """True if cells of one rule are of different rows and alike but for their figures."""
    first = cells[0]
    sound = True
    for cell in cells[1:]:
        if cell.path[:2] == first.path[:2] or cell.shape != first.shape:
            found = f"a second cell for the rule '{cell.rule_id}'"
            wanted = "an `id:` of its own for each cell of a row, and for each shape"
        elif _words_of(cell) != _words_of(first):
            found = f"other words for the rule '{cell.rule_id}' than in the row before"
            wanted = "an `id:` of its own, or the same words: only figures change by day"
        else:
            continue
        sound = False
        files.problems.append(document.problem(cell.path, found, wanted))
    return sound


def _words_of(cell: Cell) -> tuple[object, ...]:
    """All of a cell that is no figure."""
    return cell.filling.words, cell.filling.conditions, cell.level


def read_rule_of(
    document: Document, cells: Sequence[Cell], files: RuleFileSet, *, with_proofs: bool
) -> Rule:
    """The rule of a cell, or of the cells of one rule in rows that follow each other."""
    first = cells[0]
    shape = first.shape
    sources = [_source(document, cell, files) for cell in cells]
    proved_on = date.fromisoformat(data_of(document)["proved_on"])
    data = filled(shape, first.filling)
    proofs = [
        proof
        for index, cell in enumerate(cells if with_proofs else ())
        for proof in filled_proofs(
            shape,
            cell.filling,
            proved_on,
            is_first=index == 0,
            is_last=index == len(cells) - 1,
        )
    ]
    data["proofs"] = [*proofs, *first.data.get("proofs", ())]
    data["id"] = first.rule_id
    limits = limits_of(shape, first.data)
    stated_in = {name: _cells_that_change(name, cells) for name in limits}
    data["thresholds"] = {
        name: {
            "stricter": limit["stricter"],
            "values": list(_dated_values(name, cells, stated_in[name], sources)),
        }
        for name, limit in limits.items()
    }
    data["source"], data["at"] = sources[-1].id, cells[-1].citation["section"]
    data["basis"], data["level"] = "law", first.level
    more = [cells[-1].data["also"]] if "also" in cells[-1].data else []
    if cells[-1].citation["read"] != TEXT_SEEN:
        more.append(_UNREAD)
    data["because"] = " ".join([data["because"], *more])
    overlay = _FilledShape(
        file=shape.document.file,
        data=data,
        values=shape.document.values,
        keys=shape.document.keys,
        text=shape.document.text,
        table=document,
        cells=[cell.path for cell in cells],
        stated_in=stated_in,
        shape_path=shape.path,
        shape_proofs=len(proofs),
    )
    return read_rule(data, overlay, (), proved_on, files, with_proofs=with_proofs)


def _cells_that_change(name: str, cells: Sequence[Cell]) -> list[int]:
    """The index of the first cell, and of each that does not go on with the figure before it."""
    goes_on = [
        later.data[name] == earlier.data[name] and later.filling.starts == earlier.filling.ends
        for earlier, later in pairwise(cells)
    ]
    return [0, *(index for index, same in enumerate(goes_on, 1) if not same)]


def _dated_values(
    name: str, cells: Sequence[Cell], indices: Sequence[int], sources: Sequence[Source]
) -> Iterator[dict[str, Any]]:
    """The values of a threshold as rule files state them; each ends where the next one begins."""
    for index, following in zip(indices, [*indices[1:], len(cells)], strict=True):
        cell = cells[index]
        starts, ends = cell.filling.starts, cells[following - 1].filling.ends
        if not index and name in cell.filling.conditions:
            starts = first_day(name, cell.filling.texts[name], starts)
        value = {
            "value": cell.data[name],
            "from": starts.isoformat(),
            "source": sources[index].id,
            "at": cell.citation["section"],
        }
        if ends is not None:
            value["until"] = ends.isoformat()
        if "note" in cell.data:
            value["note"] = cell.data["note"]
        yield value


def _source(document: Document, cell: Cell, files: RuleFileSet) -> Source:
    """The law of a cell as a source, added to those of the set of files."""
    table = data_of(document)
    place = table["places"][cell.path[1]]["place"]
    cited = cell.citation
    alike = (cited["law"], cited["edition"], place, cited["read"])
    for source in files.sources.values():
        if (source.title, source.edition, source.jurisdiction, source.read_as) == alike:
            return source
    source = Source(
        id=f"{cell.rule_id}{LAW_OF_A_CELL}",
        title=cited["law"],
        issuer=cell.filling.place,
        edition=cited["edition"],
        jurisdiction=place,
        read_as=cited["read"],
        look_again=date.fromisoformat(table["look_again"]),
        location=location(document, cell.path),
        due_at=location(document, ("look_again",)),
    )
    files.sources[source.id] = source
    return source
