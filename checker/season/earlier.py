"""Reads an earlier audit from the JSON document that it was written as."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from checker.documents.json_documents import JsonDocument, read_json_document
from checker.documents.problems import DataPath, Problem, ProblemsFoundError
from checker.documents.schemas import AUDIT
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from checker.season.record import COMPARED_BY, Record, RuleCount, count_of_hauls, count_of_rule
from checker.season.totals import RuleTally, Tally, WorstHaul


def read_earlier(path: Path, version: str) -> Record:
    """The record of an audit in a file; `version` is that of this program.

    Raises ProblemsFoundError for a file that is no audit, or whose counts do not add up.
    """
    written = read_json_document(path, AUDIT, version)
    problems = list(_sums_that_fail(written))
    if problems:
        raise ProblemsFoundError(problems)
    data = written.data
    return Record(
        version=data["cinchbook"],
        log=data["log"],
        digest=data["digest"],
        near=data["near"],
        rulebooks={each["id"]: each["digest"] for each in data["rulebooks"]},
        tables={each["id"]: each["digest"] for each in data["tables"]},
        amendments={each["id"]: each["digest"] for each in data["amendments"]},
        read=data["read"],
        refused=data["refused"],
        refused_rows=frozenset(each["row"] for each in data["refusals"]),
        totals=Tally(**data["totals"]),
        rules={each["rule"]: _rule(each) for each in data["rules"]},
        by={
            kind: {name: count_of_hauls(Tally(**each)) for name, each in data["by"][kind].items()}
            for kind in COMPARED_BY
        },
        worst=tuple(map(_remembered, data["worst"])),
    )


def _rule(data: Mapping[str, Any]) -> RuleCount:
    verdicts = [data["verdicts"][verdict] for verdict in WORST_FIRST]
    tally = RuleTally(verdicts=verdicts, excused=data["excused"])
    return RuleCount(data["title"], data["level"], count_of_rule(tally))


def _remembered(data: Mapping[str, Any]) -> WorstHaul:
    """A haul; what is a list in JSON is a tuple here."""
    members: dict[str, Any] = {
        name: tuple(value) if isinstance(value, list) else value
        for name, value in data.items()
        if name != "haul"
    }
    return WorstHaul(**members)


def _sums_that_fail(written: JsonDocument) -> Iterator[Problem]:
    """Counts that no audit comes to, where a document was changed by hand."""
    data = written.data
    parts = [("by", kind, name) for kind in COMPARED_BY for name in data["by"][kind]]
    tallies: list[DataPath] = [("totals",), *parts]
    for path in tallies:
        tally: Any = data
        for part in path:
            tally = tally[part]
        if tally["held"] + tally["open"] > tally["hauls"]:
            yield written.problem(
                path, "more hauls on hold and open than hauls", "counts of an audit"
            )
    for place, rule in enumerate(data["rules"]):
        if rule["excused"] > rule["verdicts"][Verdict.NOT_MET]:
            path = ("rules", place, "excused")
            yield written.problem(path, str(rule["excused"]), "at most as many as are not met")
    if data["judged"] != data["totals"]["hauls"]:
        wanted = f"{data['totals']['hauls']}, the hauls of the totals"
        yield written.problem(("judged",), str(data["judged"]), wanted)
    if data["read"] != data["judged"] + data["refused"]:
        yield written.problem(("read",), str(data["read"]), "those judged and those refused")
