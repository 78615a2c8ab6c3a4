"""`cinchbook amend`: change a threshold from a day on, in an amendment file."""

import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from checker.cli.chosen_rules import read_rules
from checker.cli.options import RulesOption, check_place_code, end_with, parse_day, say
from checker.cli.options import settings as project

if TYPE_CHECKING:
    from checker.rulebooks.model import Rule, Rulebooks, Threshold

T = TypeVar("T")


def run(
    rule: Annotated[str | None, typer.Argument(metavar="RULE", help="Id of the rule.")] = None,
    threshold: Annotated[
        str | None, typer.Argument(metavar="THRESHOLD", help="Name of its threshold.")
    ] = None,
    value: Annotated[
        str | None, typer.Argument(metavar="VALUE", help="New value with its unit.")
    ] = None,
    starts: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day of the change.")
    ] = None,
    ends: Annotated[
        str | None,
        typer.Option("--until", metavar="DATE", help="First day it no longer holds."),
    ] = None,
    season: Annotated[
        tuple[str, str] | None,
        typer.Option(
            "--each-year",
            metavar="MONTH-DAY MONTH-DAY",
            help="Only from the first day until the second in each year, such as 11-01 05-01.",
        ),
    ] = None,
    source: Annotated[
        str | None, typer.Option("--source", metavar="ID", help="Document it comes from.")
    ] = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="CLAUSE", help="Clause or page of it.")
    ] = None,
    *,
    common_practice: Annotated[
        bool, typer.Option("--common-practice", help="There is no document; it is common practice.")
    ] = False,
    because: Annotated[
        str | None,
        typer.Option("--because", metavar="TEXT", help="Why it is changed, or taken back."),
    ] = None,
    by: Annotated[
        str | None, typer.Option("--by", metavar="NAME", help="Name of the person responsible.")
    ] = None,
    correct: Annotated[
        str | None,
        typer.Option(
            "--correct",
            metavar="DATE",
            help="Correct the change that begins on this day: it never counts, and one with the "
            "values given, and its own for the rest, stands in its place.",
        ),
    ] = None,
    withdraw: Annotated[
        str | None,
        typer.Option(
            "--withdraw",
            metavar="DATE",
            help="Withdraw the change that begins on this day. With --from, from that day on.",
        ),
    ] = None,
    place: Annotated[
        str | None,
        typer.Option(
            "--place",
            metavar="US-UT",
            help="Jurisdiction whose law it is. Default: a company rule.",
        ),
    ] = None,
    into: Annotated[
        Path | None,
        typer.Option(
            "--into",
            metavar="FILE",
            help="Amendment file. Default: company.yaml, or a file named like --place, in the "
            "first folder of amendments in cinchbook.yaml.",
        ),
    ] = None,
    rules: RulesOption = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Show what would change and write nothing.")
    ] = False,
) -> None:
    """Change one threshold from a day on, in an amendment file; the rest of the file is untouched.

    Before and after the days of a change, what held before holds. All rulebooks are read with the
    change before the file is replaced, so a change with problems is never written. On a terminal
    the command asks for missing options.

    Example: cinchbook amend tongue-share-ball heaviest "13 %" --from 2026-07-01 --common-practice
    --because "Two trucks carry no more." --by "M. Quill"

    Exit codes: 0 written, or shown with --dry-run; 2 refused, nothing written.
    """
    from checker.cli.amendment_writing import read_rules_without, write_amendment
    from checker.upkeep.change import (
        CannotAmendError,
        RequestedChange,
        TakenBack,
        check_value,
        find_amendable_rule,
        threshold_of,
    )

    file = _file(into, place)
    day = correct or withdraw
    if day and (because is None or by is None):
        end_with("found no reason or no name; wanted --because and --by: who takes it back, why")
    if withdraw and any((correct, value, ends, season, source, at, common_practice)):
        end_with("found --withdraw with a change; wanted it alone, with --because and --by")
    taken = TakenBack(parse_day(day), by or "", because or "", bool(correct)) if day else None
    asks = _on_a_terminal() and not day
    if not asks and not day and source is None and not common_practice:
        end_with("found no source; wanted --source and --at, or --common-practice")
    try:
        if taken is None:
            books = read_rules(rules)
        else:
            books = read_rules_without(taken, rule, threshold, file, rules)
        changed = _fitting(
            rule,
            "RULE",
            "Rule, as `cinchbook rules` lists them",
            lambda typed: find_amendable_rule(books, typed),
        )
        names = ", ".join(changed.thresholds)
        if threshold is None and len(changed.thresholds) == 1:
            threshold = names
        number = _fitting(
            threshold, "THRESHOLD", f"Which ({names})", lambda typed: threshold_of(changed, typed)
        )
        if value is None and asks:
            _print_current_value(changed, number, books, (place,) if place else ())
        # What a correction does not state stays as it is.
        new = (
            None
            if value is None and day
            else _fitting(
                value, "VALUE", "New value, with its unit", lambda typed: check_value(number, typed)
            )
        )
        first = (
            None
            if starts is None and day
            else _fitting(starts, "--from", "First day, such as 2026-07-01", parse_day)
        )
        if asks and source is None and not common_practice:
            source = _maybe("Source, an id of a sources file (Enter: common practice)")
        if source is not None and at is None:
            at = _fitting(at, "--at", "Clause or page", str)
        if asks:
            because = because or _maybe("Why (Enter: no reason)")
            by = by or _maybe("Who is responsible (Enter: no name)")
        wanted = RequestedChange(
            rule=changed.id,
            threshold=number.name,
            value=new,
            starts=first,
            ends=parse_day(ends) if ends else None,
            each_year={"from": season[0], "until": season[1]} if season else None,
            source=source,
            at=at,
            common_practice=common_practice,
            because=because,
            by=by,
        )
        write_amendment(wanted, taken, number, file, place, rules, dry_run=dry_run)
    except CannotAmendError as error:
        end_with(str(error))


def _on_a_terminal() -> bool:
    return sys.stdin.isatty() and sys.stderr.isatty()


def _file(into: Path | None, place: str | None) -> Path:
    """The path of the amendment file."""
    if place is not None:
        check_place_code(place)
    if into is not None:
        return into
    folders = [Path(name) for name in project().amendments]
    if not folders:
        end_with(
            "found no file for the change; wanted --into FILE, or amendments in cinchbook.yaml"
        )
    name = f"{(place or 'company').lower()}.yaml"
    return folders[0] / name if folders[0].is_dir() else folders[0]


def _fitting(given: str | None, name: str, question: str, fits: Callable[[str], T]) -> T:
    """The option as given, or as asked for on a terminal until it is accepted."""
    from checker.upkeep.change import CannotAmendError

    if given is not None:
        return fits(given)
    if not _on_a_terminal():
        end_with(f"found no {name}; see `cinchbook amend --help`")
    while True:
        try:
            return fits(typer.prompt(question, err=True))
        except CannotAmendError as error:
            say(str(error))


def _maybe(question: str) -> str | None:
    return typer.prompt(question, default="", show_default=False, err=True) or None


def _print_current_value(
    rule: "Rule", threshold: "Threshold", books: "Rulebooks", trip: tuple[str, ...]
) -> None:
    """Print the value in force today, also an amended one, and which way is stricter."""
    from checker.rulebooks.layering import rule_in_force

    day = date.today()
    held = rule_in_force(rule, books, trip, day)
    today = held.thresholds[threshold.name].on(day)
    stands = f"{today.text} since {today.starts} ({today.citation})" if today else "no value today"
    say(held.title)
    say(f"{threshold.name}: {stands}; stricter is {threshold.stricter}")
