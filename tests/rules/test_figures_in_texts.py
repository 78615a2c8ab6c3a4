"""What a crew reads prints the figure in force: no text of a shipped rule has one of its own."""

import re

from checker.rulebooks.model import Rule
from checker.rulebooks.rule_text import figure
from tests.shipped import shipped_rules

SAID_TO_CREWS = (
    "title",
    "fix",
    "broken",
    "fix_below",
    "fix_above",
    "broken_below",
    "broken_above",
)


def figures_of_its_own(rule: Rule) -> list[str]:
    """The thresholds whose figure stands as digits in a text, where an amendment is not seen."""
    found = []
    for name, threshold in rule.thresholds.items():
        for value in threshold.values:
            shown = figure(value.text)
            digits = rf"(?<![\w.,]){re.escape(shown)}(?![\w%])"
            texts = [getattr(rule.text, key) or "" for key in SAID_TO_CREWS]
            # One digit may count something else: `1` door, `2` chains.
            if len(shown) > 1 and any(re.search(digits, text) for text in texts):
                found.append(f"{rule.id}: `{{{name}}}` in place of {shown}")
    return found


def test_every_figure_is_that_of_its_threshold() -> None:
    rules = [rule for book in shipped_rules().books for rule in book.rules]
    assert [each for rule in rules for each in figures_of_its_own(rule)] == []
