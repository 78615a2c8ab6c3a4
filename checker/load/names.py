"""Check that the names inside one merged load profile lead somewhere, and that its sums agree.

These are the faults a schema cannot see. They are found on the plain data, next to the schema's
own findings, so that a crew mends everything in one go.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from checker.arithmetic import more_than
from checker.documents.problems import DataPath, Problem, listed, nearest, quoted
from checker.load.references import Merged
from checker.unit_words import System, show
from checker.units import Quantity, UnitError, parse

# Axle scales and a weight taken on another day seldom agree better; a larger gap is a slip.
AXLE_SUM_TOLERANCE = 0.02

_LONGEST_LIST = 200


def article_name(data: Mapping[str, Any], index: int) -> str:
    """The name tiedowns use for an article: its own, else its title, else its place in the list."""
    return str(data.get("name") or data.get("title") or f"article {index + 1}")


def name_problems(merged: Merged) -> list[Problem]:
    """Every name that leads nowhere and every sum that does not agree, with its place."""
    problems = lost_names(merged)
    for index, article in enumerate(_list(merged.data, "articles")):
        stated = article if isinstance(article, dict) else {}
        problems += _axle_sum(merged, stated, index)
        problems += _cg_from_axles(merged, stated, index)
    return problems


def lost_names(merged: Merged) -> list[Problem]:
    """Every name that leads nowhere or to two things, with its place."""
    data = merged.data
    # What is not a mapping is for the schema to tell; here it only keeps its place in the list.
    articles = [item if isinstance(item, dict) else {} for item in _list(data, "articles")]
    names = [article_name(article, index) for index, article in enumerate(articles)]
    problems = list(_repeated(merged, names))
    anchors = _keys(data.get("trailer"), "anchors")
    if _list(data, "tiedowns") and "articles" not in data:
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
                place = (*at, "over", number)
                problems += _known(merged, place, passed, points, "an attachment")
    return problems


def _list(data: Mapping[str, Any], key: str) -> list[Any]:
    """Entries of a list; of a hostile one no more than the schema allows in any list."""
    value = data.get(key)
    return value[:_LONGEST_LIST] if isinstance(value, list) else []


def _keys(data: object, key: str) -> list[str]:
    inner = data.get(key) if isinstance(data, dict) else None
    return list(inner) if isinstance(inner, dict) else []


def _problem(
    merged: Merged, path: DataPath, found: str, wanted: str, suggestion: str | None = None
) -> Problem:
    while path not in merged.places:
        path = path[:-1]
    file, mark = merged.places[path]
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


def _axle_sum(merged: Merged, article: Mapping[str, Any], index: int) -> Iterator[Problem]:
    axles = article.get("axles")
    if not isinstance(axles, dict):
        return
    texts = [article.get("weight")]
    texts += [axles[end].get("weight") for end in axles if isinstance(axles[end], dict)]
    try:
        weight, *parts = [parse(text, "load") for text in texts if isinstance(text, str)]
    except ValueError:  # not stated, or not a weight; the schema tells the latter
        return
    total = sum(part.value for part in parts)
    slack = AXLE_SUM_TOLERANCE * weight.value + weight.half_width
    slack += sum(part.half_width for part in parts)
    complete = len(parts) == 2 and len(texts) == 3
    if complete and more_than(abs(total - weight.value), slack) == 1:
        system: System = "si" if weight.metric else "us"
        found = f"axle weights that add to {show(total, 'load', system)}"
        wanted = f"the article's weight, {show(weight.value, 'load', system)}"
        yield _problem(merged, ("articles", index, "axles"), found, wanted)


def _cg_from_axles(merged: Merged, article: Mapping[str, Any], index: int) -> Iterator[Problem]:
    """A centre of gravity that is not where the axle weights put it: by moments, they say both."""
    figures = [
        _figure(article, path, kind)
        for path, kind in (
            (("cg", "x"), "length"),
            (("axles", "front", "x"), "length"),
            (("axles", "rear", "x"), "length"),
            (("axles", "front", "weight"), "load"),
            (("axles", "rear", "weight"), "load"),
        )
    ]
    if None in figures:
        return
    cg, front, rear, on_front, on_rear = (figure for figure in figures if figure)
    between, carried = rear.value - front.value, on_front.value + on_rear.value
    weighed = front.value + between * on_rear.value / carried
    slack = abs(between) * (
        AXLE_SUM_TOLERANCE + (on_front.half_width + on_rear.half_width) / carried
    )
    slack += cg.half_width + front.half_width + rear.half_width
    if more_than(abs(cg.value - weighed), slack) == 1:
        system: System = "si" if cg.metric else "us"
        found = f"a centre of gravity {show(cg.value, 'length', system)} behind the front end"
        wanted = f"where the axle weights put it, {show(weighed, 'length', system)}"
        yield _problem(merged, ("articles", index, "cg", "x"), found, wanted)


def _figure(data: object, path: DataPath, kind: str) -> Quantity | None:
    """A quantity inside a mapping; None where it is not stated as such."""
    for key in path:
        data = data.get(key) if isinstance(data, Mapping) else None
    try:
        return parse(data, kind) if isinstance(data, str) else None
    except UnitError:  # the schema tells
        return None
