"""Whether what is stated so far can be true, and is usual, before the file is written."""

from collections.abc import Mapping
from pathlib import Path

from checker.documents.document import Data, Document
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.load.build import shown_path
from checker.load.names import lost_names
from checker.load.plausible.reading import doubts, refusals
from checker.load.references import Library, Merged, References

_IN_A_LOAD: Mapping[str, str] = {
    "trailer": "trailer.",
    "tow-vehicle": "tow_vehicle.",
    "machine": "articles.1.",
    "tiedown": "tiedowns.1.",
    "carrier": "carrier.",
    "gear": "",
    "load": "",
}
"""What a path in a file of a kind begins with, seen from a load that refers to the file."""


class Plausibility:
    """Tests a file of one kind; for a load and for gear, with the files that it refers to."""

    def __init__(self, kind: str, root: Path) -> None:
        self.kind = kind
        self.root = root
        self.library = Library()

    def refused(self, stated: dict[str, Data]) -> list[str]:
        """What cannot be true, and names that nothing in a load has, a line each."""
        merged = self._load(stated)
        if merged is None:
            return []
        unknown = [each for each in lost_names(merged) if each.found.startswith("'")]
        return [self._words(each) for each in (*refusals(merged.data, merged.locations), *unknown)]

    def doubtful(self, stated: dict[str, Data]) -> list[str]:
        """What is far outside the usual, a line each."""
        merged = self._load(stated)
        if merged is None:
            return []
        found = doubts(merged.data, merged.locations)
        return [f"{self._words(each.at)}: {each.because}" for each in found]

    def _load(self, stated: dict[str, Data]) -> Merged | None:
        """A load with what is stated; None for a kind that no load refers to."""
        if self.kind not in _IN_A_LOAD:
            return None
        if not _IN_A_LOAD[self.kind]:
            document = Document("", stated, {(): Mark(1, 1)}, {})
            try:
                return References(self.root, shown_path, self.library).merged(document, self.kind)
            except ProblemsFoundError:  # told when the load is checked
                return None
        key, _, entry = _IN_A_LOAD[self.kind].rstrip(".").partition(".")
        return Merged({key: [stated] if entry else stated}, {(): ("", Mark(1, 1))})

    def _words(self, problem: Problem) -> str:
        within = _IN_A_LOAD[self.kind]
        return problem.words.replace(f"`{within}", "`") if within else problem.words
