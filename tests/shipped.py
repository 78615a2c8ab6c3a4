"""The shipped rules, read once in a process for all tests that take them as they are."""

from functools import cache

from checker.documents.resources import shipped_folder
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks


@cache
def shipped_rules() -> Rulebooks:
    """All of them, without their proofs."""
    return load_rulebooks(shipped_folder("rules"))
