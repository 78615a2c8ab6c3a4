"""`cinchbook calendar`: what begins, ends and falls due, in order of day."""

from datetime import date, timedelta
from enum import StrEnum
from typing import Annotated

import typer

from checker.cli.chosen_rules import find_rule, read_rules
from checker.cli.loads_to_check import variances_of_loads
from checker.cli.options import (
    OwnVariancesArgument,
    RootOption,
    RulesOption,
    end_with,
    parse_day,
    place_named,
    print_json,
)
from checker.cli.output import console

_YEAR = timedelta(days=365)
_YEARS = 1970, 2099


class CalendarForm(StrEnum):
    """Form of the calendar."""

    TEXT = "text"
    JSON = "json"
    ICS = "ics"


def run(
    loads: OwnVariancesArgument = None,
    first: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day. Default: today.")
    ] = None,
    last: Annotated[
        str | None,
        typer.Option("--to", metavar="DATE", help="Last day. Default: a year after the first."),
    ] = None,
    place: Annotated[
        str | None,
        typer.Option("--place", metavar="US-UT", help="Only what touches this place."),
    ] = None,
    rule: Annotated[
        str | None, typer.Option("--rule", metavar="ID", help="Only this rule.")
    ] = None,
    form: Annotated[CalendarForm, typer.Option("--as", help="Form of the calendar.")] = (
        CalendarForm.TEXT
    ),
    rules: RulesOption = None,
    root: RootOption = None,
) -> None:
    """List what begins, ends and falls due: figures, seasons, rules, variances, editions, readings.

    Each entry says what holds from that day on. The form ics is for calendar programs.

    Example: cinchbook calendar --place US-UT --to 2027-06-30

    Exit codes: 0 listed; 2 a problem in a file or the call.
    """
    from checker.reports.pages.calendar import calendar_json, print_calendar
    from checker.upkeep.calendar import calendar, in_place

    start = date.today() if first is None else parse_day(first)
    end = min(start, date.max - _YEAR) + _YEAR if last is None else parse_day(last)
    for day in (start, end):
        if not _YEARS[0] <= day.year <= _YEARS[1]:
            end_with(f"found the day {day}; wanted one from {_YEARS[0]} to {_YEARS[1]}")
    if end < start:
        end_with(f"found --to {end}, before {start}; wanted a day from then on")
    read = read_rules(rules)
    entries = calendar(read, start, end, variances_of_loads(loads or [], root, read))
    if place is not None:
        entries = in_place(entries, place_named(place))
    if rule is not None:
        find_rule(read, rule)
        entries = [each for each in entries if each.name == rule]
    if form is CalendarForm.TEXT:
        print_calendar(entries, start, end, console())
    elif form is CalendarForm.JSON:
        print_json(calendar_json(entries, start, end))
    else:
        from checker.reports.pages.calendar_ics import calendar_ics

        typer.echo(calendar_ics(entries), nl=False)
