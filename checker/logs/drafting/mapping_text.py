"""The text of a mapping file for a log: what is clear as keys, what must be decided as TODO."""

import textwrap
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Final

from checker.documents.problems import Mark, Problem, ProblemsFoundError, printable
from checker.logs.drafting.proposal import Proposal, Proposed, propose
from checker.logs.drafting.sample import samples_of
from checker.logs.drafting.scalars import LONGEST, can_be_written, flow_list, scalar
from checker.logs.drafting.table import Table, tables_of
from checker.logs.model import DecimalSign, Role

_REMARKS_FROM: Final = 36
_WIDTH: Final = 98
_SHOWN_ROWS: Final = 3


def mapping_text(log: Path, loads: Sequence[str], is_load: Callable[[str], bool]) -> str:
    """The text of a mapping file for a log, valid as it is.

    `loads` are names of load profiles to propose, and `is_load` says whether a name is one. Raises
    ProblemsFoundError where the log cannot be read or has no headers.
    """
    tables = list(tables_of(samples_of(log)))
    if not tables:
        found = "a log without a row of headers"
        raise ProblemsFoundError([Problem(str(log), Mark(1, 1), found, "headers above the hauls")])
    table = max(tables, key=lambda each: (each.score, len(each.hauls)))
    others = [str(each.sample.sheet) for each in tables if each is not table and each.score > 1]
    lines = list(_lines(log, propose(table, loads, is_load), others))
    return "\n".join([*lines, ""])


def _lines(log: Path, proposal: Proposal, others: Sequence[str]) -> Iterator[str]:
    table = proposal.table
    lines = [
        *_layout(table, others),
        *_decimal(proposal),
        *_columns(proposal),
        *_ignored(proposal),
        *_dates(proposal),
        *_answers(proposal),
        *_loads(proposal),
        *_left_out(table),
    ]
    number = len(table.hauls)
    rows = f"{'first ' * table.sample.is_cut}{number:,} haul{'s' * (number != 1)}"
    decide = " Decide where TODO stands." * any("TODO" in line for line in lines)
    yield from _comment(
        f"How the log {printable(log.name)} is read, proposed from its headers and its {rows}. "
        f"Check each line.{decide} To use a line, take `# ` off it; a line "
        "with `##` is a remark."
    )
    yield "kind: haul-log"
    yield from lines or _comment("Every header names its field: the log needs no mapping file.")


def _layout(table: Table, others: Sequence[str]) -> Iterator[str]:
    sample = table.sample
    if sample.sheet is not None:
        yield _line("sheet", sample.sheet, f"hauls also in: {', '.join(others)}" if others else "")
    if sample.encoding:
        yield _line("encoding", sample.encoding, "check that names are shown rightly")
    if sample.separator:
        yield _line("separator", sample.separator)
    first_row = sample.rows[0][0] if sample.rows else 1
    usual = first_row if sample.is_text else 1
    if table.header_row not in (0, usual):
        yield _line("header_row", table.header_row, "the row of the headers")
    if table.units:
        yield _line("units_row", "yes", "the row below them has the units")


def _decimal(proposal: Proposal) -> Iterator[str]:
    found = proposal.decimals
    comma, point = found.get(DecimalSign.COMMA), found.get(DecimalSign.POINT)
    both = found.get(DecimalSign.UNKNOWN)
    needs_none = proposal.table.sample.separator is None and comma is None
    if comma and point:
        yield from _comment(
            f"TODO: figures have decimal commas ({comma}) and points ({point}); the log is refused "
            "until they are written one way."
        )
    elif comma or (point and not needs_none):
        sign, text = ("comma", comma) if comma else ("point", point)
        yield _line("decimal", sign, f"as in {text}" + (f"; check {both}" if both else ""))
    elif both and not needs_none:
        yield from _comment(
            f"TODO: {both} may be thousands or decimals. Use the line that is right:"
        )
        yield "# decimal: point"
        yield "# decimal: comma"


def _columns(proposal: Proposal) -> Iterator[str]:
    known = [each for each in proposal.columns if each.field and not each.is_own]
    headers = [header for header in proposal.table.headers if header]
    if known:
        yield "columns:"
    for each in known:
        field = f"{each.field} [{each.unit}]" if each.unit else each.field
        same = headers.count(each.header)
        twice = f"TODO: {same} columns have this header: rename one" if same > 1 else ""
        yield f"  {_line(each.header, field or '', twice or each.to_check)}"
    if proposal.header_of(Role.LOAD) is None:
        yield from _comment(
            "TODO: no column is clearly the load, and no haul is checked without a load profile. "
            "Give the header that says what was hauled the field `load` under `columns:`, as in "
            "`Machine: load`, and each name in that column a load profile under `words:`. If no "
            "column says it, add one to the log."
        )
    if proposal.header_of(Role.DATE) is None:
        yield from _comment(
            "TODO: no column is clearly the day of the haul. Give its header the field `date` under"
            ' `columns:`, and say with `dates:` how days are written, as in "%m/%d/%Y".'
        )


def _ignored(proposal: Proposal) -> Iterator[str]:
    known = {each.header for each in proposal.columns if each.field}
    others = {each.header: each for each in proposal.columns if each.header not in known}
    if not others:
        return
    yield from _comment(
        "TODO: decide about these columns: give each a field under `columns:`, or use the line "
        "below to ignore it. FIELDS.md and `cinchbook facts` list the fields."
    )
    for each in others.values():
        if each.why:
            yield from _comment(f"{_named(each)}: {each.why}", "##   ", "##     ")
    named = list(filter(can_be_written, others))
    if len(named) < len(others):
        yield from _comment(
            f"Headers of more than {LONGEST} letters, or with signs that no line of text can hold, "
            "must be changed in the log."
        )
    if named:
        yield f"# ignore: {flow_list(named)}"


def _named(each: Proposed) -> str:
    return printable(each.header)


def _dates(proposal: Proposal) -> Iterator[str]:
    found = proposal.dates
    if found is None:
        return
    if found.mixed:
        one, two = found.mixed
        yield from _comment(
            f"TODO: the days are written in two orders, such as {one} and {two}; the log is "
            "refused until all are written in one. Use the line that is right for the others:"
        )
    elif len(found.stated) > 1:
        yield from _comment(
            "TODO: every day fits both orders of day and month. Use the line that is right:"
        )
    if len(found.stated) > 1:
        for form in found.stated:
            first = "month first" if form.index("%m") < form.index("%d") else "day first"
            yield f"# {_line('dates', form, first)}"
    elif found.stated:
        yield _line("dates", found.stated[0])


def _answers(proposal: Proposal) -> Iterator[str]:
    for header, words in proposal.unclear_answers.items():
        shown = ", ".join(repr(printable(word)) for word in words[:8])
        yield from _comment(
            f"TODO: say under `answers:` whether these words of {header!r} mean yes or no, as rows "
            f"with others are refused: {shown}"
        )
    if proposal.ticked:
        yield from _comment(
            "TODO: a blank counts as the answer of the load profile, not as no. If a blank means "
            f"no under {' or '.join(map(repr, proposal.ticked))}, write it in the log."
        )
    if proposal.answers:
        yield "answers:"
        yield from (f"  {_line(word, meaning)}" for word, meaning in proposal.answers.items())


def _loads(proposal: Proposal) -> Iterator[str]:
    header = proposal.header_of(Role.LOAD)
    if header is None or not proposal.loads:
        return
    more = f" {proposal.more_loads} more are not listed." if proposal.more_loads else ""
    yield from _comment(
        f"TODO: these names in {header!r} are no load profiles. Put behind each the load profile "
        f"of that haul, such as loads/side-by-side-in-order.{more}"
    )
    yield "words:"
    yield f"  {scalar(header)}:"
    for name, near in proposal.loads.items():
        yield f"    {_line(name, near or name, 'check' if near else 'TODO')}"


def _left_out(table: Table) -> Iterator[str]:
    if not (table.totals or table.repeated or table.lone):
        return
    yield from _comment("Rows that are no hauls. The report counts and lists them.")
    yield "leave_out:"
    if table.totals:
        yield "  words:"
        for header, words in table.totals.items():
            yield f"    {scalar(header)}: {flow_list(words)}"
    if table.repeated:
        shown = ", ".join(map(str, table.repeated[:_SHOWN_ROWS]))
        yield f"  {_line('repeated_headers', 'yes', f'as in row {shown}')}"
    if table.lone:
        shown = "; ".join(
            f"row {row}: {printable(text)[:30]}" for row, text in table.lone[:_SHOWN_ROWS]
        )
        yield f"  {_line('lone_texts', 'yes', shown)}"


def _line(key: str, value: str | int, remark: str = "") -> str:
    """A key and its value, with a remark beside them."""
    line = f"{scalar(key)}: {value if isinstance(value, int) else scalar(value)}"
    return f"{line.ljust(_REMARKS_FROM)} # {printable(remark)}" if remark else line


def _comment(text: str, first: str = "## ", rest: str = "## ") -> Iterator[str]:
    """A text as lines of `##`: a line of one `#` is one to use, and words of a text may look so."""
    yield from textwrap.wrap(
        printable(text),
        _WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
