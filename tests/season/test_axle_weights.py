"""Axle weights follow the weight that a haul states; an axle weight that it states must agree.

By hand: the side-by-side weighs 1,420 lb, 610 lb in front and 810 lb behind; 2 % either way is let
pass, as in a profile.
"""

from pathlib import Path

import pytest

from checker.documents.resources import shipped_folder
from checker.evaluation.tolerances import check_profile
from checker.logs.model import Refused
from checker.logs.opening import open_log
from checker.season.hauls.hauls import Haul, read_hauls
from checker.season.hauls.loads import Loads
from tests.season.test_as_alone import (
    LOADS,
    SIDE_BY_SIDE,
    held_as_alone,
    load_of,
    log_of,
    rules,
)

COLUMNS = "articles.1.weight,articles.1.axles.front.weight,articles.1.axles.rear.weight"
MACHINE = "  - from: machines/side-by-side\n"
AXLES = {
    "plain": "{front: {weight: 600 lb}, rear: {weight: 820 lb}}",
    "metric": "{front: {weight: 277 kg}, rear: {weight: 367 kg}}",
    "loose": "{front: {weight: 610 lb +/- 5 lb}, rear: {weight: 810 lb +/- 5 lb}}",
}
ROWS = (
    ("1500 lb,,", False),
    (",,", False),
    ("1500 lb +/- 40 lb,,", False),
    ("700 kg,,", False),
    ("1500 lb,650 lb,850 lb", False),  # 1500
    ("1500 lb,610 lb,810 lb", True),  # 1420, below 98 % of 1500
    ("1500 lb +/- 100 lb,610 lb,810 lb", False),  # 1420, within 98 % of 1400 and 102 % of 1600
    ("1500 lb,690 lb,", None),  # with the rear axle as profiled, 1500 in the first profile
    (",700 lb,", True),  # 1510 and more, above 102 % of 1420
    (",,500 lb", True),  # 1110 and less
)


def test_hauls_of_all_sorts_come_out_as_each_does_alone(tmp_path: Path) -> None:
    for name, axles in AXLES.items():
        load_of(tmp_path, name, SIDE_BY_SIDE, (MACHINE, f"{MACHINE}    axles: {axles}\n"))
    rows = [f"{load},2026-05-14,{cells}" for load in (SIDE_BY_SIDE, *AXLES) for cells, _ in ROWS]
    _, refused = held_as_alone(log_of(tmp_path, f"load,date,{COLUMNS}", *rows))
    least = 4 * sum(bool(wrong) for _, wrong in ROWS)
    assert least <= refused <= least + 4


def hauls(folder: Path, *rows: str, load: str = SIDE_BY_SIDE) -> list[Haul | Refused]:
    log = log_of(folder, f"load,date,{COLUMNS}", *(f"{load},2026-05-14,{row}" for row in rows))

    def found(name: str) -> Path:
        file = folder / f"{name}.yaml"
        return file if file.is_file() else Path(str(LOADS / f"{name}.yaml"))

    root = Path(str(shipped_folder("profiles")))
    return read_hauls(open_log(log), Loads(found, root, [rules(())]))


def test_the_centre_of_gravity_stays_where_it_is(tmp_path: Path) -> None:
    """600 and 820 lb of 1,420 lb become 634 and 866 lb of 1,500 lb: 57.7 % behind, as before."""
    load_of(tmp_path, "mine", SIDE_BY_SIDE, (MACHINE, f"{MACHINE}    axles: {AXLES['plain']}\n"))
    found = hauls(tmp_path, ",,", "1500 lb,,", load="mine")
    before, after = (each.profile.stated.articles[0] for each in found if isinstance(each, Haul))
    assert float(after.axles.front.weight) == pytest.approx(633.8028 * 4.4482216152605)
    assert float(after.axles.rear.weight) == pytest.approx(866.1972 * 4.4482216152605)
    shares = [float(each.axles.rear.weight) / float(each.weight) for each in (before, after)]
    assert shares == pytest.approx([820 / 1420] * 2)


def test_a_weight_of_which_the_profile_states_none_scales_nothing(tmp_path: Path) -> None:
    """The axle weights stay at 1,420 lb, and the weight has to agree with them."""
    machine = (
        "  - {length: 104 in, width: 56 in, weight: 1420 lb, axles: {front: {x: 14 in, "
        "weight: 610 lb}, rear: {x: 90 in, weight: 810 lb}},\n"
    )
    text = f"kind: load\ntitle: Bare\narticles:\n{machine.replace('weight: 1420 lb, ', '')}    }}\n"
    (tmp_path / "bare.yaml").write_text(text)
    haul, refused = hauls(tmp_path, "1430 lb,,", "1500 lb,,", load="bare")
    assert isinstance(refused, Refused)
    assert refused.reason.startswith(
        "found axle weights that add to 1,420 lb; wanted the article's"
    )
    assert isinstance(haul, Haul)
    origins = haul.profile.stated.origins
    assert origins["articles.1.axles.front.weight"].text == "610 lb"
    assert not origins["articles.1.axles.front.weight"].remark
    # Also where the log has columns of axle weights that it leaves blank.
    rows = [f"bare,2026-05-14,{weight} lb,," for weight in (1430, 1500)]
    _, refused_rows = held_as_alone(log_of(tmp_path, f"load,date,{COLUMNS}", *rows))
    assert refused_rows == 1


def test_what_does_not_agree_is_refused_as_in_a_profile(tmp_path: Path) -> None:
    (refused,) = hauls(tmp_path, "1500 lb,610 lb,810 lb")
    assert refused == Refused(
        2, "found axle weights that add to 1,420 lb; wanted the article's weight, 1,500 lb"
    )


def test_the_working_says_how_the_axle_weights_come_about(tmp_path: Path) -> None:
    plain, scaled = hauls(tmp_path, ",,", "1500 lb,,")
    assert isinstance(scaled, Haul)
    assert isinstance(plain, Haul)
    assert not plain.profile.merged.remarks
    check = check_profile(scaled.profile, rules(()), scaled.on)
    told = {
        str(origin)
        for finding in check.findings
        for fact in finding.facts
        for field, origin in fact.origins.items()
        if field == "articles.1.axles.front.weight"
    }
    (said,) = told
    assert said.endswith("machines/side-by-side.yaml:14, scaled with the weight in row 3")


def test_a_weight_beyond_all_bounds_is_no_fault_of_the_program(tmp_path: Path) -> None:
    (row, haul) = hauls(tmp_path, "1e290 kg,,", "1e90 kg,,")
    assert isinstance(row, Refused)
    wanted = "wanted a number of a size that can occur"
    assert row.reason == f"articles.1.weight: found '1e290 kg'; {wanted}"
    assert isinstance(haul, Haul)
    assert haul.profile.stated.articles[0].axles.front.weight > 0
