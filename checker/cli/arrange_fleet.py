"""`cinchbook arrange --over MACHINES --trailer TRAILERS`: which machine fits which trailer."""

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

import typer
from msgspec import Struct
from msgspec.structs import replace

from checker.cli.caching import document_cache
from checker.cli.chosen_rules import read_rules
from checker.cli.options import (
    BROKEN,
    INTERRUPTED,
    NO_RULE_BROKEN,
    PROBLEM,
    UNDECIDED,
    Format,
    day_of,
    end_with,
    read_single_profile,
    root_of,
    say,
    settings,
    shipped_or_here,
    units_of,
)
from checker.cli.output import console
from checker.cli.writing import Targets, refuse_overwrites, write_report

if TYPE_CHECKING:
    from checker.advice.arrange.pairs import Base, Part
    from checker.load.build import Profile
    from checker.load.model import Gear
    from checker.load.references import Library
    from checker.reports.shared import wall_chart
    from checker.rulebooks.model import Rulebooks
    from checker.units.formatting import System, Units

_FEWEST_PAIRS: Final = 4
"""Below these, starting processes is not worth it: a pair takes a second or less."""


class ChartRequest(Struct, frozen=True):
    """The arguments of a chart."""

    base: Path | None
    over: Sequence[str]
    trailers: Sequence[str]
    tow_vehicles: Sequence[str]
    rules: Sequence[str] | None
    on: str | None
    units: "Units | None"
    root: Path | None
    form: Format
    to: Targets


class _Read(NamedTuple):
    """The files of one kind: each a part, or the problems that it has, by its name."""

    parts: "list[Part | None]"
    shown: "list[wall_chart.Part]"


class _Work(NamedTuple):
    """What every pair is tried with; processes forked from this one have it, too.

    `bases` has one for each tow vehicle, None where its file has problems.
    """

    bases: "Sequence[Base | None]"
    machines: "Sequence[Part | None]"
    trailers: "Sequence[Part | None]"
    rulebooks: "Rulebooks"
    on: date
    gear: "Gear | None"
    system: "System | None"


_work: list[_Work] = []


def run_chart(asked: ChartRequest, gear_of: "Callable[[Profile], Gear | None]") -> None:
    """Print which machine fits which trailer, and end the run with the code of the chart.

    `gear_of` gives what the crew of a load carries.
    """
    from checker.advice.arrange.pairs import base_of, with_tow_vehicle, without_base
    from checker.load.references import Library
    from checker.reports.shared.glossary import words_of
    from checker.reports.shared.place_words import rulebooks_in_words
    from checker.reports.shared.wall_chart import Chart
    from checker.reports.shared.written_units import system_of

    root = root_of(asked.root)
    load = read_single_profile(asked.base, asked.root) if asked.base else None
    base = base_of(load, root) if load else without_base(Path(asked.over[0]))
    gear = gear_of(base.profile)
    if gear is None and not base.tiedowns:
        end_with("found no gear to tie down with; wanted --gear, or a LOAD that has some")
    library = Library(document_cache())
    machines = _read_parts(asked.over, "machine", root, library)
    trailers = _read_parts(asked.trailers, "trailer", root, library)
    vehicles = _read_parts(asked.tow_vehicles, "tow-vehicle", root, library)
    bases = [with_tow_vehicle(base, each) if each else None for each in vehicles.parts] or [base]
    system = system_of(load.stated, units_of(asked.units)) if load else None
    trip = base.profile.stated
    rulebooks = read_rules(asked.rules, loads=[trip])
    parts = (*machines.parts, *trailers.parts, *vehicles.parts)
    files = (part.file for part in parts if part)
    refuse_overwrites(asked.to.names, [*base.profile.rests_on, *files, *rulebooks.files])
    if system is not None:
        rulebooks = rulebooks_in_words(rulebooks, words_of(trip), system)
    day = day_of(base.profile, asked.on)
    work = _Work(bases, machines.parts, trailers.parts, rulebooks, day, gear, system)
    cells = _cells(work, asked.units)
    chart = Chart(
        title="Which machine fits which trailer",
        day=day.isoformat(),
        taken=tuple(_taken(base, load, gear, own_vehicle=not vehicles.shown)),
        machines=tuple(machines.shown),
        trailers=tuple(trailers.shown),
        cells=tuple(cells),
        tow_vehicles=tuple(vehicles.shown),
    )
    _report(chart, asked)
    raise typer.Exit(_exit_code(chart))


def _read_parts(named: Sequence[str], kind: str, root: Path | None, library: "Library") -> _Read:
    """Every file of a kind under the names; ends the run if a name does not exist."""
    from checker.advice.arrange.pairs import read_part
    from checker.documents.problems import ProblemsFoundError
    from checker.load.files import NothingThereError, load_files
    from checker.reports.shared.portable_paths import portable
    from checker.reports.shared.wall_chart import Part

    try:
        paths = [shipped_or_here(name) for name in named]
        found = load_files(paths, kinds=(kind,), library=library, ignored=settings().ignored)
    except NothingThereError as error:
        end_with(str(error))
    read = _Read([], [])
    for file in found.files:
        try:
            part = read_part(file, kind, root, library)
        except ProblemsFoundError as error:
            problems = tuple(map(str, error.problems))
            read.parts.append(None)
            read.shown.append(Part(file.stem, portable(file), problems))
        else:
            read.parts.append(part)
            read.shown.append(Part(part.title, portable(file), ()))
    for name, unfit in found.unfit:
        read.parts.append(None)
        read.shown.append(Part(Path(name).stem, portable(name), tuple(map(str, unfit))))
    return read


def _cells(work: _Work, units: "Units | None") -> "list[wall_chart.Cell]":
    """Every machine on every trailer behind every tow vehicle, on all cores, with progress."""
    from checker.reports.shared.wall_chart import unread_cell

    sizes = range(len(work.bases)), range(len(work.machines)), range(len(work.trailers))
    trios = list(product(*sizes))
    to_try = [
        (base, machine, trailer)
        for base, machine, trailer in trios
        if work.bases[base] and work.machines[machine] and work.trailers[trailer]
    ]
    _work[:] = [work]
    try:
        with _tried(to_try, units_of(units)) as cells:
            known = dict(zip(to_try, _with_progress(cells, len(to_try)), strict=True))
    finally:
        _work.clear()
    return [
        replace(known.get(each) or unread_cell(*each[1:], ""), tow_vehicle=each[0])
        for each in trios
    ]


@contextmanager
def _tried(
    pairs: Sequence[tuple[int, int, int]], units: "Units"
) -> "Iterator[Iterable[wall_chart.Cell]]":
    """The cell of each pair, in order."""
    from checker.season.running.executors import cores

    # On macOS a forked process may not use the libraries of the system.
    forks = hasattr(os, "fork") and sys.platform != "darwin"
    if len(pairs) < _FEWEST_PAIRS or not forks or cores() < 2:
        yield (_cell(pair, units) for pair in pairs)
        return
    from concurrent.futures import BrokenExecutor
    from multiprocessing import get_context

    from checker.season.running.executors import processes

    try:
        with processes(get_context("fork")) as executor:
            yield executor.map(_cell, pairs, [units] * len(pairs))
    except BrokenExecutor:
        end_with("a process of this run was ended from outside, perhaps for want of memory")
    except KeyboardInterrupt:
        say("stopped")
        # The interpreter's own way out would wait for processes that are gone.
        os._exit(INTERRUPTED)


def _cell(pair_of: tuple[int, int, int], units: "Units") -> "wall_chart.Cell":
    """The cell of a machine on a trailer; `pair_of` counts tow vehicle, machine and trailer."""
    from checker.advice.arrange.fleet import try_pair
    from checker.advice.arrange.pairs import pair
    from checker.documents.problems import ProblemsFoundError
    from checker.reports.shared.wall_chart import cell_of, unread_cell
    from checker.reports.shared.written_units import system_of

    work = _work[0]
    at = pair_of[1:]
    base = work.bases[pair_of[0]]
    machine, trailer = work.machines[at[0]], work.trailers[at[1]]
    assert base is not None
    assert machine is not None
    assert trailer is not None
    try:
        profile = pair(base, machine, trailer)
    except ProblemsFoundError as error:
        return unread_cell(*at, "; ".join(map(str, error.problems)))
    found = try_pair(profile, work.rulebooks, work.on, work.gear)
    return cell_of(*at, found, work.system or system_of(profile.stated, units))


def _with_progress(cells: "Iterable[wall_chart.Cell]", number: int) -> "Iterable[wall_chart.Cell]":
    """The cells, with a progress bar; no bar in pipes and in CI."""
    from rich.progress import track

    shown_on = console(stderr=True)
    disabled = not shown_on.is_terminal
    return track(
        cells, "Arranging", total=number, console=shown_on, disable=disabled, transient=True
    )


def _taken(
    base: "Base", load: "Profile | None", gear: "Gear | None", *, own_vehicle: bool
) -> Iterator[str]:
    """What all pairs have in common, in sentences."""
    from checker.reports.shared.portable_paths import portable
    from checker.reports.shared.wall_chart import counted

    trip = base.profile.stated
    if load is None:
        vehicle = "tow vehicle, " if own_vehicle else ""
        yield (
            f"No base load: trip, {vehicle}driver and walk-around are not stated, and what they "
            "decide stays open."
        )
    else:
        places = ", ".join(trip.trip.places or ()) or "no jurisdiction stated"
        file = portable(load.file)
        yield f"Trip, driver and walk-around as in {load.stated.title} ({file}; {places})."
        if own_vehicle:
            yield f"Tow vehicle: {trip.tow_vehicle.title}."
    if gear is None:
        yield "Gear: the tiedowns of the base load."
    else:
        pieces = [counted(each.count, each.name) for each in gear.tiedowns]
        yield f"Gear: {gear.title}: {', '.join(pieces)}."
    yield "Each machine stands alone, and nothing but tiedowns holds it."
    if base.made_ready:
        yield f"Each machine is made ready as in the base load: {_answers(base.made_ready)}."


def _answers(answers: Mapping[str, str]) -> str:
    return ", ".join(f"{key.replace('_', ' ')}: {word}" for key, word in answers.items())


def _report(chart: "wall_chart.Chart", asked: ChartRequest) -> None:
    """Print the chart and write its reports."""
    from checker.reports.data import wall_chart as data
    from checker.reports.pages import wall_chart, wall_chart_html

    if not asked.to.on_standard_output:
        if asked.form is Format.JSON:
            typer.echo(data.document(chart), nl=False)
        else:
            wall_chart.print_chart(chart, console())
    for form, file in asked.to.files:
        write_report(data.document(chart) if form == "json" else wall_chart_html.html(chart), file)


def _exit_code(chart: "wall_chart.Chart") -> int:
    """A file with problems counts first, then a pair that is undecided, then that none fits."""
    from checker.advice.arrange.fleet import Fit

    fits = {each.fit for each in chart.cells}
    if None in fits or not fits:
        return PROBLEM
    if Fit.UNDECIDED in fits:
        return UNDECIDED
    return NO_RULE_BROKEN if fits & {Fit.FITS, Fit.SHORT} else BROKEN
