"""An audit as a workbook: a worksheet of counts for each grouping."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import islice
from typing import Any, Final, TypeAlias

from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE, Cell, WriteOnlyCell
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter

from checker.reports.shared.audit_results import (
    AuditRun,
    doubtful_rows,
    listed_words,
    month_by_month,
    most_first,
    most_often_held_first,
    rule_counts,
    rules_not_met,
    warning_counts,
)
from checker.reports.shared.cells import would_run
from checker.reports.shared.haul_list import HaulList, ListedHaul
from checker.reports.shared.log_remarks import unit_of
from checker.reports.shared.not_decided import not_decided
from checker.reports.shared.rate_words import (
    legend,
    named_lines,
    rate_figures,
    since_lines,
    unnamed_lines,
)
from checker.reports.shared.reading_remarks import reading_remarks
from checker.reports.shared.season_causes import WORST_ORDER, season_causes
from checker.reports.shared.season_names import SeasonNames
from checker.reports.shared.words import CAUTIONS
from checker.reports.shared.workbook_bytes import workbook_bytes
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import Audit
from checker.season.hauls.identity import KINDS
from checker.season.totals import Tally, WorstHaul

_Page: TypeAlias = Any
"""A sheet that is written row by row; its published types lack half of what it has."""
Value: TypeAlias = str | int | float | date | None
Row: TypeAlias = Sequence[Value]

_BY: Final[Mapping[str, str]] = {
    "trailer": "Trailers",
    "machine": "Machines",
    "tow vehicle": "Tow vehicles",
    "crew": "Crews",
    "month": "Months",
}
_WHERE: Final = ("trailer", "machine", "crew")
_TALLY: Final = ("hauls", "on hold", "open", "no rule broken", "near a limit", "under a variance")
_HAUL: Final = (
    "row",
    "haul",
    "day",
    "load",
    "crew",
    "outcome",
    "missed by most, else met by least",
    "must-rules not met",
    "must-rules undecided",
    "should-rules not met",
    "rules near",
    "rules excused",
)
_WORST, _HELD = "Worst", "On hold or open"
_OF_HELD: Final = {
    "row": 8,
    "outcome": 9,
    "haul": 16,
    "day": 11,
    "load": 30,
    "trailer": 30,
    "machines": 30,
    "tow vehicle": 20,
    "crew": 16,
    "rule that decides": 30,
    "what is wrong": 50,
    "what is compared": 40,
    "found": 10,
    "has to be": 12,
    "wanted": 10,
    "unit": 8,
    "side of the limit": 10,
    "missed by, of the limit": 12,
    "more must-rules not met": 12,
    "more must-rules undecided": 12,
}
"""The columns of the sheet of hauls on hold or open, with their widths."""
MOST_ROWS: Final = (1 << 20) - 1
"""Most rows of a sheet below the headings."""
_TOP, _WRAPPED = Alignment(vertical="top"), Alignment(vertical="top", wrap_text=True)
_BOLD: Final = Font(bold=True)
_RATE: Final = (
    "share of decided",
    "low end of its range",
    "high end",
    "on hold per 1,000 km",
    "p",
    "compared with others",
)
_SHARE, _DAY, _PLAIN = "0.0%", "yyyy-mm-dd", "0.00##"
_NARROWEST, _WIDEST = 8, 60


class _Plain(float):
    """A number that is no share."""


@dataclass(frozen=True, slots=True)
class _Sheet:
    title: str
    headings: Sequence[str]
    rows: Sequence[Row]


def report(run: AuditRun) -> bytes:
    """The workbook, as the bytes of its file; the same audit gives the same bytes."""
    book = Workbook(write_only=True)
    for sheet in _sheets(run):
        _add(book, sheet)
        if sheet.title == _WORST and run.held is not None:
            _add_held(book, HaulList(run.audit, run.held, run.units))
    return workbook_bytes(book, f"cinchbook {run.version}")


def _sheets(run: AuditRun) -> Iterator[_Sheet]:
    audit = run.audit
    names = SeasonNames(audit.totals.titles)
    yield _Sheet("Totals", ("what", "value", "digest"), list(_totals(run)))
    yield _causes(audit)
    yield _rules(run)
    for kind, title in _BY.items():
        ordered = month_by_month if kind == "month" else most_often_held_first
        titled = kind in KINDS
        rows = [
            (
                names.key(kind, key),
                *(names.title(kind, key),) * titled,
                *_counts(tally),
                *_rate(audit, kind, key),
            )
            for key, tally in ordered(audit.totals.by[kind])
        ]
        headings = (kind, *("title",) * titled, *_TALLY, "share on hold", *_RATE)
        yield _Sheet(title, headings, rows)
    yield _Sheet(
        _WORST,
        _HAUL,
        [
            _haul(each, audit.names.get(each.row))
            for each in season_causes(audit).worst_first(audit.totals.worst_hauls)
        ],
    )
    found = not_decided(audit)
    undecided: list[Row] = [
        (each.rule.rule.id, each.rule.title, each.hauls, each.words) for each in found.never
    ]
    undecided += [(None, each.words, each.asked, each.field) for each in found.fields]
    headings = ("rule never decided", "title, or what the field decides", "hauls", "what to state")
    yield _Sheet("Not decided", headings, undecided)
    doubtful: list[Row] = [
        (row, f"{what} {which}", words) for what, which, row, words in doubtful_rows(audit)
    ]
    yield _Sheet("Doubtful", ("row", "what", "what it states"), doubtful)
    refused: list[Row] = [(each.row, each.reason) for each in audit.refusals]
    if audit.refused > len(refused):
        refused.append((None, f"and {audit.refused - len(refused)} more"))
    yield _Sheet("Refused", ("row", "why it was not checked"), refused)


def _totals(run: AuditRun) -> Iterator[Row]:
    audit, tally = run.audit, run.audit.totals.all
    yield "log", audit.log, audit.digest
    yield "rows read", audit.read
    yield "rows refused", audit.refused
    yield "rows left out as the mapping file says", audit.remarks.left_out.total
    for remark in reading_remarks(audit):
        yield "how the log was read", remark
    yield from zip(_TALLY, _counts(tally), strict=False)
    yield "share on hold", _counts(tally)[-1]
    for what, which, number in warning_counts(audit):
        yield f"{unit_of(what)}s with: {what} {which}", number
    for line in named_lines(run.audit):
        yield "more often on hold than chance explains", line
    for line in (*since_lines(run.audit), *unnamed_lines(run.audit), *legend(run.audit)):
        yield "rates and comparisons", line
    yield "hauls in a place without a rulebook", audit.totals.unread_hauls
    yield "hauls with a doubtful figure", audit.totals.doubted.hauls
    yield "what counts as near, as a share of the limit", audit.near
    yield "hauls one by one", listed_words(audit)
    yield "order of the worst", WORST_ORDER
    for book in audit.rulebooks.books:
        yield "rulebook", book.title, f"{book.id} {book.digest}"
    for table in audit.rulebooks.tables:
        yield "table of unmarked devices", table.title, f"{table.id} {table.digest}"
    for each in audit.rulebooks.amendments:
        yield "amendment", each.title, f"{each.id} {each.digest}"
    yield "cinchbook", run.version
    for caution in CAUTIONS:
        yield "caution", caution


def _causes(audit: Audit) -> _Sheet:
    """Every cause with its place in the order of work, who and what has it, and what to change."""
    causes = season_causes(audit)
    order = {each.number: (place, off) for place, (each, off) in enumerate(causes.first, 1)}
    rows: list[Row] = [
        (
            *order.get(each.number, (None, None)),
            each.rule,
            each.statement,
            each.cause.level,
            each.cause.hauls,
            each.cause.alone,
            *(_lines(each.cause.by.get(kind, {})) for kind in ("crew", "load", "trailer")),
            ", ".join(f"{rule} ({hauls})" for rule, _, hauls in each.also) or None,
            "; ".join(each.change) or None,
            each.action,
        )
        for each in causes.all
    ]
    headings = (
        *("do first", "hauls off hold by then", "rule", "what is wrong", "level", "hauls"),
        *("hauls with no other cause of hold", "by crew", "by load", "by trailer"),
        *("other rules with it", "what to change", "fix"),
    )
    return _Sheet("Causes", headings, rows)


def _rules(run: AuditRun) -> _Sheet:
    """Every counted rule, those not met first, with the loads and crews where they were not."""
    first = rules_not_met(run.audit)
    names = SeasonNames(run.audit.totals.titles)
    rows: list[Row] = [
        (
            each.rule.id,
            each.statement if each.tally.broken else each.title,
            each.rule.level,
            each.asked,
            each.tally.of(Verdict.MET),
            each.tally.broken,
            each.undecided,
            each.tally.near,
            each.tally.excused,
            *(
                _lines(each.tally.broken_by.get(kind, {}), partial(names.printed, kind))
                for kind in _WHERE
            ),
            " ".join(each.actions) or None,
        )
        for each in [*first, *(each for each in rule_counts(run.audit) if not each.tally.broken)]
    ]
    headings = (
        "rule",
        "title",
        "level",
        "hauls it applied to",
        "met",
        "not met",
        "undecided",
        *_TALLY[-2:],
    )
    return _Sheet("Rules", (*headings, *(f"not met, by {kind}" for kind in _WHERE), "fix"), rows)


def _counts(tally: Tally) -> tuple[int | float | None, ...]:
    clear = tally.hauls - tally.held - tally.open
    share = tally.held / tally.hauls if tally.hauls else None
    return tally.hauls, tally.held, tally.open, clear, tally.near, tally.excused, share


def _rate(audit: Audit, kind: str, name: str) -> Row:
    """How often a group is on hold, and how that compares; blank where too few are decided."""
    found = rate_figures(audit, kind, name)
    if found is None:
        return ()
    driven, p = (
        None if number is None else _Plain(number) for number in (found.per_1000_km, found.p)
    )
    return found.share, found.low, found.high, driven, p, found.compared or None


def _haul(each: WorstHaul, name: str | None) -> Row:
    rules = (each.broken, each.undecided, each.should_broken, each.near, each.excused)
    day = date.fromisoformat(each.day)
    named = (each.load, each.crew, each.outcome)
    return (each.row, name, day, *named, each.margin, *(", ".join(ids) for ids in rules))


def _lines(counts: Mapping[str, int], printed: Callable[[str], str] = str) -> str:
    return ", ".join(f"{printed(name)} ({number})" for name, number in most_first(counts))


def _add(book: Workbook, sheet: _Sheet) -> None:
    """A worksheet whose headings stay visible, can be filtered, and are printed on every page."""
    page = book.create_sheet(sheet.title)
    for column, heading in enumerate(sheet.headings, 1):
        cells = [str(row[column - 1]) for row in sheet.rows if len(row) >= column]
        longest = max(map(len, (heading, *cells)))
        letter = get_column_letter(column)
        page.column_dimensions[letter].width = min(max(longest + 2, _NARROWEST), _WIDEST)
    _set_up(page, sheet.headings, len(sheet.rows))
    for row in sheet.rows:
        page.append([_cell(page, value) for value in row])


def _add_held(book: Workbook, held: HaulList) -> None:
    """Worksheets with a row for each haul on hold or open, as many sheets as the rows need."""
    lines = held.lines()
    for number, first in enumerate(range(0, max(len(held), 1), MOST_ROWS), 1):
        page = book.create_sheet(_HELD if number == 1 else f"{_HELD} {number}")
        for column, width in enumerate(_OF_HELD.values(), 1):
            page.column_dimensions[get_column_letter(column)].width = width
        here = min(len(held) - first, MOST_ROWS)
        _set_up(page, tuple(_OF_HELD), here)
        for line in islice(lines, here):
            page.append(_held_cells(page, held, line))


def _held_cells(
    page: _Page, held: HaulList, line: ListedHaul
) -> list[Cell | str | int | float | date | None]:
    """A haul on hold or open: only what needs a style is a cell, which takes five times as long."""
    reason = held.reasons[line.reason]
    found, wanted, unit = held.figures(line)
    rig = (line.load, line.trailer, "; ".join(line.machines), line.tow_vehicle, line.crew)
    texts = (*rig, reason.rule, reason.title, reason.compares)
    return [
        line.row,
        line.outcome,
        _text(page, line.name),
        line.day,
        *(_text(page, each) for each in texts),
        found,
        reason.operator or None,
        wanted,
        unit or None,
        reason.side and reason.side.value,
        _cell(page, line.margin),
        None if line.is_open else line.others,
        line.others if line.is_open else None,
    ]


def _text(page: _Page, text: str) -> Cell | str | None:
    is_plain = not would_run(text) and not ILLEGAL_CHARACTERS_RE.search(text)
    return (text or None) if is_plain else _cell(page, text)


def _set_up(page: _Page, headings: Sequence[str], rows: int) -> None:
    """The headings, and how the sheet is shown and printed; the rows follow."""
    page.freeze_panes = "A2"
    page.auto_filter.ref = f"A1:{get_column_letter(len(headings))}{rows + 1}"
    page.print_title_rows = "1:1"
    page.page_setup.orientation = "landscape"
    page.page_setup.fitToHeight = 0
    page.sheet_properties.pageSetUpPr.fitToPage = True
    cells = [_cell(page, heading) for heading in headings]
    for cell in cells:
        cell.font = _BOLD
    page.append(cells)


def _cell(page: _Page, value: Value) -> Cell:
    """A cell with a value; text stays text, whatever its first character."""
    cell: Cell = WriteOnlyCell(page)
    cell.alignment = _WRAPPED if isinstance(value, str) else _TOP
    if isinstance(value, str):
        cell.value = ILLEGAL_CHARACTERS_RE.sub(" ", value)
        # Without these two the library, or somebody who edits the cell, turns it into a formula.
        cell.data_type = "s"
        cell.quotePrefix = would_run(value)
        return cell
    cell.value = value
    if isinstance(value, float):
        cell.number_format = _PLAIN if isinstance(value, _Plain) else _SHARE
    elif isinstance(value, date):
        cell.number_format = _DAY
    return cell
