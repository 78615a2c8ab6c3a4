"""Reads the changes and repeals of amendment files: values, days, and who took one back."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, Final

from checker.documents.document import Document
from checker.documents.problems import DataPath, quoted
from checker.rulebooks.days import Days, Season, Withdrawal
from checker.rulebooks.model import Amendment, Change, DatedValue
from checker.rulebooks.rule_file_set import RuleFileSet, location

NOT_YET_KNOWN: Final = "not yet known"


def read_changes(document: Document, amendment: Amendment, files: RuleFileSet) -> Iterator[Change]:
    """The changes and repeals of one file; adds their problems to `files`."""
    data: Any = document.data
    for section in ("changes", "repeals"):
        for index, stated in enumerate(data.get(section, ())):
            path: DataPath = (section, index)
            locations = {key: location(document, (*path, key)) for key in stated}
            locations[""] = location(document, path)
            citation = files.cite(stated, document, path)
            days = _read_days(stated, document, path, files)
            withdrawal = _read_withdrawal(stated, days, document, path, files)
            was = value = None
            if "was" in stated:
                was = files.read_quantity(stated["was"], document, (*path, "was"))
            if stated.get("value", NOT_YET_KNOWN) != NOT_YET_KNOWN:
                quantity = files.read_quantity(stated["value"], document, (*path, "value"))
                if quantity is not None:
                    value = DatedValue(
                        quantity=quantity,
                        text=str(stated["value"]),
                        metric_print=None,
                        metric_text=None,
                        starts=days.starts,
                        ends=days.ends,
                        citation=citation,
                        note=None,
                        location=locations["value"],
                    )
            yield Change(
                amendment=amendment,
                rule_id=stated["rule"],
                threshold=stated.get("threshold"),
                was=was,
                value=value,
                stated=days,
                withdrawal=withdrawal,
                citation=citation,
                because=stated.get("because"),
                by=stated.get("by"),
                locations=locations,
            )


def _read_days(
    stated: Mapping[str, Any], document: Document, path: DataPath, files: RuleFileSet
) -> Days:
    """The days of a change; a part of the year that is none is added to the problems."""
    stretch = files.read_stretch(stated, document, path)
    assert stretch is not None, "the schema requires `from`"
    season = None
    if "each_year" in stated:
        parts = []
        for key in ("from", "until"):
            text = stated["each_year"][key]
            parts.append(_month_day(text))
            if parts[-1] is None:
                at = (*path, "each_year", key)
                wanted = "a day of every year, as month-day: 11-01 is 1 November"
                files.problems.append(document.problem(at, quoted(text), wanted))
        first, end = parts
        if first is not None and first == end:
            found = "a part of the year that ends on the day it begins"
            wanted = "another day, or no `each_year`: then it counts all year"
            at = (*path, "each_year", "until")
            files.problems.append(document.problem(at, found, wanted))
        elif first is not None and end is not None:
            season = Season(first, end)
    return Days(stretch.starts, stretch.ends, season)


def _month_day(text: str) -> tuple[int, int] | None:
    """Month and day of a text such as 11-01; None where not every year has that day."""
    try:
        day = date.fromisoformat(f"2027-{text}")  # without 29 February
    except ValueError:
        return None
    return day.month, day.day


def _read_withdrawal(
    stated: Mapping[str, Any], days: Days, document: Document, path: DataPath, files: RuleFileSet
) -> Withdrawal | None:
    """Who took a change back, and from which day; a problem where that is before its days."""
    keys = [key for key in ("withdrawn", "corrected") if key in stated]
    if not keys:
        return None
    if len(keys) > 1:
        found = "a change that is both withdrawn and corrected"
        files.problems.append(document.problem((*path, keys[1]), found, "one of the two"))
    noted = stated[keys[0]]
    starts = date.fromisoformat(noted["from"])
    corrected = keys[0] == "corrected"
    if starts < days.starts or (corrected and starts > days.starts):
        found = f"`{keys[0]}` from {starts}"
        wanted = f"`from: {days.starts}`, its own first day" + ("" if corrected else ", or later")
        files.problems.append(document.problem((*path, keys[0], "from"), found, wanted))
    return Withdrawal(starts, noted["by"], noted["because"], corrected)
