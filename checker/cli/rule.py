"""`cinchbook rule`: one rule in full."""

from datetime import date
from typing import Annotated

import typer

from checker.cli.chosen_rules import find_rule, read_rules
from checker.cli.options import RulesOption
from checker.cli.output import console


def run(
    rule_id: Annotated[str, typer.Argument(metavar="ID", help="Id of the rule.")],
    rules: RulesOption = None,
) -> None:
    """Show one rule: statement, thresholds with dates and sources, formula, facts it needs.

    Example: cinchbook rule us-aggregate-working-load-limit
    """
    from checker.reports.pages.rules import print_rule
    from checker.rulebooks.editions import in_editions_of

    today = in_editions_of(read_rules(rules), date.today())
    print_rule(*find_rule(today, rule_id), console())
