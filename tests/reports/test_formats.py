"""Reports for other programs: each against its published schema, and read back by other code."""

import csv
import html
import io
import json
import re
from collections import Counter
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import jsonschema_rs
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from lxml import etree
from markdown_it import MarkdownIt
from msgspec.structs import replace

from checker.cli.check_reports import FORMS
from checker.evaluation.gate import Stop, outcome_at, stop
from checker.evaluation.strictness import FailOn
from checker.reports.check_forms import annotations, junit, markdown, sarif
from checker.reports.check_forms import csv as csv_report
from checker.reports.check_forms import json as json_report
from checker.reports.shared.cells import tame
from checker.reports.shared.check_results import CheckedLoad, CheckRun, findings_to_report
from checker.reports.shared.markdown import plain
from checker.reports.shared.words import CAUTIONS
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import SI, US, System
from tests.reports.conftest import HOSTILE, Runs, named
from tests.written_documents import closed_schema

MARKDOWN = MarkdownIt("commonmark").enable("table")
SCHEMAS = Path(__file__).parents[1] / "reference" / "schemas"
# Megabytes, for which jsonschema takes seconds. A bracket of a pattern that opens nothing, which
# stands for itself, is escaped for a strict reader of patterns.
SARIF_SCHEMA = jsonschema_rs.Draft7Validator(
    json.loads((SCHEMAS / "sarif-schema-2.1.0.json").read_text().replace("{2}]?$", r"{2}\\]?$"))
)
GRADES = list(FailOn)


def stops(run: CheckRun) -> Counter[Stop]:
    """Why findings stop their loads, counted straight from the findings."""
    whys = [
        stop(finding, run.fail_on, run.near)
        for each in run.checked
        for finding in each.check.findings
    ]
    return Counter(why for why in whys if why)


def unread_places(run: CheckRun) -> int:
    """How many places of loads have law that no rulebook holds."""
    return sum(len(each.check.unread_subjects) for each in run.checked)


@pytest.mark.parametrize("form", FORMS)
def test_the_same_run_gives_the_same_bytes(
    form: str, runs: Runs, written: Callable[..., str]
) -> None:
    module = import_module(f"checker.reports.check_forms.{form}")
    assert written(form) == module.report(runs())
    assert written(form).endswith("\n")


@pytest.mark.parametrize("form", FORMS)
def test_every_form_names_the_file_that_cannot_be_read(
    form: str, written: Callable[..., str]
) -> None:
    """A file left out of a report would look like one without a fault."""
    said = written(form)
    # Its name, as an address too, the key of one of its problems and the value of the other.
    for words in (r"bad(?: |%20|\\? )load\\?\.yaml", r"\bgwr\b", r"\b7000\b"):
        assert re.search(words, said), f"{form} says nothing of the file that cannot be read"


@pytest.mark.parametrize("grade", GRADES)
def test_junit_fits_the_schema_and_counts_what_stops(
    grade: FailOn, runs: Runs, written: Callable[..., str]
) -> None:
    run = runs(grade)
    text = written("junit", grade)
    # The schema of the xUnit plugin that CI servers read results with (tests/reference/README.md).
    top = etree.fromstring(text.encode())
    etree.XMLSchema(etree.parse(SCHEMAS / "junit-10.xsd")).assertValid(top)
    expected = stops(run)
    problems = sum(len(each.problems) for each in run.unreadable)
    assert int(top.get("failures", "")) == expected[Stop.BROKEN] + expected[Stop.NEAR]
    unread = unread_places(run) if grade is FailOn.UNREAD else 0
    assert int(top.get("errors", "")) == expected[Stop.UNDECIDED] + problems + unread
    cases = [case for suite in top for case in suite.iter("testcase")]
    applying = sum(
        finding.verdict is not Verdict.DOES_NOT_APPLY
        for each in run.checked
        for finding in each.check.findings
    )
    assert len(cases) == applying + problems + unread == int(top.get("tests", ""))


def test_junit_holds_what_is_excused_apart_from_what_is_met(runs: Runs) -> None:
    run = runs()
    load = named(run, "variance-late-first-stop")
    top = etree.fromstring(junit.report(runs(loads=[load])).encode())
    (excused,) = [case for case in top.iter("testcase") if case.find("skipped") is not None]
    assert "first-load-check" in excused.get("name", "")
    assert "Excused until" in (excused.find("skipped").get("message") or "")  # type: ignore[union-attr]


@pytest.mark.parametrize("grade", GRADES)
def test_sarif_fits_the_schema_of_oasis(
    grade: FailOn, runs: Runs, written: Callable[..., str]
) -> None:
    run = runs(grade)
    log = json.loads(written("sarif", grade))
    SARIF_SCHEMA.validate(log)
    (only,) = log["runs"]
    assert only["invocations"][0]["executionSuccessful"] is False
    rules = only["tool"]["driver"]["rules"]
    unread = [each for each in only["results"] if each["ruleId"] == "law-not-read"]
    notes = only["invocations"][0]["toolExecutionNotifications"]
    stopped = grade is FailOn.UNREAD
    assert len(unread) == unread_places(run) * stopped
    assert sum(each["level"] == "note" for each in notes) == unread_places(run) * (not stopped)
    for result in only["results"]:
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
    judged = [each for each in only["results"] if "verdict" in each["properties"]]
    failing = Counter(each["properties"]["verdict"] for each in judged if each["kind"] == "fail")
    not_met = sum(
        finding.verdict is Verdict.NOT_MET
        for each in run.checked
        for finding in each.check.findings
    )
    assert failing["not met"] == not_met
    assert failing["met"] == stops(run)[Stop.NEAR]
    assert failing["not stated"] + failing["too close to call"] >= stops(run)[Stop.UNDECIDED]
    assert Counter("suppressions" in each for each in only["results"])[True] == 1


def test_sarif_points_at_the_load_and_names_the_shared_line_and_the_rule(runs: Runs) -> None:
    run = runs(loads=[named(runs(), "accessory-hook")])
    results = json.loads(sarif.report(run))["runs"][0]["results"]
    (hook,) = [each for each in results if each["ruleId"] == "hooked-to-frame"]
    at = hook["locations"][0]["physicalLocation"]
    load = Path(run.checked[0].check.load.file)
    assert at["artifactLocation"]["uri"].endswith("profiles/loads/accessory-hook.yaml")
    stated = load.read_text().splitlines()[at["region"]["startLine"] - 1]
    assert stated[at["region"]["startColumn"] - 1 :].startswith("brush-guard-left")
    shared, *_, rule = hook["relatedLocations"]
    # The guard is the point the hook is on: the line of its `part: accessory`.
    assert shared["message"]["text"] == "articles.1.attachments.brush-guard-left.part: accessory"
    at = shared["physicalLocation"]
    assert at["artifactLocation"]["uri"].endswith("profiles/machines/side-by-side.yaml")
    lines = (load.parents[1] / "machines" / "side-by-side.yaml").read_text().splitlines()
    stated = lines[at["region"]["startLine"] - 1]
    assert stated[at["region"]["startColumn"] - 1 :].startswith("accessory")
    uri = rule["physicalLocation"]["artifactLocation"]["uri"]
    assert uri.endswith("rules/common-practice/tiedowns.yaml")


def test_a_fingerprint_does_not_move_with_the_line(written: Callable[..., str]) -> None:
    first = written("sarif")
    prints = [
        each["partialFingerprints"]["loadRuleSubject/v1"]
        for each in json.loads(first)["runs"][0]["results"]
    ]
    assert len(prints) == len(set(prints))
    quality = [each["fingerprint"] for each in json.loads(written("codequality"))]
    assert len(quality) == len(set(quality))


def test_code_quality_has_what_the_importer_asks_for(written: Callable[..., str]) -> None:
    # GitLab's documentation of the format, from memory: these keys, these severities.
    issue = {
        "type": "object",
        "required": ["description", "check_name", "fingerprint", "severity", "location"],
        "properties": {
            "severity": {"enum": ["info", "minor", "major", "critical", "blocker"]},
            "fingerprint": {"type": "string", "minLength": 1},
            "location": {
                "type": "object",
                "required": ["path", "lines"],
                "properties": {
                    "lines": {
                        "type": "object",
                        "required": ["begin"],
                        "properties": {"begin": {"type": "integer", "minimum": 1}},
                    }
                },
            },
        },
    }
    issues = json.loads(written("codequality"))
    Draft202012Validator({"type": "array", "items": issue}).validate(issues)
    assert [each["severity"] for each in issues][:2] == ["blocker", "blocker"]


def unescaped(text: str) -> str:
    """The documented escapes of a workflow command, undone."""
    for code, sign in (("%2C", ","), ("%3A", ":"), ("%0D", "\r"), ("%0A", "\n"), ("%25", "%")):
        text = text.replace(code, sign)
    return text


def annotations_of(text: str) -> list[tuple[str, str, int, str, str]]:
    """Level, file, line, title and message of each annotation, as a workflow page reads them."""
    form = re.compile(
        r"::(error|warning|notice) file=([^,:]+),line=(\d+),col=\d+,title=([^,:]+)::(.*)"
    )
    read = []
    for line in text.splitlines():
        found = form.fullmatch(line)
        assert found is not None, line
        level, file, number, title, said = found.groups()
        read.append((level, unescaped(file), int(number), unescaped(title), unescaped(said)))
    return read


def test_annotations_read_back(runs: Runs, hostile: CheckedLoad) -> None:
    read = annotations_of(annotations.report(runs(loads=[hostile])))
    assert [level for level, *_ in read] == ["error", "warning", "notice"]
    for _, file, number, title, _ in read:
        assert Path(file).read_text().splitlines()[number - 1]
        assert title.startswith(HOSTILE)
    told = [line for *_, said in read for line in said.splitlines()]
    assert len(told) > 200
    assert all(re.search(r"\[[\w-]+\]|^Note|^and \d+ more", line) for line in told)


def test_a_load_has_one_annotation_of_each_level_and_errors_come_first(
    runs: Runs, written: Callable[..., str]
) -> None:
    run = runs()
    read = annotations_of(written("annotations"))
    assert len({(level, file) for level, file, *_ in read}) == len(read)
    levels = [level for level, *_ in read]
    assert levels == sorted(levels, key=["error", "warning", "notice"].index)
    errors = [line for level, *_, said in read if level == "error" for line in said.splitlines()]
    assert len(errors) == sum(stops(run).values()) + 2
    for level, _, _, title, said in read:
        (number,) = re.findall(r"(\d+) (?:to|problems)", title)
        assert int(number) == len(said.splitlines()), (level, title)


def test_a_long_annotation_says_how_much_it_leaves_out(runs: Runs) -> None:
    load = named(runs(), "missing-information")
    many = replace(load.check, findings=load.check.findings * 4)
    run = runs(loads=[replace(load, check=many)])
    first, *_ = annotations_of(annotations.report(run))
    # 64 kB in a message: the documentation of GitHub's checks, from memory.
    assert len(first[4].encode()) < 64_000
    (left_out,) = re.findall(r"\nand (\d+) more, which the other forms have$", first[4])
    assert int(left_out) + len(first[4].splitlines()) - 1 == sum(stops(run).values())


def test_rules_that_do_not_apply_are_listed_on_request(
    runs: Runs, written: Callable[..., str]
) -> None:
    run = runs()
    idle = str(Verdict.DOES_NOT_APPLY)
    for listed in (False, True):
        rows = csv.DictReader(io.StringIO(written("csv", full=listed), newline=""))
        loads = json.loads(written("json", full=listed))["loads"]
        assert (idle in {row["verdict"] for row in rows}) is listed
        for load, each in zip(loads, run.checked, strict=True):
            verdicts = Counter(finding["verdict"] for finding in load["findings"])
            expected = Counter(str(finding.verdict) for finding in each.check.findings)
            if not listed:
                del expected[idle]
            assert verdicts == expected
            assert any(book["in_force"] == "no" for book in load["rulebooks"]) is listed


def test_a_report_has_the_working_of_what_to_look_at_and_stays_short(
    runs: Runs, written: Callable[..., str]
) -> None:
    run = runs()
    text = written("json")
    # 150 kB a load are wanted; what one load more or less may need is left.
    assert len(text) / len(run.checked) < 180_000
    for load, each in zip(json.loads(text)["loads"], run.checked, strict=True):
        worked = [finding["rule"] for finding in load["findings"] if "facts" in finding]
        assert worked == [found.finding.rule.id for found in findings_to_report(each, run)]
        named = {field["field"] for field in load["fields"]}
        used = (fact for finding in load["findings"] for fact in finding.get("facts", ()))
        assert {field for fact in used for field in fact["from"]} == named


def test_csv_reads_back_and_runs_nothing(
    runs: Runs, written: Callable[..., str], hostile: CheckedLoad
) -> None:
    run = runs()
    rows = list(csv.DictReader(io.StringIO(written("csv", full=True), newline=""), strict=True))
    findings = sum(len(each.check.findings) for each in run.checked)
    problems = sum(len(each.problems) for each in run.unreadable)
    assert len(rows) == findings + problems + unread_places(run)
    assert tuple(rows[0]) == csv_report.COLUMNS
    verdicts = Counter(row["verdict"] for row in rows)
    for verdict in Verdict:
        expected = sum(
            finding.verdict is verdict for each in run.checked for finding in each.check.findings
        )
        assert verdicts[verdict] == expected
    (tame,) = {
        row["load"] for row in csv.DictReader(io.StringIO(csv_report.report(runs(loads=[hostile]))))
    }
    assert tame == HOSTILE
    for row in rows:
        for value in row.values():
            assert not value.startswith(("=", "+", "@", "\t")) or re.fullmatch(r"[-+.0-9e]+", value)


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])  # noqa: RUF001 - full width
def test_a_cell_that_a_spreadsheet_would_run_begins_with_an_apostrophe(sign: str) -> None:
    assert tame(f"{sign}SUM(A1:A9)") == f"'{sign}SUM(A1:A9)"
    assert tame(f"4{sign}") == f"4{sign}"


@pytest.mark.parametrize(
    "text",
    ["@crew", "$x$", "a $5 load, then $6", "#12", "!3", "~bug", "%1", "&7", ":wave:", "a@b.c"],
)
def test_no_words_call_a_person_or_an_issue_or_are_mathematics(text: str) -> None:
    """Servers look for these in the text of the finished page, where no backslash is left."""
    written = plain(text)
    page = etree.fromstring(MarkdownIt("commonmark").render(written))
    assert "".join(page.itertext()) == text
    reads = re.compile(r"[@#!~%&]\w|\$.*\$|:[\w+-]+:")
    assert not [each for each in page.itertext() if reads.search(each)]
    assert not re.search(r"(?<!\\)[@$#](?!</span>)", written)


def test_markdown_keeps_its_table_whatever_the_words(runs: Runs, hostile: CheckedLoad) -> None:
    run = runs(loads=[hostile, *runs().checked])
    page = MARKDOWN.render(markdown.report(run))
    rows = re.findall(r"<tr>(.*?)</tr>", page, re.DOTALL)
    assert len(rows) == 1 + len(run.checked)
    assert {row.count("<td") for row in rows[1:]} == {4}
    assert "<script" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    outcomes = [re.findall(r"<td>(.*?)</td>", row)[0] for row in rows[1:]]
    order = ["HOLD", "OPEN", "no rule broken"]
    assert outcomes == sorted(outcomes, key=lambda each: order.index(each.partition(",")[0]))
    for caution in CAUTIONS:
        assert caution.replace("'", "&#x27;") in page or caution in page


def test_a_summary_of_very_many_loads_fits_a_page_and_says_what_it_leaves_out(
    runs: Runs, monkeypatch: pytest.MonkeyPatch
) -> None:
    # 1 MiB a step: GitHub's documentation of summaries, from memory. Head and end take some kB.
    assert markdown.MOST_OF_TABLE + markdown.MOST_OF_ENTRIES < 2**20 - 50_000
    monkeypatch.setattr(markdown, "MOST_OF_TABLE", 2000)
    monkeypatch.setattr(markdown, "MOST_OF_ENTRIES", 8000)
    loads = [*[named(runs(), "mower-in-order")] * 30, named(runs(), "too-far-forward")]
    said = markdown.report(runs(loads=loads))
    assert len(said.encode()) < 2000 + 8000 + 1000
    page = MARKDOWN.render(said)
    rows = page.count("<tr>") - 1
    assert f"<strong>Not in this table: {len(loads) - rows} more load profiles. " in page
    left_out = re.search(r"<strong>Without details here: (\d+) more load profiles\. ", page)
    assert left_out is not None
    assert page.count("<h3>") + int(left_out[1]) == len(loads)
    # The most urgent one is in it, though it was checked last.
    assert page.count("<td>HOLD") == page.count("<h3>HOLD") == 1


@pytest.mark.parametrize("grade", GRADES)
@pytest.mark.parametrize("system", [US, SI])
def test_json_fits_its_schema(
    grade: FailOn, system: System, runs: Runs, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = replace(runs(grade, system=system), full=grade is FailOn.OPEN)
    if grade is not FailOn.MUST:
        # Writing and reading is most of the time, and knows nothing of grades.
        monkeypatch.setattr(
            json_report,
            "json_document",
            lambda kind, members, **_: {"kind": kind, "cinchbook": "0.0", **members},
        )
    made: Any = json_report.report(run)
    document = json.loads(made) if isinstance(made, str) else made
    # Megabytes, for which jsonschema takes seconds; test_fitting holds the two together.
    jsonschema_rs.Draft202012Validator(closed_schema("report")).validate(document)
    (bad,) = document["unreadable"]
    assert [problem["suggestion"] for problem in bad["problems"]] == ["'7000 lb'", "'gvwr'"]
    assert [load["at_gate"] for load in document["loads"]] == [
        outcome_at(each.check, grade, 0.05) for each in run.checked
    ]
    late = named(run, "variance-late-first-stop").check
    (reported,) = [load for load in document["loads"] if load["title"] == late.load.title]
    (variance,) = reported["variances"]
    assert variance["standing"] == "in use"
    assert [each["rule"] for each in reported["findings"] if each["excused"]] == [variance["rule"]]


@given(st.text(max_size=40))
def test_no_text_breaks_xml_csv_or_markdown(text: str) -> None:
    cleaned = junit._clean(text)
    element = ElementTree.Element("a", name=cleaned)
    read = etree.fromstring(ElementTree.tostring(element)).get("name")
    assert read == cleaned
    reported = tame(text)
    assert not reported.startswith(("=", "+", "-", "@", "\t", "\r")) or float(reported) is not None
    line = f"| a | {plain(text)} |"
    assert "\n" not in line
    page = MARKDOWN.render(f"| x | y |\n|---|---|\n{line}\n")
    assert page.count("<td>") == 2
    cell = re.findall(r"<td>(.*?)</td>", page, re.DOTALL)[1]
    words = re.sub(r"<span>(\$|@|#|!|~|%|:|&amp;)</span>", r"\1", cell)
    assert "<" not in words
    assert html.unescape(words) == " ".join(text.replace("\0", "\ufffd").split())
