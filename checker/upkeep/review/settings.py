"""What differs in the settings of a project beside its choice of rules."""

from collections.abc import Iterator
from typing import Final

from checker.documents.settings import Settings
from checker.upkeep.review.difference import Difference, Effect, Kind

_TITLES: Final = {
    "near": "Margin that is a near miss",
    "ignore": "Files that every command skips",
    "own_units": "Units of the organisation",
    "columns": "File by which haul logs are read",
    "profiles": "Folder that references start from",
    "units": "Units of reports",
}


def setting_differences(old: Settings, new: Settings) -> Iterator[Difference]:
    """Settings that differ; which rules are used shows in the rules themselves."""
    for name, title in _TITLES.items():
        before, after = old.stated.get(name), new.stated.get(name)
        if before != after:
            yield Difference(
                effect=_effect(name, old, new),
                kind=Kind.SETTING,
                name=name,
                title=title,
                before=_words(before),
                after=_words(after),
                location=new.origins.get(name, ""),
            )


def _effect(name: str, old: Settings, new: Settings) -> Effect:
    if name == "near":
        return Effect.LOOSENED if new.near < old.near else Effect.TIGHTENED
    if name == "ignore":
        more = {*new.stated[name]} - {*old.stated[name]}
        return Effect.UNCERTAIN if more else Effect.TIGHTENED
    return Effect.TEXTS if name == "units" else Effect.UNCERTAIN


def _words(stated: object) -> str:
    if isinstance(stated, list):
        return ", ".join(map(str, stated)) or "none"
    return str(stated or "none")
