"""Units that an organisation defines in its settings, in profiles, logs, commands and rule files.

The figures are worked out by hand from a bale of 40 lb: 92 bales are 3,680 lb.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from checker.cli.app import application
from checker.documents.document_cache import DocumentCache
from checker.units.definitions import read_definitions
from checker.units.words import with_own_units

LOAD = """
kind: load
title: Hay for the trail crew
trailer: {coupling: ball, gvwr: 175 bales}
articles:
  - {title: hay, weight: WEIGHT}
trip: {date: 2026-05-14, places: [US-ID]}
"""
AMENDMENT = """
kind: amendment
id: crew
title: Crew policy
layer: company
jurisdiction: any
changes:
  - {rule: tongue-share-ball, threshold: heaviest, was: 15 %, value: 11 bale, from: 2026-03-01,
     common_practice: yes}
"""


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    define(tmp_path, "bale = 40 lb")
    (tmp_path / "hay.yaml").write_text(LOAD.replace("WEIGHT", "92 bales"))
    (tmp_path / "pounds.yaml").write_text(
        LOAD.replace("WEIGHT", "3680 lb").replace("175 bales", "7000 lb")
    )
    return tmp_path


def define(project: Path, *lines: str) -> None:
    text = "".join(f"  - {line}\n" for line in lines)
    (project / "cinchbook.yaml").write_text(f"kind: settings\nown_units:\n{text}")
    from checker.cli.options import _settings_above

    _settings_above.cache_clear()


def run(*arguments: str) -> Result:
    with with_own_units(()):
        return CliRunner().invoke(application(), arguments)


def findings(file: str) -> list[dict[str, object]]:
    done = run("check", file, "--as", "json")
    loads: list[dict[str, list[dict[str, object]]]] = json.loads(done.stdout)["loads"]
    return [
        {key: each.get(key) for key in ("rule", "verdict", "margin")}
        for each in loads[0]["findings"]
    ]


def test_a_profile_in_own_units_has_the_verdicts_of_one_in_pounds(project: Path) -> None:
    assert findings("hay.yaml") == findings("pounds.yaml")
    define(project, "bale = 60 lb")
    assert findings("hay.yaml") != findings("pounds.yaml")


def test_other_settings_do_not_know_the_unit(project: Path) -> None:
    assert run("check", "hay.yaml").exit_code != 2
    (project / "cinchbook.yaml").write_text("kind: settings\n")
    define(project, "crate = 40 lb")
    done = run("check", "hay.yaml")
    assert done.exit_code == 2
    assert "hay.yaml:4:33: found '175 bales'; wanted a weight or rating" in done.output
    assert "hay.yaml:6:26: found '92 bales'" in done.output


def test_rule_files_know_no_own_units(project: Path) -> None:
    (project / "own.yaml").write_text(AMENDMENT)
    done = run("check", "pounds.yaml", "--rules", "shipped", "--rules", "own.yaml")
    assert done.exit_code == 2
    assert "found '11 bale'; wanted a threshold such as" in done.output


def test_what_is_kept_of_a_file_counts_under_the_same_units_only(project: Path) -> None:
    cache = DocumentCache(project / "cache")
    units = read_definitions(["bale = 40 lb"])[0]
    with with_own_units(units):
        cache.read_file(project / "hay.yaml", "hay.yaml")
        assert cache.read_file(project / "hay.yaml", "hay.yaml").sound
    with with_own_units(()):
        assert not cache.read_file(project / "hay.yaml", "hay.yaml").sound


def test_a_log_takes_own_units_in_headers_and_cells(project: Path) -> None:
    rows = "load,date,articles.1.weight [bale]\n" + "hay.yaml,2026-05-14,92\n" * 3
    (project / "bales.csv").write_text(rows)
    cells = "load,date,articles.1.weight\n" + "hay.yaml,2026-05-14,92 bales\n" * 3
    (project / "cells.csv").write_text(cells)
    pounds = "load,date,articles.1.weight [lb]\n" + "hay.yaml,2026-05-14,3680\n" * 3
    (project / "pounds.csv").write_text(pounds)
    totals = []
    for log in ("bales.csv", "cells.csv", "pounds.csv"):
        done = run("audit", log, "--as", "json", "--no-cache")
        assert done.exit_code in (0, 1, 3), done.output
        document = json.loads(done.stdout)
        totals.append((document["judged"], document["totals"], document["rules"]))
    assert totals[0][0] == 3
    assert totals[0] == totals[1] == totals[2]
    (project / "wrong.csv").write_text(rows.replace("[bale]", "[bael]"))
    done = run("audit", "wrong.csv")
    assert done.exit_code == 2
    assert "did you mean 'articles.1.weight [bale]'" in done.output


def test_a_check_in_own_units_loads_no_pint(project: Path) -> None:
    code = (
        "import sys\nfrom checker.cli.app import main\n"
        "sys.argv = ['cinchbook', 'check', 'hay.yaml']\n"
        "try:\n    main()\nfinally:\n    print('pint' in sys.modules, file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=project, capture_output=True, text=True, check=False
    )
    assert done.stderr.strip().endswith("False")
