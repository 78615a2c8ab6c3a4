"""The hauls of logs in a file of their own."""

import json
from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.logs.opening import open_log
from checker.season.audit import audit
from checker.season.digests import digest_of_log
from checker.season.loads import Loads
from checker.season.part_store import PartStore
from checker.season.saved_loads import SavedLoads
from tests.season.test_audit import PLAN


def test_parts_that_each_state_other_fields_are_too_many_together(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.part_store.MOST_COLUMNS", 5)
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
