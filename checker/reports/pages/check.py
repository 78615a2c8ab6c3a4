"""A check on a terminal: outcome first, then what to fix, then every rule by question."""

from collections.abc import Iterator, Mapping, Sequence

from rich.console import Console

from checker.advice.fixes import Fix
from checker.documents.schemas import field_description
from checker.evaluation.check import Check, Finding, deciding_fields
from checker.evaluation.gate import is_near
from checker.evaluation.outcome import Outcome
from checker.facts.restraint import Holding, holdings
from checker.reports.shared.check_results import first_things, note_lines, warnings
from checker.reports.shared.comparison_words import found_and_wanted, kind_for
from checker.reports.shared.deck_section import print_deck
from checker.reports.shared.outcome_words import (
    headline,
    near_words,
    number_that_do_not_apply,
    sources_due_for_review,
    total_words,
)
from checker.reports.shared.page import Page
from checker.reports.shared.scene_building import build_scene
from checker.reports.shared.words import (
    CAUTIONS,
    amended_words,
    failure_words,
    g_words,
    is_strictest,
    join_words,
    margin_words,
    number_of,
    on_the_same_subject,
    smallest_change_words,
    sources,
    variance_words,
)
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import System, show

QUESTIONS = {
    "placement": "PLACEMENT - does the machine stand right on the deck?",
    "tiedowns": "TIEDOWNS - is it tied down right?",
    "coupling": "COUPLING - is the trailer hitched right?",
    "walk-around": "WALK-AROUND - was everything checked?",
    "trip": "TRIP - the road and the stops",
    "limits": "LIMITS - ratings, sizes, licence",
}
_WORDS = {
    Verdict.NOT_MET: "NOT MET",
    Verdict.TOO_CLOSE: "CLOSE",
    Verdict.NOT_STATED: "UNKNOWN",
    Verdict.MET: "met",
}
_STYLES = {
    Verdict.NOT_MET: "bold red",
    Verdict.TOO_CLOSE: "bold yellow",
    Verdict.NOT_STATED: "yellow",
    Verdict.MET: "green",
}
_OUTCOME_STYLES = {
    Outcome.HOLD: "bold red",
    Outcome.OPEN: "bold yellow",
    Outcome.NO_RULE_BROKEN: "bold green",
}
_COLUMN = max(map(len, _WORDS.values())) + 1
_INDENT = " " * _COLUMN
_MOST_FIELDS_NAMED = 4
_SAME_G = 0.005
_SAME_SHARE = 0.005
"""Smaller than what is printed: differences of g and of shares of a limit that count as none."""


def print_check(
    check: Check,
    console: Console,
    system: System,
    fixes: Mapping[str, Sequence[Fix]],
    near: float,
    *,
    full: bool = False,
) -> None:
    """Print one check; colour only repeats what the words say.

    `fixes` holds the smallest changes by rule id, for rules that are not met; rules met by no more
    than the share `near` of their limit are named at the top. Unless `full`, rules met with more
    room are one line for each question, and rules that wait for the same fields are listed
    together.
    """
    page = Page(console)
    with page.at_once():
        _head(check, page, near)
        _first_things(check, page)
        _state_next(check, page)
        print_deck(build_scene(check), page, system, from_the_side=full)
        for question, heading in QUESTIONS.items():
            findings = [finding for finding in _shown(check) if finding.rule.question == question]
            if findings:
                page.heading(heading)
                _question(findings, check, page, system, fixes, None if full else near)
        _restraint(check, page)
        _rules_in_force(check, page, full=full)
        if not full:
            page.heading("MORE")
            page.line("Every rule by itself, with its source, and the load from the side: --full")
            page.line("One rule step by step: cinchbook explain PROFILE RULE")
        page.line()
        for caution in CAUTIONS:
            page.line(caution, style="italic")


def _question(
    findings: Sequence[Finding],
    check: Check,
    page: Page,
    system: System,
    fixes: Mapping[str, Sequence[Fix]],
    near: float | None,
) -> None:
    """The rules of one question, the worst first; rules met with room are folded."""
    order, levels = list(_WORDS), ["must", "should"]
    waiting: dict[object, list[Finding]] = {}
    met: list[Finding] = []
    for finding in sorted(
        findings, key=lambda each: (order.index(each.verdict), levels.index(each.rule.level))
    ):
        if near is not None and finding.verdict is Verdict.NOT_STATED:
            waits_for = finding.reason or finding.missing
            waiting.setdefault(waits_for, []).append(finding)
        elif near is not None and _folds(finding, near):
            met.append(finding)
        else:
            _entry(finding, check, page, system, fixes.get(finding.rule.id, ()))
    for group in waiting.values():
        _waiting(group, check, page)
    if met:
        _met(met, check, page, system, others=len(met) < len(findings))


def _folds(finding: Finding, near: float) -> bool:
    """True if a rule needs no entry of its own: met with room, by an unamended number."""
    met = finding.verdict is Verdict.MET
    return met and not is_near(finding, near) and not amended_words(finding)


def _waiting(group: Sequence[Finding], check: Check, page: Page) -> None:
    """Undecided rules that wait for the same fields: their titles, then the fields once."""
    lead = _lead(Verdict.NOT_STATED)
    for finding in group:
        line = f"{_title(finding)} [{finding.rule.id}]"
        page.line(line, lead=lead, lead_style=_STYLES[Verdict.NOT_STATED])
        lead = _INDENT
    where = _where(group[0], check) if len(group) == 1 else ""
    page.line(f"{where}{_gap(group[0])}", lead=_INDENT)


def _met(
    findings: Sequence[Finding], check: Check, page: Page, system: System, *, others: bool
) -> None:
    """The number of rules met, and the one with the least room."""
    number = number_of(len(findings), "other rule" if others else "rule")
    closest = min(
        (each for each in findings if _has_room(each)),
        key=lambda each: each.margin or 0.0,
        default=None,
    )
    tail = ""
    if closest is not None:
        side = next(_sides(closest, _where(closest, check), system), "")
        tail = f"; the closest to its limit: {side} [{closest.rule.id}]"
    page.line(f"{number}{tail}", lead=_lead(Verdict.MET), lead_style=_STYLES[Verdict.MET])


def _has_room(finding: Finding) -> bool:
    """True if its margin says how near its limit it is: not for counts and exact sizes."""
    deciding = finding.governing
    return margin_words(finding) is not None and deciding is not None and deciding.operator != "=="


def _shown(check: Check) -> Iterator[Finding]:
    """The findings to list one by one: those that apply, of rulebooks known to be in force."""
    undecided = [entry.book for entry in check.in_force if entry.verdict is Verdict.NOT_STATED]
    for finding in check.findings:
        if finding.verdict is not Verdict.DOES_NOT_APPLY and finding.book not in undecided:
            yield finding


def _head(check: Check, page: Page, near: float) -> None:
    page.line(check.load.title, style="bold")
    page.line(f"{check.load.file}, checked for {check.on.isoformat()}")
    for line in note_lines(check):
        page.line(line)
    page.line()
    page.line(headline(check), style=_OUTCOME_STYLES[check.outcome])
    page.line(total_words(check.findings))
    close = near_words(check, near)
    if close:
        page.line(close)
    warned: dict[str, list[str]] = {}
    for each in warnings(check):
        warned.setdefault(each.words, []).append(str(each.location))
    for words, locations in warned.items():
        page.line(f"{words} ({', '.join(locations)})", lead="! ", lead_style="bold yellow")


def _first_things(check: Check, page: Page) -> None:
    """The first things to do, as a list."""
    things = first_things(check)
    if things:
        page.heading("DO FIRST")
    for number, thing in enumerate(things, 1):
        page.line(thing, lead=f"{number}. ")


def _state_next(check: Check, page: Page) -> None:
    """The few fields that would decide the most rules, each with its meaning."""
    fields = deciding_fields(check.findings)
    if fields:
        page.heading("STATE NEXT - these fields would decide the most rules")
    for path, decided in fields:
        effect = f"decides {decided} more" if decided else "needed together with the others"
        page.line(f"{path}: {field_description(path)} ({effect})", lead="- ")


def _entry(
    finding: Finding, check: Check, page: Page, system: System, fixes: Sequence[Fix]
) -> None:
    """One rule: a line with verdict and title, and below it the working and the source."""
    page.line(_title(finding), lead=_lead(finding.verdict), lead_style=_STYLES[finding.verdict])
    for detail in (
        *_details(finding, check, system),
        *(smallest_change_words(fix, check, system) for fix in fixes),
        _cited(finding),
    ):
        page.line(detail, lead=_INDENT)


def _lead(verdict: Verdict) -> str:
    return f"{_WORDS[verdict]:<{_COLUMN}}"


def _title(finding: Finding) -> str:
    return finding.rule.title + ("" if finding.rule.level == "must" else " (should)")


def _details(finding: Finding, check: Check, system: System) -> Iterator[str]:
    where = _where(finding, check)
    if finding.verdict is Verdict.NOT_STATED:
        yield f"{where}{_gap(finding)}"
    elif finding.verdict is not Verdict.MET or finding.margin is not None:
        # For a wanted yes the title says it all; anything else shows both sides.
        yield from _sides(finding, where, system)
    yield from amended_words(finding)
    if finding.variance:
        yield f"Variance {variance_words(finding.variance)}"
    if finding.verdict in (Verdict.NOT_MET, Verdict.TOO_CLOSE):
        yield f"Why: {finding.rule.because}"
        yield f"Do: {finding.rule.fix}"
    yield from _other_figures(finding, check, system)
    if finding.settled_by:
        meaning = field_description(finding.settled_by)
        yield f"To settle it, measure {finding.settled_by} more closely: {meaning}"
    if finding.metric_print:
        yield "Uses the printed metric figures, which are stricter here."


def _other_figures(finding: Finding, check: Check, system: System) -> Iterator[str]:
    """What other rules require on the same subject, and which of them leaves the least room."""
    others = on_the_same_subject(finding, check)
    for other in others:
        sides = found_and_wanted(other, system)
        if sides:
            yield f"Another figure for this: wanted {sides.wanted} [{other.rule.id}]"
    if others and is_strictest(finding, others):
        yield "This one is the stricter and decides."


def _cited(finding: Finding) -> str:
    return f"[{finding.rule.id}] {'; '.join(sources(finding))}"


def _restraint(check: Check, page: Page) -> None:
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
        "Calculated, not measured: a stiff load, every tiedown up to its working load limit, the "
        "friction stated, none on a slick deck, and a smooth road. A rough road needs more."
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


def _where(finding: Finding, check: Check) -> str:
    """The article, tiedown or axle that decides, unless the load has only one article."""
    subject = finding.subject
    if subject is None or (subject.each == "article" and len(check.load.articles) == 1):
        return ""
    return f"{subject.name}: "


def _sides(finding: Finding, where: str, system: System) -> Iterator[str]:
    sides = found_and_wanted(finding, system)
    if sides:
        margin = margin_words(finding)
        tail = f" ({margin})" if margin else ""
        yield f"{where}{sides.found}; wanted {sides.wanted}{tail}"
    for shown in finding.shows:
        yield f"{shown.label}: {show(shown.value, kind_for(shown), system, digits=3)}"


def _gap(finding: Finding) -> str:
    """What an undecided rule needs."""
    if finding.reason:
        return finding.reason
    named = ", ".join(finding.missing[:_MOST_FIELDS_NAMED])
    rest = len(finding.missing) - _MOST_FIELDS_NAMED
    return f"not stated: {named}" + (f" and {rest} more" if rest > 0 else "")


def _rules_in_force(check: Check, page: Page, *, full: bool) -> None:
    """The rulebooks in force, and how many of their rules do not apply."""
    page.heading("RULES IN FORCE")
    listed_together = []
    for entry in check.in_force:
        if entry.elsewhere:
            continue
        rules = [finding for finding in check.findings if finding.book is entry.book]
        idle = sum(finding.verdict is Verdict.DOES_NOT_APPLY for finding in rules)
        number = number_of(len(rules), "rule")
        if entry.verdict is Verdict.NOT_STATED:
            named = ", ".join(entry.missing[:_MOST_FIELDS_NAMED])
            line = f"{number}, not known whether they apply; not stated: {named}"
        elif entry.verdict is Verdict.DOES_NOT_APPLY:
            line = f"does not apply: {entry.because}"
        elif full:
            line = f"{number}, {number_that_do_not_apply(idle)}"
        else:
            listed_together.append(entry.book.title)
            continue
        version = f" ({entry.book.id} {entry.book.digest})" if full else ""
        page.line(f"{entry.book.title}{version}: {line}", lead="- ")
    if listed_together:
        page.line("; ".join(listed_together), lead="- ")
    for amendment in dict.fromkeys(change.amendment for change in check.changes):
        mine = [change for change in check.changes if change.amendment is amendment]
        line = f"{number_of(len(mine), 'change')} in force"
        page.line(f"{amendment.title} ({amendment.id} {amendment.digest}): {line}", lead="- ")
    for rule, change in check.repealed:
        by = f" ({change.by})" if change.by else ""
        why = f": {change.because}" if change.because else ""
        line = f"no longer holds since {change.starts}, by {change.amendment.title}{by}{why}"
        page.line(f"{rule.title} ({rule.id}) {line}", lead="- ")
    elsewhere = [entry.book.jurisdiction for entry in check.in_force if entry.elsewhere]
    if elsewhere:
        locations = f": {', '.join(dict.fromkeys(elsewhere))}" if full else ""
        number = number_of(len(elsewhere), "rulebook")
        page.line(
            f"{number} left out, of jurisdictions the trip does not touch{locations}", lead="- "
        )
    for each, standing in check.variances:
        page.line(f"Variance of {each.rule}, {standing}, {variance_words(each)}", lead="- ")
    stale = sources_due_for_review(check)
    if stale:
        page.line(f"Sources due for review: {'; '.join(stale)}")
