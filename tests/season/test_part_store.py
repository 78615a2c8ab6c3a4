"""The hauls of logs in a file of their own."""

import json
from pathlib import Path

import pytest

from checker.cli.named_loads import LoadFinder
from checker.documents.problems import ProblemsFoundError
from checker.logs.model import LogMapping
from checker.logs.opening import open_log
from checker.season.audit import audit
from checker.season.hauls.digests import digest_of_log
from checker.season.hauls.loads import Loads
from checker.season.running.part_store import PartStore
from checker.season.running.saved_loads import SavedLoads
from tests.season.quick import quick_rules
from tests.season.test_audit import PLAN


def test_parts_that_each_state_other_fields_are_too_many_together(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.running.part_store.MOST_COLUMNS", 5)
    monkeypatch.setattr("checker.logs.json_lines.PART_BYTES", 60)
    file = tmp_path / "season.jsonl"
    rows = [
        {"load": "a", "date": "2026-05-14", f"articles.{number}.weight": "1 lb"}
        for number in range(1, 8)
    ]
    file.write_text("".join(f"{json.dumps(row)}\n" for row in rows))
    with pytest.raises(ProblemsFoundError, match="6 fields in all rows; wanted at most 5"):
        audit(open_log(file), PLAN, digest_of_log(file))
    with PartStore() as parts:
        saved = SavedLoads([file], Loads(PLAN.found, None, []), parts)
        assert list(saved.chunks(lambda _: [], lambda day: [day])) == []
        assert [each.name for each in saved.refused][-1] == str(file)


def test_a_log_that_contradicts_its_mapping_gives_no_haul(tmp_path: Path) -> None:
    """The first row may be 5 April or 4 May; the second shows which, after the first was read."""
    right, wrong = tmp_path / "right.csv", tmp_path / "wrong.csv"
    load = "loads/side-by-side-in-order"
    right.write_text(f"load,date\n{load},03/04/2026\n")
    wrong.write_text(f"load,date\n{load},05/04/2026\n{load},05/25/2026\n")
    mapping = LogMapping(dates="%d/%m/%Y")
    with PartStore() as parts:
        loads = Loads(LoadFinder(), None, [quick_rules()])
        saved = SavedLoads([right, wrong, right], loads, parts, mapping)
        chunks = list(saved.chunks(lambda _: [], lambda day: [day]))
        assert sum(each.hauls for each in chunks) == 2
        refused = {each.name: each.problems for each in saved.refused}
    assert "05/25/2026" in refused[str(wrong)][0]
