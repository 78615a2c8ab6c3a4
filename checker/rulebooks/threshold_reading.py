"""Thresholds of a rule file: reads each dated value; checks the dates for gaps and overlaps."""

import itertools
from collections.abc import Mapping
from typing import Any

from checker.documents.document import Document
from checker.documents.problems import DataPath, Problem
from checker.facts.catalogue import catalogue
from checker.rulebooks.model import DatedValue, Threshold
from checker.rulebooks.rule_file_set import RuleFileSet, location


def read_threshold(
    name: str, data: Mapping[str, Any], document: Document, path: DataPath, files: RuleFileSet
) -> Threshold:
    """The threshold of that name, without the values that cannot be read."""
    if name in catalogue():
        files.problems.append(
            document.problem(path, f"the threshold name '{name}'", "a name that is no fact")
        )
    values = [
        value
        for index, stated in enumerate(data["values"])
        if (value := _read_dated_value(stated, document, (*path, "values", index), files))
    ]
    if len({value.quantity.kind for value in values}) > 1:
        found = "values of different kinds in one threshold"
        files.problems.append(document.problem(path, found, "one kind of quantity"))
    values.sort(key=lambda value: value.starts)
    for earlier, later in itertools.pairwise(values):
        if earlier.ends is None or earlier.ends > later.starts:
            found = f"a value from {later.starts} while the one before is still in force"
            wanted = f"`until: {later.starts}` or earlier on the value from {earlier.starts}"
        elif earlier.ends < later.starts:
            found = f"no value from {earlier.ends} until {later.starts}"
            wanted = "values that follow each other without a gap"
        else:
            continue
        files.problems.append(Problem(later.location.file, later.location.mark, found, wanted))
    return Threshold(name, data["stricter"], tuple(values))


def _read_dated_value(
    data: Mapping[str, Any], document: Document, path: DataPath, files: RuleFileSet
) -> DatedValue | None:
    days = files.read_stretch(data, document, path)
    assert days is not None, "the schema requires `from`"
    quantity = files.read_quantity(data["value"], document, (*path, "value"))
    metric = None
    if "metric_print" in data:
        metric = files.read_quantity(data["metric_print"], document, (*path, "metric_print"))
    if quantity is None:
        return None
    return DatedValue(
        quantity=quantity,
        text=str(data["value"]),
        metric_print=metric,
        metric_text=data.get("metric_print"),
        starts=days.starts,
        ends=days.ends,
        citation=files.cite(data, document, path),
        note=data.get("note"),
        location=location(document, path),
    )
