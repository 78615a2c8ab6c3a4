"""How a log was read, for every form of an audit: rows left out, days that fit two orders."""

from collections.abc import Mapping
from typing import Any

from checker.logs.two_readings import Readings
from checker.reports.shared.words import number_of
from checker.season.audit import Audit


def rows_read(audit: Audit) -> str:
    """How many rows were read, and what became of them."""
    left_out = audit.remarks.left_out.total
    line = f"{number_of(audit.read, 'row')} read: {audit.checked} checked, {audit.refused} refused"
    return f"{line}, {left_out} left out" if left_out else line


def reading_remarks(audit: Audit) -> list[str]:
    """The rows left out, and what may be read in two ways, a sentence each."""
    left_out = audit.remarks.left_out
    lines = []
    if left_out.total:
        rows = "; ".join(f"{rows} ({reason})" for reason, rows in left_out.words().items())
        lines.append(
            f"{number_of(left_out.total, 'row')} left out as the mapping file says: {rows}"
        )
    if left_out.hauls:
        state = "states" if left_out.hauls == 1 else "state"
        lines.append(f"{left_out.hauls} of the rows left out {state} a load and a day")
    readings = audit.remarks.readings.values()
    lines += [_in_words(each) for each in readings if each.both]
    return lines + [_swapped_in_words(each) for each in readings if each.may_be_swapped]


def _swapped_in_words(each: Readings) -> str:
    return (
        f"'{each.header}' has {number_of(each.only, 'text')} with a number above 12, and "
        f"{number_of(each.held_as_days, 'day')} that the workbook holds as days, none after the "
        "12th: the program that wrote it may have taken their day for the month; compare some "
        "with the paper"
    )


def _in_words(each: Readings) -> str:
    of_days = each.key == "dates"
    what = "day" if of_days else "figure"
    ways = "both orders of day and month" if of_days else "a decimal comma and a decimal point"
    shown = "the right order" if of_days else "the right sign"
    others = "1 other fits" if each.only == 1 else f"{each.only} others fit"
    alone = f"{others} that alone" if each.only else f"no {what} there shows {shown}"
    fits = "fits" if each.both == 1 else "fit"
    return (
        f"{number_of(each.both, what)} under '{each.header}' {fits} {ways}, such as "
        f"{each.example}: read by `{each.key}: {each.stated}` of the mapping file; {alone}"
    )


def reading_remarks_json(audit: Audit) -> Mapping[str, Any]:
    """The same as members of the JSON document of an audit."""
    left_out = audit.remarks.left_out
    return {
        "left_out": left_out.total,
        "left_out_rows": [
            {"reason": reason, "rows": number, "first": left_out.first[reason]}
            for reason, number in left_out.counts.items()
        ],
        "left_out_with_load_and_day": left_out.hauls,
        "two_readings": [
            {
                "column": each.header,
                "key": each.key,
                "stated": each.stated,
                "alone": each.only,
                "both": each.both,
                "may_be_swapped": each.may_be_swapped,
            }
            for each in audit.remarks.readings.values()
        ],
    }
