"""Ids that two sets of rules used together both have: each with both locations."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from checker.documents.problems import Mark, Problem
from checker.rulebooks.citations import Location
from checker.rulebooks.model import Rulebooks

_TOP: Final = Mark(1, 1)


def duplicate_ids(sets: Sequence[Rulebooks]) -> list[Problem]:
    """Every id that two entries of one kind have, at the one in the earlier set.

    Rules of two rulebooks with one id are not listed beside these.
    """
    found: list[Problem] = []
    first: dict[tuple[str, str], Location] = {}
    # The organisation's own folders stand before the shipped rules, and are what it can change.
    for each in reversed(sets):
        ids = _ids(each)
        twice = {name for name in ids["rulebook"] if ("rulebook", name) in first}
        in_twice = {rule.id for book in each.books if book.id in twice for rule in book.rules}
        for kind, named in ids.items():
            for name, here in named.items():
                there = first.setdefault((kind, name), here)
                is_reported = kind == "rule" and name in in_twice
                if there is not here and not is_reported:
                    wanted = (
                        "each file in one of the folders given; this one is read twice"
                        if there == here
                        else f"an id of its own for each {kind}; it is already used at {there}"
                    )
                    found.append(Problem(here.file, here.mark, f"the id '{name}' again", wanted))
    return found


def _ids(rulebooks: Rulebooks) -> Mapping[str, Mapping[str, Location]]:
    """By kind the ids of a set, each with its location."""
    return {
        "rulebook": {each.id: each.location for each in rulebooks.books if each.location},
        "rule": {rule.id: rule.location for book in rulebooks.books for rule in book.rules},
        "source": dict(_sources(rulebooks)),
        "table": {each.id: each.location for each in rulebooks.tables},
        "law table": {each.id: Location(each.file, _TOP) for each in rulebooks.law_tables},
        "amendment": {each.id: Location(each.file, _TOP) for each in rulebooks.amendments},
    }


def _sources(rulebooks: Rulebooks) -> Iterator[tuple[str, Location]]:
    for name in rulebooks.own_sources:
        location = rulebooks.sources[name].location
        if location is not None:
            yield name, location
