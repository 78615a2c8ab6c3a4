"""The fields that a load must still state before every must-rule is decided."""

from datetime import date
from pathlib import Path

from checker.documents.document import Data
from checker.documents.escaping import json_text
from checker.documents.problems import ProblemsFoundError
from checker.documents.reader import read_bytes
from checker.evaluation.tolerances import check_profile
from checker.load.build import profile_of
from checker.load.references import Library
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.upkeep.drafting.text import to_yaml


class UndecidedRules:
    """The fields that must-rules need of a load being drafted; it is checked once in each state."""

    def __init__(self, rulebooks: Rulebooks, file: Path, root: Path, today: date) -> None:
        self.rulebooks = rulebooks
        self.file = file
        self.root = root
        self.today = today
        self.library = Library()
        self._known: dict[str, list[str]] = {}

    def missing(self, stated: dict[str, Data]) -> list[str]:
        """The fields that undecided must-rules need; those of most rules first.

        Raises ProblemsFoundError where the load cannot be checked.
        """
        state = json_text(stated)
        if state not in self._known:
            self._known[state] = self._find(to_yaml(stated))
        return self._known[state]

    def problems(self, stated: dict[str, Data]) -> list[str]:
        """Why the load cannot be checked, a line each."""
        try:
            self.missing(stated)
        except ProblemsFoundError as found:
            return [problem.words for problem in found.problems]
        return []

    def _find(self, text: str) -> list[str]:
        document = read_bytes(text.encode(), str(self.file))
        profile = profile_of(document, self.file, self.root, self.library)
        stated = profile.stated.trip.date
        on = date.fromisoformat(stated) if stated else self.today
        undecided: dict[str, int] = {}
        for finding in check_profile(profile, self.rulebooks, on).findings:
            if finding.verdict is Verdict.NOT_STATED and finding.rule.level == "must":
                for field in finding.missing:
                    undecided[field] = undecided.get(field, 0) + 1
        return sorted(undecided, key=lambda field: -undecided[field])
