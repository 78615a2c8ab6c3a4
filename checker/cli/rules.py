"""`cinchbook rules`: list the rules."""

from checker.cli.chosen_rules import read_rules
from checker.cli.options import RulesOption
from checker.cli.output import console


def run(rules: RulesOption = None) -> None:
    """List every rule by rulebook: id, level, title, source.

    Example: cinchbook rules --rules us-federal-securement
    """
    from checker.reports.pages.rules import print_rules

    print_rules(read_rules(rules), console())
