"""SARIF as code scanning takes it: what is shown, where, and known again in the next run."""

import json
from collections import Counter
from typing import Any

import pytest

from checker.evaluation.strictness import FailOn
from checker.reports.check_forms import sarif
from checker.reports.shared.line_hashes import line_hashes
from checker.reports.shared.repository_paths import repository_path
from checker.rulebooks.verdicts import Verdict
from tests.reports.conftest import Runs, named
from tests.reports.sarif_consumers import check_for_both

UNDECIDED = (Verdict.NOT_STATED, Verdict.TOO_CLOSE)


def results(text: str) -> list[Any]:
    return list(json.loads(text)["runs"][0]["results"])


@pytest.mark.parametrize(
    ("text", "hashes"),
    [
        # From the tests of the action that uploads SARIF files, from memory.
        ("", ["c129715d7a2bc9a3:1"]),
        (
            " a\nb\n  \t\tc\n d",
            [
                "271789c17abda88f:1",
                "54703d4cd895b18:1",
                "180aee12dab6264:1",
                "a23a3dc5e078b07b:1",
            ],
        ),
        (
            " hello; \t\nworld!!!\n\n\n  \t\tGreetings\n End",
            [
                "8b7cf3e952e7aeb2:1",
                "b1ae1287ec4718d9:1",
                "bff680108adb0fcc:1",
                "c6805c5e1288b612:1",
                "b86d3392aea1be30:1",
                "e6ceba753e1a442:1",
            ],
        ),
    ],
)
def test_the_hash_of_a_line_is_that_of_the_upload(text: str, hashes: list[str]) -> None:
    assert line_hashes(text) == hashes
    for line_end in ("\r\n", "\r"):
        assert line_hashes(text.replace("\n", line_end)) == hashes


def test_equal_lines_are_counted_and_an_emoji_is_two_characters() -> None:
    same = "x" * 99 + "\n"
    assert [each.partition(":")[2] for each in line_hashes(same * 3)][:3] == ["1", "2", "3"]
    # The 100 characters of the first line end with the first half of an emoji.
    first, other = (line_hashes("y" * 99 + sign)[0] for sign in ("\U0001f69b", "\U0001f69c"))
    assert first == other


def test_both_services_take_a_log_with_everything_in_it(runs: Runs) -> None:
    bundled = [each for each in runs().checked if each.check.findings]
    for grade in (FailOn.MUST, FailOn.UNREAD):
        text = sarif.report(runs(grade, loads=bundled))
        assert len(check_for_both(text)) > 200


def test_an_undecided_must_is_a_warning_and_a_should_is_not_shown(runs: Runs) -> None:
    load = named(runs(), "missing-information")
    levels = Counter(
        (each["properties"].get("verdict"), each["kind"], each["level"])
        for each in results(sarif.report(runs(loads=[load])))
    )
    open_musts, open_shoulds = (
        sum(
            finding.verdict in UNDECIDED and finding.rule.level == level
            for finding in load.check.findings
        )
        for level in ("must", "should")
    )
    assert levels["not stated", "fail", "warning"] == open_musts > 0
    assert levels["not stated", "open", "none"] == open_shoulds > 0
    # At a gate that they stop, they are shown.
    strict = results(sarif.report(runs(FailOn.OPEN, loads=[load])))
    shown = [each for each in strict if each["level"] == "warning"]
    assert len(shown) == open_musts + open_shoulds


def test_the_message_of_every_result_begins_with_its_load(runs: Runs) -> None:
    run = runs()
    titles = {
        repository_path(str(each.check.load.file)): each.check.load.title for each in run.checked
    }
    for result in results(sarif.report(run)):
        file = result["properties"]["load"]
        assert result["message"]["text"].startswith(titles.get(file, file))


def test_a_file_that_cannot_be_read_is_an_error(runs: Runs) -> None:
    found = [each for each in results(sarif.report(runs())) if each["ruleId"] == "unreadable"]
    assert [each["level"] for each in found] == ["error", "error"]
    assert "gwr" in found[0]["message"]["text"] + found[1]["message"]["text"]
