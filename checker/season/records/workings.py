"""Checks the worst hauls of an audit individually, with the working of every rule."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from checker.evaluation.check import Check
from checker.evaluation.tolerances import check_profile
from checker.logs.model import LogMapping
from checker.logs.opening import open_log
from checker.rulebooks.model import Rulebooks
from checker.season.hauls.chunk import Labels
from checker.season.hauls.hauls import Haul, read_hauls
from checker.season.hauls.loads import Loads

MOST_WORKED = 100
"""Most hauls with working: each takes 0.05 s and adds some kilobytes to a report."""


@dataclass(frozen=True, slots=True)
class Working:
    """A listed haul of an audit, what it is counted by, and its check, for the worst hauls only.

    `stated` holds the fields and values that its row of the log states.
    """

    row: int
    labels: Labels
    stated: Sequence[tuple[str, str]]
    check: Check | None


def workings(
    log: Path,
    rows: Sequence[int],
    rulebooks: Rulebooks,
    found: Callable[[str], Path],
    *,
    mapping: LogMapping | None = None,
    root: Path | None = None,
) -> Iterator[Working]:
    """The workings of the given rows, in the order of the log; `rows` are sorted worst first.

    Reads the log again and builds only these hauls. A row that can no longer be read is left out.
    """
    worked = frozenset(rows[:MOST_WORKED])
    loads = Loads(found, root, [rulebooks])
    for haul in read_hauls(open_log(log, mapping), loads, frozenset(rows)):
        if not isinstance(haul, Haul):
            continue
        check = check_profile(haul.profile, rulebooks, haul.on) if haul.row in worked else None
        load = check.load if check else haul.profile.load({})
        stated = {
            field: origin.text
            for field, origin in load.origins.items()
            if (origin.file, origin.mark) == load.sections[()] and field != "trip.date"
        }
        # A stated list is shown as a whole, not also by entry.
        shown = [each for each in stated.items() if each[0].rpartition(".")[0] not in stated]
        yield Working(haul.row, haul.labels, shown, check)
