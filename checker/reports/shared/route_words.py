"""The borders of a trip in words: what differs, and what this load does not meet beyond each."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Final

from msgspec import Struct

from checker.evaluation.borders import Difference, FigureChange, RuleChange
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.route import Border, Leg, Route
from checker.reports.shared.outcome_words import leg_outcome
from checker.reports.shared.words import join_words, number_of
from checker.rulebooks.jurisdictions import is_inside
from checker.rulebooks.rule_text import figure
from checker.rulebooks.unread_subjects import SUBJECTS
from checker.rulebooks.verdicts import WORST_FIRST, Verdict

_ENDS, _UNREAD = "ends", "unread"
_MOST_NAMED: Final = 3
"""How many rules one line at the head of a report names."""
_MOST_SHOWN: Final = 8
"""How many rules that are met, or end, a border in a short report lists."""


class BorderEntry(Struct, frozen=True):
    """A rule that differs: its finding beyond the border, or before it where the rule ends.

    `ends` is the word for a rule that ends, or of whose subject nothing was read beyond.
    """

    finding: Finding
    ends: str
    words: str

    @property
    def is_open(self) -> bool:
        """True if the rule is in force beyond the border, and not met or not decided there."""
        return not self.ends and self.finding.verdict is not Verdict.MET


class BorderInWords(Struct, frozen=True):
    """A border: its heading, the rules that differ, the worst first, and what else to know."""

    heading: str
    entries: Sequence[BorderEntry]
    notes: Sequence[str]

    def in_short(self) -> tuple[Sequence[BorderEntry], int]:
        """The entries of a short report, every open one among them, and the number of others."""
        opened = sum(each.is_open for each in self.entries)
        number = opened + _MOST_SHOWN
        if len(self.entries) <= number + _MOST_SHOWN // 4:
            number = len(self.entries)
        return self.entries[:number], len(self.entries) - number


def more_words(number: int) -> str:
    """How many rules of a border a short report leaves out."""
    return f"{number_of(number, 'more rule')} met or at an end here"


def places_in_words(check: Check) -> str | None:
    """The outcome of each place in the order of travel; None where all have the same."""
    legs = check.route.legs if check.route else ()
    if len({leg.outcome for leg in legs}) < 2:
        return None
    return f"Place by place: {'; '.join(f'{leg.name}: {leg_outcome(leg)}' for leg in legs)}."


def not_everywhere(check: Check) -> list[str]:
    """The must-rules that are not met, or not decided, in some places of the trip alone."""
    route = check.route
    if route is None:
        return []
    found: dict[tuple[str, tuple[int, ...]], list[str]] = {}
    for rule_id in dict.fromkeys(rule_id for leg in route.legs for rule_id in leg.findings):
        here = [_known(leg.findings.get(rule_id), check) for leg in route.legs]
        for words, is_so in _STATES.items():
            there = {index: each for index, each in enumerate(here) if each and is_so(each)}
            if 0 < len(there) < len(here):
                first = next(iter(there.values()))
                found.setdefault((words, tuple(there)), []).append(_without_place(first, route))
    ordered = sorted(found, key=lambda each: ([*_STATES].index(each[0]), each[1]))
    return [f"{each[0]} {_where(each[1], route)}: {_first_of(found[each])}." for each in ordered]


def _is_broken(finding: Finding) -> bool:
    return finding.rule.level == "must" and bool(finding.rows.broken[0])


def _is_undecided(finding: Finding) -> bool:
    return finding.rule.level == "must" and bool(finding.rows.undecided[0])


_STATES: Final[Mapping[str, Callable[[Finding], bool]]] = {
    "Not met": _is_broken,
    "Not decided": _is_undecided,
}


def _known(finding: Finding | None, check: Check) -> Finding | None:
    """The finding of a rule that applies; None for one of a rulebook that may not be in force."""
    if finding is None or finding.verdict is Verdict.DOES_NOT_APPLY:
        return None
    is_open = any(
        entry.book.id == finding.book.id and entry.verdict is Verdict.NOT_STATED
        for entry in check.in_force
    )
    return None if is_open else finding


def _without_place(finding: Finding, route: Route) -> str:
    return _short(finding.statement, route)


def _short(words: str, route: Route) -> str:
    """What a rule says, without the name of its place in front."""
    for leg in route.legs:
        words = words.removeprefix(f"{leg.name}: ")
    return words


def _first_of(statements: Sequence[str]) -> str:
    more = len(statements) - _MOST_NAMED
    words = "; ".join(statements[:_MOST_NAMED])
    return f"{words}; and {number_of(more, 'more rule')}" if more > 0 else words


def _where(indices: Sequence[int], route: Route) -> str:
    """Places of the trip by their index: the last ones, the first ones, or any others."""
    count, legs = len(indices), route.legs
    if indices[0] == len(legs) - count:
        return f"from {legs[indices[0]].name} on"
    if indices[-1] == count - 1:
        return f"up to the border of {legs[count].name}"
    return f"in {join_words([*dict.fromkeys(legs[index].name for index in indices)])}"


def borders_in_words(check: Check) -> list[BorderInWords]:
    """Every border of the trip in the order of travel; none for a trip that crosses none."""
    route = check.route
    return [_border(border, route, check) for border in route.borders] if route else []


def _border(border: Border, route: Route, check: Check) -> BorderInWords:
    entries, same = [], []
    for change in border.changes:
        before, after = _known(change.before, check), _known(change.after, check)
        if after and before and change.difference is Difference.NONE:
            same.append(change.subject or _without_place(after, route))
        elif after:
            was = _before(change, before, route) if before else ""
            if not before and _is_unread(after, change.subject, border.before):
                was = "; before: not read"
            words = f"{_rule(after, route)}{was}"
            entries.append(BorderEntry(after, "", words))
        elif before:
            ends = _UNREAD if _is_unread(before, change.subject, border.after) else _ENDS
            entries.append(BorderEntry(before, ends, f"{_rule(before, route)}{_until(before)}"))
    notes = [f"The same on both sides: {', '.join(dict.fromkeys(same))}."] if same else []
    notes += _open_rulebooks(border, check)
    notes += _not_read(border, check)
    return BorderInWords(_heading(border), sorted(entries, key=_worst_first), notes)


def _rule(finding: Finding, route: Route) -> str:
    level = "" if finding.rule.level == "must" else " (should)"
    excused = " (under a variance)" if finding.variance else ""
    return f"{_without_place(finding, route)}{level}{excused}"


def _until(finding: Finding) -> str:
    """What a rule that ends leaves behind, where it was not met."""
    return "" if finding.verdict is Verdict.MET else f" ({finding.verdict} until here)"


def _is_unread(finding: Finding, subject: str | None, leg: Leg) -> bool:
    """True if the law of a place was not read in full on what a rule of another place is about."""
    subjects = {subject} if subject else finding.book.subjects or {*SUBJECTS}
    return finding.rule.basis == "law" and subjects <= {*leg.unread}


def _before(change: RuleChange, before: Finding, route: Route) -> str:
    """What was asked before the border, put behind what is asked beyond it."""
    if change.difference is Difference.FIGURES:
        return f" ({'; '.join(map(_figure_before, change.figures))})"
    title = _short(before.title, route)
    level = "" if before.rule.level == "must" else " (should)"
    if change.after and title == _short(change.after.title, route):
        title, level = "", f"a {before.rule.level}-rule"
    on_subject = f", on {change.subject}" if change.difference is Difference.RULE else ""
    return f"; before{on_subject}: {title}{level}"


def _figure_before(change: FigureChange) -> str:
    name = change.name.replace("_", " ")
    if change.before is None or change.after is None:
        known = figure(change.before.text) if change.before else "not known"
        return f"{name} {known} before{'' if change.after else ', not known here'}"
    side = {True: ", stricter here", False: ", looser here", None: ""}[change.stricter]
    return f"{name} {figure(change.before.text)} before{side}"


def _worst_first(entry: BorderEntry) -> tuple[bool, bool, int, bool]:
    finding = entry.finding
    verdict = WORST_FIRST.index(finding.verdict)
    return entry.ends != "", not entry.is_open, verdict, finding.rule.level != "must"


def _heading(border: Border) -> str:
    before, after = border.before, border.after
    if is_inside(after.place, before.place):
        return f"From {before.name} into its part {after.name}"
    if is_inside(before.place, after.place):
        return f"From {before.name} into the rest of {after.name}"
    return f"From {before.name} into {after.name}"


def _open_rulebooks(border: Border, check: Check) -> Iterator[str]:
    """What may be in force beyond the border."""
    before, after = border.before, border.after
    held = {finding.book.id for finding in before.findings.values()}
    begins = {f.book.id: f for f in after.findings.values() if f.book.id not in held}
    titles = [each.book.title for each in begins.values() if _known(each, check) is None]
    if titles:
        yield f"Not known whether it applies from here: {'; '.join(titles)}."
    if after.parts:
        yield (
            f"{after.name} is stated without its part: not known which law of "
            f"{number_of(len(after.parts), 'place')} in it applies."
        )


def _not_read(border: Border, check: Check) -> Iterator[str]:
    """The subjects of the law of either side that nobody read in full."""
    before, after = border.before, border.after
    if after.place in check.unread:
        yield f"Not read: nothing of the law of {after.name} was checked."
        return
    here = [each for each in after.unread if each not in before.unread]
    there = [each for each in before.unread if each not in after.unread]
    both = [each for each in after.unread if each in before.unread]
    for subjects, where in (
        (here, f"Not read in full in {after.name}, but in {before.name}"),
        (both, "Not read in full on either side"),
        (there, f"Read in full in {after.name}, but not in {before.name}"),
    ):
        if subjects:
            yield f"{where}: {', '.join(subjects)}."
