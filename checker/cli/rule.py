"""`cinchbook rule`: one rule in full."""

from datetime import date
from typing import Annotated

import typer

from checker.cli.chosen_rules import find_rule, read_rules
from checker.cli.options import (
    Format,
    FormatOption,
    RulesOption,
    print_json,
)
from checker.cli.output import console


def run(
    rule_id: Annotated[str, typer.Argument(metavar="ID", help="Id of the rule.")],
    rules: RulesOption = None,
    form: FormatOption = Format.TEXT,
) -> None:
    """Show one rule: statement, thresholds with dates, sources and amendments, formula, facts.

    The statement and what to do have the figures in force today where no jurisdiction amends them.

    Example: cinchbook rule us-aggregate-working-load-limit
    """
    from checker.reports.data import rule as data
    from checker.reports.pages.rules import print_rule
    from checker.rulebooks.editions import in_editions_of

    today = date.today()
    rulebooks = in_editions_of(read_rules(rules), today)
    found = find_rule(rulebooks, rule_id)
    if form is Format.JSON:
        print_json(data.document(*found, rulebooks, today))
    else:
        print_rule(*found, rulebooks, today, console())
