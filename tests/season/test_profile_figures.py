"""Values of profiles where hauls leave a field blank."""

from typing import cast

import numpy as np
import pytest

from checker.logs.columns import column_of
from checker.logs.decode import Figures, Named
from checker.season.hauls.profile_figures import ProfileFigure, ProfileFigures, fill_figures
from checker.season.hauls.table import table_of_columns

SPEED = column_of("trip.speed")


@pytest.mark.parametrize("metric", [True, False])
def test_a_blank_is_in_the_units_of_its_profile(metric: bool) -> None:
    """The printed metric figures of a rule count where a figure is stated in metric units."""
    own = ProfileFigure(values=np.array([7.0, 8.0]), metric=metric)
    stated = Figures(np.array([np.nan, 2.0]), np.zeros(1), np.array([False, metric]))
    hauls = np.zeros(2, dtype=np.int64)
    table = table_of_columns(hauls, hauls, Named(hauls, [""]), {SPEED: stated}, {})
    profiles = cast("ProfileFigures", {SPEED: own})
    filled, kinds = fill_figures(table, profiles, np.array([1, 0]))
    figures = filled.figures(SPEED)
    assert figures.values.tolist() == [8.0, 2.0]
    assert figures.metric.tolist() == [metric]
    assert kinds.tolist() == [[int(metric)]] * 2
