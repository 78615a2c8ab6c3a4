"""The problems of rule files as text: one line a problem, and the totals."""

from rich.console import Console

from checker.documents.problems import listed
from checker.reports.shared.page import Page
from checker.reports.shared.words import number_of
from checker.upkeep.all_checks import RuleFileCheck


def print_checked(checked: RuleFileCheck, console: Console, *, strict: bool) -> None:
    """Print every fault and warning on one unbroken line, then what was checked."""
    page = Page(console)
    for fault in checked.faults:
        page.drawn(str(fault))
    for warning in checked.warnings:
        page.drawn(f"{warning}{'' if strict else ' (warning)'}")
    if checked.unreleased:
        number = number_of(len(checked.unreleased), "rule id")
        page.line(f"{number} to be added at release: {listed(checked.unreleased)}")
    faults = len(checked.faults) + (len(checked.warnings) if strict else 0)
    warned = 0 if strict else len(checked.warnings)
    page.drawn(
        f"{number_of(checked.rulebooks, 'rulebook')}, {number_of(checked.rules, 'rule')}, "
        f"{number_of(checked.tables, 'table')}, {number_of(checked.amendments, 'amendment')}, "
        f"{number_of(checked.sources, 'source')}, {number_of(checked.proofs, 'proof')}: "
        f"{number_of(faults, 'fault') if faults else 'nothing wrong'}"
        + (f", {number_of(warned, 'warning')}" if warned else "")
    )
