"""An audit as text: outcomes of the hauls, rules often not met, and the worst hauls."""

from collections.abc import Callable, Sequence
from functools import partial

from rich.console import Console

from checker.reports.pages.audit.counts import CHANGE, haul_words, headline, tally_words
from checker.reports.pages.audit.first_screen import NOT_COMPARED, print_first_screen
from checker.reports.pages.audit.rates import print_months, print_named, print_tables
from checker.reports.shared.audit_results import (
    closest_hauls,
    doubtful_rows,
    first_open_hauls,
    rules_near_limit,
    rules_not_met,
    warning_counts,
    why_open,
    without_a_rule,
    worst_hauls,
)
from checker.reports.shared.haul_command import HaulCommands
from checker.reports.shared.log_remarks import unit_of
from checker.reports.shared.not_decided import not_decided
from checker.reports.shared.page import Page
from checker.reports.shared.season_causes import WORST_ORDER, SeasonCauses, season_causes
from checker.reports.shared.words import CAUTIONS, number_of, percent, share_of_limit_words
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import Audit
from checker.units.formatting import Units

_WORST = 10
_LAST_THINGS = 2
"""How many things to do stand at the end, above the prompt."""
_MOST_NAMED = 8
_MOST_ROWS = 3


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
    print_first_screen(audit, causes, since, page)
    for print_section in _sections(units, commands):
        print_section(audit, causes, page)
    if compared is not None:
        compared(page)
    page.line()
    for caution in CAUTIONS:
        page.line(caution, style="italic")
    page.line()
    page.line(headline(audit.totals), style="bold")
    for number, thing in enumerate(_last_things(audit, causes), 1):
        page.line(thing, lead=f"{number}. ")


def _last_things(audit: Audit, causes: SeasonCauses) -> list[str]:
    """What to do about the rules of the first causes, for the lines above the prompt."""
    actions = {each.rule.id: " ".join(each.actions) for each in rules_not_met(audit)}
    return list(dict.fromkeys(actions[each.rule] for each, _ in causes.first))[:_LAST_THINGS]


def _warnings(audit: Audit, _: SeasonCauses, page: Page) -> None:
    """Law that was not read, and doubtful figures and dates with the first rows that have them."""
    warned = warning_counts(audit)
    if warned:
        page.heading("NOT READ, OR DOUBTFUL")
    rows = doubtful_rows(audit)
    for what, which, number in warned:
        first = [f"row {row} ({words})" for *about, row, words in rows if about == [what, which]]
        named = f": {'; '.join(first[:_MOST_ROWS])}" if first else ""
        page.line(f"{number_of(number, unit_of(what))}: {what} {which}{named}", lead="! ")
    if audit.totals.doubted.hauls:
        page.line(f"In all with a doubtful figure: {tally_words(audit.totals.doubted)}")


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
            page.line(f"{CHANGE}: {'; '.join(each.change)}", lead=indent)
        if each.also:
            others = ", ".join(f"{rule} ({hauls})" for rule, _, hauls in each.also)
            page.line(f"with it: {others}", lead=indent)


def _worst(audit: Audit, causes: SeasonCauses, page: Page) -> None:
    held = causes.worst_first(worst_hauls(audit))[:_WORST]
    if held:
        page.heading(f"THE WORST - {WORST_ORDER}")
    for number, each in enumerate(held, 1):
        heads = causes.heads(each.broken)
        why = [
            f"{rule} (and {others} with it)" if others else rule for rule, others in heads.items()
        ]
        page.line(
            f"{haul_words(audit, each)}: {_some(why) or without_a_rule(each)}",
            lead=f"{number:>2}. ",
        )


def _open(audit: Audit, _: SeasonCauses, page: Page) -> None:
    """The first open hauls with the fields to state, and how many more there are."""
    hauls = first_open_hauls(audit)[:_WORST]
    if hauls:
        page.heading("OPEN - what to state first; most must-rules undecided come first")
    for each in hauls:
        page.line(f"{haul_words(audit, each)}: {why_open(each)}", lead="- ")
    if more := audit.totals.all.open - len(hauls):
        page.line(f"and {more} more; --write html=FILE lists all", lead="- ")


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
        page.line(f"{haul_words(audit, haul)}: {margin}{_some(haul.near)}", lead="- ")


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


def _one_row(audit: Audit, _: SeasonCauses, page: Page, *, commands: HaulCommands | None) -> None:
    if commands is not None and audit.checked:
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
        print_named,
        print_months,
        partial(print_tables, units=units),
        _worst,
        _open,
        _near,
        partial(_one_row, commands=commands),
        _not_decided,
    )
