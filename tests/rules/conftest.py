"""The shipped rules, read once, and loads held against them."""

import json
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import pytest

from checker.documents.problems import DataPath
from checker.documents.resources import shipped_folder
from checker.evaluation.check import Check, check
from checker.load.build import read_profile
from checker.load.model import Load
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.selection import select_rulebooks
from checker.rulebooks.verdicts import Verdict
from tests.published import published_cases

DAY = date(2026, 6, 1)
OF_CASES = ("eu-lashing-forces", "eu-lashings", "australia-restraint-methods")
"""Rulebooks whose sums the published cases of load securing are about."""
Texts = Mapping[DataPath, Any]
Held = Callable[[Mapping[str, Any]], Check]


@pytest.fixture(scope="session")
def books() -> Rulebooks:
    """The shipped rules with their proofs."""
    return load_rulebooks(shipped_folder("rules"), with_proofs=True)


@pytest.fixture(scope="session")
def federal(books: Rulebooks) -> Rulebooks:
    """The federal rulebooks of the United States."""
    return select_rulebooks(books, [book.id for book in books.books if book.jurisdiction == "US"])


@pytest.fixture
def held_by(profile: Callable[[str], Load]) -> Callable[[Rulebooks], Held]:
    """Hold loads given as plain data against some rulebooks."""

    def by(rulebooks: Rulebooks) -> Held:
        return lambda data: check(profile(json.dumps({"kind": "load", **data})), rulebooks, DAY)

    return by


@pytest.fixture
def held(books: Rulebooks, held_by: Callable[[Rulebooks], Held]) -> Held:
    """Hold a load given as plain data against the shipped rules."""
    return held_by(books)


@pytest.fixture(scope="session")
def cases() -> Mapping[str, Any]:
    """The published cases of bodies of rules that are not American, by id."""
    return {**published_cases("international-cases"), **published_cases("towing-cases")}


@pytest.fixture(scope="module")
def national(books: Rulebooks, request: pytest.FixtureRequest) -> Rulebooks:
    """The rulebooks of the JURISDICTION that a test module is about, but its road law.

    BESIDE names rulebooks of other jurisdictions too.

    Road law is worked out for one rig in every place (test_everyday_rigs.py) and at its
    boundaries (test_abroad_cases.py).
    """
    wanted, beside = request.module.JURISDICTION, getattr(request.module, "BESIDE", ())
    return select_rulebooks(
        books,
        [
            book.id
            for book in books.books
            if (book.jurisdiction == wanted and not book.id.endswith("-road")) or book.id in beside
        ],
    )


@pytest.fixture(scope="module")
def rules(national: Rulebooks) -> Mapping[str, Rule]:
    """Their rules by id."""
    return {rule.id: rule for book in national.books for rule in book.rules}


@pytest.fixture
def hold(national: Rulebooks, request: pytest.FixtureRequest) -> Callable[[str, Texts], Check]:
    """Hold a bundled load with other texts in some fields against them, on a module's ROAD."""

    def held(name: str, texts: Texts) -> Check:
        profile = read_profile(shipped_folder("profiles") / "loads" / f"{name}.yaml")
        return check(profile.replaced(request.module.ROAD | texts).load(), national, DAY)

    return held


@pytest.fixture
def verdict(
    books: Rulebooks, held_by: Callable[[Rulebooks], Held]
) -> Callable[[str, dict[str, Any], str], Verdict]:
    """What a rule says of a load of goods in France, or where else it is said to go."""
    hold = held_by(select_rulebooks(books, OF_CASES))

    def of(rule: str, data: dict[str, Any], place: str = "FR") -> Verdict:
        data["trailer"] |= {"gvwr": "12 t"}
        data["articles"][0].setdefault("fully_contained", "no")
        done = hold({**data, "trip": {"places": [place]}})
        (found,) = (each for each in done.findings if each.rule.id == rule)
        return found.verdict

    return of
