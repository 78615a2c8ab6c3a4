"""`cinchbook explain`: the working of one rule on one load."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker.cli.chosen_rules import find_rule, read_rules
from checker.cli.hauls_of_logs import haul_name, read_named_haul
from checker.cli.options import (
    BROKEN,
    NO_RULE_BROKEN,
    UNDECIDED,
    ColumnsOption,
    DayOption,
    Format,
    FormatOption,
    RootOption,
    RulesOption,
    UnitsOption,
    day_of,
    print_json,
    read_single_profile,
    units_of,
)
from checker.cli.output import console

if TYPE_CHECKING:
    from checker.evaluation.finding import Finding


def run(
    profile: Annotated[
        Path,
        typer.Argument(
            metavar="PROFILE",
            help="Load profile file; or LOG#ROW, a haul of a log by its row or its own number.",
        ),
    ],
    rule_id: Annotated[str, typer.Argument(metavar="RULE", help="Id of the rule.")],
    rules: RulesOption = None,
    on: DayOption = None,
    units: UnitsOption = None,
    root: RootOption = None,
    columns: ColumnsOption = None,
    form: FormatOption = Format.TEXT,
) -> None:
    """Show how one rule was checked, line by line: facts, numbers, sums, what would change it.

    Example: cinchbook explain profiles/loads/side-by-side-in-order.yaml tongue-share-ball

    Example: cinchbook explain seasons/2026/hauls.csv#17 tongue-share-ball

    Exit codes: 0 met or does not apply, or a should-rule is not met; 1 a must-rule is not met; 2 a
    problem in the input or the call; 3 undecided.
    """
    from checker.advice.explain import explain
    from checker.evaluation.tolerances import check_profile
    from checker.reports.data import explain as data
    from checker.reports.pages.explain.page import print_explanation
    from checker.reports.shared.glossary import words_of
    from checker.reports.shared.place_words import rulebooks_in_words
    from checker.reports.shared.written_units import system_of

    haul = haul_name(str(profile))
    read_by = read_rules(rules) if haul else None
    read = (
        read_named_haul(haul, columns, root, read_by).profile
        if haul and read_by
        else read_single_profile(profile, root)
    )
    system = system_of(read.stated, units_of(units))
    rulebooks = rulebooks_in_words(read_by or read_rules(rules), words_of(read.stated), system)
    find_rule(rulebooks, rule_id)
    done = check_profile(read, rulebooks, day_of(read, on))
    explained = explain(read, done, rulebooks, rule_id)
    if form is Format.JSON:
        print_json(data.document(explained))
    else:
        print_explanation(explained, console(), system)
    raise typer.Exit(_exit_code(explained.finding))


def _exit_code(finding: "Finding | None") -> int:
    """The exit code of a check of this rule alone; a should-rule not met counts as passed."""
    from checker.rulebooks.verdicts import Verdict

    if finding is None:
        return NO_RULE_BROKEN
    if finding.verdict in (Verdict.NOT_STATED, Verdict.TOO_CLOSE):
        return UNDECIDED
    broken = finding.verdict is Verdict.NOT_MET and finding.rule.level == "must"
    return BROKEN if broken else NO_RULE_BROKEN
