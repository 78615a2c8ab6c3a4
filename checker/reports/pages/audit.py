"""An audit as text: outcomes of the hauls, rules often not met, and the worst hauls."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Final

from rich.console import Console

from checker.reports.shared.audit_results import (
    NOTHING_JUDGED,
    bar,
    closest_hauls,
    doubtful_rows,
    month_by_month,
    most_often_held_first,
    outcome_parts,
    rules_near_limit,
    rules_not_met,
    warning_counts,
    without_a_rule,
    worst_hauls,
)
from checker.reports.shared.haul_command import HaulCommands
from checker.reports.shared.not_decided import not_decided
from checker.reports.shared.page import Page
from checker.reports.shared.rate_words import (
    TOO_FEW,
    by_name,
    is_ranked,
    legend,
    named_lines,
    named_words,
    per_distance_words,
    since_lines,
    tally_rate_words,
    unnamed_lines,
)
from checker.reports.shared.reading_remarks import reading_remarks, rows_read
from checker.reports.shared.season_causes import CauseWords, SeasonCauses, season_causes
from checker.reports.shared.season_names import SeasonNames
from checker.reports.shared.words import CAUTIONS, number_of, percent, share_of_limit_words
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import Audit
from checker.season.totals import Tally, Totals, WorstHaul
from checker.units.formatting import Units

NOT_COMPARED: Final = (
    "Better or worse than before: name an earlier audit (--as json) with --compare"
)
"""What the first screen says where no earlier audit was named."""
_WORST = 10
_SCREEN = 24
"""Lines of a small terminal: what they say first has to be enough to act on."""
_FIRST_CAUSES = 3
"""How many causes the first screen puts in order."""
_CHANGE = "Change"
_LAST_THINGS = 2
"""How many things to do stand at the end, above the prompt."""
_MOST_LISTED = 20
"""The greatest number of trailers, machines or crews on a terminal; a file lists all."""
_MOST_NAMED = 8
_MOST_ROWS = 3
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
    since: str = NOT_COMPARED,
    units: Units = Units.PROFILE,
    commands: HaulCommands | None = None,
) -> None:
    """Print an audit; its first 24 lines say how many, how bad, better or worse, and what first.

    `since` says in one line whether the season is better or worse than the last; `compared` prints
    that comparison. It comes at the end, before the cautions, where a long print stays in sight.
    `commands` are those that show one haul.
    """
    page = Page(console)
    causes = season_causes(audit)
    _first_screen(audit, causes, since, page)
    for print_section in _sections(units, commands):
        print_section(audit, causes, page)
    if compared is not None:
        compared(page)
    page.line()
    for caution in CAUTIONS:
        page.line(caution, style="italic")
    page.line()
    page.line(_headline(audit.totals), style="bold")
    for number, thing in enumerate(_last_things(audit, causes), 1):
        page.line(thing, lead=f"{number}. ")


def _first_screen(audit: Audit, causes: SeasonCauses, since: str, page: Page) -> None:
    """How many hauls, how bad, better or worse, what was left out, and what to do first."""
    totals = audit.totals
    page.line(f"{audit.log} ({audit.digest})", style="bold")
    page.line(rows_read(audit))
    for remark in reading_remarks(audit):
        page.line(remark, lead="! ")
    page.line(_headline(totals), style="bold")
    if not totals.all.hauls:
        return
    page.line(_how_bad(audit, causes))
    page.line(since)
    if left_out := list(_left_out(audit)):
        page.line(f"{'; '.join(left_out)}: see below", lead="! ")
    if causes.first:
        _to_do_first(audit, causes, page)
    elif totals.all.open:
        _to_state_first(audit, page)


def _to_do_first(audit: Audit, causes: SeasonCauses, page: Page) -> None:
    """The causes that take most hauls off hold, as many as the screen has room for."""
    room = _SCREEN - page.written - len(("blank", "heading"))
    shown: list[tuple[str, str]] = []
    freed = number = 0
    for number, (each, off_hold) in enumerate(causes.first[:_FIRST_CAUSES], 1):
        lines = [
            (f"{number}. ", _cause_line(each)),
            ("   ", each.action),
            ("   ", f"{_CHANGE}: {'; '.join(each.change)}"),
        ]
        room -= sum(page.lines_for(text, lead=lead) for lead, text in lines)
        if shown and room < 0:
            number -= 1
            break
        shown += lines
        freed = off_hold
    if shown:
        page.heading(
            f"WHAT TO DO FIRST - {number_of(number, 'cause')} of {causes.holding}: "
            f"{freed} of {audit.totals.all.held} off hold"
        )
    for lead, text in shown:
        page.line(text, lead=lead, style="bold" if lead.strip() else "")


def _to_state_first(audit: Audit, page: Page) -> None:
    """What to state where nothing is on hold and something is undecided."""
    page.heading("WHAT TO STATE FIRST - what would decide most rules")
    for number, each in enumerate(not_decided(audit).fields[:_FIRST_CAUSES], 1):
        page.line(f"{each.field} ({each.words})", lead=f"{number}. ")


def _how_bad(audit: Audit, causes: SeasonCauses) -> str:
    """The share of hauls on hold, and the worst of them."""
    tally = audit.totals.all
    share = f"On hold: {percent(tally.held / tally.hauls)} of the hauls"
    worst = causes.worst_first(worst_hauls(audit))
    if not worst:
        return share
    heads = causes.heads(worst[0].broken)
    why = f", for {number_of(len(heads), 'cause')}" if heads else ""
    return f"{share}; the worst is {_haul(audit, worst[0])}{why}"


def _left_out(audit: Audit) -> Iterator[str]:
    totals = audit.totals
    if totals.unread_hauls:
        yield f"{number_of(totals.unread_hauls, 'haul')} in a place without a rulebook"
    elif totals.unread_subjects:
        yield f"law not looked at in {number_of(len(totals.unread_subjects), 'place')}"
    if totals.doubted.hauls:
        yield f"doubtful figures in {number_of(totals.doubted.hauls, 'haul')}"
    if audit.refused:
        yield f"{number_of(audit.refused, 'row')} refused"


def _cause_line(each: CauseWords) -> str:
    return f"{each.cause.hauls} on hold: {each.statement} [{each.rule}], {each.who}"


def _last_things(audit: Audit, causes: SeasonCauses) -> list[str]:
    """What to do about the rules of the first causes, for the lines above the prompt."""
    actions = {each.rule.id: " ".join(each.actions) for each in rules_not_met(audit)}
    return list(dict.fromkeys(actions[each.rule] for each, _ in causes.first))[:_LAST_THINGS]


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


def _warnings(audit: Audit, _: SeasonCauses, page: Page) -> None:
    """Law that was not read, and doubtful figures and dates with the first rows that have them."""
    warned = warning_counts(audit)
    if warned:
        page.heading("NOT READ, OR DOUBTFUL - these hauls are counted all the same")
    rows = doubtful_rows(audit)
    for what, which, number in warned:
        first = [f"row {row} ({words})" for *about, row, words in rows if about == [what, which]]
        named = f": {'; '.join(first[:_MOST_ROWS])}" if first else ""
        page.line(f"{number_of(number, 'haul')}: {what} {which}{named}", lead="! ")
    if audit.totals.doubted.hauls:
        page.line(f"In all with a doubtful figure: {_tally_words(audit.totals.doubted)}")


def _refusals(audit: Audit, _: SeasonCauses, page: Page) -> None:
    if audit.refused:
        page.heading("REFUSED - these rows were not checked")
    for each in audit.refusals[:_WORST]:
        page.line(f"row {each.row}: {each.reason}", lead="- ")
    if audit.refused > _WORST:
        page.line(f"and {audit.refused - _WORST} more", lead="- ")


def _causes(_: Audit, causes: SeasonCauses, page: Page) -> None:
    """Every cause with the rules that come with it, those that hold hauls first."""
    if causes.all:
        page.heading("CAUSES - rules that fail for one reason are one; the must-rules first")
    for each in causes.all:
        level = "" if each.cause.level == "must" else " (should)"
        lead = f"{each.cause.hauls:>6} "
        page.line(f"{each.statement}{level} [{each.rule}]", lead=lead)
        indent = " " * len(lead)
        page.line("; ".join(filter(None, (each.who, each.where))), lead=indent)
        if each.change and each.cause.level == "must":
            page.line(f"{_CHANGE}: {'; '.join(each.change)}", lead=indent)
        if each.also:
            others = ", ".join(f"{rule} ({hauls})" for rule, _, hauls in each.also)
            page.line(f"with it: {others}", lead=indent)


def _named(audit: Audit, _: SeasonCauses, page: Page) -> None:
    """Who or what is on hold more often than chance explains, and what the figures mean."""
    if not audit.checked:
        return
    page.heading("MORE OFTEN ON HOLD THAN CHANCE EXPLAINS")
    for line in named_lines(audit) or ["nothing: what differs below may be chance"]:
        page.line(line, lead="- ")
    for line in (*since_lines(audit), *unnamed_lines(audit)):
        page.line(line, lead="- ")
    for line in legend(audit):
        page.line(line)


def _months(audit: Audit, _: SeasonCauses, page: Page) -> None:
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


def _tables(audit: Audit, _: SeasonCauses, page: Page, *, units: Units) -> None:
    for kind, heading in _HEADINGS.items():
        _table(kind, heading, audit, page, units)


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


def _worst(audit: Audit, causes: SeasonCauses, page: Page) -> None:
    held = causes.worst_first(worst_hauls(audit))[:_WORST]
    if held:
        page.heading("THE WORST - most causes, then most rules, then the farthest from a limit")
    for number, each in enumerate(held, 1):
        heads = causes.heads(each.broken)
        why = [
            f"{rule} (and {others} with it)" if others else rule for rule, others in heads.items()
        ]
        page.line(
            f"{_haul(audit, each)}: {_some(why) or without_a_rule(each)}", lead=f"{number:>2}. "
        )


def _near(audit: Audit, _: SeasonCauses, page: Page) -> None:
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


def _not_decided(audit: Audit, _: SeasonCauses, page: Page) -> None:
    """Rules never decided with what would decide them, and the fields that would decide most."""
    found = not_decided(audit)
    if found.never:
        page.heading("NEVER DECIDED - rules, in how many hauls, and what would decide them")
    alike: dict[tuple[int, str], list[str]] = {}
    for each in found.never:
        alike.setdefault((each.hauls, each.words), []).append(each.rule.rule.id)
    for (hauls, words), rules in alike.items():
        page.line(f"[{'], ['.join(rules)}]: {words}", lead=f"{hauls:>6} ")
    if found.fields:
        page.heading("NOT STATED - fields, the one that alone would decide most rules first")
    for field in found.fields[:_WORST]:
        page.line(f"{field.field} ({field.words}): {field.description}", lead="- ")


def _one_row(_: Audit, __: SeasonCauses, page: Page, *, commands: HaulCommands | None) -> None:
    if commands is not None:
        page.line()
        page.line(f"Any row in full: {commands.check('ROW')}")
        page.line(f"One rule of it: {commands.explain('ROW')}")


def _sections(
    units: Units, commands: HaulCommands | None
) -> Sequence[Callable[[Audit, SeasonCauses, Page], None]]:
    """What follows the first screen, in this order."""
    return (
        _warnings,
        _refusals,
        _causes,
        _named,
        _months,
        partial(_tables, units=units),
        _worst,
        _near,
        partial(_one_row, commands=commands),
        _not_decided,
    )
