"""Checks that every name used inside one merged load profile is defined in it.

A schema cannot find these faults. They are reported together with those of the schema, so that a
crew can fix all of them at once.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from checker.documents.problems import DataPath, Problem, listed, nearest, quoted
from checker.load.references import Merged, location_of

_LONGEST_LIST = 200


def article_name(data: Mapping[str, Any], index: int) -> str:
    """The name that tiedowns use for an article: its own, else its title, else its number."""
    return str(data.get("name") or data.get("title") or f"article {index + 1}")


def lost_names(merged: Merged) -> list[Problem]:
    """A problem for each name that is not defined or is defined twice, with its location."""
    data = merged.data
    # The schema reports what is not a mapping; here it only keeps the indices of the others.
    articles = [item if isinstance(item, dict) else {} for item in _list(data, "articles")]
    names = [article_name(article, index) for index, article in enumerate(articles)]
    problems = list(_repeated(merged, names))
    anchors = _keys(data.get("trailer"), "anchors")
    if _list(data, "tiedowns") and not data.get("articles"):
        found = "tiedowns, but no articles"
        problems.append(_problem(merged, ("tiedowns",), found, "`articles:` that they hold"))
    for index, tiedown in enumerate(_list(data, "tiedowns")):
        if not isinstance(tiedown, dict):
            continue
        at: DataPath = ("tiedowns", index)
        for key in ("anchor", "far_anchor"):
            problems += _known(merged, (*at, key), tiedown.get(key), anchors, "an anchor")
        if names:
            named = tiedown.get("article")
            problems += _known(merged, (*at, "article"), named, names, "an article")
        if "article" not in tiedown and len(names) > 1:
            wanted = f"`article: ...`, one of: {listed(names)}"
            problems.append(_problem(merged, at, "no 'article' in a tiedown", wanted))
        wanted_name = tiedown.get("article", names[0] if len(names) == 1 else None)
        if wanted_name in names:
            held = articles[names.index(wanted_name)]
            points = _keys(held, "attachments")
            value = tiedown.get("attachment")
            problems += _known(merged, (*at, "attachment"), value, points, "an attachment")
            for number, passed in enumerate(_list(tiedown, "over")):
                over = (*at, "over", number)
                problems += _known(merged, over, passed, points, "an attachment")
    return problems


def _list(data: Mapping[str, Any], key: str) -> list[Any]:
    """The entries of a list; at most as many as the schema allows."""
    value = data.get(key)
    return value[:_LONGEST_LIST] if isinstance(value, list) else []


def _keys(data: object, key: str) -> list[str]:
    inner = data.get(key) if isinstance(data, dict) else None
    return list(inner) if isinstance(inner, dict) else []


def _problem(
    merged: Merged, path: DataPath, found: str, wanted: str, suggestion: str | None = None
) -> Problem:
    file, mark = location_of(path, merged.locations)
    return Problem(file, mark, found, wanted, suggestion)


def _known(
    merged: Merged, path: DataPath, value: object, names: Iterable[str], what: str
) -> Iterator[Problem]:
    known = list(names)
    if isinstance(value, str) and value not in known:
        guess = nearest(value, known)
        wanted = f"{what} named in this load: {listed(known)}" if known else f"{what} to be listed"
        yield _problem(merged, path, quoted(value), wanted, guess and quoted(guess))


def _repeated(merged: Merged, names: list[str]) -> Iterator[Problem]:
    for index, name in enumerate(names):
        if name in names[:index]:
            wanted = "a `name:` of its own for each article"
            yield _problem(merged, ("articles", index), f"a second article {quoted(name)}", wanted)
