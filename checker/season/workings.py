"""The worst hauls of an audit once more, each by itself, with the working of every rule."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from checker.documents.escaping import escaped
from checker.evaluation.check import Check
from checker.evaluation.tolerances import check_profile
from checker.rulebooks.model import Rulebooks
from checker.season.hauls import Haul, read_hauls
from checker.season.loads import Loads
from checker.season.logs.model import OwnWords
from checker.season.logs.opening import open_log

MOST_WORKED = 100
"""Hauls whose working is kept: each costs a twentieth of a second, and some kilobytes to tell."""


@dataclass(frozen=True, slots=True)
class Working:
    """A haul that somebody should look at; `check` only for the worst of them.

    `stated` are the fields that its row of the log states, as the load profile would.
    """

    row: int
    trailer: str
    stated: Sequence[tuple[str, str]]
    check: Check | None


def workings(
    log: Path,
    rows: Sequence[int],
    rulebooks: Rulebooks,
    found: Callable[[str], Path],
    *,
    own: OwnWords | None = None,
    root: Path | None = None,
) -> Iterator[Working]:
    """The hauls of some rows, given the worst first; they come in the order of the log.

    Reads the log again and builds only these. A row that can no longer be read is left out.
    """
    worked = frozenset(rows[:MOST_WORKED])
    loads = Loads(found, root, [rulebooks])
    for haul in read_hauls(open_log(log, own), loads, frozenset(rows)):
        if not isinstance(haul, Haul):
            continue
        check = check_profile(haul.profile, rulebooks, haul.on) if haul.row in worked else None
        load = check.load if check else haul.profile.load({})
        stated = {
            field: origin.text
            for field, origin in load.origins.items()
            if str(origin) == f"{escaped(str(log))}:{haul.row}"
        }
        # A list is told whole, not entry by entry as well.
        told = [each for each in stated.items() if each[0].rpartition(".")[0] not in stated]
        yield Working(haul.row, load.trailer.title, told, check)
