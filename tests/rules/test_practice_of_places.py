"""Practice holds where it is practised, and no must of one place stands on the law of another."""

from datetime import date
from pathlib import Path

import pytest

from checker.documents.jurisdiction_codes import ANYWHERE
from checker.documents.resources import shipped_folder
from checker.evaluation.check import Check
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.rulebooks.jurisdictions import has_law, touches
from checker.rulebooks.model import Rulebooks

AMERICAN = {
    "tongue-share-ball", "tongue-share-in-bed", "chains-connected", "chains-crossed",
    "two-safety-chains", "chain-strength", "brakes-with-breakaway", "trailer-without-brakes-light",
    "trailer-without-brakes-to-tow-vehicle", "speed-within-trailer-tyres", "speed-far-over",
    "combination-reserve", "first-load-check-early", "height-no-road-allows",
    "tow-vehicle-payload", "tiedowns-rated-for-the-weight",
}  # fmt: skip


def checked(places: list[str] | None, books: Rulebooks) -> Check:
    file = Path(str(shipped_folder("profiles") / "loads" / "mini-excavator-in-order.yaml"))
    profile = read_profile(file).replaced({("trip", "places"): places})
    return check_profile(profile, books, date(2026, 6, 1))


@pytest.mark.parametrize("places", [["US-UT"], ["CA-ON"], ["MX"], ["US-WA", "CA-BC"]])
def test_american_practice_holds_in_north_america(places: list[str], books: Rulebooks) -> None:
    found = {each.rule.id for each in checked(places, books).findings}
    assert found >= AMERICAN


@pytest.mark.parametrize("places", [["DE"], ["GB"], ["AU-NSW"], ["NZ"], ["CH"]])
def test_american_practice_holds_nowhere_else(places: list[str], books: Rulebooks) -> None:
    found = {each.rule.id for each in checked(places, books).findings}
    assert found.isdisjoint(AMERICAN)


def test_practices_of_both_places_show_where_a_trip_meets_them(books: Rulebooks) -> None:
    found = {each.rule.id for each in checked(["US-UT", "DE"], books).findings}
    assert found >= AMERICAN | {"de-least-coupling-load"}


def test_a_must_that_binds_anywhere_stands_on_no_law_of_one_place(books: Rulebooks) -> None:
    for book in books.books:
        for rule in book.rules:
            cited = [rule.citation]
            cited += [each.citation for one in rule.thresholds.values() for each in one.values]
            places = {each.source.jurisdiction for each in cited if each.source is not None}
            foreign = {
                place
                for place in places - {ANYWHERE}
                if touches(place, [book.jurisdiction]) != 1
                and touches(book.jurisdiction, [place]) != 1
            }
            assert rule.level != "must" or not foreign, rule.id
            if not has_law(book.jurisdiction):
                assert rule.basis != "law", rule.id
