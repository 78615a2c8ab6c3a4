"""`cinchbook variances`: who may go against which rule, for which loads, until when."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker.cli.chosen_rules import read_rules
from checker.cli.loads_to_check import variances_of_loads
from checker.cli.options import (
    Format,
    FormatOption,
    OwnVariancesArgument,
    RootOption,
    RulesOption,
    end_with_problems,
    parse_day,
    print_json,
    root_of,
)
from checker.cli.output import console

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from checker.documents.problems import Problem
    from checker.load.model import Variance


def run(
    loads: OwnVariancesArgument = None,
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="Day to list for. Default: today.")
    ] = None,
    soon: Annotated[
        int,
        typer.Option("--soon", min=0, metavar="DAYS", help="Mark those that end within this."),
    ] = 30,
    rules: RulesOption = None,
    root: RootOption = None,
    form: FormatOption = Format.TEXT,
) -> None:
    """List the variances in force on a day, those to come and those over, what ends first on top.

    Those of registers (`kind: variances`, beside the amendments that cinchbook.yaml names), and
    with LOADS those that loads state themselves.

    Example: cinchbook variances profiles/loads --soon 14

    Exit codes: 0 listed; 2 a problem in a file, such as a register that names a file nobody has.
    """
    from checker.documents.problems import ProblemsFoundError
    from checker.documents.resources import nearest_profiles
    from checker.reports.data import variances as data
    from checker.reports.pages.variances import print_variances

    day = date.today() if on is None else parse_day(on)
    read = read_rules(rules)
    own = variances_of_loads(loads or [], root, read)
    folder = root_of(root) or nearest_profiles()
    problems = list(_lost_files(read.variances, folder)) if folder and folder.is_dir() else []
    if problems:
        end_with_problems(ProblemsFoundError(problems))
    listed = [(variance, "") for variance in read.variances] + own
    if form is Format.JSON:
        print_json(data.document(listed, day))
    else:
        print_variances(listed, day, soon, console())


def _lost_files(variances: "Iterable[Variance]", folder: Path) -> "Iterator[Problem]":
    """Variances of the register for a file that is not there, which count for no load."""
    from checker.documents.problems import Problem, nearest, quoted
    from checker.load.build import shown_path

    there = [each.relative_to(folder).with_suffix("").as_posix() for each in folder.rglob("*.yaml")]
    for variance in variances:
        at = variance.location
        for name in sorted(variance.uses.difference(there)):
            guess = nearest(name, there)
            found, wanted = f"a variance for {quoted(name)}", f"a file below {shown_path(folder)}"
            yield Problem(at.file, at.mark, found, wanted, guess and quoted(guess))
