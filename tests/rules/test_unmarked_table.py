"""The shipped table of unmarked tiedown devices against the print's 79 values, one load each.

Origin of every expected value: tests/reference/us-working-load-limits.csv, typed from 49 CFR
393.108 (2015 annual edition); the metric column of the same rows is not a second route.
"""

import csv
import json
import math
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from checker.evaluation.check import check
from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from checker.units.arithmetic import Number

LB = 4.4482216152605  # N, exact
DAY = date(2026, 6, 1)
Rating = Callable[[Mapping[str, Any]], Number]

ROWS_FILE = Path(__file__).parent.parent / "reference" / "us-working-load-limits.csv"
with ROWS_FILE.open(encoding="utf-8", newline="") as opened:
    ROWS = list(csv.DictReader(opened))
WEBBING = {"synthetic webbing": "webbing"}


def device_of(row: Mapping[str, str]) -> dict[str, str]:
    """The tiedown a row of the print describes, as a load states it."""
    width, _, thickness = row["size"].partition(" x ")
    device = {"device": WEBBING.get(row["device"], row["device"]), "size": f"{width} in"}
    if thickness:
        device["thickness"] = f"{thickness} in"
    if device["device"] == "chain":
        device["grade"] = row["construction"].split()[1]
    return device


def one_device(device: Mapping[str, Any]) -> str:
    """A load of one tiedown, said to carry no mark unless the device says otherwise."""
    tiedown = {"unmarked": "yes", **device}
    return json.dumps({"kind": "load", "articles": [{"weight": "1000 lb"}], "tiedowns": [tiedown]})


@pytest.fixture
def rating(books: Rulebooks, profile: Callable[[str], Load]) -> Rating:
    """Pounds counted for a device in each row of its load; NaN for none."""

    def pounds(device: Mapping[str, Any]) -> Number:
        return _rating(Facts(profile(one_device(device)), books.unmarked_on(DAY)))

    return pounds


def _rating(facts: Facts) -> Number:
    (subject,) = facts.subjects("tiedown")
    return facts.value("tiedown.device_rating", subject) / LB


def test_a_check_counts_by_the_same_table(
    books: Rulebooks, profile: Callable[[str], Load], rating: Rating
) -> None:
    # The print of 49 CFR 393.108 has 2 in webbing at 2,000 lb.
    webbing = {"device": "webbing", "size": "2 in"}
    done = check(profile(one_device(webbing)), books, DAY)
    assert _rating(done.facts) == rating(webbing) == pytest.approx(2000, rel=1e-9)


def test_all_printed_values_are_here() -> None:
    assert len(ROWS) == 79
    assert len({tuple(device_of(row).values()) for row in ROWS}) == 79


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['construction']} {row['size']}")
def test_a_printed_size_has_its_printed_limit(rating: Rating, row: dict[str, str]) -> None:
    expected = pytest.approx(float(row["wll_lb"]), rel=1e-9)
    assert rating(device_of(row)) == expected, row["citation"]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['construction']} {row['size']}")
@pytest.mark.parametrize("share", [0.999, 1.001])
def test_a_size_just_off_a_printed_one_has_no_limit(
    rating: Rating, row: dict[str, str], share: float
) -> None:
    device = device_of(row)
    whole, _, part = device["size"].removesuffix(" in").rpartition(" ")
    over, _, under = part.partition("/")
    inches = float(whole or 0) + float(over) / float(under or 1)
    assert math.isnan(rating({**device, "size": f"{inches * share!r} in"}))


@pytest.mark.parametrize(
    "device",
    [
        {"device": "webbing", "size": "1 in"},
        {"device": "webbing", "size": "2.5 in"},
        {"device": "chain", "grade": "80", "size": "7/16 in"},
        {"device": "chain", "grade": "100", "size": "7/16 in"},
        {"device": "wire rope", "size": "3/16 in"},
        {"device": "manila rope", "size": "1/4 in"},
        {"device": "steel strapping", "size": "2 in", "thickness": "0.029 in"},
        {"device": "steel strapping", "size": "1 1/4 in"},
        {"device": "winch line", "size": "1/2 in"},
        {"device": "webbing"},
        {"size": "2 in"},
    ],
    ids=lambda device: " ".join(device.values()),
)
def test_what_is_not_printed_has_no_limit(rating: Rating, device: dict[str, str]) -> None:
    assert math.isnan(rating(device))


def test_a_device_not_said_to_be_unmarked_gets_nothing_from_the_table(rating: Rating) -> None:
    webbing = {"device": "webbing", "size": "2 in"}
    assert math.isnan(rating({**webbing, "unmarked": "no"}))


@pytest.mark.parametrize("marked", [1500, 3333])
def test_a_mark_stands_before_the_table_lower_or_higher(rating: Rating, marked: int) -> None:
    # 393.108(b): 2 in webbing is printed at 2,000 lb
    webbing = {"device": "webbing", "size": "2 in", "unmarked": "no"}
    found = rating({**webbing, "marked_working_load_limit": f"{marked} lb"})
    assert found == pytest.approx(marked, rel=1e-9)


def column(device: str, construction: str = "") -> dict[str, float]:
    """Printed limits of one column by size."""
    rows = (row for row in ROWS if row["device"] == device and construction in row["construction"])
    return {row["size"]: float(row["wll_lb"]) for row in rows}


@pytest.mark.parametrize("grade", [{"grade": "none"}, {}], ids=["no grade", "grade not stated"])
def test_chain_without_a_grade_counts_as_grade_30(rating: Rating, grade: dict[str, str]) -> None:
    # 393.108(d)
    printed = column("chain", "grade 30")
    assert len(printed) == 6
    found = {size: rating({"device": "chain", "size": f"{size} in", **grade}) for size in printed}
    assert found == pytest.approx(printed, rel=1e-9)


def test_unidentified_synthetic_rope_counts_as_polypropylene(rating: Rating) -> None:
    # 393.108(c); not the weakest column: nylon has less at 3/8 in
    printed = column("polypropylene rope")
    assert len(printed) == 6
    found = {
        size: rating({"device": "unidentified synthetic rope", "size": f"{size} in"})
        for size in printed
    }
    assert found == pytest.approx(printed, rel=1e-9)
    assert column("nylon rope")["3/8"] < found["3/8"]


@pytest.mark.parametrize(
    ("device", "nominal_lb", "limit_lb"),
    [
        # 393.104(e) footnotes 1 and 3: a quarter of the strength; with a table value, the lower
        ({"device": "wire rope", "size": "1/2 in"}, 21200, 5300),
        ({"device": "wire rope", "size": "1/2 in"}, 21196, 5299),
        ({"device": "wire rope", "size": "1/2 in"}, 40000, 5300),
        ({"device": "wire rope", "size": "9/16 in"}, 24000, 6000),
        ({"device": "steel strapping", "size": "3/4 in", "thickness": "0.02 in"}, 2000, 500),
        # No such route for chain: the table alone
        ({"device": "chain", "grade": "70", "size": "3/8 in"}, 20000, 6600),
    ],
)
def test_a_quarter_of_the_nominal_strength_counts_where_it_is_lower(
    rating: Rating, device: dict[str, str], nominal_lb: int, limit_lb: int
) -> None:
    found = rating({**device, "nominal_strength": f"{nominal_lb} lb"})
    assert found == pytest.approx(limit_lb, rel=1e-9)


def test_a_size_with_a_tolerance_is_no_printed_size(rating: Rating) -> None:
    rows = rating({"device": "webbing", "size": "2 in +/- 0.1 in"})
    # As stated, and at both ends of the tolerance: 1.9 in and 2.1 in are not printed.
    assert rows == pytest.approx(np.array([2000.0, np.nan, np.nan]), nan_ok=True)
