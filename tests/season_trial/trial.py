"""What an audit names in drawn seasons, by its counts or from a log on."""

from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import numpy as np
from msgspec.json import decode

from checker.documents.resources import shipped_folder
from checker.season.comparing import compare
from checker.season.rates.contrasts import Result
from checker.season.rates.then_and_now import ChangeResult
from checker.season.record import COMPARED_BY, Count, LoadExposure, Record, RuleCount
from checker.season.season_comparisons import compare_within
from checker.season.totals import Tally
from tests.calling import call
from tests.season_trial.drawn import (
    LOADS,
    Season,
    exposures,
    load_name,
    parts,
    rows,
)

ANSWERS: Final = ("walkaround.chains_crossed", "walkaround.lamps_work", "walkaround.coupler_pin_in")
Named = set[tuple[str, str]]


def named_in(season: Season) -> Named:
    """What an audit of a season names, by kind and name."""
    found = compare_within(exposures(season)).contrasts
    return {(each.kind, each.name) for each in found if each.result is Result.MORE}


def changed_between(then: Season, now: Season, rules: int = 30) -> Named:
    """What a comparison of two seasons calls a change; holds are shared out over some rules."""
    found = compare(_record(then, rules), replace(_record(now, rules), digest="now"))
    compared = [("rule", each.name, each.change) for each in found.rules]
    compared += [(kind, each.name, each.change) for kind, by in found.by.items() for each in by]
    compared.append(("all", "", found.on_hold))
    changed = (ChangeResult.MORE, ChangeResult.LESS)
    return {(kind, name) for kind, name, change in compared if change and change.result in changed}


def _record(season: Season, rules: int) -> Record:
    counted = exposures(season)
    crews = {
        load: {
            crew: (sum(e.decided for e in months.values()), sum(e.held for e in months.values()))
            for crew, months in by_crew.items()
        }
        for load, by_crew in counted.hauled.items()
    }
    loads = {
        load: Count(sum(d for d, _ in each.values()), sum(h for _, h in each.values()))
        for load, each in crews.items()
    }
    carried = {
        load: {
            "trailer": [counted.carried[load].trailer],
            "machine": list(counted.carried[load].machines),
            "tow vehicle": [counted.carried[load].tow_vehicle],
        }
        for load in loads
    }
    hauls = len(season.held)
    by = {kind: _counts(kind, carried, loads, crews) for kind in COMPARED_BY}
    broken = np.random.default_rng(hauls).integers(0, rules, hauls)
    return Record(
        version="",
        log="",
        digest="then",
        near=0.05,
        rulebooks={},
        tables={},
        amendments={},
        read=hauls,
        refused=0,
        refused_rows=frozenset(),
        worst=(),
        totals=Tally(hauls, int(season.held.sum())),
        rules={f"rule {n}": _rule(season, season.held & (broken == n)) for n in range(rules)},
        by=by,
        loads=loads,
        exposures={load: LoadExposure(carried[load], crews[load], load) for load in loads},
    )


def _counts(
    kind: str,
    carried: dict[str, dict[str, list[str]]],
    loads: dict[str, Count],
    crews: dict[str, dict[str, tuple[int, int]]],
) -> dict[str, Count]:
    found: dict[str, Count] = {}
    for load, count in loads.items():
        of_load = crews[load].items() if kind == "crew" else ()
        names = [(name, (count.asked, count.broken)) for name in carried[load].get(kind, ())]
        for name, (decided, held) in [*of_load, *names]:
            before = found.get(name, Count())
            found[name] = Count(before.asked + decided, before.broken + held)
    return found


def _rule(season: Season, broken: Any) -> RuleCount:
    by_load = np.bincount(season.loads, weights=broken, minlength=LOADS).astype(int).tolist()
    return RuleCount(
        "A rule",
        "must",
        Count(len(season.held), int(broken.sum())),
        {load_name(load): (number, 0) for load, number in enumerate(by_load) if number},
    )


def write_fleet(folder: Path) -> None:
    """The profiles of the 200 loads: the bundled side-by-side in order, with other titles."""
    bundled, root = shipped_folder("profiles"), folder / "profiles"
    for kind in ("carriers", "tiedowns", "gear", "tow-vehicles", "trailers", "machines"):
        (root / kind).mkdir(parents=True, exist_ok=True)
        for file in sorted((bundled / kind).glob("*.yaml")):
            (root / kind / file.name).write_bytes(file.read_bytes())
    for kind, stem, word in (
        ("trailers", "utility-single-10", "trailer"),
        ("machines", "side-by-side", "machine"),
        ("tow-vehicles", "half-ton", "truck"),
    ):
        lines = (bundled / kind / f"{stem}.yaml").read_text(encoding="utf-8").splitlines()
        for number in range(10):
            named = [f"title: {word} {number}" if x.startswith("title:") else x for x in lines]
            file = root / kind / f"{word}-{number}.yaml"
            file.write_text("\n".join([*named, ""]), encoding="utf-8")
    text = (bundled / "loads" / "side-by-side-in-order.yaml").read_text(encoding="utf-8")
    (root / "loads").mkdir()
    for load in range(LOADS):
        on, machine, truck = parts(load)
        of_load = (
            text.replace("trailers/utility-single-10", f"trailers/trailer-{on}")
            .replace("machines/side-by-side", f"machines/machine-{machine}")
            .replace("tow-vehicles/half-ton", f"tow-vehicles/truck-{truck}")
        )
        (folder / load_name(load)).write_text(of_load, encoding="utf-8")


def audited(folder: Path, season: Season, *options: str) -> dict[str, Any]:
    """The JSON document of the audit of a season's log, by the program itself."""
    (folder / "hauls.csv").write_text("\n".join([*rows(season, ANSWERS), ""]), encoding="utf-8")
    done = call(folder, "audit", "hauls.csv", "--as", "json", *options)
    assert done.returncode in (0, 1), done.stderr
    found: dict[str, Any] = decode(done.stdout)
    return found


def named_by(document: dict[str, Any]) -> Named:
    """What the document of an audit names, by kind and title."""
    found = document["statistics"]["comparisons"]
    return {(each["kind"], each["name"]) for each in found if each["result"] == Result.MORE.value}
