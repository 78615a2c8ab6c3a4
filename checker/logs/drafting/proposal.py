"""Proposes how to read each column of a table, and what a person must decide."""

import difflib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from checker.logs.cells import as_text
from checker.logs.columns import node_of
from checker.logs.drafting.cells import (
    NO,
    YES,
    DayForms,
    answers_of,
    are_answers,
    bare_figures,
    days_of,
    decimal_signs,
    has_figures,
    is_empty,
    ways_of_days,
)
from checker.logs.drafting.headers import HeaderMeant, unit_for
from checker.logs.drafting.scalars import can_be_written
from checker.logs.drafting.table import Table
from checker.logs.model import OF_THE_HAUL, Cell, DecimalSign, Role
from checker.units.kinds import KINDS

_MOST_WORDS: Final = 6
"""Most words of a column of answers; what each means is for a person to say."""
_UNITS_SHOWN: Final = {"trip.distance": "mi", "trip.driving_time": "min"}
"""The units of examples, where the usual one of the kind is odd."""
MOST_NAMES: Final = 40
"""Most names of loads that are listed for a person to find a load profile for each."""


@dataclass(slots=True)
class Proposed:
    """The proposal for one column. Without a field a person must decide, as `why` says."""

    header: str
    field: str | None = None
    unit: str | None = None
    to_check: str = ""
    """What to look at, beside the line of the column."""
    why: str = ""
    is_own: bool = False
    """True if the header names the field itself, so that no mapping file need say it."""


@dataclass(slots=True)
class Proposal:
    """The proposal for a table."""

    table: Table
    columns: list[Proposed] = field(default_factory=list)
    dates: DayForms | None = None
    date_header: str = ""
    answers: dict[str, str] = field(default_factory=dict)
    unclear_answers: dict[str, Sequence[str]] = field(default_factory=dict)
    """By header, words of unclear meaning in a column of answers."""
    ticked: list[str] = field(default_factory=list)
    """Headers of columns that are ticked or blank, and never say no."""
    decimals: dict[DecimalSign, str] = field(default_factory=dict)
    loads: dict[str, str] = field(default_factory=dict)
    """Names in the column of loads that no load profile has, and a near one or nothing."""
    more_loads: int = 0

    def header_of(self, field: str) -> str | None:
        """The header of the column for a field."""
        return next((each.header for each in self.columns if each.field == field), None)


def propose(table: Table, loads: Sequence[str], is_load: Callable[[str], bool]) -> Proposal:
    """The proposal for a table; `loads` are names of load profiles, as `is_load` says of any."""
    proposal = Proposal(table)
    taken: dict[str, int] = {}
    for index, header in enumerate(table.headers):
        if not header:
            continue
        each = _proposed(table, index)
        if each.field is not None and each.field in taken:
            first = taken[each.field]
            if table.meant[index].rank < table.meant[first].rank:
                other = next(e for e in proposal.columns if e.header == table.headers[first])
                other.field, other.why = None, f"{each.field} is more likely {header!r}"
                taken[each.field] = index
            else:
                each.why = f"{each.field} is more likely {table.headers[first]!r}"
                each.field = None
        elif each.field is not None:
            taken[each.field] = index
        proposal.columns.append(each)
    _find_date(proposal, taken)
    for name, index in taken.items():
        _look_at_cells(proposal, name, index, loads, is_load)
    return proposal


def _proposed(table: Table, index: int) -> Proposed:
    """The proposal for a column by its header, as far as its cells can be such."""
    meant, header = table.meant[index], table.headers[index]
    cells = table.cells(index)
    each = Proposed(header, meant.field, meant.unit, is_own=meant.is_own)
    if meant.field is None:
        each.why = _why_unknown(meant, cells)
    elif fault := _cannot_be(meant.field, cells, table.rows):
        each.field, each.why = None, f"it could be {meant.field}, but {fault}"
    elif meant.field not in OF_THE_HAUL:
        _find_unit(each, table.units[index] if index < len(table.units) else "", cells)
    return each


def _why_unknown(meant: HeaderMeant, cells: Sequence[Cell]) -> str:
    if meant.hint:
        return meant.hint
    if meant.near:
        return f"near it: {', '.join(meant.near)}"
    if all(map(is_empty, cells)):
        return "no cell in any row"
    return _answers_seen(cells) if are_answers(cells) else ""


def _answers_seen(cells: Sequence[Cell]) -> str:
    """The answers in a column that are no more than words of one meaning, or that both occur."""
    texts = list(dict.fromkeys(as_text(cell).strip() for cell in cells if not is_empty(cell)))
    folded = {text.casefold() for text in texts}
    if folded & YES and folded & NO:
        return "its cells are yes and no"
    missing = "no" if folded & YES else "yes"
    blank = ", or blank" if any(map(is_empty, cells)) else ""
    shown = " and ".join(repr(text) for text in texts[:_MOST_WORDS])
    return f"its cells are {shown}{blank}: none says {missing}"


def _cannot_be(name: str, cells: Sequence[Cell], rows: Sequence[int]) -> str:
    """Why the cells cannot be those of a field; nothing if they can."""
    if all(map(is_empty, cells)):
        return ""
    shown = as_text(next(cell for cell in cells if not is_empty(cell)))
    if name == Role.DATE and days_of(cells) is None and (mixed := _mixed_days(cells, rows)):
        return mixed
    if name in OF_THE_HAUL:
        is_other = days_of(cells) is None if name == Role.DATE else days_of(cells) is not None
        return f"its cells are such as {shown!r}" if is_other else ""
    node = node_of(name)
    if "quantity" in node and not has_figures(cells):
        return f"its cells are no figures, such as {shown!r}"
    words = {cell for cell in cells if not is_empty(cell)}
    if node.get("enum") == ["yes", "no"] and len(words) > _MOST_WORDS:
        return f"its cells are no answers, such as {shown!r}"
    return ""


def _mixed_days(cells: Sequence[Cell], rows: Sequence[int]) -> str:
    """In which ways the days are written that no one form reads; nothing if they are no days."""
    ways = ways_of_days(cells)
    if not ways:
        return ""
    shown = ", ".join(
        f"{each.shown} ({each.cells} cell{'s' * (each.cells != 1)}, first in row "
        f"{rows[each.first]})"
        for each in ways[:_MOST_WORDS]
    )
    return f"its days are written in {len(ways)} ways; write all in one way in the log: {shown}"


def _find_unit(each: Proposed, below: str, cells: Sequence[Cell]) -> None:
    """The unit of a column of figures, or what to decide about it."""
    node = node_of(each.field or "")
    kind = KINDS[node["quantity"]] if "quantity" in node else None
    if kind is None or not kind.units or node["type"] != "string":
        each.unit = None
        return
    if unit_for(each.field or "", below.strip("[]() ")):
        each.unit = None  # the row of units says it
    elif each.unit is None and bare_figures(cells):
        unit = _UNITS_SHOWN.get(each.field or "", kind.us)
        each.to_check = f"TODO: the figures have no unit; add it, as in {each.field} [{unit}]"


def _find_date(proposal: Proposal, taken: dict[str, int]) -> None:
    """Where no header names the day, the one column that holds days is it."""
    table = proposal.table
    if Role.DATE in taken:
        return
    found = [
        index
        for index, header in enumerate(table.headers)
        if header and index not in taken.values() and days_of(table.cells(index)) is not None
    ]
    if len(found) == 1:
        each = next(e for e in proposal.columns if e.header == table.headers[found[0]])
        each.field, each.why, each.to_check = Role.DATE.value, "", "check: the one column of days"
        taken[Role.DATE.value] = found[0]


def _look_at_cells(
    proposal: Proposal,
    name: str,
    index: int,
    loads: Sequence[str],
    is_load: Callable[[str], bool],
) -> None:
    """What the cells of a column add to the proposal."""
    cells, header = proposal.table.cells(index), proposal.table.headers[index]
    if name == Role.DATE:
        proposal.dates, proposal.date_header = days_of(cells), header
    elif name == Role.LOAD:
        names = dict.fromkeys(as_text(cell).strip() for cell in cells if not is_empty(cell))
        unknown = list(_unknown_loads(filter(can_be_written, names), loads, is_load))
        proposal.loads = dict(unknown[:MOST_NAMES])
        proposal.more_loads = len(unknown) - len(proposal.loads)
    elif name not in OF_THE_HAUL:
        node = node_of(name)
        if node.get("enum") == ["yes", "no"]:
            found = answers_of(cells)
            proposal.answers.update(found.words)
            if found.never_no and any(map(is_empty, cells)):
                proposal.ticked.append(header)
            if found.unclear:
                proposal.unclear_answers[header] = found.unclear
        elif "quantity" in node:
            for sign, text in decimal_signs(cells).items():
                proposal.decimals.setdefault(sign, text)


def _unknown_loads(
    names: Iterable[str], known: Sequence[str], is_load: Callable[[str], bool]
) -> Iterator[tuple[str, str]]:
    """The names that no load profile has, each with the one near it or nothing."""
    short = {each.rsplit("/", 1)[-1].replace("-", " "): each for each in known}
    for name in names:
        if is_load(name):
            continue
        folded = name.casefold().replace("-", " ").replace("_", " ")
        near = difflib.get_close_matches(folded, short, n=1, cutoff=0.6)
        near = near or [each for each in short if len(folded) > 3 and folded in each][:1]
        yield name, short[near[0]] if near else ""
