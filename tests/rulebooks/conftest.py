"""A small rulebook with amendments, and a load held against it."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from checker.evaluation.check import Check, check
from checker.load.model import Load
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.selection import combine_rulebooks
from tests.amended_rules import BOOK, SOURCES, Amended


@pytest.fixture
def amended(tmp_path: Path) -> Amended:
    """The book above with amendments given as text, each after its head."""

    def read(
        *amendments: str,
        elsewhere: frozenset[str] = frozenset(),
        sources: str = SOURCES,
        book: str = BOOK,
    ) -> Rulebooks:
        (tmp_path / "sources.yaml").write_text(sources)
        (tmp_path / "book.yaml").write_text(book)
        for number, text in enumerate(amendments):
            (tmp_path / f"change-{number}.yaml").write_text(f"kind: amendment\n{text}")
        return combine_rulebooks([load_rulebooks(tmp_path)], elsewhere=elsewhere)

    return read


@pytest.fixture
def held(profile: Callable[[str], Load]) -> Callable[..., Check]:
    """A trailer of 6,800 lb and a tow vehicle of 4 seats, held against rulebooks on a day."""

    def hold(books: Rulebooks, day: date, places: str = "[US-UT]") -> Check:
        load = profile(
            f"kind: load\ntrailer: {{gvwr: 6800 lb}}\ntow_vehicle: {{seats: 4}}\n"
            f"trip: {{places: {places}}}\n"
        )
        return check(load, books, day)

    return hold
