"""The comparisons of a rule with their numbers, the one that decides, and its margin."""

from checker.advice.explain import Explanation, WorkedFormula
from checker.documents.schemas import field_kind
from checker.evaluation.finding import Finding
from checker.reports.pages.explain.figures import (
    DIGITS,
    INDENT,
    formula_words,
    number_words,
    shown_words,
)
from checker.reports.shared.comparison_words import (
    FormulaWords,
    at_row,
    found_and_wanted,
    is_worked_out,
    kind_for,
)
from checker.reports.shared.page import Page
from checker.reports.shared.words import margin_words, on_the_same_subject
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import System, show


def print_arithmetic(explanation: Explanation, page: Page, system: System) -> None:
    """Print whether the rule applies, what it requires, and the result."""
    finding = explanation.finding
    if finding is None:
        return
    page.heading("THE ARITHMETIC")
    if explanation.when:
        page.line("Whether it applies:")
        print_worked(explanation.when, explanation, page, system)
    if finding.verdict is Verdict.DOES_NOT_APPLY:
        page.line(_why_not_asked(explanation))
        return
    if explanation.requires is None:
        page.line(f"Nothing to calculate: {', '.join(finding.missing)} not stated.")
        return
    page.line("What it requires:")
    print_worked(explanation.requires, explanation, page, system)
    _print_corner(explanation, explanation.requires.deciding.row, page, system)
    for each in finding.shows:
        value = show(each.value, kind_for(each), system, digits=DIGITS)
        page.line(f"{each.label}: {value}", lead=INDENT)
    page.line(_verdict(finding, explanation, system), style="bold")
    for other in on_the_same_subject(finding, explanation.check):
        sides = found_and_wanted(other, system)
        if sides:
            wanted = f"Another figure for this: wanted {sides.wanted} [{other.rule.id}]"
            page.line(wanted, lead=INDENT)


def print_worked(
    worked: WorkedFormula, explanation: Explanation, page: Page, system: System
) -> None:
    """Print every comparison with its answer, then both sides of the one that decides."""
    spell = formula_words(worked, explanation, system)
    several = len(worked.comparisons) > 1
    for number, (comparison, truth) in enumerate(worked.comparisons, 1):
        sides = spell.sides(comparison)
        decides = " (this decides)" if several and comparison == worked.deciding else ""
        line = f"{sides.found}; wanted {sides.wanted}: {_holds(truth)}{decides}"
        page.line(line, lead=f"{INDENT}{number}. " if several else INDENT)
    _print_both_sides(worked, spell, page)


def _holds(truth: float) -> str:
    if truth != truth:
        return "not known"
    return "holds" if truth == 1 else "does not hold"


def _print_both_sides(worked: WorkedFormula, spell: FormulaWords, page: Page) -> None:
    """Print left and right side of the deciding comparison, with numbers and results."""
    deciding = worked.deciding
    if deciding.operator is None or deciding.right is None:
        return
    found, limit = spell.values_of(deciding)
    for word, side, value in (("Found", deciding.left, found), ("Limit", deciding.right, limit)):
        if alone := spell.alone(side):
            sum_words = f"{alone.rstrip(':')} = "
        elif is_worked_out(side):
            sum_words = f"{spell.arithmetic(side)} = "
        elif side in worked.thresholds:
            sum_words = f"{side.replace('_', ' ')} = "
        else:
            sum_words = ""
        page.line(f"{word}: {sum_words}{value}", lead=INDENT * 2)


def _print_corner(explanation: Explanation, row: int, page: Page, system: System) -> None:
    """Print which ends of the stated tolerances were used for the row that decides."""
    load = explanation.check.load
    if row == 0 or not load.varied:
        return
    at = [
        f"{field} {shown_words(at_row(value, row), field_kind(field) or 'number', system)}"
        for field, value in load.varied.items()
    ]
    line = f"Calculated at the worst end of the tolerances: {', '.join(at)}."
    page.line(line, lead=INDENT)


def _why_not_asked(explanation: Explanation) -> str:
    if explanation.in_force.verdict is Verdict.DOES_NOT_APPLY:
        return "Its rulebook is not in force for this load, so it does not apply."
    if explanation.finding and not explanation.finding.subjects and explanation.rule.for_each:
        return f"The load has no {explanation.rule.for_each}."
    return "So it does not apply to this load."


def _verdict(finding: Finding, explanation: Explanation, system: System) -> str:
    """The verdict, the distance from found to limit, and that as a share of the limit."""
    worked, margin = explanation.requires, margin_words(finding)
    if not margin or worked is None or worked.deciding.right is None:
        return f"Verdict: {finding.verdict}."
    deciding = worked.deciding
    kind = formula_words(worked, explanation, system).kind_of(deciding)
    apart = number_words(abs(deciding.left_value - deciding.right_value), kind, system)
    return f"Verdict: {finding.verdict}; {apart} between found and limit, {margin}."
