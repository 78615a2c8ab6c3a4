"""The trial in small: `python -m tests.season_trial` is the long one, with its measured rates."""

import pytest

from tests.season_trial.drawn import EFFECTS, HARD, NOTHING, Planted, draw_season
from tests.season_trial.trial import (
    Named,
    audited,
    changed_between,
    named_by,
    named_in,
    write_fleet,
)

HAULS = 40_000
IN_SERIES = Planted(persists=0.5)


@pytest.fixture(scope="module")
def planted() -> Named:
    return named_in(draw_season(1, HAULS, EFFECTS))


def test_what_is_planted_is_named_and_nothing_else(planted: Named) -> None:
    assert planted == EFFECTS.names


def test_the_crew_of_the_hard_loads_is_on_hold_more_often_and_not_named(planted: Named) -> None:
    season = draw_season(1, HAULS, EFFECTS)
    # The crew is the last one; by its hauls alone it is the worst but for the bad one.
    shares = [season.held[season.crews == crew].mean() for crew in range(8)]
    assert shares[7] > 1.3 * max(shares[:6])
    assert HARD[season.loads[season.crews == 7]].mean() > 0.6
    assert ("crew", "crew of hard loads") not in planted


def test_of_ten_seasons_without_effect_at_most_one_names_something() -> None:
    # At 2.5 % each, two or more of ten would come in 2.5 % of all such tests; the seeds are fixed,
    # so that this one comes out the same each time.
    assert sum(bool(named_in(draw_season(seed, 5_000))) for seed in range(10)) <= 1


def test_faults_that_go_on_for_days_make_no_bad_month_and_no_change() -> None:
    # By hauls alone these two would name October and March.
    for seed in (4, 6):
        assert named_in(draw_season(seed, HAULS, IN_SERIES)) == set()
    # By hauls alone, 36 of 60 pairs of such seasons of 100,000 hauls would be called changed.
    then, now = (draw_season(seed, HAULS, IN_SERIES, fleet=1) for seed in (0, 1))
    assert changed_between(then, now) == set()


def test_a_season_like_the_one_before_has_not_changed() -> None:
    then, now, worse = (
        draw_season(seed, HAULS, effects, fleet=9)
        for seed, effects in ((2, NOTHING), (3, NOTHING), (4, EFFECTS))
    )
    assert changed_between(then, now) == set()
    assert {("all", ""), ("crew", "bad crew")} <= changed_between(then, worse)


def test_the_audit_of_a_log_names_what_its_counts_name(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    folder = tmp_path_factory.mktemp("fleet")
    write_fleet(folder)
    season = draw_season(1, 4_000, EFFECTS)
    found = named_by(audited(folder, season))
    assert found == named_in(season)
    assert ("crew", "bad crew") in found
