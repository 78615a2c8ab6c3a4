"""Checks ways of pull that a profile states by eye against the measured points."""

from collections.abc import Iterator

import numpy as np

from checker.documents.problems import Problem, listed, quoted
from checker.facts.tiedowns import LEAST_PULL, WAYS
from checker.facts.unmarked import UnmarkedRatings
from checker.facts.view import Facts, View
from checker.load.model import Load
from checker.units.arithmetic import at_least


def pull_problems(load: Load) -> Iterator[tuple[int, Problem]]:
    """A problem for each direct tiedown stated to pull a way that its end points contradict.

    With the row of the load. The measured way counts; with one of the two points left out the wrong
    one would.
    """
    facts = Facts(load, UnmarkedRatings())
    for subject in facts.subjects("tiedown"):
        view = facts.view(subject)
        tiedown = view.tiedown
        if tiedown.path != "direct" or not tiedown.pulls:
            continue
        pulls = {way: _pulls(view, way, load.rows) for way in WAYS}
        origin = load.origins[f"tiedowns.{subject.index + 1}.pulls"]
        for row in np.flatnonzero(np.any([pulls[way] == 0 for way in tiedown.pulls], axis=0)):
            wrong = [way for way in tiedown.pulls if pulls[way][row] == 0]
            measured = [way for way in WAYS if pulls[way][row] == 1]
            found = f"{listed(map(quoted, wrong))} among the pulls of {subject.name}"
            wanted = f"the ways given by its two ends, {listed(measured)}, or no `pulls`"
            yield int(row), Problem(origin.file, origin.mark, found, wanted)


def _pulls(view: View, way: str, rows: int) -> np.ndarray:
    """Whether a tiedown pulls a way in each row: 1, 0 or NaN."""
    return np.broadcast_to(at_least(view[f"tiedown.share_{way}"], LEAST_PULL), (rows,))
