"""An audit as text: outcomes of the hauls, rules often not met, and the worst hauls."""

from collections.abc import Callable, Sequence

from rich.console import Console

from checker.documents.schemas import field_description
from checker.reports.shared.audit_results import (
    NOTHING_JUDGED,
    bar,
    closest_hauls,
    month_by_month,
    most_first,
    most_often_held_first,
    never_decided,
    outcome_parts,
    rules_near_limit,
    rules_not_met,
    warning_counts,
    without_a_rule,
    worst_hauls,
)
from checker.reports.shared.page import Page
from checker.reports.shared.rate_words import (
    TOO_FEW,
    by_name,
    is_ranked,
    legend,
    named_lines,
    named_words,
    per_distance_words,
    tally_rate_words,
    unnamed_lines,
)
from checker.reports.shared.reading_remarks import reading_remarks, rows_read
from checker.reports.shared.season_names import SeasonNames
from checker.reports.shared.words import CAUTIONS, number_of, percent, share_of_limit_words
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import Audit
from checker.season.totals import Tally, Totals, WorstHaul
from checker.units.formatting import Units

_WORST = 10
_LAST_THINGS = 2
"""How many things to do stand at the end, above the prompt."""
_MOST_LISTED = 20
"""The greatest number of trailers, machines or crews on a terminal; a file lists all."""
_MOST_NAMED = 8
_SIGNS = ("#", "o", "~", ".")
"""The characters of a bar: hauls on hold, open, near a limit, and the rest."""
_LONGEST_BAR, _SHORTEST_BAR = 40, 10
_HEADINGS = {
    "trailer": "BY TRAILER",
    "machine": "BY MACHINE",
    "tow vehicle": "BY TOW VEHICLE",
    "crew": "BY CREW",
}


def print_audit(
    audit: Audit,
    console: Console,
    compared: Callable[[Page], None] | None = None,
    units: Units = Units.PROFILE,
) -> None:
    """Print an audit, the most important first; `compared` prints a comparison with an earlier one.

    The comparison comes at the end, before the cautions, where a long print stays in sight.
    """
    page = Page(console)
    totals = audit.totals
    page.line(f"{audit.log} ({audit.digest})", style="bold")
    page.line(rows_read(audit))
    for remark in reading_remarks(audit):
        page.line(remark, lead="! ")
    page.line()
    page.line(_headline(totals), style="bold")
    for what, which, number in warning_counts(audit):
        page.line(f"{number_of(number, 'haul')}: {what} {which}", lead="! ")
    _refusals(audit, page)
    _broken(audit, page)
    _named(audit, page)
    _months(audit, page)
    for kind, heading in _HEADINGS.items():
        _table(kind, heading, audit, page, units)
    _worst(audit, page)
    _near(audit, page)
    _never(audit, page)
    if compared is not None:
        compared(page)
    page.line()
    for caution in CAUTIONS:
        page.line(caution, style="italic")
    page.line()
    page.line(_headline(totals), style="bold")
    for number, thing in enumerate(_first_things(audit), 1):
        page.line(thing, lead=f"{number}. ")


def _first_things(audit: Audit) -> list[str]:
    """What to do about the must-rules most often broken, for the lines above the prompt."""
    broken = [each for each in rules_not_met(audit) if each.rule.level == "must"]
    things = dict.fromkeys(" ".join(each.actions) for each in broken)
    return list(things)[:_LAST_THINGS]


def _headline(totals: Totals) -> str:
    """The counts of all hauls; where law was not read, no rule was broken of those looked at."""
    return _tally_words(totals.all, " (of those looked at)" if totals.unread_subjects else "")


def _tally_words(tally: Tally, partly: str = "") -> str:
    if not tally.hauls:
        return NOTHING_JUDGED
    line = (
        f"{number_of(tally.hauls, 'haul')}: {tally.held} on hold, {tally.open} open, "
        f"{tally.hauls - tally.held - tally.open} with no rule broken{partly}"
    )
    line += f", {tally.near} of those near a limit" if tally.near else ""
    return line + (f"; {tally.excused} under a variance" if tally.excused else "")


def _refusals(audit: Audit, page: Page) -> None:
    if audit.refused:
        page.heading("REFUSED - these rows were not checked")
    for each in audit.refusals[:_WORST]:
        page.line(f"row {each.row}: {each.reason}", lead="- ")
    if audit.refused > _WORST:
        page.line(f"and {audit.refused - _WORST} more", lead="- ")


def _broken(audit: Audit, page: Page) -> None:
    """The rules most often not met, with the loads and crews most concerned."""
    found = rules_not_met(audit)
    names = SeasonNames(audit.totals.titles)
    if found:
        page.heading("BROKEN RULES - the must-rules first")
    for each in found:
        level = "" if each.rule.level == "must" else " (should)"
        lead = f"{each.tally.broken:>6} "
        page.line(f"{each.statement}{level} [{each.rule.id}]", lead=lead)
        most = [
            f"{kind} {names.printed(kind, key)} ({number})"
            for kind in ("trailer", "machine", "crew")
            for key, number in most_first(each.tally.broken_by.get(kind, {}))[:1]
        ]
        if most:
            page.line(f"most by {'; '.join(most)}", lead=" " * 7)


def _named(audit: Audit, page: Page) -> None:
    """Who or what is on hold more often than chance explains, and what the figures mean."""
    if not audit.checked:
        return
    page.heading("MORE OFTEN ON HOLD THAN CHANCE EXPLAINS")
    for line in named_lines(audit) or ["nothing: what differs below may be chance"]:
        page.line(line, lead="- ")
    for line in unnamed_lines(audit):
        page.line(line, lead="- ")
    for line in legend(audit):
        page.line(line)


def _months(audit: Audit, page: Page) -> None:
    """The trend: each month's share of hauls on hold, open, near a limit."""
    tallies = audit.totals.by["month"]
    if not tallies:
        return
    page.heading("MONTH BY MONTH")
    hold, undecided, close, rest = _SIGNS
    page.line(
        f"{hold} on hold   {undecided} open   {close} near a limit   {rest} neither; share on hold"
    )
    months = [(month, tally, _figures(tally)) for month, tally in month_by_month(tallies)]
    longest = max(len(f"{month}    {figures}") for month, _, figures in months)
    width = min(page.width - longest, _LONGEST_BAR)
    for month, tally, figures in months:
        signs = zip(_SIGNS, bar(outcome_parts(tally), width), strict=True)
        drawn = "".join(sign * number for sign, number in signs)
        page.line(
            figures, lead=f"{month}  {drawn:<{width}}  " if width >= _SHORTEST_BAR else f"{month}  "
        )


def _figures(tally: Tally) -> str:
    """The counts of a month, each with the character that draws it."""
    if not tally.hauls:
        return "no haul"
    signed = zip(outcome_parts(tally)[:3], _SIGNS, strict=False)
    counts = " ".join(f"{part} {sign}" for part, sign in signed)
    rate = tally_rate_words(tally)
    return f"{number_of(tally.hauls, 'haul')}: {counts}{f', {rate}' if rate else ''}"


def _table(kind: str, heading: str, audit: Audit, page: Page, units: Units) -> None:
    tallies = audit.totals.by[kind]
    if not any(tallies):
        return
    page.heading(heading)
    names = SeasonNames(audit.totals.titles)
    ordered = most_often_held_first(tallies)
    compared = by_name(audit)
    for key, tally in ordered[:_MOST_LISTED]:
        line = f"{names.printed(kind, key)}: {_tally_words(tally)}"
        if is_ranked(tally):
            line += f"; {tally_rate_words(tally)} on hold"
            driven = per_distance_words(audit.exposures.get(kind, {}).get(key), units)
            line += f", {driven}" if driven else ""
        else:
            line += f"; {TOO_FEW}"
        more = named_words(compared.get((kind, key)))
        page.line(f"{line}; {more}" if more else line, lead="- ")
    rest = [tally for _, tally in ordered[_MOST_LISTED:]]
    if rest:
        held = sum(bool(tally.held) for tally in rest)
        page.line(
            f"and {len(rest)} more, {held or 'none'} of them with hauls on hold; --write csv=FILE "
            "lists all",
            lead="- ",
        )


def _worst(audit: Audit, page: Page) -> None:
    held = worst_hauls(audit)[:_WORST]
    if held:
        page.heading("THE WORST - most must-rules not met, then the farthest from their limit")
    for number, each in enumerate(held, 1):
        why = _some(each.broken) or without_a_rule(each)
        page.line(f"{_haul(audit, each)}: {why}", lead=f"{number:>2}. ")


def _near(audit: Audit, page: Page) -> None:
    """Near misses: rules met by little, the most often and the closest first."""
    rules = rules_near_limit(audit)
    if rules:
        page.heading(f"NEAR MISSES - rules met by no more than {percent(audit.near)} of the limit")
    for rule in rules[:_WORST]:
        met = f", of {rule.tally.of(Verdict.MET)} hauls that met it"
        page.line(f"{rule.title} [{rule.rule.id}]{met}", lead=f"{rule.tally.near:>6} ")
    hauls = closest_hauls(audit)[:_WORST]
    if hauls:
        page.line()
        page.line("The closest of the hauls with no must-rule broken:")
    for haul in hauls:
        margin = "" if haul.margin is None else f"{share_of_limit_words(haul.margin)}: "
        page.line(f"{_haul(audit, haul)}: {margin}{_some(haul.near)}", lead="- ")


def _haul(audit: Audit, each: WorstHaul) -> str:
    crew = f", crew {each.crew}" if each.crew else ""
    name = audit.names.get(each.row)
    where = f"row {each.row}" + (f" ({name})" if name else "")
    return f"{where}, {each.day}, {each.load}{crew}"


def _some(rules: Sequence[str]) -> str:
    rest = len(rules) - _MOST_NAMED
    more = f" and {rest} more" if rest > 0 else ""
    return ", ".join(rules[:_MOST_NAMED]) + more


def _never(audit: Audit, page: Page) -> None:
    undecided = never_decided(audit)
    if undecided:
        page.heading("NEVER DECIDED - rules that no haul stated enough for")
    for each in undecided:
        most = [field for field, _ in most_first(each.tally.gap)]
        fields = ", ".join(most[:_MOST_NAMED]) or "what it asks"
        page.line(f"{each.rule.id}: a column for {fields} would decide it", lead="- ")
    wanting = most_first(audit.totals.missing_fields)
    if wanting:
        page.heading(
            "NOT STATED - fields, and how many hauls had an undecided rule for lack of them"
        )
    for field, number in wanting[:_WORST]:
        page.line(f"{field}: {field_description(field)}", lead=f"{number:>6} ")
