"""The record of a wall chart: which machine fits which trailer, as every form of it prints it."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from checker.advice.arrange.fleet import Fit, Pairing
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.reports.shared.check_results import summary_words
from checker.reports.shared.words import number_of
from checker.units.formatting import System

MARKS = {
    Fit.FITS: "FITS",
    Fit.SHORT: "FITS*",
    Fit.UNDECIDED: "OPEN",
    Fit.DOES_NOT_FIT: "NO",
}
"""One word for each fit, to be read without colour."""
NOT_READ = "NOT READ"

MEANINGS = (
    ("FITS", "an arrangement with this gear meets every must-rule and every should-rule"),
    ("FITS*", "every must-rule; the should-rules that are not met are listed"),
    ("OPEN", "no must-rule is broken, and something that one needs is not stated: no pass"),
    (
        "NO",
        "a must-rule stops every arrangement; where that is not proved, one full hook-up breaks "
        "the rule and not all others were tried",
    ),
    ("NOT READ", "the file has problems"),
)

_MOST_FIELDS = 6


class Stop(Struct, frozen=True):
    """A rule that stops a machine on a trailer, or that is short."""

    rule: str
    """Id of the rule."""
    statement: str
    """The rule in its broken form, or what could not be decided."""
    summary: str
    """What was found and what is wanted."""


class Cell(Struct, frozen=True):
    """One machine on one trailer."""

    machine: int
    """Which of the machines, counted from 0."""
    trailer: int
    """Which of the trailers, counted from 0."""
    fit: Fit | None
    """How it fits; null where a file cannot be read."""
    stopped_by: tuple[Stop, ...]
    """The must-rules that stop it, the one that decides first."""
    undecided: tuple[Stop, ...]
    """The must-rules that cannot be decided."""
    missing: tuple[str, ...]
    """Fields that those need."""
    short: tuple[Stop, ...]
    """The should-rules that are not met or not decided."""
    gear: str
    """The tiedowns of the arrangement found; empty where there is none."""
    reason: str
    """Why nothing could be arranged; empty where rules decide."""
    proved: bool = False
    """True where no arrangement fits: `stopped_by` are rules of that proof. Else they are what one
    full hook-up breaks."""
    tow_vehicle: int = 0
    """Which of the tow vehicles, counted from 0."""

    @property
    def mark(self) -> str:
        """The fit in one word."""
        return MARKS[self.fit] if self.fit else NOT_READ


class Part(Struct, frozen=True):
    """A machine, a trailer or a tow vehicle."""

    title: str
    """Its title; the name of its file where that cannot be read."""
    file: str
    """Its file."""
    problems: tuple[str, ...]
    """What is wrong with the file; empty where it was read."""


class Sheet(Struct, frozen=True):
    """The table of one tow vehicle; `title` is empty where all pairs have that of the base.

    `cells` are in the order of the machines, and for each in that of the trailers.
    """

    title: str
    cells: tuple[Cell, ...]


class Chart(Struct, frozen=True):
    """Which machine fits which trailer.

    `taken` are sentences on what all pairs have in common; `cells` are in the order of the
    tow vehicles, if any are named, for each in that of the machines, then of the trailers.
    """

    title: str
    day: str
    taken: tuple[str, ...]
    machines: tuple[Part, ...]
    trailers: tuple[Part, ...]
    cells: tuple[Cell, ...]
    tow_vehicles: tuple[Part, ...] = ()

    def sheets(self) -> Iterator[Sheet]:
        """One table for each tow vehicle, to hang by its key."""
        count = len(self.machines) * len(self.trailers)
        titles = [each.title for each in self.tow_vehicles] or [""]
        for number, title in enumerate(titles):
            yield Sheet(title, self.cells[number * count : (number + 1) * count])

    def row(self, sheet: Sheet, machine: int) -> Sequence[Cell]:
        """The cells of one machine on a sheet."""
        count = len(self.trailers)
        return sheet.cells[machine * count : (machine + 1) * count]

    @property
    def unread(self) -> list[Part]:
        """The parts whose files have problems."""
        every = (*self.tow_vehicles, *self.machines, *self.trailers)
        return [each for each in every if each.problems]


def counted(count: int, title: str) -> str:
    """Pieces of gear of one kind."""
    return f"{count} \N{MULTIPLICATION SIGN} {title}"


def cell_of(machine: int, trailer: int, found: Pairing, system: System) -> Cell:
    """The cell of a pair."""
    check = found.check
    missing = dict.fromkeys(field for each in found.undecided for field in each.missing)
    return Cell(
        machine=machine,
        trailer=trailer,
        fit=found.fit,
        stopped_by=_stops(found.broken, check, system),
        undecided=_stops(found.undecided, check, system),
        missing=tuple(missing),
        short=_stops(found.short, check, system),
        gear=", ".join(counted(count, title) for title, count in found.gear),
        reason=found.reason,
        proved=found.proved,
    )


def unread_cell(machine: int, trailer: int, reason: str) -> Cell:
    """The cell of a pair of which a file cannot be read, or that contradict each other."""
    return Cell(machine, trailer, None, (), (), (), (), "", reason)


def _stops(findings: Sequence[Finding], check: Check | None, system: System) -> tuple[Stop, ...]:
    if check is None:
        return ()
    return tuple(
        Stop(each.rule.id, each.statement, summary_words(each, check, system)) for each in findings
    )


def headline(cells: Sequence[Cell]) -> str:
    """How many pairs fit, as one sentence."""
    counts = [
        f"{number} {words}"
        for fit, words in (
            (Fit.FITS, "fit"),
            (Fit.SHORT, "fit short of a should-rule"),
            (Fit.UNDECIDED, "open"),
            (Fit.DOES_NOT_FIT, "do not fit"),
            (None, "not read"),
        )
        if (number := sum(each.fit is fit for each in cells))
    ]
    return f"{number_of(len(cells), 'pair')}: {', '.join(counts)}."


def cell_words(cell: Cell) -> Iterator[str]:
    """Why a pair does not simply fit, or the gear with which it does; a sentence each."""
    if cell.reason:
        yield f"{cell.reason[0].upper()}{cell.reason[1:]}."
    for each in cell.stopped_by[:1]:
        more = len(cell.stopped_by) - 1
        others = f" And {number_of(more, 'more must-rule')}." if more else ""
        yield f"{each.statement}: {each.summary} [{each.rule}].{others}"
    if cell.stopped_by and not cell.proved:
        yield "Not proved."
    if cell.missing:
        named = ", ".join(map(_in_words, cell.missing[:_MOST_FIELDS]))
        more = len(cell.missing) - _MOST_FIELDS
        others = f" and {more} more" if more > 0 else ""
        yield f"Not stated: {named}{others}."
    elif cell.undecided:
        first = cell.undecided[0]
        yield f"{first.statement}: {first.summary} [{first.rule}]."
    for each in cell.short:
        yield f"Should: {each.statement} [{each.rule}]."
    if cell.gear:
        yield f"Tied down with {cell.gear}."


def _in_words(field: str) -> str:
    """A field as people say it; the document for programs has its path."""
    return field.removeprefix("walkaround.").removeprefix("articles.1.").replace("_", " ")


def needs_words(cell: Cell) -> bool:
    """True unless it fits in full."""
    return cell.fit is not Fit.FITS
