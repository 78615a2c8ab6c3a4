"""Imports optional libraries, when a log in a form that needs them is opened."""

from importlib import import_module
from pathlib import Path
from types import ModuleType

from checker.documents.problems import Mark, Problem, ProblemsFoundError


def import_optional(module: str, extra: str, log: Path) -> ModuleType:
    """A module of an optional library; raises ProblemsFoundError if it is not installed."""
    try:
        return import_module(module)
    except ImportError as error:
        library = module.split(".", maxsplit=1)[0]
        found = f"a log of the form '{log.suffix}', which the library {library} reads"
        wanted = f"that library: pip install 'cinchbook[{extra}]'; or save the log as CSV"
        raise ProblemsFoundError([Problem(str(log), Mark(1, 1), found, wanted)]) from error
