"""What reports print for the trailers, machines, tow vehicles, crews and loads of a season."""

from collections import Counter
from collections.abc import Mapping
from typing import Final

from checker.season.slips.alike_names import same_to_the_eye

NOT_NAMED: Final = "not named"
"""The name used for a crew that the log does not name."""
NOT_STATED: Final = "not stated"
"""The name used for the trailer or tow vehicle of loads that state nothing of it."""


class SeasonNames:
    """Turns a kind of count and a key of it into what is printed.

    `titles` are those of the totals, by kind and key.
    """

    def __init__(self, titles: Mapping[str, Mapping[str, str]]) -> None:
        self._titles = titles
        self._keys_of_title = {
            kind: Counter(map(same_to_the_eye, by_key.values())) for kind, by_key in titles.items()
        }

    def printed(self, kind: str, key: str) -> str:
        """The title, with the key where others of the kind have the same title; else the key."""
        title = self.title(kind, key)
        if not title:
            return self.key(kind, key)
        several = self._keys_of_title[kind][same_to_the_eye(title)] > 1
        return f"{title} ({key})" if several else title

    def title(self, kind: str, key: str) -> str:
        """What people call it; empty where no title is stated, as for crews, loads and months."""
        return self._titles.get(kind, {}).get(key, "")

    def key(self, kind: str, key: str) -> str:
        """The key for a form that has the title in a column of its own; words for an empty key."""
        return key or (NOT_NAMED if kind == "crew" else NOT_STATED)
