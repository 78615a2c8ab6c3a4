"""`cinchbook rule`: one rule in full."""

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

    print_rule(*find_rule(read_rules(rules), rule_id), console())
