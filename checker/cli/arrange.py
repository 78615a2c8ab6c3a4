"""`cinchbook arrange`: where everything stands and which tiedown goes where."""

from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from checker.cli.arrange_fleet import ChartRequest, run_chart
from checker.cli.caching import document_cache
from checker.cli.chosen_rules import read_rules
from checker.cli.options import (
    BROKEN,
    NO_RULE_BROKEN,
    UNDECIDED,
    DayOption,
    Format,
    FormatOption,
    RootOption,
    RulesOption,
    UnitsOption,
    day_of,
    end_with,
    end_with_problems,
    read_single_profile,
    root_of,
    units_of,
)
from checker.cli.output import console
from checker.cli.writing import (
    Targets,
    forms_in,
    refuse_overwrites,
    targets,
    write_option,
    write_report,
)

if TYPE_CHECKING:
    from checker.advice.arrange.tolerances import Tolerances
    from checker.evaluation.outcome import Outcome
    from checker.load.build import Profile
    from checker.load.model import Gear
    from checker.reports.shared.arrangement.record import ArrangementReport, NoArrangement

_FORMS: Final = forms_in("checker.reports.arrangement_forms")


def run(
    load: Annotated[
        Path | None, typer.Argument(metavar="LOAD", help="Load profile file.", show_default=False)
    ] = None,
    gear: Annotated[
        Path | None,
        typer.Option(
            "--gear",
            metavar="FILE",
            help="Gear file with what the crew carries. Default: the gear that the load or its "
            "carrier names, else the load's own tiedowns.",
        ),
    ] = None,
    order: Annotated[
        str | None,
        typer.Option(
            "--order",
            metavar="WORDS",
            help="What to compare first, after the must-rules: shoulds, pieces, changes, margin. "
            "Words left out follow in that order, which is the default.",
        ),
    ] = None,
    rules: RulesOption = None,
    on: DayOption = None,
    form: FormatOption = Format.TEXT,
    units: UnitsOption = None,
    root: RootOption = None,
    written: Annotated[list[str] | None, write_option(_FORMS, "html=cab.html,json=a.json")] = None,
    new_load: Annotated[
        Path | None,
        typer.Option(
            "--write-load",
            metavar="FILE",
            help="Also write the load as arranged into a new load file, comments kept. A check of "
            "it comes to the same verdicts.",
        ),
    ] = None,
    over: Annotated[
        list[str] | None,
        typer.Option(
            "--over",
            metavar="MACHINES",
            help="Machine files, or folders of them: print which of them fit the trailers of "
            "--trailer. LOAD then gives the trip, the tow vehicle, the gear and the answers. May "
            "be repeated.",
        ),
    ] = None,
    tolerance: Annotated[
        list[str] | None,
        typer.Option(
            "--tolerance",
            metavar="WHAT=SIZE",
            help="Hold as well where everything is off by this: position=3in, weight=5%. May be "
            "repeated. The report says how far the crew may miss the mark.",
        ),
    ] = None,
    *,
    what_if: Annotated[
        bool,
        typer.Option(
            "--what-if", help="Say which gear is never needed, and which cannot be missed."
        ),
    ] = False,
    trailer: Annotated[
        list[str] | None,
        typer.Option(
            "--trailer",
            metavar="TRAILERS",
            help="With --over: trailer files, or folders of them. May be repeated.",
        ),
    ] = None,
    tow_vehicle: Annotated[
        list[str] | None,
        typer.Option(
            "--tow-vehicle",
            metavar="TOW_VEHICLES",
            help="With --over: tow vehicle files, or folders of them, with a sheet for each. "
            "Default: the tow vehicle of LOAD. May be repeated.",
        ),
    ] = None,
) -> None:
    """Find where everything should stand and which tiedown goes where, with the gear at hand.

    Every place on the deck and every way to hook up is compared: must-rules first, then
    should-rules, the pieces of gear, the changes against the load as stated and the least margin.
    Prints numbered steps in the order of the work, the deck to scale and what remains.

    Example: cinchbook arrange profiles/loads/too-far-forward.yaml

    Example: cinchbook arrange loads/rear-straps-only --write html=cab.html

    Example: cinchbook arrange loads/mower-in-order --tolerance position=2in --what-if

    Example: cinchbook arrange loads/side-by-side-in-order --over profiles/machines --trailer
    profiles/trailers/utility-single-10.yaml

    Exit codes: as of a check of the arrangement, 0, 1 or 3; 1 where none meets every must-rule; 2 a
    problem in the input or the call. With --over: 0 a machine fits and all are decided; 1 none
    fits; 2 a file has problems; 3 one is undecided.
    """
    if over or trailer or tow_vehicle:
        to = targets(written, _FORMS)
        _ensure_chart(over, trailer, order, new_load, tolerance, what_if=what_if)
        run_chart(
            ChartRequest(
                load, over or (), trailer or (), tow_vehicle or (), rules, on, units, root, form, to
            ),
            lambda base: _gear(base, gear, root),
        )
    if load is None:
        end_with("found no LOAD; wanted a load profile, or --over and --trailer")
    from checker.advice.arrange.arrangement import arrange
    from checker.advice.arrange.choices import CannotArrangeError
    from checker.advice.arrange.mark_room import mark_rooms
    from checker.advice.arrange.what_if import gear_needs
    from checker.advice.arrange.why_not import why_not
    from checker.cli.arranged_load import write_load
    from checker.cli.new_load import ensure_new_load
    from checker.cli.progress import waiting
    from checker.documents.problems import Problem, ProblemsFoundError
    from checker.evaluation.against_rules import profile_faults
    from checker.load.references import location_of
    from checker.reports.shared.arrangement.record import NoArrangement, Trials, report_of
    from checker.reports.shared.arrangement_help import why_not_data, why_not_lines
    from checker.reports.shared.glossary import words_of
    from checker.reports.shared.place_words import checked_load, rulebooks_in_words
    from checker.reports.shared.written_units import system_of

    wanted, to = _order(order), targets(written, _FORMS)
    read = read_single_profile(load, root)
    start = root_of(root)
    carried = _gear(read, gear, root)
    system = system_of(read.stated, units_of(units))
    rulebooks = rulebooks_in_words(
        read_rules(rules, loads=[read.stated]), words_of(read.stated), system
    )
    refuse_overwrites(to.names, [*read.rests_on, *rulebooks.files, *([gear] if gear else [])])
    if new_load is not None:
        ensure_new_load(new_load, read, start)
    day = day_of(read, on)
    if faults := list(profile_faults(read, rulebooks)):
        end_with_problems(ProblemsFoundError(faults))
    off = _tolerances(tolerance)
    try:
        with waiting("Searching for an arrangement"):
            found = arrange(read, rulebooks, day, carried, wanted, off)
    except CannotArrangeError as error:
        file, mark = location_of(error.at, read.merged.locations)
        end_with_problems(ProblemsFoundError([Problem(file, mark, error.found, error.wanted)]))
    if found is None:
        with waiting("None found: looking for what stops it and what would help"):
            why = why_not(read, rulebooks, day, carried, off)
        nothing = NoArrangement(
            read.stated.title,
            str(read.stated.file),
            day.isoformat(),
            list(why_not_lines(why, system)),
            why_not_data(why),
        )
        _report(nothing, form, to)
        raise typer.Exit(BROKEN)
    with waiting("Trying it off its mark and with less gear"):
        trials = Trials(
            rooms=mark_rooms(found, rulebooks, day) if off else (),
            gear_needs=gear_needs(found, rulebooks, day, wanted) if what_if else (),
        )
    checked = checked_load(found.check, {}, units_of(units))
    title = carried.title if carried else None
    _report(report_of(found, checked.check, checked.system, title, wanted, trials), form, to)
    if new_load is not None:
        in_full = gear is not None and not _has_same_root(gear, read, start)
        write_load(found, new_load, rulebooks, day, root=start, gear_in_full=in_full)
    raise typer.Exit(_exit_code(found.check.outcome))


def _tolerances(texts: list[str] | None) -> "Tolerances":
    """How far everything may be off; ends the run at a text that says no such thing."""
    from checker.advice.arrange.tolerances import ToleranceError, read_tolerances

    try:
        return read_tolerances(texts or [])
    except ToleranceError as error:
        end_with(str(error))


def _ensure_chart(
    over: Sequence[str] | None,
    trailer: Sequence[str] | None,
    order: str | None,
    new_load: Path | None,
    tolerance: Sequence[str] | None,
    *,
    what_if: bool,
) -> None:
    """End the run where a chart lacks machines or trailers, or has options of a single load."""
    if not trailer:
        lone = "--over" if over else "--tow-vehicle"
        end_with(f"found {lone} without --trailer; wanted trailer files, or a folder of them")
    if not over:
        end_with("found --trailer without --over; wanted machine files, or a folder of them")
    alone = {"--order": order, "--write-load": new_load, "--tolerance": tolerance}
    for option, given in {**alone, "--what-if": what_if or None}.items():
        if given:
            end_with(f"found {option} beside --over; wanted it for a single load only")


def _report(found: "ArrangementReport | NoArrangement", form: Format, to: Targets) -> None:
    """Print what was found and write its reports."""
    if form is Format.JSON and not to.on_standard_output:
        typer.echo(import_module("checker.reports.arrangement_forms.json").report(found), nl=False)
    elif not to.on_standard_output:
        from checker.reports.pages.arrangement import print_arrangement

        print_arrangement(found, console())
    for name, file in to.files:
        module = import_module(f"checker.reports.arrangement_forms.{name}")
        write_report(module.report(found), file)


def _has_same_root(gear: Path, load: "Profile", root: Path | None) -> bool:
    """True if the references of a gear file start where those of the load do."""
    from checker.load.build import profile_root

    return root is not None or profile_root(gear) == profile_root(load.file)


def _order(words: str | None) -> Sequence[str]:
    """What to compare, the words given first; ends the run at one that is none of them."""
    from checker.advice.arrange.scores import OBJECTIVES
    from checker.documents.problems import nearest

    given = [each.strip() for each in words.split(",")] if words is not None else []
    accepted = f"wanted some of: {', '.join(OBJECTIVES)}, each once"
    for number, each in enumerate(given):
        if each not in OBJECTIVES:
            guess = nearest(each, OBJECTIVES)
            hint = f"; did you mean '{guess}'?" if guess else ""
            end_with(f"found '{each}' in --order; {accepted}{hint}")
        if each in given[:number]:
            end_with(f"found '{each}' twice in --order; {accepted}")
    return [*given, *(each for each in OBJECTIVES if each not in given)]


def _gear(profile: "Profile", file: Path | None, root: Path | None) -> "Gear | None":
    """What the crew carries, with the strength of every piece; ends the run at problems."""
    from checker.documents.problems import ProblemsFoundError
    from checker.load.convert import to_gear
    from checker.load.gear_file import read_gear
    from checker.load.gear_problems import without_label, without_tiedowns
    from checker.load.references import Library

    try:
        if file is not None:
            return read_gear(file, root_of(root), Library(document_cache()))
        of_load = profile.merged.gear
        if of_load and (unfit := without_tiedowns(of_load) or without_label(to_gear(of_load))):
            raise ProblemsFoundError(unfit)
    except ProblemsFoundError as found:
        end_with_problems(found)
    return profile.gear


def _exit_code(outcome: "Outcome") -> int:
    from checker.evaluation.outcome import Outcome as Outcomes

    codes = {Outcomes.HOLD: BROKEN, Outcomes.OPEN: UNDECIDED}
    return codes.get(outcome, NO_RULE_BROKEN)
