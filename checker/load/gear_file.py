"""Reads a gear file by itself, as a command names it."""

from pathlib import Path

from checker.documents.problems import ProblemsFoundError
from checker.documents.validate import validate
from checker.load.build import profile_root, shown_path
from checker.load.convert import to_gear
from checker.load.gear_problems import gear_problems, without_label, without_tiedowns
from checker.load.model import Gear
from checker.load.references import Library, References


def read_gear(file: Path, root: Path | None = None, library: Library | None = None) -> Gear:
    """The gear of a file, with the tiedown files it takes from `root`, the profile root.

    `library` saves reading files twice. Raises ProblemsFoundError with every problem of the file
    and of what it refers to, where it has no tiedown, and for each without a figure of its label.
    """
    library = library or Library()
    document = library.take(file, shown_path(file))
    problems = document.problems + validate(document, wanted_kind="gear")
    if document.kind != "gear":
        raise ProblemsFoundError(problems)
    merged = References(root or profile_root(file), shown_path, library).merged(document, "gear")
    problems += merged.problems
    if merged.complete:
        problems += gear_problems(merged)
    if problems:
        raise ProblemsFoundError(problems)
    gear = to_gear(merged)
    if unfit := without_tiedowns(merged) or without_label(gear):
        raise ProblemsFoundError(unfit)
    return gear
