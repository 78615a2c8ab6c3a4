"""Fields for want of which rules stay undecided, counted one haul after the other."""

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from checker.documents.resources import shipped_folder
from checker.evaluation.engine import Check, Finding
from checker.evaluation.tolerances import check_profile
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import audit, digest_of
from checker.season.bench import Plan
from checker.season.hauls import Haul, read_hauls
from checker.season.logs.opening import open_log
from tests.season.quick import quick_rules

LISTS = {"article": "articles", "tiedown": "tiedowns", "axle": "trailer.axles"}


def waited_for(check: Check, finding: Finding) -> Iterator[str]:
    """All that an undecided rule and its rulebook wait for, some of it more than once."""
    if touches(finding.book.jurisdiction, check.load.trip.places) != 1:
        yield "trip.places"
    for rule in filter(None, (finding.book.scope, finding.rule)):
        subjects = check.facts.subjects(rule.for_each) if rule.for_each else [None]
        for subject in subjects:
            for name in rule.facts:
                yield from check.facts.missing(name, subject)
        if not subjects:
            yield LISTS[str(rule.for_each)]


def test_a_haul_is_counted_once_for_each_field_that_it_lacks(tmp_path: Path) -> None:
    text = (shipped_folder("profiles") / "loads/missing-information.yaml").read_text("utf-8")
    nowhere = text.replace("  places: [US-UT]\n", "")
    empty = re.sub(r"articles:.*(?=walkaround:)", "", text, flags=re.DOTALL)
    for name, content in (("some", text), ("nowhere", nowhere), ("empty", empty)):
        (tmp_path / f"{name}.yaml").write_text(content, "utf-8")
        # Kin of it, so that they are counted together.
        (tmp_path / f"{name}-too.yaml").write_text(content.replace("size: 2 in", "size: 3 in"))
    log = tmp_path / "hauls.csv"
    columns = "trip.speed,trailer.gvwr,tow_vehicle.gcwr,tiedowns.4.adjustable"
    lines = [f"load,date,{columns}"]
    for name in ("some", "nowhere", "empty"):
        answer = "" if name == "empty" else "yes"
        lines += [
            f"{name}.yaml,2026-05-14,,,,",
            f"{name}.yaml,2026-05-14,55 mph,,9000 lb,{answer}",
            f"{name}-too.yaml,2026-05-14,,,9000 lb +/- 2 %,",
            f"{name}-too.yaml,2026-05-14,,12000 lb,,{answer}",
        ]
    log.write_text("\n".join(lines) + "\n")
    rules, root = quick_rules(), shipped_folder("profiles")
    plan = Plan(lambda _: rules, ("quick",), lambda name: tmp_path / name, root, 0.05)
    totals = audit(open_log(log), plan, digest_of(log)).totals

    gaps: dict[str, Counter[str]] = {}
    wanting: Counter[str] = Counter()
    for haul in read_hauls(log, lambda name: tmp_path / name, root=root):
        assert isinstance(haul, Haul), haul
        check = check_profile(haul.profile, rules, haul.on)
        open_ones = [each for each in check.findings if each.verdict is Verdict.NOT_STATED]
        lacking = {each.rule.id: set(waited_for(check, each)) for each in open_ones}
        for rule, fields in lacking.items():
            gaps.setdefault(rule, Counter()).update(fields)
        wanting.update(set().union(*lacking.values()))
    assert {rule: tally.gap for rule, tally in totals.rules.items() if tally.gap} == gaps
    assert totals.wanting == wanting
