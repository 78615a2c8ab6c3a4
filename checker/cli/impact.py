"""`cinchbook impact`: the effect of a rule change on saved loads."""

import os
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from checker.cli.caching import document_cache
from checker.cli.chosen_rules import read_rules
from checker.cli.named_loads import load_finder, note_bundled
from checker.cli.options import (
    BROKEN,
    NO_RULE_BROKEN,
    PROBLEM,
    UNDECIDED,
    DayOption,
    Format,
    FormatOption,
    RootOption,
    RulesOption,
    day_of,
    end_with,
    end_with_problems,
    parse_day,
    print_json,
    root_of,
    say,
    settings,
    shipped_or_here,
)
from checker.cli.output import console
from checker.cli.progress import Progress
from checker.cli.writing import Targets, refuse_overwrites, targets, write_option, write_report
from checker.documents.escaping import escaped
from checker.documents.folders import yaml_files

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from checker.rulebooks.model import Rulebooks
    from checker.season.hauls.chunk import Chunk
    from checker.season.impact import Impact
    from checker.upkeep.review.difference import Difference


FORMS: Final = ("json", "markdown")
FullListOption = Annotated[
    bool, typer.Option("--full", help="In a text report: every load that changes, however many.")
]


class FailOn(StrEnum):
    """Which changes of the rules end with 1."""

    WORSE = "worse"
    LOOSENED = "loosened"


def run(
    amendment: Annotated[
        Path | None,
        typer.Argument(metavar="AMENDMENT", help="Amendment file, or folder of amendments."),
    ] = None,
    over: Annotated[
        list[str] | None,
        typer.Option(
            "--over",
            metavar="PATH",
            help="Load profiles: files, folders, patterns; or haul logs: CSV, JSON lines, XLSX, "
            "Parquet, files of `kind: haul`. May be repeated.",
        ),
    ] = None,
    against: Annotated[
        str | None,
        typer.Option(
            "--against",
            metavar="REV",
            help="In place of AMENDMENT: the project at this git revision against today's: rule "
            "files, amendments, tables, registers of variances, settings.",
        ),
    ] = None,
    fail_on: Annotated[
        FailOn,
        typer.Option(
            "--fail-on",
            help="worse: a load on which a must-rule is broken by the change. loosened: also a "
            "rule that is loosened or may be, whether a load turns or not.",
        ),
    ] = FailOn.WORSE,
    full: FullListOption = False,  # noqa: FBT002 - a switch of the command line
    write: Annotated[list[str] | None, write_option(FORMS, "json=a.json,markdown=b.md")] = None,
    rules: RulesOption = None,
    on: DayOption = None,
    form: FormatOption = Format.TEXT,
    root: RootOption = None,
) -> None:
    """Compare the rules without and with a change, check saved loads by both, list what differs.

    First comes what differs in the rules themselves: loosened, tightened, or in texts only.
    Each load is checked for its own day, and on every day on which a difference begins or ends. A
    haul log has the columns load and date, and others named after the fields that they state.

    Example: cinchbook impact amendments/company.yaml --over profiles/loads

    Exit codes: 0 nothing gets worse; 1 the change breaks a must-rule, or loosens a rule with
    --fail-on loosened; 2 a problem in the input or the call; 3 the change makes a rule undecided.
    """
    from checker.documents.problems import ProblemsFoundError
    from checker.load.files import NothingThereError, load_files
    from checker.load.references import Library
    from checker.logs.mapping import read_mapping
    from checker.season.hauls.loads import Loads
    from checker.season.impact import impact
    from checker.season.running.part_store import PartStore
    from checker.season.running.saved_loads import RefusedLoad, SavedLoads
    from checker.upkeep.review.difference import days_to_try
    from checker.upkeep.review.differences import differences, in_order

    library = Library(document_cache())
    outputs = targets(write, FORMS)
    if (amendment is None) == (against is None):
        end_with("found no change to check, or two; wanted AMENDMENT or --against REV")
    if not over:
        end_with("found no loads; wanted --over with files, folders or patterns")
    of_settings: list[Difference] = []
    if against is not None:
        from checker.cli.project_at_revision import states
        from checker.upkeep.review.settings import setting_differences

        (before, then), (after, now) = states(against, rules)
        of_settings = list(setting_differences(then, now))
    else:
        assert amendment is not None
        before, after = _without_and_with(amendment, rules)
    differing = in_order([*differences(before, after), *of_settings])
    try:
        listed = load_files(
            [shipped_or_here(path) for path in over],
            kinds=("load", "haul"),
            library=library,
            ignored=settings().ignored,
        )
    except NothingThereError as error:
        end_with(str(error))
    refuse_overwrites(outputs.names, (*listed.files, *before.files, *after.files))
    unfit = [
        RefusedLoad(escaped(name), list(map(str, problems))) for name, problems in listed.unfit
    ]

    def days(own: date) -> list[date]:
        return [parse_day(on)] if on is not None else days_to_try(own, differing)

    finder = load_finder(root)
    taken: dict[str, Path] = {}

    def find(name: str) -> Path:
        taken[name] = finder(name)
        return taken[name]

    loads = Loads(find, root_of(root), (before, after), library)
    try:
        with PartStore() as parts, Progress() as progress:
            columns = settings().columns
            mapping = read_mapping(Path(columns)) if columns else None
            saved = SavedLoads(listed.files, loads, parts, mapping)
            chunks = saved.chunks(lambda profile: day_of(profile, on), days)
            found = impact(
                _watched(chunks, progress), before, after, differing, saved.name, saved.own_days
            )
    except ProblemsFoundError as error:  # a load profile that changed during the run
        end_with_problems(error)
    note_bundled(taken, finder)
    refused = [*unfit, *saved.refused]
    for each in refused:
        for problem in each.problems:
            say(problem)
    _write(found, differing, [each.name for each in refused], outputs)
    if not outputs.on_standard_output:
        _print(found, differing, [each.name for each in refused], form, full=full)
    raise typer.Exit(PROBLEM if refused else _exit_code(found, differing, fail_on))


def _watched(chunks: "Iterable[Chunk]", progress: "Progress") -> "Iterator[Chunk]":
    """The chunks, each shown as checked when the next one is asked for."""
    done = 0
    for chunk in chunks:
        yield chunk
        done += chunk.hauls
        progress.checking(done, None)


def _without_and_with(amendment: Path, rules: list[str] | None) -> "tuple[Rulebooks, Rulebooks]":
    """The rules without and with the amendment, whether the project names it already or not."""
    from checker.load.build import shown_path
    from checker.season.impact import without

    if not os.path.exists(amendment):  # noqa: PTH110 - returns False if a name is too long
        end_with(f"found no file or folder '{amendment}'; wanted an amendment")
    after = read_rules(rules, also=amendment)
    files = [amendment]
    if amendment.is_dir():
        files, _ = yaml_files(amendment.resolve(), settings().ignored)
    names = [escaped(shown_path(file if amendment.is_dir() else file.resolve())) for file in files]
    if not any(each.file in names for each in after.amendments):
        end_with(f"found no amendment in '{amendment}'; wanted a file of `kind: amendment`")
    return without(after, names), after


def _write(
    found: "Impact", differing: "Sequence[Difference]", refused: list[str], outputs: Targets
) -> None:
    from checker.reports.pages.impact import impact_json
    from checker.reports.pages.impact_markdown import impact_markdown

    for form, file in outputs.files:
        if form == "json":
            write_report(impact_json(found, differing, refused), file)
        else:
            write_report(impact_markdown(found, differing, len(refused)), file)


def _print(
    found: "Impact",
    differing: "Sequence[Difference]",
    refused: list[str],
    form: Format,
    *,
    full: bool,
) -> None:
    from checker.reports.pages.impact import impact_json, print_impact

    if form is Format.JSON:
        print_json(impact_json(found, differing, refused))
        return

    print_impact(found, differing, len(refused), console(), full=full)


def _exit_code(found: "Impact", differing: "Sequence[Difference]", fail_on: FailOn) -> int:
    from checker.upkeep.review.difference import loosens

    if any(each.breaks for each in found.verdicts):
        return BROKEN
    if fail_on is FailOn.LOOSENED and any(map(loosens, differing)):
        return BROKEN
    return UNDECIDED if any(each.opens for each in found.verdicts) else NO_RULE_BROKEN
