"""What stops which load, read back from each form by code that is not ours.

Each reader gives pairs of a file and the id of a rule; a file that cannot be read has `unreadable`
in place of one. All are for the gate `must`.
"""

import csv
import io
import json
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from junitparser import Error, Failure, JUnitXml
from markdown_it import MarkdownIt

from checker.documents.resources import shipped_folder

Stops = list[tuple[str, str]]
UNDECIDED = ("not stated", "too close to call")


def of_junit(text: str) -> Stops:
    """Failures and errors; a server knows a test by class and name, so a later one replaces it."""
    tests: dict[tuple[str, str], list[Any]] = {}
    for suite in JUnitXml.fromstring(text.encode()):
        for case in suite:
            tests[case.classname, case.name] = list(case.result)
    return [
        (file, "unreadable" if result.type == "problem in the file" else name.partition(":")[0])
        for (file, name), results in tests.items()
        for result in results
        if isinstance(result, Failure | Error)
    ]


def of_sarif(text: str) -> Stops:
    """Errors, and must-rules that are undecided, which are warnings."""
    (run,) = json.loads(text)["runs"]
    rules = {each["id"]: each for each in run["tool"]["driver"]["rules"]}
    return [
        (each["properties"]["load"], each["ruleId"])
        for each in run["results"]
        if "suppressions" not in each
        and (
            each["level"] == "error"
            or (each["level"] == "warning" and each["properties"].get("verdict") in UNDECIDED)
        )
        and (
            each["ruleId"] == "unreadable" or rules[each["ruleId"]]["properties"]["level"] == "must"
        )
    ]


def of_annotations(text: str) -> Stops:
    """The lines of error annotations."""
    found = []
    for file, said in re.findall(r"(?m)^::error file=([^,]+),.*?::(.*)$", text):
        for line in said.replace("%0A", "\n").splitlines():
            rule = re.search(r"\[([\w-]+)\]: ", line)
            found.append((file, rule[1] if rule else "unreadable"))
    return found


def of_codequality(text: str) -> Stops:
    """Issues that are more than minor."""
    issues = json.loads(text)
    assert len({each["fingerprint"] for each in issues}) == len(issues)
    return [
        (each["location"]["path"], each["check_name"])
        for each in issues
        if each["severity"] in ("major", "critical", "blocker")
    ]


def of_csv(text: str) -> Stops:
    """Must-rules that are neither met nor excused."""
    rows = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    return [
        (row["file"], row["rule"] or "unreadable")
        for row in rows
        if row["verdict"] == "problem"
        or (
            row["verdict"] in ("not met", *UNDECIDED)
            and row["level"] == "must"
            and row["excused"] == "no"
        )
    ]


def of_markdown(text: str) -> Stops:
    """The entries of each load before its other rules, which are folded."""
    found = []
    for heading, words, codes in _entries(text):
        if heading.startswith("NOT CHECKED: "):
            found.append((heading.partition(": ")[2], "unreadable"))
        elif codes:
            at = re.search(r"; ([^;]+):\d+$", words)
            assert at is not None, words
            found.append((at[1], codes[-1]))
    return found


def _entries(text: str) -> Iterator[tuple[str, str, list[str]]]:
    """The heading, words and codes of each item of a bullet list that is not folded."""
    heading, folded, depth = "", False, ""
    for token in MarkdownIt("commonmark").enable("table").parse(text):
        if token.type in ("heading_open", "bullet_list_open", "ordered_list_open"):
            depth = token.type
        elif token.type == "html_block":
            folded = "<details>" in token.content or (folded and "</details>" not in token.content)
        elif token.type == "inline":
            parts = token.children or []
            words = "".join(part.content for part in parts if part.type in ("text", "code_inline"))
            if depth == "heading_open":
                heading = words
            elif depth == "bullet_list_open" and not folded:
                yield heading, words, [each.content for each in parts if each.type == "code_inline"]
            depth = "" if depth == "heading_open" else depth


def of_json(text: str) -> Stops:
    """Must-rules that are neither met nor excused."""
    document = json.loads(text)
    found = [
        (_on_this_machine(load["file"]), finding["rule"])
        for load in document["loads"]
        for finding in load["findings"]
        if finding["verdict"] in ("not met", *UNDECIDED)
        and finding["level"] == "must"
        and not finding["excused"]
    ]
    return found + [
        (each["file"], "unreadable") for each in document["unreadable"] for _ in each["problems"]
    ]


def _on_this_machine(file: str) -> str:
    """The path of a file that the document names as one that comes with the program."""
    folder, _, name = file.removeprefix("shipped:").partition("/")
    return str(shipped_folder(folder) / name) if file.startswith("shipped:") else file


READERS: Mapping[str, Callable[[str], Stops]] = {
    "annotations": of_annotations,
    "codequality": of_codequality,
    "csv": of_csv,
    "json": of_json,
    "junit": of_junit,
    "markdown": of_markdown,
    "sarif": of_sarif,
}
