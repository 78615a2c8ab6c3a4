"""`cinchbook rules`: list the rules."""

from checker.cli.chosen_rules import read_rules
from checker.cli.options import (
    Format,
    FormatOption,
    RulesOption,
    print_json,
)
from checker.cli.output import console


def run(rules: RulesOption = None, form: FormatOption = Format.TEXT) -> None:
    """List every rule by rulebook: id, level, title, source.

    Example: cinchbook rules --rules us-federal-securement
    """
    from checker.reports.data import rules as data
    from checker.reports.pages.rules import print_rules

    read = read_rules(rules)
    if form is Format.JSON:
        print_json(data.document(read))
    else:
        print_rules(read, console())
