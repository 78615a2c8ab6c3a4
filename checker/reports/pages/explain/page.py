"""The page: verdict, rule, formulas, facts, numbers, arithmetic, what would change it."""

from rich.console import Console

from checker.advice.explain import Explanation
from checker.reports.pages.explain.arithmetic import print_arithmetic, print_worked
from checker.reports.pages.explain.change import changes
from checker.reports.pages.explain.facts import print_facts
from checker.reports.pages.explain.figures import DIGITS, INDENT
from checker.reports.pages.explain.numbers import cited, print_numbers
from checker.reports.shared.comparison_words import FormulaWords
from checker.reports.shared.glossary import words_of
from checker.reports.shared.page import Page
from checker.reports.shared.place_words import facts_in_words
from checker.reports.shared.words import CAUTIONS, number_of
from checker.rulebooks.formula import Formula
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import System

_STYLES = {
    Verdict.NOT_MET: "bold red",
    Verdict.TOO_CLOSE: "bold yellow",
    Verdict.NOT_STATED: "bold yellow",
    Verdict.MET: "bold green",
    Verdict.DOES_NOT_APPLY: "bold",
}


def print_explanation(explanation: Explanation, console: Console, system: System) -> None:
    """Print the whole working; colour only repeats what the words say."""
    page = Page(console)
    with page.at_once():
        _print_sections(explanation, page, system)


def _print_sections(explanation: Explanation, page: Page, system: System) -> None:
    _print_head(explanation, page)
    _print_rule(explanation, page, system)
    _print_formulas(explanation, page, system)
    print_facts(explanation, page, system)
    print_numbers(explanation, page)
    print_arithmetic(explanation, page, system)
    page.heading("WHAT WOULD CHANGE IT")
    for line in changes(explanation, system):
        page.line(line, lead="- ")
    _print_others(explanation, page)
    page.line()
    for caution in CAUTIONS:
        page.line(caution, style="italic")


def _print_head(explanation: Explanation, page: Page) -> None:
    check, finding = explanation.check, explanation.finding
    verdict = finding.verdict if finding else Verdict.DOES_NOT_APPLY
    page.line(explanation.rule.title, style="bold")
    page.line(f"on: {check.load.title}")
    page.line(f"{check.load.file}, checked for {check.on.isoformat()}")
    page.line()
    subject = finding.subject if finding else None
    who = f", decided by {words_of(check.load).name(subject)}" if subject else ""
    page.line(f"{verdict.upper()}{who}", style=_STYLES[verdict])


def _print_rule(explanation: Explanation, page: Page, system: System) -> None:
    rule, book = explanation.rule, explanation.book
    page.heading("THE RULE")
    for line in (
        f"Id: {rule.id}, at {rule.location}",
        f"Rulebook: {book.title} ({book.id} {book.digest}), jurisdiction {book.jurisdiction}",
        f"Level: {rule.level}. Basis: {rule.basis}.",
        f"Source: {cited(rule.citation)}",
        f"Why: {rule.because}",
        f"In force: {_in_force(explanation)}",
    ):
        page.line(line)
    if explanation.scope:
        print_worked(explanation.scope, explanation, page, system)


def _in_force(explanation: Explanation) -> str:
    """Whether the rulebook applies, and why; its condition follows below."""
    entry, repeal = explanation.in_force, explanation.repealed
    if repeal:
        why = f": {repeal.because}" if repeal.because else ""
        return f"no; repealed since {repeal.starts} by {repeal.amendment.title}{why}"
    days = explanation.rule.days
    if days and not days.holds_on(explanation.check.on):
        return f"no; in force {days}"
    match entry.verdict:
        case Verdict.DOES_NOT_APPLY:
            return f"no. {entry.because[0].upper()}{entry.because[1:]}"
        case Verdict.NOT_STATED:
            return f"not known; not stated: {', '.join(entry.missing)}"
        case Verdict.TOO_CLOSE:
            return "too close to call, within the tolerances stated"
    if explanation.scope and explanation.book.scope:
        return f"yes. {explanation.book.scope.because}"
    if explanation.book.jurisdiction == "any":
        return "yes, wherever the trip goes"
    return f"yes; the trip goes to {', '.join(explanation.check.load.trip.places or ())}"


def _print_formulas(explanation: Explanation, page: Page, system: System) -> None:
    """Print every formula as written in the rule file, then in words; `when` comes first."""
    rule = explanation.rule
    values = {
        name: threshold.on(explanation.check.on) for name, threshold in rule.thresholds.items()
    }
    spell = FormulaWords(
        facts=facts_in_words(words_of(explanation.check.load)),
        thresholds={name: value for name, value in values.items() if value},
        values={},
        system=system,
        metric=explanation.finding is not None and explanation.finding.metric_print,
        digits=DIGITS,
        reckon=True,
    )
    page.heading("WHAT IT SAYS")
    scope = f"for each {rule.for_each}" if rule.for_each else "once for the load"
    page.line(f"Evaluated {scope}.")
    _print_formula("When", rule.when, spell, page)
    _print_formula("Requires", rule.requires, spell, page)
    for label, formula in rule.shows.items():
        _print_formula(f"Shows {label}", formula, spell, page)


def _print_formula(word: str, formula: Formula | None, spell: FormulaWords, page: Page) -> None:
    if formula is None:
        page.line(f"{word}: always")
        return
    page.line(f"{word}: {' '.join(formula.text.split())}")
    page.line(f"in words: {spell.formula(formula.text)}", lead=INDENT)


def _print_others(explanation: Explanation, page: Page) -> None:
    """Every other article, tiedown or axle with its own verdict."""
    finding = explanation.finding
    others = [pair for pair in finding.subjects if pair[0] != finding.subject] if finding else []
    if not others:
        return
    page.heading(f"THE OTHERS - {number_of(len(others), others[0][0].each)} besides it")
    for subject, verdict in others:
        page.line(f"{words_of(explanation.check.load).name(subject)}: {verdict}", lead="- ")
