"""The HTML page of an audit: outcomes of the season, rules often not met, hauls to review."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from checker.evaluation.outcome import Outcome
from checker.evaluation.strictness import FailOn
from checker.reports.shared.audit_results import (
    NOTHING_JUDGED,
    AuditRun,
    RuleCount,
    closest_hauls,
    doubtful_rows,
    listed_words,
    month_by_month,
    most_first,
    most_often_held_first,
    rule_counts,
    rules_near_limit,
    rules_not_met,
    warning_counts,
    without_a_rule,
)
from checker.reports.shared.check_results import CheckedLoad, CheckRun
from checker.reports.shared.haul_list import HaulList
from checker.reports.shared.html.bars import Segment, bar_of, compared_bar, segments, share_of
from checker.reports.shared.html.entries import Entry, entry, stated_behind
from checker.reports.shared.html.environment import template
from checker.reports.shared.html.haul_list_pages import MOST_IN_PAGE, HaulListData, haul_list_data
from checker.reports.shared.log_remarks import unit_of
from checker.reports.shared.not_decided import not_decided
from checker.reports.shared.outcome_words import OF_THOSE_LOOKED_AT
from checker.reports.shared.rate_words import (
    legend,
    named_lines,
    since_lines,
    unnamed_lines,
)
from checker.reports.shared.reading_remarks import reading_remarks, rows_read
from checker.reports.shared.season_causes import WORST_ORDER, season_causes
from checker.reports.shared.season_names import SeasonNames
from checker.reports.shared.words import CAUTIONS, number_of, percent, share_of_limit_words
from checker.reports.shared.written_units import system_of
from checker.rulebooks.model import Rule
from checker.rulebooks.verdicts import Verdict
from checker.season.hauls.chunk import Labels
from checker.season.records.workings import Working
from checker.season.totals import WorstHaul

_BY: Final[Mapping[str, str]] = {
    "trailer": "By trailer",
    "machine": "By machine",
    "tow vehicle": "By tow vehicle",
    "crew": "By crew",
}
_FIRST = 3
_TOLD = 10
_UNFOLDED = 12
"""The number of table rows shown at once; the others fold out."""
_NAMED = 4


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule not met: in how many hauls, and with which loads or crews most often."""

    rule: Rule
    statement: str
    actions: Sequence[str]
    hauls: int
    share: str
    where: Sequence[tuple[str, Sequence[tuple[str, int]]]]
    segments: Sequence[Segment]
    excused: int


@dataclass(frozen=True, slots=True)
class Line:
    """One haul of the table; `rules` are titles to read, `ids` are for filtering.

    `margin` is that of these rules; an open haul has no margin.
    """

    row: int
    name: str
    day: str
    load: str
    crew: str
    trailer: str
    state: str
    outcome: str
    margin: str
    decides: float | None
    rules: Sequence[str]
    ids: Sequence[str]
    worked: bool


@dataclass(frozen=True, slots=True)
class HaulWorking:
    """A haul with the working of every must-rule that needs a look.

    `behind` are all statements that its facts come from, each listed once.
    """

    line: Line
    rig: Sequence[tuple[str, str]]
    stated: Sequence[tuple[str, str]]
    groups: Sequence[tuple[str, Sequence[Entry]]]
    should: Sequence[str]
    command: str
    """The call that shows the haul with every rule."""
    behind: Sequence[str]


def report(run: AuditRun) -> str:
    """One HTML file that needs no other file and no network; equal input gives equal bytes."""
    data = _held(run)
    return _page(run, data.in_page() if data else None)


def pages(run: AuditRun, folder: str) -> tuple[str, Mapping[str, str]]:
    """The page, and files by name for a folder beside it, named so, where the page would be large.

    There are none for a page that has all its data in itself.
    """
    data = _held(run)
    if data is None or data.size <= MOST_IN_PAGE:
        whole = _page(run, data.in_page() if data else None)
        if data is None or len(whole.encode()) <= MOST_IN_PAGE:
            return whole, {}
    head, files = data.beside(folder)
    return _page(run, head, folder), files


def _held(run: AuditRun) -> HaulListData | None:
    if run.held is None:
        return None
    worked = [row for row, each in run.workings.items() if each.check is not None]
    return haul_list_data(HaulList(run.audit, run.held, run.units), worked)


def _page(run: AuditRun, held: str | None, folder: str | None = None) -> str:
    audit, tally = run.audit, run.audit.totals.all
    rules = {each.rule.id: each for each in rule_counts(audit)}
    names = SeasonNames(audit.totals.titles)
    causes = season_causes(audit)
    listed = causes.worst_first(audit.totals.worst_hauls)
    lines = [
        _line(each, audit.names.get(each.row, ""), run.workings.get(each.row), rules, names)
        for each in listed
    ]
    by_row = {line.row: line for line in lines}
    found = [_broken(each, names) for each in rules_not_met(audit)]
    undecided = not_decided(audit)
    musts = [each for each in found if each.rule.level == "must"]
    return template("audit.html.j2").render(
        audit=audit,
        version=run.version,
        headline=_headline(run),
        differs=[(heading.capitalize(), lines) for heading, lines in run.differs],
        state="hold" if tally.held else "open" if tally.open or not tally.hauls else "clear",
        near=percent(audit.near),
        rows_read=rows_read(audit),
        remarks=reading_remarks(audit),
        warned=warning_counts(audit),
        unit_of=unit_of,
        doubtful=doubtful_rows(audit),
        causes=causes,
        total=bar_of("all hauls", tally),
        first=causes.first[:_FIRST],
        beyond_chance=named_lines(audit),
        not_said=[*since_lines(audit), *unnamed_lines(audit)],
        legend=legend(audit),
        months=[
            compared_bar("month", *each, names, run)
            for each in month_by_month(audit.totals.by["month"])
        ],
        musts=musts,
        shoulds=[each for each in found if each.rule.level != "must"],
        tables=[
            (
                heading,
                kind,
                [
                    compared_bar(kind, *each, names, run)
                    for each in most_often_held_first(audit.totals.by[kind])
                ],
            )
            for kind, heading in _BY.items()
            if any(audit.totals.by[kind])
        ],
        unfolded=_UNFOLDED,
        worst=[line for line in lines if line.state == "hold"][:_TOLD],
        worst_order=WORST_ORDER,
        near_rules=[(each, each.tally.near, _met(each)) for each in rules_near_limit(audit)],
        closest=[by_row[each.row] for each in closest_hauls(audit)[:_TOLD]],
        undecided=undecided.never,
        wanting=undecided.fields,
        lines=lines,
        listed=listed_words(audit),
        choices=_choices(lines, rules),
        named=_NAMED,
        worked=[
            _worked(line, each, run)
            for line, each in zip(lines, listed, strict=True)
            if line.worked
        ],
        any_row=run.commands.check("ROW"),
        untold=audit.refused - len(audit.refusals),
        cautions=CAUTIONS,
        haul_list_data=held,
        held_folder=folder,
    )


def _headline(run: AuditRun) -> str:
    tally = run.audit.totals.all
    hauls = number_of(tally.hauls, "haul")
    if not tally.hauls:
        return NOTHING_JUDGED
    if tally.held:
        return f"{tally.held} of {hauls} on hold"
    if tally.open:
        return f"None of {hauls} on hold; {tally.open} open: not everything could be decided"
    partly = OF_THOSE_LOOKED_AT if run.audit.totals.unread_subjects else ""
    return f"No must-rule broken in {hauls}{partly}, by what the log and the load profiles state"


def _met(each: RuleCount) -> int:
    return each.tally.of(Verdict.MET)


def _broken(each: RuleCount, names: SeasonNames) -> Broken:
    tally = each.tally
    rest = each.asked - tally.broken - each.undecided - tally.near
    return Broken(
        rule=each.rule,
        statement=each.statement,
        actions=each.actions,
        hauls=tally.broken,
        share=share_of(tally.broken, each.asked),
        where=[
            (
                kind,
                [
                    (names.printed(kind, key), number)
                    for key, number in most_first(tally.broken_by[kind])
                ],
            )
            for kind in _BY
            if kind in tally.broken_by
        ],
        segments=segments((tally.broken, each.undecided, tally.near, rest)),
        excused=tally.excused,
    )


def _line(
    each: WorstHaul,
    name: str,
    working: Working | None,
    rules: Mapping[str, RuleCount],
    names: SeasonNames,
) -> Line:
    """A haul as a line of the table: its outcome, then the reason."""
    if each.outcome == Outcome.HOLD:
        state, outcome, rules_listed = "hold", "on hold", each.broken
    elif each.outcome == Outcome.OPEN:
        state, outcome, rules_listed = "open", "open", each.undecided
    elif each.near:
        state, outcome, rules_listed = "near", "near a limit", each.near
    elif each.excused:
        state, outcome, rules_listed = "clear", "under a variance", each.excused
    else:
        state, outcome, rules_listed = "clear", "should-rule not met", each.should_broken
    decides = None if state == "open" else each.margin

    def titles(rule: RuleCount) -> str:
        return rule.title if state in ("open", "near") else rule.broken_title

    return Line(
        row=each.row,
        name=name,
        day=each.day,
        load=each.load,
        crew=names.printed("crew", each.crew),
        trailer=names.printed("trailer", working.labels.trailer) if working else "",
        state=state,
        outcome=outcome,
        margin="" if decides is None else share_of_limit_words(decides),
        decides=decides,
        rules=[titles(rules[rule]) for rule in rules_listed] or [without_a_rule(each)],
        ids=[*each.broken, *each.should_broken, *each.undecided],
        worked=working is not None and working.check is not None,
    )


def _choices(
    lines: Sequence[Line], rules: Mapping[str, RuleCount]
) -> dict[str, list[tuple[str, str]]]:
    """The filters of the table: label and value, by attribute."""
    ids = dict.fromkeys(rule for line in lines for rule in line.ids)
    return {
        "outcome": [(each, each) for each in dict.fromkeys(line.outcome for line in lines)],
        "crew": _sorted(line.crew for line in lines),
        "trailer": _sorted(line.trailer for line in lines if line.trailer),
        "rules": sorted((rules[rule].title, rule) for rule in ids),
    }


def _sorted(names: Iterable[str]) -> list[tuple[str, str]]:
    return [(name, name) for name in sorted(set(names))]


def _worked(line: Line, each: WorstHaul, run: AuditRun) -> HaulWorking:
    working = run.workings[line.row]
    check = working.check
    assert check is not None
    findings = {finding.rule.id: finding for finding in check.findings}
    checked = CheckedLoad(check, {}, system_of(check.load, run.units))
    shown = CheckRun((), (), FailOn.MUST, run.audit.near, run.version)

    def entries(rules: Sequence[str]) -> list[Entry]:
        musts = [rule for rule in rules if findings[rule].rule.level == "must"]
        return [entry(findings[rule], checked, shown) for rule in musts]

    groups = {
        "Not met": entries(each.broken),
        "Not met, under a variance": entries(each.excused),
        "Undecided": entries(each.undecided),
        "Near the limit": entries(each.near),
    }
    with_entries = [group for group in groups.items() if group[1]]
    return HaulWorking(
        line=line,
        rig=list(_rig(working.labels, SeasonNames(run.audit.totals.titles))),
        stated=working.stated,
        groups=with_entries,
        should=[findings[rule].statement for rule in each.should_broken],
        command=run.commands.check(line.row),
        behind=stated_behind((one for _, group in with_entries for one in group), check.load),
    )


def _rig(labels: Labels, names: SeasonNames) -> Iterator[tuple[str, str]]:
    yield "trailer", names.printed("trailer", labels.trailer)
    yield "tow vehicle", names.printed("tow vehicle", labels.tow_vehicle)
    for machine in labels.machines:
        yield "machine", names.printed("machine", machine)
