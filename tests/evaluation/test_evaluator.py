"""Many rows at once and each row as a check of its own are one answer."""

from collections.abc import Mapping
from datetime import date
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.documents.problems import DataPath
from checker.documents.resources import shipped_folder
from checker.evaluation.check import check
from checker.evaluation.evaluator import evaluate
from checker.evaluation.gate import is_near
from checker.evaluation.outcome import OUTCOMES, OutcomeRows
from checker.evaluation.rule_rows import VERDICTS, RuleRows, expand
from checker.load.build import Profile, read_profile
from checker.units.parsing import parse
from tests.season.quick import quick_rules

DAY = date(2026, 5, 14)
NEAR = 0.05
# Fields with texts around the limits of the rules that look at them; None is not stated.
FIELDS: Mapping[DataPath, tuple[str, ...]] = {
    ("articles", 0, "weight"): ("1420 lb", "4400 lb", "9999 lb", "10001 lb"),
    ("articles", 0, "placed", "x"): ("40 in", "52 in", "80 in", "3 ft", "104 in"),
    ("trip", "speed"): ("45 mph", "65 mph", "66 mph"),
    ("trip", "distance"): ("38 mi", "160 mi"),
    ("trip", "driving_time"): ("1 h", "3 h 10 min"),
    ("walkaround", "chains_crossed"): ("yes", "no"),
    ("walkaround", "plug_connected"): ("yes", "no"),
    ("walkaround", "tread_depth"): ("1/32 in", "2/32 in", "5/32 in"),
    ("tow_vehicle", "occupants_and_cargo"): ("0 lb", "410 lb", "1400 lb"),
    ("trailer", "gvwr"): ("2990 lb", "7000 lb", "10001 lb"),
}
KINDS = {"speed": "speed", "distance": "length", "driving_time": "duration", "x": "length"}
LOADS = (
    "side-by-side-in-order",
    "missing-information",
    "variance-late-first-stop",
    "gooseneck-two-articles-in-order",
    "rear-straps-only",
)


@cache
def profile(name: str) -> Profile:
    return read_profile(shipped_folder("profiles") / "loads" / f"{name}.yaml")


def number(path: DataPath, text: str | None) -> float:
    """What a load holds for a text, in SI units."""
    if text is None:
        return float("nan")
    if text in ("yes", "no"):
        return float(text == "yes")
    kind = KINDS.get(str(path[-1])) or ("length" if path[-1] == "tread_depth" else "load")
    return parse(text, kind).value


def without(data: Any, path: DataPath) -> Any:
    """The data without one field, which it may not have."""
    part, *rest = path
    if isinstance(data, dict) and part not in data:
        return data
    changed = data.copy()
    if rest:
        changed[part] = without(data[part], tuple(rest))
    else:
        del changed[part]
    return changed


def alone(stated: Profile, row: Mapping[DataPath, str | None]) -> Profile:
    """The profile of one row by itself."""
    found = stated.replaced({path: text for path, text in row.items() if text is not None})
    data, locations = found.merged.data, found.merged.locations
    for path in (path for path, text in row.items() if text is None):
        data = without(data, path)
    return replace(found, merged=replace(found.merged, data=data, locations=locations))


def at(rows: RuleRows, index: int) -> tuple[str, float, bool, list[str]]:
    """Verdict, margin, whether it is near, and the missing fields in one row."""
    each = rows.expanded(max(index + 1, rows.verdicts.size, rows.margins.size, rows.spare.size))
    missing = [
        field
        for field, where in rows.missing().items()
        if (where[index] if where.size > 1 else where[0])
    ]
    return (
        VERDICTS[each.verdicts[index]].value,
        float(each.margins[index]),
        bool(each.near(NEAR)[index] if each.near(NEAR).size > 1 else each.near(NEAR)[0]),
        missing,
    )


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_rows_together_and_each_alone_are_one_answer(data: st.DataObject) -> None:
    stated = profile(data.draw(st.sampled_from(LOADS)))
    rules = quick_rules()
    paths = data.draw(st.lists(st.sampled_from(list(FIELDS)), min_size=1, max_size=6, unique=True))
    texts = {path: st.sampled_from([*FIELDS[path], None]) for path in paths}
    rows = data.draw(st.lists(st.fixed_dictionaries(texts), min_size=2, max_size=4))
    # Every field has some text, so that a value can stand in its place.
    full = stated.replaced({path: FIELDS[path][0] for path in paths})
    values = {path: np.array([number(path, row[path]) for row in rows]) for path in paths}
    load = full.load(values)
    together = list(evaluate(load, rules, DAY))
    outcome = OutcomeRows(len(rows))
    for each in together:
        outcome.add(each)
    codes = outcome.outcomes(load, rules)
    for index, row in enumerate(rows):
        done = check(alone(stated, row).load(), rules, DAY)
        assert OUTCOMES[expand(codes, len(rows))[index]] is done.outcome
        assert [each.rule.id for each in together] == [each.rule.id for each in done.findings]
        for each, finding in zip(together, done.findings, strict=True):
            verdict, margin, near, missing = at(each, index)
            own_margin = float("nan") if finding.margin is None else finding.margin
            assert verdict == finding.verdict.value, finding.rule.id
            assert margin == pytest.approx(own_margin, rel=1e-9, abs=1e-12, nan_ok=True) or (
                verdict in ("not stated", "does not apply")
            ), finding.rule.id
            assert near == is_near(finding, NEAR), finding.rule.id
            assert sorted(missing) == sorted(finding.missing), finding.rule.id
