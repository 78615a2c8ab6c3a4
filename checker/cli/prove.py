"""`cinchbook prove`: run every rule's proofs and the nudge test."""

from typing import TYPE_CHECKING

import typer

from checker.cli.chosen_rules import read_rules
from checker.cli.options import (
    BROKEN,
    Format,
    FormatOption,
    RulesOption,
    print_json,
    say,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.upkeep.directions import WrongDirection
    from checker.upkeep.proving import Proved


def run(rules: RulesOption = None, form: FormatOption = Format.TEXT) -> None:
    """Run every rule's worked cases, and prove that they guard each number in the rules.

    Every threshold, table cell and date is moved a little and every comparison made strict or
    loose; each time some proof must fail. The way in which a number gets stricter (`stricter`) is
    compared with what the proofs show.

    Example: cinchbook prove --rules us-federal-securement

    Exit codes: 0 all proved; 1 a proof fails or a change goes unnoticed; 2 a problem in the rules.
    """
    from checker.reports.data.prove import document
    from checker.upkeep.directions import wrong_directions
    from checker.upkeep.proving import prove

    rulebooks = read_rules(rules, with_proofs=True)
    result = prove(rulebooks)
    backwards = wrong_directions(rulebooks)
    if form is Format.JSON:
        print_json(document(result, backwards))
    else:
        _print(result, backwards)
    raise typer.Exit(0 if result.proved and not backwards else BROKEN)


def _print(result: "Proved", backwards: "Sequence[WrongDirection]") -> None:
    """Print every problem on one line, then what was proved."""
    for failure in result.failures:
        say(
            f"{failure.location}: {failure.rule}: proof '{failure.proof}' "
            f"expects {failure.expected}, found {failure.found}",
            err=False,
        )
    for gap in (*result.unnoticed, *result.idle):
        say(f"{gap.location}: {gap.rule}: no proof notices: {gap.change}", err=False)
    for each in backwards:
        say(f"{each.location}: {each.rule}: found {each.found}; wanted {each.wanted}", err=False)
    noticed = result.nudges - len(result.unnoticed)
    share = noticed / result.nudges if result.nudges else 1.0
    say(
        f"{result.rules} rules and tables, {result.proofs} proofs, {len(result.failures)} failing; "
        f"{result.nudges} nudges, {noticed} noticed ({share:.1%}); "
        f"{len(result.idle)} facts that decide nothing",
        err=False,
    )
