"""Remarks on what a log and its loads call things: what a person may have meant as one, or not."""

from collections.abc import Iterator, Sequence
from typing import Any, Final, NamedTuple

from checker.documents.problems import quoted
from checker.reports.shared.words import number_of
from checker.season.audit import Audit
from checker.season.slips.alike_names import AlikeNames, alike_names
from checker.season.slips.haul_numbers import RepeatedNumber

_MOST: Final = 20
"""Most remarks of a kind in reports for people; the JSON document has all."""
_MOST_NUMBERS: Final = 5

ONE_LOAD = "one load under several names:"
ALIKE = "of names that differ only in capitals or spaces, counted apart:"
ONE_ID = "of one id in several files, counted as one:"
REPEATED = "haul number used more than once:"


def unit_of(what: str) -> str:
    """What a warning counts: hauls that were checked, or rows of the log, refused ones among them.

    A haul number is looked for in every row.
    """
    return "row" if what == REPEATED else "haul"


def log_remarks(audit: Audit) -> Iterator[tuple[str, str, int]]:
    """What was noticed, the names with their hauls and first rows, and the number of hauls."""
    found = _alike(audit)
    loads = [each for each in found if each.kind == "load"]
    others = [each for each in found if each.kind != "load"]
    for what, several in (
        (ONE_LOAD, [(_names(each), each.hauls) for each in loads]),
        (ALIKE, [(_names(each), each.hauls) for each in others]),
        (ONE_ID, [(_files(each), each.hauls) for each in _ids_of_several_files(audit)]),
    ):
        yield from ((what, which, hauls) for which, hauls in several[:_MOST])
        rest = several[_MOST:]
        if rest:
            yield what, f"and {len(rest)} more", sum(hauls for _, hauls in rest)
    repeated = audit.repeated
    if repeated.numbers:
        first = repeated.listed[:_MOST_NUMBERS]
        more = repeated.numbers - len(first)
        rest_of_them = f" and {number_of(more, 'other number')}" if more else ""
        yield REPEATED, ", ".join(map(_rows, first)) + rest_of_them, repeated.hauls


def log_remarks_json(audit: Audit) -> dict[str, Any]:
    """The same as members of the JSON document."""
    return {
        "alike_names": [
            {
                "kind": each.kind,
                "counted": "as one" if each.kind == "load" else "apart",
                "names": [
                    {"name": name, "hauls": seen.hauls, "first_row": seen.first_row}
                    for name, seen in each.names
                ],
            }
            for each in _alike(audit)
        ],
        "ids_of_several_files": [
            {"kind": each.kind, "id": each.key, "hauls": each.hauls, "files": list(each.files)}
            for each in _ids_of_several_files(audit)
        ],
        "repeated_haul_numbers": {
            "numbers": audit.repeated.numbers,
            "hauls": audit.repeated.hauls,
            "listed": [
                {"haul": each.number, "hauls": each.hauls, "rows": list(each.rows)}
                for each in audit.repeated.listed
            ],
        },
    }


def _alike(audit: Audit) -> Sequence[AlikeNames]:
    return list(alike_names(audit.totals.names, audit.totals.keys_of_loads))


class _OneId(NamedTuple):
    """An id that several files have, and the hauls counted by it."""

    kind: str
    key: str
    hauls: int
    files: Sequence[str]


def _ids_of_several_files(audit: Audit) -> list[_OneId]:
    """Perhaps one file is a copy of the other whose id was left as it was."""
    return [
        _OneId(kind, key, audit.totals.by[kind][key].hauls, files)
        for kind, by_id in sorted(audit.totals.files_of_ids.items())
        for key, files in sorted(by_id.items())
        if len(files) > 1
    ]


def _files(each: _OneId) -> str:
    return f"{each.kind} {quoted(each.key)} (from {' and '.join(each.files)})"


def _names(each: AlikeNames) -> str:
    kind = "" if each.kind == "load" else f"{each.kind} "
    return kind + ", ".join(
        f"{quoted(name)} ({number_of(seen.hauls, 'haul')}, first in row {seen.first_row})"
        for name, seen in each.names
    )


def _rows(each: RepeatedNumber) -> str:
    rows = ", ".join(map(str, each.rows))
    more = f" and {each.hauls - len(each.rows)} more" if each.hauls > len(each.rows) else ""
    return f"{quoted(each.number)} (rows {rows}{more})"
