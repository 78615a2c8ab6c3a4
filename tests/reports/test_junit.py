"""JUnit as CI servers read it: a test is known by its class and its name, and by nothing else."""

from collections import Counter
from collections.abc import Callable

import pytest
from junitparser import Error, Failure, JUnitXml, Skipped
from msgspec.structs import replace

from checker.evaluation.gate import Stop, stop
from checker.evaluation.strictness import FailOn
from checker.reports.check_forms import junit
from checker.reports.shared.check_results import CheckRun
from checker.reports.shared.repository_paths import repository_path
from tests.reports.conftest import Runs


def known(suites: JUnitXml) -> dict[tuple[str, str], list[type]]:
    """The results of each test by class and name; a later test of the same name replaces one."""
    tests = {}
    for suite in suites:
        for case in suite:
            tests[case.classname, case.name] = [type(result) for result in case.result]
    return tests


def copies(run: CheckRun, number: int) -> CheckRun:
    """The loads of a run and as many copies of each, in files of their own."""
    loads = [
        replace(
            each,
            check=replace(
                each.check, load=replace(each.check.load, file=each.check.load.file.with_stem(name))
            ),
        )
        for each in run.checked
        for name in (f"{each.check.load.file.stem}-{index}" for index in range(number))
    ]
    return replace(run, checked=loads)


@pytest.mark.parametrize("grade", [FailOn.MUST, FailOn.NEAR, FailOn.UNREAD])
def test_a_reader_that_knows_tests_by_class_and_name_loses_none(grade: FailOn, runs: Runs) -> None:
    once = runs(grade)
    run = copies(once, 3)
    suites = JUnitXml.fromstring(junit.report(run).encode())
    tests = known(suites)
    assert len(tests) == sum(suite.tests for suite in suites)
    results = Counter(each for found in tests.values() for each in found)
    expected = Counter(
        stop(finding, grade, run.near) for each in once.checked for finding in each.check.findings
    )
    assert results[Failure] == 3 * (expected[Stop.BROKEN] + expected[Stop.NEAR])
    problems = sum(len(each.problems) for each in run.unreadable)
    unread = sum(len(each.check.unread_subjects) for each in run.checked)
    assert results[Error] == (
        3 * expected[Stop.UNDECIDED] + problems + unread * (grade is FailOn.UNREAD)
    )
    assert results[Skipped] > 0


def test_the_class_of_a_test_is_the_file_of_its_load(
    runs: Runs, written: Callable[..., str]
) -> None:
    run = runs()
    files = {repository_path(str(each.check.load.file)) for each in run.checked}
    files |= {repository_path(each.file) for each in run.unreadable}
    assert {
        classname for classname, _ in known(JUnitXml.fromstring(written("junit").encode()))
    } == files
