"""The line of a load's own file that somebody edits because of a finding, and what it rests on.

A trailer's file serves many loads. A finding about one load is at the line of that load: where its
machine is placed, its tiedown is hooked, or the file of its trailer is named.
"""

import re
from collections.abc import Iterator, Mapping

from msgspec import Struct

from checker.documents.problems import DataPath, Mark
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.load.model import Load, Origin
from checker.rulebooks.citations import Location

_EDITED_FIRST: Mapping[str, re.Pattern[str]] = {
    "placement": re.compile(r"articles\.\d+\.placed\."),
    "coupling": re.compile(r"articles\.\d+\.placed\."),
    "tiedowns": re.compile(r"tiedowns(\.|$)"),
    "walk-around": re.compile(r"walkaround\."),
    "trip": re.compile(r"trip\."),
    "limits": re.compile(r"articles\.\d+\.(placed\.|weight)"),
}
"""The fields that answer the question of a rule, where a finding rests on several."""


class SharedLine(Struct, frozen=True):
    """A line of a file that several loads may use, with the field it states and its text."""

    field: str
    text: str
    location: Location


def line_to_edit(finding: Finding, check: Check) -> Location:
    """The line of the load's own file for a finding; its top where no line says more.

    For an undecided rule it is the section in which the first missing field belongs.
    """
    load = check.load
    if finding.missing:
        return _section(finding.missing[0], load)
    asked = _EDITED_FIRST.get(finding.rule.question)
    file = _own_file(load)
    own = [pair for pair in _stated(finding) if pair[1].file == file]
    settled = [pair for pair in own if pair[0] == finding.settled_by]
    answers = [pair for pair in own if asked and asked.match(pair[0])]
    # That there is a list of articles at all says little about any rule.
    single = [pair for pair in own if "." in pair[0]]
    for _, origin in (*settled, *answers, *single, *own):
        return Location(origin.file, origin.mark)
    return _section(finding.settled_by or next((field for field, _ in _stated(finding)), ""), load)


def top_of(load: Load) -> Location:
    """Where what is said of a whole load belongs: the top of its file, the row of a haul."""
    if load.log_row:
        return Location(*load.sections[()])
    return Location(str(load.file), Mark(1, 1))


def shared_lines(finding: Finding, check: Check) -> list[SharedLine]:
    """The first line of each other file behind a finding, that of its deciding figures first."""
    found: dict[str, SharedLine] = {}
    file = _own_file(check.load)
    for field, origin in _stated(finding):
        if origin.file != file:
            location = Location(origin.file, origin.mark)
            found.setdefault(origin.file, SharedLine(field, origin.text, location))
    return list(found.values())


def _stated(finding: Finding) -> Iterator[tuple[str, Origin]]:
    """The stated fields behind a finding, those of its deciding comparison first."""
    deciding = finding.governing.names if finding.governing else ()
    for used in sorted(finding.facts, key=lambda each: each.fact.name not in deciding):
        yield from used.origins.items()


def _own_file(load: Load) -> str:
    """Its own file as origins name it."""
    return load.sections[()][0] if () in load.sections else str(load.file)


def _section(field: str, load: Load) -> Location:
    """Where the load's own file has the section of a field, or names the file that fills it."""
    first, _, rest = field.partition(".")
    index = rest.partition(".")[0]
    paths: list[DataPath] = [(first, int(index) - 1)] if index.isdecimal() else []
    for path in (*paths, (first,)):
        if path in load.sections:
            return Location(*load.sections[path])
    return Location(_own_file(load), Mark(1, 1))
