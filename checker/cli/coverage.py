"""`cinchbook coverage`: every paragraph of a law and its home in the rules."""

from typing import Annotated

import typer

from checker.cli.chosen_rules import read_rules
from checker.cli.options import BROKEN, RulesOption, end_with
from checker.cli.output import console


def run(
    jurisdiction: Annotated[
        str, typer.Argument(metavar="JURISDICTION", help="Jurisdiction, such as us.")
    ],
    rules: RulesOption = None,
) -> None:
    """Print every paragraph of a law with its home here: a rule, a question, or why it has none.

    Example: cinchbook coverage us

    Exit codes: 0 every paragraph has a home and every citation a paragraph; 1 not; 2 no such law.
    """
    from checker.reports.pages.coverage import print_coverage
    from checker.rulebooks.coverage import coverage_gaps

    rulebooks = read_rules(rules)
    chosen = [each for each in rulebooks.coverages if each.jurisdiction == jurisdiction.upper()]
    if not chosen:
        known = sorted({each.jurisdiction.lower() for each in rulebooks.coverages})
        end_with(
            f"found no list of paragraphs for '{jurisdiction}'; wanted one of: {', '.join(known)}"
        )
    missing = [gap for each in chosen for gap in coverage_gaps(each, rulebooks)]
    print_coverage(chosen, missing, console())
    raise typer.Exit(BROKEN if missing else 0)
