"""Many hauls at once against the same hauls one by one: verdicts, margins, outcomes agree."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import cache, partial
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checker.documents.resources import shipped_folder
from checker.evaluation.engine import Check
from checker.evaluation.gate import is_near
from checker.evaluation.tolerances import check_profile
from checker.load.build import Profile, read_profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import WORST_FIRST
from checker.season.chunk import Chunk, Varied
from checker.season.judged import Group
from checker.season.judged_chunk import OUTCOMES, JudgedChunk
from checker.season.kinship import kin, known
from checker.season.totals import Bars
from checker.units.kinds import KINDS
from checker.units.parsing import Quantity, parse
from checker.units.table import FACTORS
from tests.season.quick import quick_rules

DAY = date(2026, 5, 14)
NEAR = 0.05
# Fields that a haul may state, with texts around the limits of the rules that look at them.
FIELDS: Mapping[tuple[str | int, ...], tuple[str, ...]] = {
    ("articles", 0, "weight"): ("1420 lb", "4400 lb", "9999 lb", "10001 lb", "640 kg"),
    ("articles", 0, "placed", "x"): ("40 in", "52 in", "80 in", "3 ft", "104 in"),
    ("trip", "speed"): ("45 mph", "65 mph", "66 mph", "110 km/h"),
    ("trip", "distance"): ("38 mi", "160 mi"),
    ("trip", "driving_time"): ("1 h", "3 h 10 min"),
    ("walkaround", "chains_crossed"): ("yes", "no"),
    ("walkaround", "plug_connected"): ("yes", "no"),
    ("walkaround", "tread_depth"): ("1/32 in", "2/32 in", "5/32 in"),
    ("tow_vehicle", "occupants_and_cargo"): ("0 lb", "410 lb", "1400 lb"),
    ("trailer", "gvwr"): ("2990 lb", "7000 lb", "10001 lb"),
}
LOADS = (
    "side-by-side-in-order",
    "scale-tolerances",
    "missing-information",
    "variance-late-first-stop",
    "gooseneck-two-articles-in-order",
    "rear-straps-only",
)


@cache
def rulebooks() -> Rulebooks:
    """The shipped rules without those that ask for a linear programme, which take long."""
    return quick_rules()


@cache
def profile(name: str) -> Profile:
    return read_profile(shipped_folder("profiles") / "loads" / f"{name}.yaml")


def columns(hauls: list[dict[Any, str]], fields: list[Any]) -> dict[Any, Varied]:
    """Texts of the hauls as arrays, by the units module."""
    found = {}
    for path in fields:
        texts = [haul[path] for haul in hauls]
        if texts[0] in ("yes", "no"):
            found[path] = Varied(np.array([float(text == "yes") for text in texts]))
            continue
        kind = {"speed": "speed", "distance": "length", "driving_time": "duration"}
        last = path[-1]
        of = kind.get(last) or ("length" if last in ("x", "tread_depth") else "load")
        numbers = [parse(text, of) for text in texts]
        halves = np.array([number.half_width for number in numbers])
        found[path] = Varied(
            np.array([number.value for number in numbers]), halves if halves.any() else None
        )
    return found


def compare(check: Check, group_says: Mapping[str, tuple[int, float, bool]]) -> None:
    assert set(group_says) == {finding.rule.id for finding in check.findings}
    for finding in check.findings:
        code, margin, near = group_says[finding.rule.id]
        assert WORST_FIRST[code] is finding.verdict, finding.rule.id
        if finding.verdict not in ("does not apply", "not stated"):
            alone = np.nan if finding.margin is None else finding.margin
            assert margin == pytest.approx(alone, rel=1e-9, abs=1e-12, nan_ok=True), finding.rule.id
        assert near == is_near(finding, NEAR), finding.rule.id


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_arrays_and_one_by_one_agree_on_every_verdict(data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(LOADS))
    fields = data.draw(st.lists(st.sampled_from(list(FIELDS)), min_size=1, max_size=6, unique=True))
    tolerance = data.draw(st.sampled_from(["", " +/- 2 %", " +/- 30 %"]))

    def text(path: Any) -> st.SearchStrategy[str]:
        can_vary = FIELDS[path][0].endswith("lb")
        metric = path == ("articles", 0, "weight")
        words = [word for word in FIELDS[path] if not (metric and word.endswith("kg"))]
        return st.sampled_from([word + tolerance if can_vary else word for word in words])

    hauls = data.draw(
        st.lists(
            st.fixed_dictionaries({path: text(path) for path in fields}), min_size=1, max_size=5
        )
    )
    stated = hauls[0]
    rows = np.arange(len(hauls))
    days = np.full(len(hauls), DAY.toordinal())
    crews = np.zeros(len(hauls), dtype=int)
    laid = profile(name).replaced(stated)
    chunk = Chunk(
        profile=laid,
        own={},
        loads=[known(name, laid, {}).labels({})],
        load_of=np.zeros(len(hauls), dtype=int),
        on=DAY,
        rows=rows,
        days=days,
        crews=["north"],
        crew_of=crews,
        columns=columns(hauls, fields),
        alike=None,
    )
    group = Group(chunk, rulebooks(), NEAR)
    judged, unmeasured = group.judged(chunk), group.judged(chunk, measured=False)
    compare_each(judged, [profile(name).replaced(haul) for haul in hauls])
    assert group.totals(unmeasured, Bars()) == group.totals(judged, Bars())


def compare_each(judged: JudgedChunk, profiles: Sequence[Profile]) -> None:
    everywhere = np.arange(len(profiles))
    says = {
        each.said.rule.id: tuple(
            judged.of(each, column, everywhere)
            for column in (each.said.codes, each.said.margins, each.said.near)
        )
        for each in judged.rules
    }
    for row, one in enumerate(profiles):
        alone = check_profile(one, rulebooks(), DAY)
        compare(alone, {rule: tuple(each[row] for each in said) for rule, said in says.items()})
        assert OUTCOMES[judged.outcomes[row]] is alone.outcome


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_loads_that_differ_in_figures_are_judged_together_as_each_by_itself(
    data: st.DataObject,
) -> None:
    name = data.draw(st.sampled_from(LOADS))
    first = profile(name)
    paths = data.draw(
        st.lists(st.sampled_from(list(first.figures)), min_size=1, max_size=8, unique=True)
    )
    factors = st.sampled_from([0.5, 0.93, 1.0, 1.02, 1.4, 2.0])
    other = {path: factors.map(partial(scaled, first.figures[path])) for path in paths}
    drawn = data.draw(st.lists(st.fixed_dictionaries(other), min_size=2, max_size=3))
    profiles = [first.replaced(texts) for texts in drawn]
    loads = [known(f"{name}-{place}", each, {}) for place, each in enumerate(profiles)]
    assert len({load.pattern for load in loads}) == 1
    fields = data.draw(st.lists(st.sampled_from(list(FIELDS)), max_size=3, unique=True))
    # Not in metric units: hauls go together only where all their numbers are alike in that.
    printed = {path: [text for text in FIELDS[path] if "k" not in text] for path in fields}
    texts = st.fixed_dictionaries({path: st.sampled_from(printed[path]) for path in fields})
    hauls = data.draw(st.lists(texts, min_size=2, max_size=4))
    load_of = np.array([data.draw(st.sampled_from(range(len(loads)))) for _ in hauls])
    together, stated = kin(loads, profiles[0]), columns(hauls, fields)
    chunk = Chunk(
        profile=together.profile.replaced(hauls[0]),
        own={path: own for path, own in together.own.items() if path not in fields},
        loads=[load.labels({}) for load in loads],
        load_of=load_of,
        on=DAY,
        rows=np.arange(len(hauls)),
        days=np.full(len(hauls), DAY.toordinal()),
        crews=["north"],
        crew_of=np.zeros(len(hauls), dtype=int),
        columns=stated,
        alike=None,
    )
    judged = Group(chunk, rulebooks(), NEAR).judged(chunk)
    stated_by = zip(load_of.tolist(), hauls, strict=True)
    compare_each(judged, [profiles[load].replaced(haul) for load, haul in stated_by])


def scaled(figure: Quantity, factor: float) -> str | float:
    """A figure, or several times it, as a profile might state it in a metric unit."""
    unit = KINDS[figure.kind].si
    if figure.kind == "count":
        return round(figure.value * factor)
    if not unit:
        return figure.value * factor
    top, bottom = FACTORS[unit]
    half = f" +/- {figure.half_width * bottom / top!r} {unit}" if figure.half_width else ""
    return f"{figure.value * factor * bottom / top!r} {unit}{half}"


@pytest.mark.parametrize(("marked", "near"), [("", True), ("usual_at_limit: yes", False)])
def test_what_is_built_to_its_limit_is_no_near_miss(
    rulebook: Callable[..., Rulebooks], marked: str, near: bool
) -> None:
    books = rulebook(
        f"""
        - id: width
          title: Not too wide
          question: limits
          requires: trailer.overall_width <= widest
          {marked}
          thresholds:
            widest:
              stricter: lower
              values: [{{value: 102 in, from: 2015-10-01, source: print, at: p. 1}}]
          source: print
          at: p. 1
          basis: guidance
          level: must
          because: it is so
          fix: mend it
          proofs:
            - {{name: at, given: {{trailer.overall_width: 102 in}}, expect: met, origin: hand}}
        """
    )
    path = ("trailer", "overall_width")
    laid = profile("side-by-side-in-order").replaced({path: "102 in"})
    (alone,) = check_profile(laid, books, DAY).findings
    assert is_near(alone, NEAR) is near
    # Both as one of several hauls, of which the other is far from the limit, and as all of them.
    inch = 0.0254  # m, exact
    for widths, several in (
        ([102 * inch, 80 * inch], [near, False]),
        ([102 * inch] * 2, [near] * 2),
    ):
        rows = np.arange(2)
        columns = {path: Varied(widths)}
        days = np.full(2, DAY.toordinal())
        chunk = Chunk(
            profile=laid,
            own={},
            loads=[known("x", laid, {}).labels({})],
            load_of=rows * 0,
            on=DAY,
            rows=rows,
            days=days,
            crews=["north"],
            crew_of=rows * 0,
            columns=columns,
            alike=None,
        )
        (said,) = Group(chunk, books, NEAR).judged(chunk).rules
        assert np.broadcast_to(said.said.near, 2).tolist() == several
