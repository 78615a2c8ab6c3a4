"""Every form says the same: what stops which load, read back by code that is not ours."""

from collections.abc import Callable

import pytest

from checker.cli.check_reports import FORMS
from checker.evaluation.gate import stop
from checker.reports.shared.repository_paths import repository_path
from tests.reports.conftest import Runs
from tests.reports.read_back import READERS


def test_every_form_but_the_pages_for_people_is_read_back() -> None:
    assert set(READERS) == set(FORMS) - {"html"}


@pytest.mark.parametrize("form", READERS)
def test_every_form_says_the_same_findings(
    form: str, runs: Runs, written: Callable[..., str]
) -> None:
    run = runs()
    expected = [
        (repository_path(str(each.check.load.file)), finding.rule.id)
        for each in run.checked
        for finding in each.check.findings
        if stop(finding, run.fail_on, run.near)
    ]
    expected += [
        (repository_path(each.file), "unreadable") for each in run.unreadable for _ in each.problems
    ]
    found = READERS[form](written(form))
    assert sorted((repository_path(file), rule) for file, rule in found) == sorted(expected)
    assert len(expected) > 150
