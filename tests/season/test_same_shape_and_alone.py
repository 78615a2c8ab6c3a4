"""Logs of a few hauls of loads of one shape, or nearly, against the check of each haul alone."""

import json
import random
import re
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path

import pytest

from checker.documents.resources import shipped_folder
from checker.evaluation.tolerances import check_profile
from checker.load.build import field_path, read_profile
from checker.logs.columns import reaches
from checker.logs.model import Refused
from checker.logs.opening import open_log
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import audit
from checker.season.hauls.digests import digest_of_log
from checker.season.running.checkpoint import Checkpoint
from checker.season.running.worker import Plan
from checker.units.kinds import KINDS
from checker.units.parsing import Quantity
from checker.units.table import FACTORS
from tests.season.one_by_one import Haul, read_hauls
from tests.season.quick import quick_rules
from tests.season.test_audit import found as bundled_or_fleets

NEAR = 0.05
Said = dict[tuple[int, str], tuple[Verdict, float | None]]


@cache
def rulebooks() -> Rulebooks:
    return quick_rules()


def read(_: tuple[str, ...]) -> Rulebooks:
    return rulebooks()


def together(log: Path, of: Callable[[str], Path], root: Path | None) -> Said:
    """Verdict and margin of every rule that applies to a haul, as the audit finds them."""
    folder = log.parent / f"{log.stem}-work"
    folder.mkdir()
    work = Checkpoint(folder)
    plan = Plan(read, ("quick",), of, root, NEAR, findings=".jsonl", run=str(log))
    done = audit(open_log(log), plan, digest_of_log(log), work=work)
    assert not done.refusals
    lines = [line for file in work.findings() for line in file.read_text("utf-8").splitlines()]
    rows = [row for row in map(json.loads, lines) if row["kind"] == "finding"]
    return {(row["row"], row["rule"]): (Verdict(row["verdict"]), row["margin"]) for row in rows}


def alone(log: Path, of: Callable[[str], Path], root: Path | None) -> Said:
    """The same from the check of each haul by itself."""
    said: Said = {}
    for haul in read_hauls(log, of, root=root):
        assert isinstance(haul, Haul), haul
        for finding in check_profile(haul.profile, rulebooks(), haul.on).findings:
            if finding.verdict is not Verdict.DOES_NOT_APPLY:
                said[haul.row, finding.rule.id] = finding.verdict, finding.margin
    return said


def hold_against_alone(log: Path, of: Callable[[str], Path], root: Path | None = None) -> Said:
    """The findings of the audit, after comparing them with those of single checks."""
    found, expected = together(log, of, root), alone(log, of, root)
    assert {key: verdict for key, (verdict, _) in found.items()} == {
        key: verdict for key, (verdict, _) in expected.items()
    }
    for key, (verdict, margin) in expected.items():
        if verdict is not Verdict.NOT_STATED:
            wanted = None if margin is None else pytest.approx(margin, rel=1e-9, abs=1e-12)
            assert found[key][1] == wanted, key
    return found


def two_machines(skid_steer: str, pallet: str) -> str:
    """A bundled load of two articles, which tiedowns know by title; chains hold the loader."""
    text = (shipped_folder("profiles") / "loads/gooseneck-two-articles-in-order.yaml").read_text(
        "utf-8"
    )
    for name, title in (("skid-steer", skid_steer), ("pallet", pallet)):
        text = text.replace(f"    name: {name}\n", f"    title: {title}\n")
    return text.replace("article: skid-steer", "article: Loader").replace(
        "article: pallet", "article: Mower"
    )


def test_titles_by_which_tiedowns_know_their_articles_are_not_for_show(tmp_path: Path) -> None:
    (tmp_path / "one.yaml").write_text(two_machines("Loader", "Mower"), "utf-8")
    (tmp_path / "other.yaml").write_text(two_machines("Mower", "Loader"), "utf-8")
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\none.yaml,2026-08-20\nother.yaml,2026-08-20\n")
    found = hold_against_alone(log, lambda name: tmp_path / name, shipped_folder("profiles"))
    held = [found[row, "us-machine-held"][0] for row in (2, 3)]
    assert held == [Verdict.MET, Verdict.NOT_MET]


def test_hauls_of_one_of_several_kin_with_a_tolerance_of_their_own(tmp_path: Path) -> None:
    text = (shipped_folder("profiles") / "loads/missing-information.yaml").read_text("utf-8")
    (tmp_path / "one.yaml").write_text(text, "utf-8")
    (tmp_path / "other.yaml").write_text(text.replace("1150 lb", "1160 lb"), "utf-8")
    log = tmp_path / "hauls.csv"
    log.write_text(
        "load,date,tow_vehicle.gcwr,tiedowns.1.standard_tension\n"
        "one.yaml,2026-05-14,12600 kg +/- 2 %,\n"
        "other.yaml,2026-05-14,8276 lb,22 lb +/- 2 %\n"
    )
    hold_against_alone(log, lambda name: tmp_path / name, shipped_folder("profiles"))


@cache
def stated_in_any() -> Mapping[str, Quantity | None]:
    """Figures that bundled loads state, to start from, and questions that they answer."""
    found: dict[str, Quantity | None] = {}
    for file in sorted((shipped_folder("profiles") / "loads").glob("*.yaml")):
        profile = read_profile(file)
        found |= {field_path(path): figure for path, figure in profile.figures.items()}
        answers = profile.stated.origins.items()
        found |= {field: None for field, origin in answers if origin.text in ("yes", "no")}
    # A length or a weight that another one contradicts is refused.
    return {field: each for field, each in found.items() if not _CONTRADICTED.search(field)}


_CONTRADICTED = re.compile(
    r"length|_level|cg\.x|axles\.\w+\.x|built|deck\.|empty_.*weight|breakaway|trailer\.brakes|edge"
)


def cell(draw: random.Random, figure: Quantity | None) -> str:
    """What a log may state of a field: at times nothing, metric or with a tolerance."""
    if draw.random() < 0.4:
        return ""
    if figure is None:
        return draw.choice(["yes", "no"])
    value, kind = figure.value * draw.choice([0.5, 0.9, 1.0, 1.05, 1.5]), KINDS[figure.kind]
    if not kind.units:
        return str(round(value)) if figure.kind == "count" else repr(value)
    unit = draw.choice([kind.si, kind.us])
    top, bottom = FACTORS[unit]
    return f"{value * bottom / top!r} {unit}{draw.choice(['', ' +/- 2 %'])}"


# Of those some stopped the program once.
@pytest.mark.parametrize("seed", range(40, 60))
def test_a_few_hauls_of_kin_at_random(tmp_path: Path, seed: int) -> None:
    draw = random.Random(seed)  # noqa: S311 - a test's own hauls
    name = draw.choice(["missing-information"] * 4 + ["scale-tolerances"])
    profile, stated = read_profile(bundled_or_fleets(name)), stated_in_any()
    reached = [field for field in stated if reaches(field, profile.merged.data)]
    fields = draw.sample(reached, draw.choice([2, 4]))
    lines = [",".join(["load,date", *fields])]
    # Each of another load, so that only one load of the shape has such a haul.
    for fleet in draw.sample(["", "-000", "-001"], draw.choice([1, 2, 2])):
        cells = [cell(draw, stated[field]) for field in fields]
        lines.append(",".join([f"{name}{fleet},2026-05-14", *cells]))
    log = tmp_path / "hauls.csv"
    log.write_text("\n".join(lines) + "\n")
    hold_against_alone(log, bundled_or_fleets)


def test_an_entry_of_a_list_of_figures_may_differ_from_haul_to_haul(tmp_path: Path) -> None:
    log = tmp_path / "hauls.csv"
    name = "side-by-side-in-order"
    log.write_text(
        "load,date,trip.load_checks.1\n"
        f"{name},2026-05-14,10 mi\n{name}-000,2026-05-14,60 mi\n{name},2026-05-14,\n"
    )
    said = hold_against_alone(log, bundled_or_fleets)
    stops = [said[row, "us-first-load-check"][0] for row in (2, 3, 4)]
    assert stops == [Verdict.MET, Verdict.NOT_MET, Verdict.MET]


@pytest.mark.parametrize(
    ("field", "stated"),
    [
        ("trip.load_checks.2", "10 mi"),
        ("articles.2.weight", "10 lb"),
        ("trailer.anchors.none-such.x", "10 in"),
    ],
)
def test_what_a_load_does_not_have_is_stated_by_no_haul(
    tmp_path: Path, field: str, stated: str
) -> None:
    log = tmp_path / "hauls.csv"
    name = "side-by-side-in-order"
    log.write_text(f"load,date,{field}\n{name},2026-05-14,\n{name}-000,2026-05-14,{stated}\n")
    plan = Plan(read, ("quick",), bundled_or_fleets, None, NEAR)
    refused = [each.row for each in audit(open_log(log), plan, digest_of_log(log)).refusals]
    one_by_one = read_hauls(log, bundled_or_fleets)
    assert refused == [each.row for each in one_by_one if isinstance(each, Refused)] == [3]
