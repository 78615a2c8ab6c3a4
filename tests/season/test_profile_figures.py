"""Values of profiles where hauls leave a field blank."""

import numpy as np
import pytest

from checker.season.logs.decode import Figures
from checker.season.profile_figures import ProfileFigure


@pytest.mark.parametrize("metric", [True, False])
def test_a_blank_is_in_the_units_of_its_profile(metric: bool) -> None:
    """The printed metric figures of a rule count where a figure is stated in metric units."""
    own = ProfileFigure(values=np.array([7.0, 8.0]), metric=metric)
    stated = Figures(np.array([np.nan, 2.0]), np.zeros(1), np.array([False, metric]))
    filled = own.fill(stated, np.array([1, 0]))
    assert filled.values.tolist() == [8.0, 2.0]
    assert filled.metric.tolist() == [metric]
    assert own.kinds(stated).tolist() == [int(metric)] * 2
