"""The first 24 lines of an audit: how many hauls, how bad, better or worse, and what first."""

from collections.abc import Iterator
from typing import Final

from checker.reports.pages.audit.counts import CHANGE, haul_words, headline
from checker.reports.shared.audit_results import (
    worst_hauls,
)
from checker.reports.shared.not_decided import not_decided
from checker.reports.shared.page import Page
from checker.reports.shared.rate_words import tenths_words
from checker.reports.shared.reading_remarks import reading_remarks, rows_read
from checker.reports.shared.season_causes import CauseWords, SeasonCauses
from checker.reports.shared.words import number_of
from checker.season.audit import Audit

NOT_COMPARED: Final = (
    "Better or worse than before: name an earlier audit (--as json) with --compare"
)
"""What the first screen says where no earlier audit was named."""
_SCREEN = 24
"""Lines of a small terminal: what they say first has to be enough to act on."""
_FIRST_CAUSES = 3
"""How many causes the first screen puts in order."""


def print_first_screen(audit: Audit, causes: SeasonCauses, since: str, page: Page) -> None:
    """How many hauls, how bad, better or worse, what was left out, and what to do first."""
    totals = audit.totals
    page.line(f"{audit.log} ({audit.digest})", style="bold")
    page.line(rows_read(audit))
    for remark in reading_remarks(audit):
        page.line(remark, lead="! ")
    page.line(headline(totals), style="bold")
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
            ("   ", f"{CHANGE}: {'; '.join(each.change)}"),
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
    """The share of decided hauls on hold, how many are open, and the worst of all."""
    tally = audit.totals.all
    decided = tally.hauls - tally.open
    share = f"On hold: {tally.held} of {number_of(decided, 'decided haul')}"
    share += f" ({tenths_words(tally.held / decided)})" if decided else ""
    share += f"; {tally.open} open" if tally.open else ""
    worst = causes.worst_first(worst_hauls(audit))
    if not worst:
        return share
    heads = causes.heads(worst[0].broken)
    why = f", for {number_of(len(heads), 'cause')}" if heads else ""
    return f"{share}; the worst is {haul_words(audit, worst[0])}{why}"


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
