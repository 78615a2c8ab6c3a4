"""The columns of the findings of an audit: name, type and meaning, as the file itself states them.

The file has a row for each haul, a row for each rule that applies to a haul, and a row for each row
of the log that was refused.
"""

from typing import Final, Literal, NamedTuple, TypeAlias

SCHEMA: Final = "urn:cinchbook:findings:1"
"""Id of the schema; its last number grows when a column goes or changes its meaning."""

RowKind: TypeAlias = Literal["haul", "finding", "refused"]
ColumnType: TypeAlias = Literal["text", "list of texts", "whole number", "number", "day", "yes/no"]


class FindingsColumn(NamedTuple):
    """A column: its values are null in rows of kinds other than `rows`."""

    name: str
    type: ColumnType
    rows: tuple[RowKind, ...]
    meaning: str


_ALL: Final[tuple[RowKind, ...]] = ("haul", "finding", "refused")
_CHECKED: Final[tuple[RowKind, ...]] = ("haul", "finding")
_HAUL: Final[tuple[RowKind, ...]] = ("haul",)
_FINDING: Final[tuple[RowKind, ...]] = ("finding",)

COLUMNS: Final = (
    FindingsColumn(
        "kind",
        "text",
        _ALL,
        "haul: a haul with its outcome; finding: a rule that applies to a haul, with its verdict; "
        "refused: a row of the log that was not checked",
    ),
    FindingsColumn(
        "row",
        "whole number",
        _ALL,
        "row of the log: the line of a text, the row of a sheet, the row from 1 of a Parquet file, "
        "the position from 1 in a folder sorted by name",
    ),
    FindingsColumn(
        "haul", "text", _ALL, "the haul's own number or name in the log; null where it states none"
    ),
    FindingsColumn("date", "day", _CHECKED, "day of the haul"),
    FindingsColumn("crew", "text", _CHECKED, "crew; empty where the log states none"),
    FindingsColumn(
        "load", "text", _CHECKED, "load profile: its file, however the log writes its name"
    ),
    FindingsColumn(
        "trailer",
        "text",
        _CHECKED,
        "trailer, as the audit counts by it: the `id` that it states, else its file",
    ),
    FindingsColumn("trailer_title", "text", _CHECKED, "title of the trailer; empty without one"),
    FindingsColumn(
        "machine",
        "list of texts",
        _CHECKED,
        "each machine of the load once, as the audit counts by it; a haul of two counts for both",
    ),
    FindingsColumn("machine_title", "list of texts", _CHECKED, "the title of each of them"),
    FindingsColumn("tow_vehicle", "text", _CHECKED, "tow vehicle, as the audit counts by it"),
    FindingsColumn("tow_vehicle_title", "text", _CHECKED, "title of the tow vehicle"),
    FindingsColumn(
        "outcome",
        "text",
        _CHECKED,
        "of the haul: hold (a must-rule is not met), open (none is, but something is undecided, or "
        "no must-rule was met at all), no rule broken",
    ),
    FindingsColumn(
        "near",
        "yes/no",
        _CHECKED,
        "of a haul: no must-rule is broken or undecided and some rule is near its limit; of a "
        "finding: met by no more than the share `near` of its limit",
    ),
    FindingsColumn(
        "excused",
        "yes/no",
        _CHECKED,
        "of a haul: a variance excuses some rule; of a finding: a variance excuses this rule, "
        "which is not met or too close to call",
    ),
    FindingsColumn(
        "margin",
        "number",
        _CHECKED,
        "distance from the limit as a share of it, below 0 where it is not met; of a haul the "
        "smallest of its broken must-rules, else of the rules near their limit; null where a share "
        "means nothing, as for yes and no",
    ),
    FindingsColumn("rulebook", "text", _FINDING, "id of the rulebook"),
    FindingsColumn("rule", "text", _FINDING, "id of the rule"),
    FindingsColumn(
        "level", "text", _FINDING, "must (decides the outcome) or should (never holds a load)"
    ),
    FindingsColumn(
        "verdict",
        "text",
        _FINDING,
        "not met, not stated (something is missing), too close to call (either way within the "
        "stated tolerances) or met",
    ),
    FindingsColumn(
        "subject",
        "text",
        _FINDING,
        "the article, tiedown or axle that decides, as the field path of its entry; null for the "
        "load as a whole",
    ),
    FindingsColumn(
        "found",
        "number",
        _FINDING,
        "what the haul gives in the deciding comparison, in `unit`; within tolerances at the "
        "corner that decides; 1 for yes and 0 for no; null where not stated or without limit",
    ),
    FindingsColumn(
        "operator",
        "text",
        _FINDING,
        "how `found` must compare with `wanted`: >=, >, <=, <, == or !=; == for yes and no",
    ),
    FindingsColumn(
        "wanted", "number", _FINDING, "what the rule requires in that comparison, in `unit`"
    ),
    FindingsColumn(
        "unit",
        "text",
        _FINDING,
        "unit of `found` and `wanted`: N, m, s, m/s, m/s2, Pa, rad, N*m, N/m, m3, g, 1 for a plain "
        "number, a count or a share (0.1 is 10 %), day for days since 1970-01-01, yes/no; the same "
        "for one kind of quantity, whatever the profile states it in",
    ),
    FindingsColumn(
        "side",
        "text",
        _FINDING,
        "of a rule that is not met, the side of the limit on which the haul is: below or above; "
        "null where the value has to equal the limit, for yes and no, and for other verdicts",
    ),
    FindingsColumn(
        "variance",
        "text",
        _FINDING,
        "the variance that excuses the rule: who signed it, its first day and the day it ends",
    ),
    FindingsColumn(
        "missing", "list of texts", _FINDING, "profile fields without which the rule is not stated"
    ),
    FindingsColumn(
        "does_not_apply",
        "list of texts",
        _HAUL,
        "ids of the rules in force where the haul goes that do not apply to it; they have no "
        "row of their own",
    ),
    FindingsColumn(
        "doubtful", "list of texts", _HAUL, "names of its doubtful figures: readable, but unusual"
    ),
    FindingsColumn(
        "unread_places", "list of texts", _HAUL, "places it goes to of which no rulebook was read"
    ),
    FindingsColumn(
        "unread_subjects",
        "list of texts",
        _HAUL,
        "subjects of the law of the places it goes to that no rulebook in force holds, as "
        "PLACE: SUBJECT",
    ),
    FindingsColumn("reason", "text", ("refused",), "why the row was not checked"),
)
"""In the order of the file."""
