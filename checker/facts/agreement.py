"""Checks ways of pull that a profile states by eye against the measured points."""

from collections.abc import Iterator

from checker.documents.problems import Problem, listed, quoted
from checker.facts.tiedowns import LEAST_PULL, WAYS
from checker.facts.unmarked import UnmarkedRatings
from checker.facts.view import Facts
from checker.load.model import Load
from checker.units.arithmetic import at_least


def pull_problems(load: Load) -> Iterator[Problem]:
    """A problem for each direct tiedown stated to pull a way that its end points contradict.

    The measured way counts; with one of the two points left out the wrong one would.
    """
    facts = Facts(load, UnmarkedRatings())
    for subject in facts.subjects("tiedown"):
        view = facts.view(subject)
        tiedown = view.tiedown
        if tiedown.path != "direct" or tiedown.pulls is None:
            continue
        measured = [way for way in WAYS if at_least(view[f"tiedown.share_{way}"], LEAST_PULL) == 1]
        wrong = [
            way for way in tiedown.pulls if at_least(view[f"tiedown.share_{way}"], LEAST_PULL) == 0
        ]
        if wrong:
            origin = load.origins[f"tiedowns.{subject.index + 1}.pulls"]
            found = f"{listed(map(quoted, wrong))} among the pulls of {subject.name}"
            wanted = f"the ways given by its two ends, {listed(measured)}, or no `pulls`"
            yield Problem(origin.file, origin.mark, found, wanted)
