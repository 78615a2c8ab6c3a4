"""Every entry of the lists fires, says both sides, and needs all that it names."""

import copy
from pathlib import Path
from typing import Any

import pytest

from checker.documents.document import Document
from checker.documents.problems import Mark
from checker.documents.resources import shipped_folder
from checker.documents.validate import validate
from checker.load.build import read_profile
from checker.load.plausible.entry import PRACTICE, Entry, Grade
from checker.load.plausible.reading import ENTRIES, OfProfile, doubts, refusals
from checker.load.plausible.statement import Compared, Term, clause
from tests.load.plausible.examples import example, of_entry

TOP = {(): ("load.yaml", Mark(1, 1))}
BUNDLED = sorted(Path(str(shipped_folder("profiles"))).glob("loads/*.yaml"))


def test_names_are_told_apart() -> None:
    names = [entry.name for entry in ENTRIES]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_an_entry_fires_on_a_load_that_fits_the_schema(entry: Entry) -> None:
    data, case = example(entry)
    assert validate(Document("load.yaml", data, {}, {}), wanted_kind="load") == []
    found, wanted = case.words(OfProfile(data))
    assert wanted
    assert "not stated" not in found.replace("articles.1.placed.y", "")
    assert "{" not in found + wanted
    if entry.grade is Grade.REFUSED:
        assert any(found in problem.found for problem in refusals(data, TOP))
    else:
        said = [each for each in doubts(data, TOP) if each.name == entry.name]
        assert [each.at.found for each in said] == [found]
        assert said[0].because
        assert said[0].source == PRACTICE or "from memory" in said[0].source


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_a_field_that_is_not_stated_refuses_nothing(entry: Entry) -> None:
    data, case = example(entry)
    sizes = {field for each in entry.where for field in _sizes(each)}
    for field, path in zip(case.parsed.fields, case.paths, strict=True):
        if field in sizes:
            continue
        fewer = copy.deepcopy(data)
        inside: Any = fewer
        for part in path[:-1]:
            inside = inside[part]
        del inside[path[-1]]
        assert not any(each.holds(OfProfile(fewer)) for each in of_entry(entry, fewer)), field


def _sizes(text: str) -> set[str]:
    """Fields of which only the size counts: not stated, it is 0 at least."""
    each = clause(text)
    terms: tuple[Term, ...] = (*each.left, *each.right) if isinstance(each, Compared) else ()
    return {field for term in terms if term.size for field in term.fields}


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_a_tolerance_that_lets_it_be_otherwise_takes_it_back(entry: Entry) -> None:
    data, case = example(entry)
    loose = copy.deepcopy(data)
    figures = 0
    compared = {field for each in entry.where for field in _compared(each)}
    for field, path in zip(case.parsed.fields, case.paths, strict=True):
        inside: Any = loose
        for part in path[:-1]:
            inside = inside[part]
        text = inside[path[-1]]
        if isinstance(text, str) and field in compared:
            inside[path[-1]] = f"{text} ± 1e9 %"
            figures += 1
    if figures:
        assert not any(each.holds(OfProfile(loose)) for each in of_entry(entry, loose))


def _compared(text: str) -> tuple[str, ...]:
    each = clause(text)
    return each.fields if isinstance(each, Compared) else ()


@pytest.mark.parametrize("file", BUNDLED, ids=lambda file: file.stem)
def test_no_bundled_load_fires_any(file: Path) -> None:
    assert read_profile(file).doubts == ()
