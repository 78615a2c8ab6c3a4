"""Where rules apply, and whether a trip goes there."""

from collections.abc import Sequence
from typing import Final

from checker.documents.jurisdiction_codes import ANYWHERE, REGIONS
from checker.units.arithmetic import NOT_STATED

# fmt: off
_EU = (
    "AT", "BE", "BG", "HR", "CY", "CZ", "DK", "EE", "FI", "FR", "DE", "GR", "HU", "IE", "IT",
    "LV", "LT", "LU", "MT", "NL", "PL", "PT", "RO", "SK", "SI", "ES", "SE", "EU",
)
# fmt: on
_COUNTRIES_OF: Final = {"EU": _EU, **REGIONS}
"""Countries of a jurisdiction that is more than one, by ISO 3166 codes."""


def has_law(jurisdiction: str) -> bool:
    """True if rules of a jurisdiction may be its law: not those of any place or of a region."""
    return jurisdiction != ANYWHERE and jurisdiction not in REGIONS


def touches(jurisdiction: str, codes: Sequence[str] | None) -> float:
    """1 if a trip through these jurisdictions touches one, 0 if not, NaN if it may.

    It may where the trip states no jurisdictions, or only the country that this one is a part of.
    """
    if jurisdiction == ANYWHERE:
        return 1.0
    if codes is None:
        return NOT_STATED
    members = _COUNTRIES_OF.get(jurisdiction, (jurisdiction,))
    if any(is_inside(code, member) for code in codes for member in members):
        return 1.0
    return NOT_STATED if any(is_inside(jurisdiction, code) for code in codes) else 0.0


def touches_at(jurisdiction: str, place: str, codes: Sequence[str]) -> float:
    """As `touches`, for one place among the codes of a trip.

    A part of that place which the trip names itself is a place of its own, and not touched there.
    """
    here = touches(jurisdiction, [place])
    return 0.0 if here != here and touches(jurisdiction, codes) == 1 else here


def is_inside(code: str, whole: str) -> bool:
    """True if a jurisdiction is equal to another or a part of it, by ISO 3166 code or county."""
    return code == whole or code.startswith(f"{whole}-")
