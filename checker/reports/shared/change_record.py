"""A comparison of now with then as plain data."""

from typing import Any, Final

from msgspec import to_builtins

from checker.season.rates.then_and_now import Change

NOT_WRITTEN: Final = ("least", "rises", "too_open")
"""Fields of a comparison that serve its result alone."""


def change_json(each: Change | None) -> dict[str, Any] | None:
    """The member of a JSON document; None where nothing is compared."""
    if each is None:
        return None
    return {name: value for name, value in to_builtins(each).items() if name not in NOT_WRITTEN}
