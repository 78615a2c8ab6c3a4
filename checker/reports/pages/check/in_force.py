"""The end of a text report: how the load is held, and the rules in force."""

from collections.abc import Iterator

from checker.evaluation.check import Check
from checker.facts.restraint import Holding, holdings
from checker.reports.shared.actions import named_fields
from checker.reports.shared.glossary import words_of
from checker.reports.shared.outcome_words import number_that_do_not_apply, sources_due_for_review
from checker.reports.shared.page import Page
from checker.reports.shared.words import (
    failure_words,
    g_words,
    join_words,
    number_of,
    variance_words,
)
from checker.rulebooks.verdicts import Verdict

_SAME_G = 0.005
_SAME_SHARE = 0.005
"""Smaller than what is printed: differences of g and of shares of a limit that count as none."""


def print_held_in_short(check: Check, page: Page) -> None:
    """Print how hard each article can be pushed each way before it moves, on a line each."""
    by_article: dict[str, list[Holding]] = {}
    for each in holdings(check.facts):
        by_article.setdefault(each.article.name, []).append(each)
    for name, ways in by_article.items():
        whose = f", {name}" if len(check.load.articles) > 1 else ""
        pushed = ", ".join(f"{each.way} {g_words(each.held.acceleration_g)}" for each in ways)
        page.line(f"HELD{whose}, in shares of its weight: {pushed}")


def print_held(check: Check, page: Page) -> None:
    """How hard each article can be pushed each way before it moves, and what fails first."""
    found = list(holdings(check.facts))
    if not found:
        return
    page.heading("HELD - how hard the load can be pushed before it moves (1 g is its own weight)")
    for each in found:
        name = f"{each.article.name}, " if len(check.load.articles) > 1 else ""
        page.line(
            f"{name}{each.way}: {g_words(each.held.acceleration_g)}, on a slick deck "
            f"{g_words(each.slick_g)}; {failure_words(each.held)}{_first_full(each)}",
            lead="- ",
        )
    page.line(
        words_of(check.load)(
            "Calculated, not measured: a stiff load, every tiedown up to its working load limit, "
            "the friction stated, none on a slick deck, and a smooth road. A rough road needs more."
        )
    )


def _first_full(holding: Holding) -> str:
    """Tiedowns that are at their limit much earlier than the others take their part."""
    shared = holding.shared
    # The limits alone may hold it where the spring model finds no rest: then none has a share.
    if shared is None or holding.shared_g is None or not shared.held[0]:
        return ""
    if holding.shared_g > holding.slick_g - _SAME_G:
        return ""
    shares = shared.utilisations[:, 0]
    full = [
        name
        for name, share in zip(shared.names, shares, strict=True)
        if share >= max(shares) - _SAME_SHARE
    ]
    verb = "is" if len(full) == 1 else "are"
    return (
        f". Because of how they stretch, {join_words(full)} {verb} at the limit sooner: "
        f"on a slick deck at {g_words(holding.shared_g)}"
    )


def print_rules_in_force(check: Check, page: Page, *, full: bool) -> None:
    """Print the rulebooks in force; unless `full` only what the reader may not expect of them."""
    lines = list(_rulebooks(check, full=full)) + list(_changes(check))
    if lines:
        page.heading("RULES IN FORCE")
    for line in lines:
        page.line(line, lead="- ")
    stale = sources_due_for_review(check)
    if stale:
        page.line(f"Sources due for review: {'; '.join(stale)}")


def _rulebooks(check: Check, *, full: bool) -> Iterator[str]:
    """The rulebooks not known to be in force; with `full` all, and how many rules do not apply."""
    for entry in check.in_force:
        if entry.elsewhere:
            continue
        rules = [finding for finding in check.findings if finding.book is entry.book]
        idle = sum(finding.verdict is Verdict.DOES_NOT_APPLY for finding in rules)
        number = number_of(len(rules), "rule")
        if entry.verdict is Verdict.NOT_STATED:
            line = (
                f"{number}, not known whether they apply; not stated: {named_fields(entry.missing)}"
            )
        elif not full:
            continue
        elif entry.verdict is Verdict.DOES_NOT_APPLY:
            line = f"does not apply: {entry.because}"
        else:
            line = f"{number}, {number_that_do_not_apply(idle)}"
        version = f" ({entry.book.id} {entry.book.digest})" if full else ""
        yield f"{entry.book.title}{version}: {line}"
    elsewhere = [entry.book.jurisdiction for entry in check.in_force if entry.elsewhere]
    if elsewhere and full:
        number = number_of(len(elsewhere), "rulebook")
        yield (
            f"{number} left out, of jurisdictions the trip does not touch: "
            f"{', '.join(dict.fromkeys(elsewhere))}"
        )


def _changes(check: Check) -> Iterator[str]:
    """What amendments change and repeal, and the variances of the load."""
    for amendment in dict.fromkeys(change.amendment for change in check.changes):
        mine = [change for change in check.changes if change.amendment is amendment]
        line = f"{number_of(len(mine), 'change')} in force"
        yield f"{amendment.title} ({amendment.id} {amendment.digest}): {line}"
    for rule, change in check.repealed:
        by = f" ({change.by})" if change.by else ""
        why = f": {change.because}" if change.because else ""
        line = f"no longer holds since {change.starts}, by {change.amendment.title}{by}{why}"
        yield f"{rule.title} ({rule.id}) {line}"
    for each, standing in check.variances:
        yield f"Variance of {each.rule}, {standing}, {variance_words(each)}"
