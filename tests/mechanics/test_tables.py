"""Edges of the printed tables: at, just below and just above every boundary."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from checker.mechanics.coupling import d_value, dc_value, v_value
from checker.mechanics.coupling_classes import coupling_class, least_breaking_forces
from checker.mechanics.tyres import (
    LOAD_INDEX_KG,
    load_of_index,
    required_rating_per_tyre,
    smallest_load_index,
)

KG = 9.80665  # N
LB = 4.4482216152605  # N
EVERY_INDEX = range(60, 151)


@pytest.mark.parametrize(
    ("edge", "at_or_below", "above"),
    [(2000, 1, 2), (3500, 2, 3), (5000, 3, 4), (10000, 4, math.nan)],
)
def test_edges_of_the_coupling_classes(edge: float, at_or_below: float, above: float) -> None:
    """COMAR 11.13.08.10 Table 1; the pound between two printed classes goes to the stronger."""
    found = coupling_class(LB * np.array([edge - 0.5, edge, edge + 0.5, edge + 1]))
    np.testing.assert_array_equal(found, [at_or_below, at_or_below, above, above])


@pytest.mark.parametrize(
    ("pounds", "printed"),
    [
        (1500, (6000, 6000, 2000, 2500, 2500)),
        (3000, (10500, 10500, 3000, 4500, 4500)),
        (4500, (15000, 15000, 4000, 7000, 7000)),
        (10000, (30000, 30000, 10000, 13000, 14000)),
    ],
)
def test_each_line_of_the_coupling_table(pounds: float, printed: tuple[float, ...]) -> None:
    """COMAR 11.13.08.10 Table 1, in lbf; class 4 is 3.0, 3.0, 1.0, 1.3 and 1.4 times the weight."""
    assert np.array(least_breaking_forces(LB * pounds)) / LB == pytest.approx(printed)


def test_class_four_starts_below_class_three_in_vertical_tension() -> None:
    lighter, heavier = (least_breaking_forces(LB * pounds) for pounds in (5000, 5001))
    # 1.3 times 5001 lb stays below the 7000 lbf of class 3: as printed, not a slip here.
    assert heavier.longitudinal_tension > lighter.longitudinal_tension
    assert heavier.longitudinal_compression > lighter.longitudinal_compression
    assert heavier.transverse > lighter.transverse
    assert lighter.vertical_tension / LB == pytest.approx(7000)
    assert heavier.vertical_tension / LB == pytest.approx(6501.3)
    assert heavier.vertical_compression / LB == pytest.approx(7001.4)


def test_load_indices_lie_where_the_geometric_rule_puts_them() -> None:
    """Independent of the table: 45 kg * 10^(index / 80), off by at most 1.74 % (at 118)."""
    assert sorted(LOAD_INDEX_KG) == list(range(60, 151, 10))
    rule = np.array([45 * 10 ** (index / 80) for index in EVERY_INDEX])
    table = load_of_index(np.array(EVERY_INDEX, dtype=float)) / KG
    off = np.abs(table / rule - 1)
    assert off.max() < 0.0175
    assert EVERY_INDEX[off.argmax()] == 118
    assert (np.diff(table) > 0).all()


def test_load_indices_equal_the_reference_copy() -> None:
    """ISO 4000-1 / ETRTO series from memory, kept a second time beside the worked cases."""
    reference = Path(__file__).parent.parent / "reference" / "tyre-load-index.csv"
    with reference.open(encoding="utf-8", newline="") as lines:
        expected = {int(row["load_index"]): float(row["load_kg"]) for row in csv.DictReader(lines)}
    assert list(expected) == list(EVERY_INDEX)
    found = {index: load_of_index(float(index)) / KG for index in EVERY_INDEX}
    assert found == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("index", EVERY_INDEX)
def test_the_smallest_index_changes_just_above_its_own_load(index: int) -> None:
    load = load_of_index(float(index))
    below, at, above = smallest_load_index(load * np.array([1 - 1e-6, 1, 1 + 1e-6]))
    assert below == at == index
    assert above == index + 1 or (index == 150 and math.isnan(above))


def test_indices_outside_the_table_are_not_known() -> None:
    found = load_of_index(np.array([59.0, 60.5, 151.0, math.nan]))
    assert np.isnan(found).all()
    assert math.isnan(smallest_load_index(math.nan))
    assert smallest_load_index(1.0) == 60


def test_required_rating_of_tyres_that_count_in_full_and_in_part() -> None:
    """Hand-calculated: 12000 N on 4 tyres, then with ratings divided by 1.2."""
    assert required_rating_per_tyre(12_000.0, 4.0, 1.0) == 3000.0
    assert required_rating_per_tyre(12_000.0, 4.0, 1.2) == pytest.approx(3600.0)


def test_coupling_values_in_the_regulations_own_units() -> None:
    """Hand-calculated: 9.81 * 2 t * 3 t / 5 t = 11.772 kN, whichever vehicle is the heavier."""
    two, three = 2000 * KG, 3000 * KG
    assert d_value(two, three) == pytest.approx(11_772.0)
    assert d_value(three, two) == dc_value(two, three) == pytest.approx(11_772.0)


@pytest.mark.parametrize(
    ("load_area", "air", "kilonewtons"),
    [
        (4.9, 1.0, 1.8 * 5),
        (5.0, 1.0, 1.8 * 5),
        (5.1, 1.0, 1.8 * 5 * 1.0404),
        (5.0, 0.0, 2.4 * 5),
    ],
)
def test_a_load_area_shorter_than_the_drawbar_counts_as_equal(
    load_area: float, air: float, kilonewtons: float
) -> None:
    """Hand-calculated for 5 t on the axles and a drawbar of 5 m."""
    assert v_value(5000 * KG, load_area, 5.0, air) == pytest.approx(1000 * kilonewtons)
