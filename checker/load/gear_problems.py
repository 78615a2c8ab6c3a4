"""Problems of gear that no schema finds: tiedowns rigged already, figures that cannot be true."""

from checker.documents.problems import Problem, quoted
from checker.documents.schemas import definition
from checker.load.model import Gear
from checker.load.plausible.reading import refusals
from checker.load.references import Merged, location_of

_LABEL = (
    "marked_working_load_limit",
    "lashing_capacity",
    "standard_tension",
    "breaking_strength",
    "nominal_strength",
)


def gear_problems(merged: Merged) -> list[Problem]:
    """A problem for everything that gear cannot be, with its location.

    The tiedowns are held to what those of a load are: their paths and fields are the same.
    """
    return [*_rigged(merged), *refusals(merged.data, merged.locations)]


def _rigged(merged: Merged) -> list[Problem]:
    """Fields of tiedown files that say how one is rigged, which is for a load to say."""
    known = definition("gear_piece")["properties"]
    rigged = definition("tiedown")["properties"].keys() - known.keys()
    pieces = merged.data.get("tiedowns")
    problems = []
    for index, piece in enumerate(pieces if isinstance(pieces, list) else ()):
        for key in piece if isinstance(piece, dict) else ():
            file, mark = location_of(("tiedowns", index, key), merged.locations)
            # The schema reports what the gear file itself states.
            if key in rigged and file != location_of(("tiedowns", index), merged.locations)[0]:
                found = f"{quoted(key)} in a tiedown of the gear that a crew carries"
                wanted = "the field in each load: gear is not rigged yet"
                problems.append(Problem(file, mark, found, wanted))
    return problems


def without_tiedowns(merged: Merged) -> list[Problem]:
    """A problem where gear to tie down with has no tiedown in it."""
    stated = merged.data.get("tiedowns")
    if stated:
        return []
    found = "no tiedown in it" if isinstance(stated, list) else "gear without `tiedowns`"
    wanted = "an entry in `tiedowns` for each kind of strap, chain and rope that is carried"
    return [Problem(*location_of(("tiedowns",), merged.locations), found, wanted)]


def without_label(gear: Gear) -> list[Problem]:
    """A problem for each tiedown of which no figure tells the strength."""
    wanted = (
        "`marked_working_load_limit`, `lashing_capacity`, `standard_tension` or "
        "`breaking_strength` as its label states it, or `unmarked: yes` with `device` and `size`"
    )
    return [
        Problem(*piece.location, f"{quoted(piece.name)} without a figure of its label", wanted)
        for piece in gear.tiedowns
        if not (
            piece.stated.keys() & set(_LABEL)
            or (piece.unmarked == 1 and {"device", "size"} <= piece.stated.keys())
        )
    ]
