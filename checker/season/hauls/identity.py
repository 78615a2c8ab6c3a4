"""What tells the trailers, tow vehicles and machines of a season apart.

The key of each is the `id` that it states, else the file that the load takes it from. What a load
states in its own file is a thing of that load alone: nothing shows that two loads with the same
words mean the same trailer, and counting two as one hides the one that fails. Its key is the load
and the field, as `loads/hay#trailer`. The key is empty where a load states nothing of it.

Titles do not tell apart: a load may call the machine of a file as it likes. Only a row of a log
that states another title, where nobody states an `id`, names another trailer of the same figures:
its key is the file and that title. A row may state an `id` as well.
"""

from collections.abc import Mapping
from typing import Any, Final, NamedTuple

from checker.documents.problems import DataPath
from checker.load.build import Profile, field_path
from checker.load.names import article_name
from checker.season.hauls.profile_names import name_of

KINDS: Final = ("trailer", "machine", "tow vehicle")
"""The kinds of counts whose names are keys of this module, not the words of the log."""

_PATHS: Final[Mapping[str, str]] = {"trailer": "trailer", "tow vehicle": "tow_vehicle"}


def is_only_a_name(path: DataPath) -> bool:
    """True for ids and titles, which no rule reads; but tiedowns may know an article by its title.

    An anchor or an attachment may be called `id`, so the whole path counts.
    """
    match path:
        case ("title",) | ("trailer" | "tow_vehicle", "id" | "title") | ("articles", int(), "id"):
            return True
    return False


class Thing(NamedTuple):
    """A trailer, tow vehicle or machine: what it is counted by, and what people call it."""

    key: str
    title: str
    file: str = ""
    """The file that its figures are taken from; empty for what the load itself states."""


class Things(NamedTuple):
    """The trailer, tow vehicle and machines of a load, as its profile has them."""

    words: Mapping[DataPath, str]
    """Ids, titles and names by path; empty where none is stated."""
    apart: Mapping[DataPath, Thing]
    """By path, what is counted unless a haul says otherwise; absent where the load has none."""

    def of_kind(self, kind: str, stated: Mapping[DataPath, Any]) -> tuple[Thing, ...]:
        """Those of a kind, each once; `stated` are words of a haul in place of the profile's."""
        if kind in _PATHS:
            return (self._thing((_PATHS[kind],), stated),)
        articles = sorted(path for path in self.apart if path[0] == "articles")
        found = (self._thing(path, stated) for path in articles)
        return tuple({each.key: each for each in found}.values())

    def _thing(self, path: DataPath, stated: Mapping[DataPath, Any]) -> Thing:
        own = self.apart.get(path, Thing("", ""))
        title = str(stated.get((*path, "title"), ""))
        if key := stated.get((*path, "id")):
            return Thing(str(key), title or own.title, own.file)
        if not title or title == self.words.get((*path, "title")) or self.words.get((*path, "id")):
            return own
        return Thing(f"{own.key}#{title}", title)


def things_of(profile: Profile) -> Things:
    """The trailer, tow vehicle and machines of a load profile."""
    data: Any = profile.merged.data
    parts: dict[DataPath, Mapping[str, Any]] = {
        **{(key,): data[key] for key in _PATHS.values() if key in data},
        **{("articles", index): each for index, each in enumerate(data.get("articles", ()))},
    }
    return Things(
        words={
            (*path, key): part.get(key, "")
            for path, part in parts.items()
            for key in ("id", "title", "name")
        },
        apart={path: _thing_of(profile, path, part) for path, part in parts.items()},
    )


def _thing_of(profile: Profile, path: DataPath, part: Mapping[str, Any]) -> Thing:
    """A part of a load as its files state it."""
    file = profile.taken_from.get(path)
    own_id, title = part.get("id", ""), part.get("title", "")
    if not title and isinstance(path[-1], int):
        title = article_name(part, path[-1])
    if file and own_id == file.id:
        # The load may call it otherwise, but it is the thing of that file.
        title = file.title or title
    if file:
        name = name_of(file.file, profile.root)
        return Thing(own_id or name, title, name)
    return Thing(own_id or f"{name_of(profile.file, profile.root)}#{field_path(path)}", title)
