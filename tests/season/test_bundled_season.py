"""The bundled season's audit, all rules, computed again by a very simple loop.

Nothing of the audit is used here: every row is checked by itself, as `cinchbook check` would.
"""

import json
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

import pytest

from checker.cli.chosen_rules import read_rules
from checker.cli.named_loads import LoadFinder
from checker.documents.resources import shipped_folder
from checker.evaluation.gate import is_near
from checker.evaluation.outcome import Outcome
from checker.evaluation.tolerances import check_profile
from checker.logs.model import Refused
from checker.rulebooks.verdicts import Verdict
from tests.calling import call
from tests.season.one_by_one import read_hauls

SEASON = Path(str(shipped_folder("profiles"))) / "seasons" / "2026"
RULES = ("shipped", str(SEASON / "policy"))
NEAR = 0.05


@pytest.fixture(scope="module")
def audit() -> dict[str, Any]:
    """What the command says."""
    rules = [word for name in RULES for word in ("--rules", name)]
    done = call(Path.cwd(), "audit", str(SEASON / "hauls.csv"), "--as", "json", *rules)
    assert done.returncode == 2, done.stderr  # two rows are refused
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.fixture(scope="module")
def naive() -> dict[str, Any]:
    """The same counts, one haul after the other."""
    rules = read_rules(RULES)
    crew_of = [line.split(",")[2] for line in (SEASON / "hauls.csv").read_text().splitlines()]
    refused, hauls = [], Counter[str]()
    by: dict[str, dict[str, Counter[str]]] = defaultdict(lambda: defaultdict(Counter))
    verdicts: dict[str, Counter[str]] = defaultdict(Counter)
    broken_by: dict[str, dict[str, Counter[str]]] = defaultdict(lambda: defaultdict(Counter))
    titles: dict[str, dict[str, str]] = defaultdict(dict)
    for haul in read_hauls(SEASON / "hauls.csv", LoadFinder()):
        if isinstance(haul, Refused):
            refused.append(haul.row)
            continue
        check = check_profile(haul.profile, rules, haul.on)
        near = check.outcome is Outcome.NO_RULE_BROKEN and any(
            is_near(finding, NEAR) for finding in check.findings
        )
        names = {
            **haul.keys,
            "crew": [crew_of[haul.row - 1]],
            "month": [f"{haul.on:%Y-%m}"],
        }
        marks = {
            "hauls": True,
            "held": check.outcome is Outcome.HOLD,
            "open": check.outcome is Outcome.OPEN,
            "near": near,
            "excused": any(finding.variance for finding in check.findings),
        }
        titles["trailer"][haul.keys["trailer"][0]] = check.load.trailer.title
        titles["tow vehicle"][haul.keys["tow vehicle"][0]] = check.load.tow_vehicle.title
        for key, article in zip(haul.keys["machine"], check.load.articles, strict=True):
            titles["machine"][key] = haul.title_of(key, article.title)
        for mark, holds in marks.items():
            hauls[mark] += holds
            for kind, several in names.items():
                for name in several:
                    by[kind][name][mark] += holds
        for finding in check.findings:
            verdicts[finding.rule.id][finding.verdict.value] += 1
            if finding.verdict is Verdict.NOT_MET and finding.variance is None:
                for kind, several in names.items():
                    for name in several:
                        broken_by[finding.rule.id][kind][name] += 1
    return {
        "refused": refused,
        "hauls": hauls,
        "by": by,
        "titles": titles,
        "verdicts": verdicts,
        "broken_by": broken_by,
    }


def test_totals(audit: dict[str, Any], naive: dict[str, Any]) -> None:
    assert audit["totals"] == dict(naive["hauls"])
    assert [each["row"] for each in audit["refusals"]] == naive["refused"]
    assert audit["read"] == audit["judged"] + audit["refused"] == 150


@pytest.mark.parametrize("kind", ["trailer", "machine", "tow vehicle", "crew", "month"])
def test_counts_by(audit: dict[str, Any], naive: dict[str, Any], kind: str) -> None:
    titles = naive["titles"].get(kind)
    assert audit["by"][kind] == {
        key: {**({"title": titles[key]} if titles else {}), **counts}
        for key, counts in naive["by"][kind].items()
    }


def test_rules(audit: dict[str, Any], naive: dict[str, Any]) -> None:
    said = {each["rule"]: each for each in audit["rules"]}
    assert set(said) == set(naive["verdicts"])
    for rule, counts in naive["verdicts"].items():
        told = {verdict: number for verdict, number in said[rule]["verdicts"].items() if number}
        assert told == dict(counts), rule
        by = {
            kind: dict(naive["broken_by"].get(rule, {}).get(kind, {}))
            for kind in ("trailer", "machine", "tow vehicle", "crew", "month")
        }
        broken = said[rule]["broken_by"]
        assert {kind: broken.get(kind, {}) for kind in by} == by, rule
