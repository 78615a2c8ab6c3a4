"""`cinchbook rule`: one rule in full."""

from typing import Annotated

import typer

from checker.cli.options import RulesOption, end_with, read_rules


def run(
    rule_id: Annotated[str, typer.Argument(metavar="ID", help="Id of the rule.")],
    rules: RulesOption = None,
) -> None:
    """Show one rule: statement, thresholds with dates and sources, formula, facts it needs.

    Example: cinchbook rule us-aggregate-working-load-limit
    """
    from rich.console import Console

    from checker.documents.problems import nearest
    from checker.reports.rule_pages import print_rule

    rulebooks = read_rules(rules)
    found = rulebooks.rule(rule_id)
    if found is None:
        known = [rule.id for book in rulebooks.books for rule in book.rules]
        guess = nearest(rule_id, known)
        hint = f"; did you mean '{guess}'?" if guess else ""
        end_with(f"found no rule '{rule_id}'; wanted an id that `cinchbook rules` lists{hint}")
    print_rule(*found, Console(highlight=False))
