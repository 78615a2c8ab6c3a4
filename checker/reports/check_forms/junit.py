"""JUnit XML: a suite for each load profile, a case for each rule that applies to it.

CI servers know a test by its class and name, so the class is the file of the load: with one class
for all loads, the case of one would replace those of the others.

A rule that stops the load at the gate is a failure, or an error where it is undecided. A rule not
met that does not stop it is skipped, with the message; so are warnings. Subjects of law that nobody
read are a property of the suite, or an error where they stop the load. Rules that do not apply are
counted and left out.
"""

import re
from collections import Counter
from xml.etree import ElementTree

from checker.evaluation.finding import Finding
from checker.evaluation.gate import Stop
from checker.reports.shared.check_results import (
    UNREAD_SUBJECTS,
    CheckedLoad,
    CheckRun,
    FindingToReport,
    Unreadable,
    findings_to_report,
    stops_the_load,
    warnings,
)
from checker.reports.shared.outcome_words import headline
from checker.reports.shared.repository_paths import repository_path
from checker.reports.shared.words import CAUTIONS, sources, statement_alone
from checker.rulebooks.citations import Location
from checker.rulebooks.verdicts import Verdict

# Characters that XML 1.0, section 2.2, forbids in any document, even escaped.
_FORBIDDEN = re.compile("[^\\t\\n\\r\\x20-\\ud7ff\\ue000-\\ufffd\\U00010000-\\U0010ffff]")


def report(run: CheckRun) -> str:
    """All loads of a run; an unreadable file is a suite with an error for each problem."""
    suites = [_suite(each, run) for each in run.checked] + [
        _unread(each) for each in run.unreadable
    ]
    top = ElementTree.Element("testsuites", name="cinchbook")
    for count in ("tests", "failures", "errors"):
        top.set(count, str(sum(int(suite.get(count, "0")) for suite in suites)))
    top.extend(suites)
    ElementTree.indent(top)
    return ElementTree.tostring(top, encoding="unicode", xml_declaration=True) + "\n"


def _suite(checked: CheckedLoad, run: CheckRun) -> ElementTree.Element:
    check = checked.check
    listed = {id(each.finding): each for each in findings_to_report(checked, run)}
    file = repository_path(str(check.load.file))
    cases = [
        _case(file, finding, listed.get(id(finding)))
        for finding in check.findings
        if finding.verdict is not Verdict.DOES_NOT_APPLY
    ]
    idle = len(check.findings) - len(cases)
    told = warnings(check)
    for each in told:
        if each.name == UNREAD_SUBJECTS and not stops_the_load(each, run):
            continue
        case = _named(file, each.name)
        kind = "error" if stops_the_load(each, run) else "skipped"
        _add(case, kind, each.name, each.words, f"{each.words}\n{_written(each.location)}")
        cases.append(case)
    unread = [each for each in told if each.name == UNREAD_SUBJECTS]
    suite = _counted(f"{check.load.title} ({file})", file, cases)
    properties = ElementTree.Element("properties")
    for name, value in {
        "outcome": headline(check, run.fail_on, run.near),
        "judged for": check.on.isoformat(),
        "cinchbook": run.version,
        "fail on": run.fail_on,
        "rules that do not apply": str(idle),
        **{f"note {n}": " ".join(note.split()) for n, note in enumerate(check.load.notes, 1)},
        **{f"not looked at {n}": each.words for n, each in enumerate(unread, 1)},
        **{f"rulebook {entry.book.id}": entry.book.digest for entry in check.in_force},
    }.items():
        ElementTree.SubElement(properties, "property", name=_clean(name), value=_clean(value))
    suite.insert(0, properties)
    ElementTree.SubElement(suite, "system-out").text = "\n".join(CAUTIONS)
    return suite


def _case(file: str, finding: Finding, listed: FindingToReport | None) -> ElementTree.Element:
    case = _named(file, f"{finding.rule.id}: {finding.rule.title}")
    if listed is None:
        return case
    if listed.stop is None and finding.verdict is Verdict.MET:
        return case
    kind = {Stop.UNDECIDED: "error", None: "skipped"}.get(listed.stop, "failure")
    text = [statement_alone(finding), listed.summary]
    text += [f"Do: {listed.action}"] if listed.action else []
    text += [f"Why: {finding.because}", *sources(finding), _written(listed.location)]
    text += [f"{_written(line.location)}: {line.field}: {line.text}" for line in listed.shared]
    _add(case, kind, listed.stop or finding.verdict, listed.summary, "\n".join(text))
    return case


def _unread(unreadable: Unreadable) -> ElementTree.Element:
    cases = []
    file = repository_path(unreadable.file)
    for problem in unreadable.problems:
        case = _named(file, f"line {problem.mark.line}, column {problem.mark.column}")
        at = f"{repository_path(problem.file)}:{problem.mark.line}:{problem.mark.column}"
        _add(case, "error", "problem in the file", problem.words, f"{at}: {problem.words}")
        cases.append(case)
    return _counted(file, file, cases)


def _named(classname: str, name: str) -> ElementTree.Element:
    return ElementTree.Element("testcase", classname=_clean(classname), name=_clean(name))


def _add(case: ElementTree.Element, tag: str, kind: str, message: str, text: str) -> None:
    inside = ElementTree.SubElement(case, tag, type=_clean(kind), message=_clean(message))
    inside.text = _clean(text)


def _counted(name: str, file: str, cases: list[ElementTree.Element]) -> ElementTree.Element:
    """A suite with its counts; a second case of the same name gets a number."""
    names: Counter[str] = Counter()
    for case in cases:
        stated = case.get("name", "")
        names[stated] += 1
        if names[stated] > 1:
            case.set("name", f"{stated} ({names[stated]})")
    suite = ElementTree.Element("testsuite", name=_clean(name), file=_clean(file))
    suite.set("tests", str(len(cases)))
    for count, tag in (("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
        suite.set(count, str(sum(case.find(tag) is not None for case in cases)))
    suite.extend(cases)
    return suite


def _written(place: Location) -> str:
    return f"{repository_path(place.file)}:{place.mark.line}"


def _clean(text: str) -> str:
    return _FORBIDDEN.sub("\N{REPLACEMENT CHARACTER}", text)
