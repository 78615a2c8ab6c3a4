"""What a haul breaks, counted from a log: by the side of the limit, and by whom it is stated."""

from pathlib import Path

import numpy as np
import pytest

from checker.cli.named_loads import LoadFinder
from checker.documents.resources import shipped_folder
from checker.logs.model import LogMapping
from checker.logs.opening import open_log
from checker.season.audit import Audit, audit
from checker.season.causes.causes import Cause, Causes
from checker.season.causes.fault_counting import count_faults
from checker.season.hauls.chunk import Chunk
from checker.season.hauls.chunk_result import evaluate_chunk
from checker.season.hauls.digests import digest_of_log
from checker.season.hauls.faults import faults_of
from checker.season.hauls.loads import HaulsOfLoad, Loads
from checker.season.hauls.reading import read_part
from checker.season.running.worker import Plan
from tests.season.quick import quick_rules

LOG = """\
load,date,crew,articles.1.weight,articles.1.placed.x,walkaround.lamps_work
loads/side-by-side-in-order,2026-05-01,north,,,no
loads/side-by-side-in-order,2026-05-02,north,1410 lb,,yes
loads/side-by-side-in-order,2026-05-03,south,,75 in,
loads/too-far-back,2026-05-03,north,1430 lb,,
loads/under-rated-straps,2026-05-04,south,,,
"""
# side-by-side-in-order has its machine at 52 in and lamps that work; by its own comments
# too-far-back is too light on the tongue, and under-rated-straps has too weak tiedowns.


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Audit:
    log = tmp_path_factory.mktemp("season") / "hauls.csv"
    log.write_text(LOG)
    plan = Plan(lambda _: quick_rules(), (), LoadFinder(), None, 0.05)
    return audit(open_log(log), plan, digest_of_log(log))


def cause(season: Audit, rule: str) -> Cause:
    totals = season.totals
    found = Causes(totals.faults, season.rulebooks, totals.departs)
    (only,) = (each for each in found.all if rule in [fault.rule for fault, _ in each.faults])
    return only


def test_an_answer_of_a_row_is_named_as_the_row_s_own(season: Audit) -> None:
    lamps = cause(season, "us-lamps-work")
    assert (lamps.hauls, lamps.as_saved, lamps.in_rows) == (1, {}, 1)
    assert lamps.stated == {"walkaround.lamps_work": 1}
    assert lamps.by["crew"] == {"north": 1}


def test_a_row_and_a_profile_that_put_the_machine_too_far_back_are_one_cause(
    season: Audit,
) -> None:
    tongue = cause(season, "tongue-share-ball")
    assert tongue.head.side == "below"
    assert tongue.hauls == 2
    # The row of too-far-back states a weight, which changes nothing about that.
    assert tongue.as_saved == {"loads/too-far-back": 1}
    assert tongue.stated == {"articles.1.placed.x": 1}


def test_a_profile_that_breaks_a_rule_does_so_whatever_the_row_leaves_blank(season: Audit) -> None:
    straps = cause(season, "us-aggregate-working-load-limit")
    assert straps.as_saved == {"loads/under-rated-straps": straps.hauls}
    assert (straps.in_rows, straps.stated) == (0, {})


def test_a_slice_of_a_chunk_knows_its_own_profiles(tmp_path: Path) -> None:
    """Three loads of one shape, of which the last is too light on the tongue as it is saved."""
    whole = (shipped_folder("profiles") / "loads" / "side-by-side-in-order.yaml").read_text()
    for name, at in (("a", "52"), ("b", "52"), ("c", "75")):
        (tmp_path / f"{name}.yaml").write_text(whole.replace("x: 52 in", f"x: {at} in"))
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\n" + "".join(f"{each},2026-05-01\n" for each in "abc"))
    loads = Loads(
        lambda name: tmp_path / f"{name}.yaml", shipped_folder("profiles"), [quick_rules()]
    )
    table = read_part(next(iter(open_log(log).parts)), LogMapping()).hauls
    hauls = [HaulsOfLoad(name, [table.take([row])]) for row, name in enumerate("abc")]
    (chunk,) = loads.chunks(hauls)
    assert isinstance(chunk, Chunk)
    for rows, saved in (([0, 1], set()), ([2], {True}), ([1, 2], {True})):
        result = evaluate_chunk(chunk.take(np.array(rows)), quick_rules(), 0.05)
        faults = count_faults(result, lambda rows: {"load": {"any": int(rows.sum())}})
        tongue = {
            each.as_saved
            for key in faults
            for each in faults_of(key)
            if each.rule == "tongue-share-ball"
        }
        assert tongue == saved


def test_only_what_a_row_states_otherwise_than_the_profile_departs_from_it(season: Audit) -> None:
    # The second row says that the lamps work, as the profile does.
    assert season.totals.departs == {
        "articles.1.weight": 2,
        "articles.1.placed.x": 1,
        "walkaround.lamps_work": 1,
    }
