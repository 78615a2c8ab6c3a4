"""The search for fixes is made for reports that print them, and once for each load."""

import json
from collections.abc import Iterator
from pathlib import Path
from unittest import mock

import pytest

from checker.advice import fixes
from checker.documents.resources import shipped_folder
from tests.calling import call

LOADS = shipped_folder("profiles").parent
# Both have must-rules that a number mends, as the printed "Move" shows.
BROKEN = ("profiles/loads/too-far-forward.yaml", "profiles/loads/too-far-back.yaml")


@pytest.fixture
def searches() -> Iterator[mock.Mock]:
    with mock.patch.object(fixes, "fixes_of", wraps=fixes.fixes_of) as search:
        yield search


@pytest.mark.parametrize("form", [["--short"], ["--write", "csv=-"]], ids=" ".join)
def test_forms_without_fixes_search_for_none(form: list[str], searches: mock.Mock) -> None:
    done = call(LOADS, "check", *BROKEN, *form)
    assert done.returncode == 1
    assert "(its front to " not in done.stdout
    assert searches.call_count == 0


def test_several_forms_share_one_search_for_each_load(searches: mock.Mock, tmp_path: Path) -> None:
    to = f"json=-,junit={tmp_path / 'junit.xml'},sarif={tmp_path / 'log.sarif'}"
    done = call(LOADS, "check", *BROKEN, "--write", to)
    for load in json.loads(done.stdout)["loads"]:
        assert any(each.get("action", "").startswith("Move ") for each in load["findings"])
    assert searches.call_count == len(BROKEN)
