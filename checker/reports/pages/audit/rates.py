"""How often trailers, machines, crews and months are on hold, and what chance explains."""

from checker.reports.pages.audit.counts import tally_words
from checker.reports.shared.audit_results import (
    bar,
    month_by_month,
    most_often_held_first,
    outcome_parts,
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
    since_lines,
    tally_rate_words,
    unnamed_lines,
)
from checker.reports.shared.season_causes import SeasonCauses
from checker.reports.shared.season_names import SeasonNames
from checker.reports.shared.words import number_of
from checker.season.audit import Audit
from checker.season.totals import Tally
from checker.units.formatting import Units

_MOST_LISTED = 20
"""The greatest number of trailers, machines or crews on a terminal; a file lists all."""
_SIGNS = ("#", "o", "~", ".")
"""The characters of a bar: hauls on hold, open, near a limit, and the rest."""
_LONGEST_BAR, _SHORTEST_BAR = 40, 10
_HEADINGS = {
    "trailer": "BY TRAILER",
    "machine": "BY MACHINE",
    "tow vehicle": "BY TOW VEHICLE",
    "crew": "BY CREW",
}


def print_named(audit: Audit, _: SeasonCauses, page: Page) -> None:
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


def print_months(audit: Audit, _: SeasonCauses, page: Page) -> None:
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


def print_tables(audit: Audit, _: SeasonCauses, page: Page, *, units: Units) -> None:
    """The counts by trailer, machine, tow vehicle and crew, with how often each is on hold."""
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
        line = f"{names.printed(kind, key)}: {tally_words(tally)}"
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
