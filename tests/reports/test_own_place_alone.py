"""A report in one place speaks of no other place's units, law or trade words.

The texts of every rule that can count in a place, as a metric rig there prints them, and whole
reports of a rig that is in order and of one where much is wrong.
"""

import re
from pathlib import Path

import pytest

from checker.reports.shared.glossary import words_of_place
from checker.reports.shared.place_words import rulebooks_in_words
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.rule_text import Side
from checker.units.formatting import MIXED, SI
from tests.calling import call
from tests.shipped import shipped_rules

RIG = Path(__file__).parents[1] / "rules" / "rigs" / "everyday.yaml"
EUROPE = ("DE", "AT", "FR", "NL", "IE", "PL", "CH", "NO", "UA")
ELSEWHERE = ("GB", "AU-NSW", "AU-SA", "AU-WA", "NZ", "ZA")
CANADA = ("CA-ON", "CA-QC", "CA-BC", "CA-AB", "CA-MB", "CA-PE", "CA-SK")

# A ball is called by its inches where that size is sold: 2 in in Britain, 1-7/8 in in New Zealand.
BALL_SIZES = re.compile(r"\b(?:1-7/8 in|2 in) ball\b|1-7/8 in (?:n?or|and) (?:50 mm|\{large\})")
US_UNITS = re.compile(
    r"\b\d[\d,./]*(?: \d+/\d+)?[ -]?(?:in|ft|lbs?|lbf|psi|mi|yd)\b"
    r"|\b(?:inch(?:es)?|foot|feet|pounds?|miles?)\b"
)
MILES_PER_HOUR = re.compile(r"\bmph\b")
NAMES = {
    "US": r"(?:the )?US|U\.S\.|DOT|[Ff]ederal|CFR|FMCSA|Forest Service|(?<!North )Americans?",
    "CA": r"Canad\w+|Ontario|Quebec|NSC",
    "DE": r"German\w*|StVZO|StVO|VDI",
    "GB": r"UK|Great Britain|British(?! Columbia)",
    "AU": r"Australian?",
    "NZ": r"New Zealand",
}
AMERICAN_WORDS = re.compile(r"\b(?:tiedowns?|tongue|GVWR|GCWR|pickup)\b", re.IGNORECASE)


def _foreign(place: str, text: str) -> list[str]:
    """What in a text belongs to another place."""
    text = BALL_SIZES.sub("", text)
    country = place[:2]
    if place == "CA-SK":
        # The own page of the province is in pounds and inches.
        text = re.sub(r"[\d,/ ]+ (?:lb|in)\b", "", text)
    found = US_UNITS.findall(text)
    if country != "GB":
        found += MILES_PER_HOUR.findall(text)
    for other, names in NAMES.items():
        if other != country:
            found += re.findall(rf"\b(?:{names})\b", text)
    if place in (*EUROPE, "GB", "NZ", "AU-NSW"):
        words = AMERICAN_WORDS.findall(text)
        found += [each for each in words if each.lower() != "pickup" or country in ("GB", "NZ")]
    return found


@pytest.mark.parametrize("place", [*EUROPE, *ELSEWHERE, *CANADA])
def test_no_text_of_a_rule_speaks_of_another_place(place: str) -> None:
    system = MIXED if place == "GB" else SI
    books = rulebooks_in_words(shipped_rules(), words_of_place(place), system).books
    foreign = {}
    for rule in (
        each for book in books if touches(book.jurisdiction, [place]) for each in book.rules
    ):
        if rule.when and "trip.touches_us_outside_hawaii" in rule.when.names:
            continue  # printed on trips through the United States alone
        sides = (None, Side.BELOW, Side.ABOVE)
        texts = [rule.title, rule.because, *rule.shows]
        texts += [rule.when_broken(side) for side in sides] + [rule.fix_for(side) for side in sides]
        if found := _foreign(place, " | ".join(texts)):
            foreign[rule.id] = found
    assert foreign == {}


# Lines and parts of lines that name fields, files, rules and the documents they come from.
NAMED = re.compile(
    r"^ *\[[a-z0-9-]+\] .*$|not stated: .*$|^- \d+ rulebooks left out.*$"
    r"|\([^()]*\b(?:tiedowns?|tow_vehicle|articles|trailer|hitch)\.[^()]*\)"
    r"|\([a-z0-9-]+ [0-9a-f]{16}\)",
    re.MULTILINE,
)
SPOILT = {
    "working_load_limit: 2000 daN": "working_load_limit: 60 kg",
    "tongue_rating: 150 kg": "tongue_rating: 90 kg",
    "speed: 80 km/h": "speed: 160 km/h",
    "width: 99 cm": "width: 2.80 m",
    "height: 2.30 m": "height: 4.80 m",
    "x: 1.74 m": "x: 3.30 m",
    "oldest_tyre_years: 4": "oldest_tyre_years: 12",
    "tread_depth: 4 mm": "tread_depth: 1 mm",
    "size: 50 mm, rating": "size: 2 in, rating",
    "count: 0": "count: 1",
    "chocked: yes": "chocked: no",
    "brakes: surge": "brakes: none",
    "breakaway_fitted: yes": "breakaway_fitted: no",
    "brakes: yes": "brakes: no",
    ": yes": ": no",
}


@pytest.mark.parametrize("spoilt", [False, True])
@pytest.mark.parametrize("place", ["DE", "NO", "GB", "AU-NSW", "NZ", "CA-ON"])
def test_no_report_speaks_of_another_place(place: str, spoilt: bool, tmp_path: Path) -> None:
    text = RIG.read_text(encoding="utf-8").replace("places: [DE]", f"places: [{place}]")
    for right, wrong in SPOILT.items() if spoilt else ():
        text = text.replace(right, wrong)
    (tmp_path / "rig.yaml").write_text(text, encoding="utf-8")
    done = call(tmp_path, "check", "rig.yaml", "--full", COLUMNS="1000")
    assert done.returncode in (0, 1, 3), done.stderr
    printed = NAMED.sub("", done.stdout)
    lines = [each.strip() for each in printed.splitlines() if _foreign(place, each)]
    assert lines == []
