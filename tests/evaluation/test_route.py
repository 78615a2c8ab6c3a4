"""What changes at the borders of a trip: small rulebooks by hand, then the shipped ones at random.

A trailer of 2,000 lb without brakes: the figures below are chosen around it.
"""

import itertools
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from checker.documents.resources import shipped_folder
from checker.evaluation.borders import Difference, RuleChange
from checker.evaluation.check import Check, check
from checker.evaluation.outcome import Outcome
from checker.evaluation.route import Border, Route, route_of
from checker.evaluation.tolerances import check_profile
from checker.load.build import Profile, read_load, read_profile
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from tests.conftest import SOURCES
from tests.shipped import shipped_rules
from tests.small_rules import rule

DAY = date(2026, 6, 1)
BRAKES = "trailer.has_brakes or trailer.gvwr <= most"
SPEED = "trip.speed <= most"
Routed = Callable[..., Route]


def limit(name: str, requires: str, figure: str, more: str = "", **kwargs: str) -> str:
    """A rule with one figure, of which less is stricter."""
    values = f"[{{value: {figure}, from: 2020-01-01, source: print, at: p. 1}}]"
    thresholds = f"thresholds: {{most: {{stricter: lower, values: {values}}}}}"
    return rule(requires, id=name, more=f"{thresholds}\n  {more}", **kwargs)


BOOKS = {
    "any": limit("heaviest", "trailer.gvwr <= most", "9000 lb"),
    "US": limit("us-length", "trailer.overall_length <= most", "40 ft", level="should"),
    "US-ID": limit("us-id-brakes", BRAKES, "3000 lb") + limit("us-id-speed", SPEED, "65 mph"),
    "US-MT": limit("us-mt-brakes", BRAKES, "1500 lb")
    + limit("us-mt-speed", SPEED, "65 mph")
    + rule("walkaround.chains_apart_from_coupling", id="us-mt-chains"),
    "US-WY": rule("trailer.has_brakes", id="us-wy-brakes", more="about: brakes"),
    "US-UT": limit("us-ut-speed", SPEED, "65 mph"),
    "US-UT-BASIN": limit("us-ut-basin-curfew", SPEED, "50 mph"),
    "CA-BC": limit("brakes-in-bc", BRAKES, "1400 kg", "about: brakes"),
}


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> Rulebooks:
    """A rulebook for each of a few places."""
    folder = tmp_path_factory.mktemp("rules")
    (folder / "sources.yaml").write_text(SOURCES)
    for place, rules in BOOKS.items():
        head = (
            f"kind: rulebook\nid: {place.lower()}\ntitle: Law of {place}\njurisdiction: {place}\n"
        )
        listed = "".join(f"  {line}\n" for line in rules.splitlines())
        (folder / f"{place}.yaml").write_text(f"{head}proved_on: 2026-01-01\nrules:\n{listed}")
    return load_rulebooks(folder)


def checked(books: Rulebooks, folder: Path, places: str, more: str = "speed: 60 mph") -> Check:
    file = folder / "load.yaml"
    file.write_text(
        "kind: load\ntrailer: {gvwr: 2000 lb, brakes: none, overall_length: 20 ft}\n"
        f"trip: {{places: [{places}], {more}}}\n"
    )
    return check(read_load(file), books, DAY)


@pytest.fixture
def routed(books: Rulebooks, tmp_path: Path) -> Routed:
    """The route of the small trailer through some places."""

    def read(places: str, more: str = "speed: 60 mph") -> Route:
        found = route_of(checked(books, tmp_path, places, more), books)
        assert found is not None
        return found

    return read


def named(change: RuleChange) -> tuple[str, str | None, str | None]:
    sides = [each and each.rule.id for each in (change.before, change.after)]
    return change.difference, sides[0], sides[1]


def crossed(border: Border) -> set[tuple[str, str | None, str | None]]:
    return {named(each) for each in border.changes}


def test_a_border_pairs_what_both_sides_ask_about_the_same_thing(routed: Routed) -> None:
    """Brakes from 3,000 lb in Idaho and from 1,500 lb in Montana, 65 mph in both."""
    (border,) = routed("US-ID, US-MT").borders
    assert crossed(border) == {
        ("other figures", "us-id-brakes", "us-mt-brakes"),
        ("the same", "us-id-speed", "us-mt-speed"),
        ("begins", None, "us-mt-chains"),
    }
    (change,) = (each for each in border.changes if each.figures)
    (figure,) = change.figures
    assert figure.before is not None
    assert figure.after is not None
    assert (figure.before.text, figure.after.text, figure.stricter) == ("3000 lb", "1500 lb", True)
    assert change.before is not None
    assert change.after is not None
    assert (change.before.verdict, change.after.verdict) == (Verdict.MET, Verdict.NOT_MET)


def test_each_place_has_its_own_outcome(routed: Routed) -> None:
    legs = routed("US-ID, US-MT").legs
    assert [(leg.name, leg.outcome) for leg in legs] == [
        ("Idaho", Outcome.NO_RULE_BROKEN),
        ("Montana", Outcome.HOLD),
    ]


def test_rules_of_other_names_are_paired_by_what_they_are_about(routed: Routed) -> None:
    """Wyoming asks brakes of every trailer, British Columbia from 1,400 kg on."""
    (border,) = routed("US-WY, CA-BC").borders
    assert crossed(border) == {
        ("asked otherwise", "us-wy-brakes", "brakes-in-bc"),
        ("ends", "us-length", None),
    }


def at_the_border(one: str, other: str) -> dict[tuple[str | None, str | None], Difference]:
    """What happens to each pair of rules on a trip from one state into another."""
    route = along((one, other)).route
    assert route is not None
    return {each[1:]: each[0] for each in crossed(route.borders[0])}


def test_the_only_rules_of_both_sides_on_a_subject_are_compared() -> None:
    """Wyoming: a stopping distance; Nebraska: brakes in commerce. Each has but one on brakes."""
    pair = "us-wy-stopping-distance", "us-ne-commercial-trailer-brakes"
    assert at_the_border("US-WY", "US-NE")[pair] == Difference.RULE
    found = at_the_border("US-MT", "US-ND")
    # Montana has two rules on chains, of which one has its like in North Dakota.
    assert found["us-mt-safety-chains", "us-nd-safety-chains"] == Difference.WORDS
    assert found["us-mt-chains-apart-from-coupling", None] == Difference.ENDS


@pytest.mark.parametrize(
    ("places", "borders"),
    [
        ("US-ID, US-ID, US-MT", [("US-ID", "US-MT")]),  # named twice, and no border between
        ("US-ID, US-MT, US-ID", [("US-ID", "US-MT"), ("US-MT", "US-ID")]),
        ("US-ID, CA-BC, US-ID", [("US-ID", "CA-BC"), ("CA-BC", "US-ID")]),
    ],
)
def test_there_is_a_border_between_each_two_places(
    routed: Routed, places: str, borders: list[tuple[str, str]]
) -> None:
    found = routed(places).borders
    assert [(each.before.place, each.after.place) for each in found] == borders


@pytest.mark.parametrize("places", ["US-ID", "US-ID, US-ID"])
def test_a_trip_that_crosses_no_border_has_no_route(
    books: Rulebooks, tmp_path: Path, places: str
) -> None:
    assert route_of(checked(books, tmp_path, places), books) is None


def test_a_county_has_its_own_rules_beside_those_of_its_state(routed: Routed) -> None:
    """In the county 50 mph hold beside the state's 65; outside it only the state's."""
    route = routed("US-UT, US-UT-BASIN, US-UT")
    into, out = route.borders
    assert crossed(into) == {("begins", None, "us-ut-basin-curfew")}
    assert crossed(out) == {("ends", "us-ut-basin-curfew", None)}
    assert [leg.outcome for leg in route.legs] == [
        Outcome.NO_RULE_BROKEN,
        Outcome.HOLD,
        Outcome.NO_RULE_BROKEN,
    ]


def test_a_country_without_its_part_is_open_and_begins_no_rule_of_its_parts(routed: Routed) -> None:
    route = routed("US, US-ID")
    (border,) = route.borders
    wide = route.legs[0]
    # Idaho is a place of its own on this trip.
    assert {*wide.parts} == {"US-MT", "US-UT", "US-UT-BASIN", "US-WY"}
    assert wide.outcome is Outcome.OPEN
    assert crossed(border) == {("begins", None, "us-id-brakes"), ("begins", None, "us-id-speed")}


def test_a_place_without_rulebook_is_open_and_ends_what_was_asked(routed: Routed) -> None:
    route = routed("US-ID, CH")
    assert route.legs[1].outcome is Outcome.OPEN
    assert "trailer brakes" in route.legs[1].unread
    assert {named(each)[0] for each in route.borders[0].changes} == {"ends"}


def test_missing_figures_leave_the_rules_open_on_both_sides(routed: Routed) -> None:
    (border,) = routed("US-ID, US-MT", more="distance: 9 mi").borders
    (same,) = (each for each in border.changes if each.difference is Difference.NONE)
    assert same.before is not None
    assert same.after is not None
    assert same.before.verdict is same.after.verdict is Verdict.NOT_STATED


AMENDED = """
kind: amendment
id: montana-law
title: Montana law
layer: place
jurisdiction: US-MT
changes:
  - {rule: heaviest, threshold: most, was: 9000 lb, value: 1900 lb, from: 2026-01-01,
     source: montana, at: "1"}
"""


def test_a_figure_that_one_place_amends_changes_at_its_border(
    tmp_path: Path, books: Rulebooks
) -> None:
    folder = tmp_path / "rules"
    folder.mkdir()
    for file in Path(books.books[0].file).parent.iterdir():
        (folder / file.name).write_text(file.read_text())
    montana = "  - {id: montana, title: M, issuer: a, edition: b, jurisdiction: US-MT,\n"
    montana += "     read_as: text seen, look_again: 2030-01-01}\n"
    (folder / "sources.yaml").write_text(SOURCES + montana)
    (folder / "amendment.yaml").write_text(AMENDED)
    changed = load_rulebooks(folder)
    route = route_of(checked(changed, tmp_path, "US-ID, US-MT"), changed)
    assert route is not None
    assert ("other figures", "heaviest", "heaviest") in crossed(route.borders[0])
    before, after = (leg.findings["heaviest"].verdict for leg in route.legs)
    assert (before, after) == (Verdict.MET, Verdict.NOT_MET)


def test_a_rulebook_that_one_place_decides_is_decided_there(
    tmp_path: Path, rulebook: Callable[..., Rulebooks]
) -> None:
    """It binds government bodies in the United States, and everybody elsewhere."""
    when = "not trip.touches_us or carrier.government"
    proof = "{name: a, given: {}, expect: not stated, origin: hand}"
    scope = f"applies: {{source: print, at: p. 1, when: {when}, because: so, proofs: [{proof}]}}\n"
    books = rulebook(rule("trailer.has_brakes"), scope)
    route = route_of(checked(books, tmp_path, "US-ID, CA-BC"), books)
    assert route is not None
    verdicts = [leg.findings["one"].verdict for leg in route.legs]
    assert verdicts == [Verdict.NOT_STATED, Verdict.NOT_MET]


# The shipped rules ------------------------------------------------------------------------------

PLACES = (
    *("US-ID", "US-MT", "US-WA", "US-CA", "US-HI", "US-UT", "US-CT"),
    *("CA-BC", "CA-AB", "CA-ON", "GB", "DE", "FR", "CH", "MX", "US", "EU"),
)
ROUTES = st.lists(st.sampled_from(PLACES), min_size=2, max_size=4)
OF_PLACES = ("trip.touches_us", "trip.touches_us_outside_hawaii", "trip.touches_canada_outside_bc")


@cache
def whole() -> Profile:
    return read_profile(Path(str(shipped_folder("profiles") / "loads/side-by-side-in-order.yaml")))


@cache
def along(places: tuple[str, ...], *, poor: bool = False) -> Check:
    changes: dict[tuple[str, ...], Any] = {("trip", "places"): list(places)}
    if poor:
        changes |= {("trailer", "brakes"): None, ("trailer", "gvwr"): "2300 lb"}
        changes |= {("walkaround", "chains_crossed"): "no", ("trip", "speed"): "61 mph"}
    return check_profile(whole().replaced(changes), shipped_rules(), DAY)


def verdicts(done: Check) -> Mapping[str, Verdict]:
    return {each.rule.id: each.verdict for each in done.findings}


def asked_in(place: str) -> set[str]:
    """The rules that a check of a trip through one place alone decides, without its route."""
    done = along((place,))
    in_force = {
        entry.book.id
        for entry in done.in_force
        if entry.verdict is not Verdict.DOES_NOT_APPLY
        and touches(entry.book.jurisdiction, [place]) == 1
    }
    return {
        each.rule.id
        for each in done.findings
        if each.book.id in in_force
        and (each.verdict is not Verdict.DOES_NOT_APPLY or not {*each.rule.facts} & {*OF_PLACES})
    }


@settings(max_examples=8)
@given(places=ROUTES, poor=st.booleans())
@example(places=["US-WA", "CA-BC", "US-WA"], poor=True)
def test_the_order_of_places_changes_no_verdict(places: Sequence[str], *, poor: bool) -> None:
    first, *others = (
        along(tuple(order), poor=poor) for order in (places, sorted(places), places[::-1])
    )
    for other in others:
        assert verdicts(other) == verdicts(first)
        assert other.outcome is first.outcome


@settings(max_examples=8)
@given(places=ROUTES)
@example(places=["US-HI", "US-CA"])  # the federal width does not bind Hawaii
@example(places=["CA-BC", "CA-AB"])  # the National Safety Code does not bind British Columbia
@example(places=["US-WA", "CA-BC"])  # a breakaway device is asked in the United States alone
@example(places=["US", "US-CA"])
def test_a_border_lists_the_rules_that_one_side_alone_has(places: Sequence[str]) -> None:
    route = along(tuple(places)).route
    for border in route.borders if route else ():
        ends = {each.before.rule.id for each in border.changes if each.before}
        begins = {each.after.rule.id for each in border.changes if each.after}
        before, after = (asked_in(leg.place) for leg in (border.before, border.after))
        both = {each for each in ends & begins if each in before & after}
        assert ends - both == before - after
        assert begins - both == after - before


@settings(max_examples=8)
@given(places=ROUTES, poor=st.booleans())
@example(places=["US-ID", "US-MT", "US-WA"], poor=True)
def test_the_way_back_has_the_same_borders_the_other_way_round(
    places: Sequence[str], *, poor: bool
) -> None:
    there, back = (along(tuple(order), poor=poor).route for order in (places, places[::-1]))
    if there is None or back is None:
        assert there is back
        return
    turned = {Difference.BEGINS: Difference.ENDS, Difference.ENDS: Difference.BEGINS}
    for border, other in itertools.zip_longest(there.borders, reversed(back.borders)):
        assert (border.before.place, border.after.place) == (other.after.place, other.before.place)
        assert crossed(border) == {
            (turned.get(each.difference, each.difference), *named(each)[:0:-1])
            for each in other.changes
        }


@settings(max_examples=8)
@given(places=ROUTES, poor=st.booleans())
@example(places=["CA-BC", "CA-AB"], poor=False)
def test_each_place_is_decided_as_a_trip_through_it_alone(
    places: Sequence[str], *, poor: bool
) -> None:
    done = along(tuple(places), poor=poor)
    for leg in done.route.legs if done.route else ():
        alone = along((leg.place,), poor=poor)
        decided = verdicts(alone)
        assert all(decided[each] is leg.findings[each].verdict for each in leg.findings)
        assert leg.outcome is alone.outcome
        unread = alone.unread_subjects.get(leg.place, ())
        assert done.unread_subjects.get(leg.place, ()) == unread
        assert {*unread} <= {*leg.unread}
        # What one place does not let pass, the trip does not.
        assert leg.outcome is not Outcome.HOLD or done.outcome is Outcome.HOLD
