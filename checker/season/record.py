"""Reads the JSON document of an audit for comparison with another audit."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from msgspec import convert

from checker.documents.json_documents import JsonDocument, read_json_document
from checker.documents.problems import DataPath, Problem, ProblemsFoundError
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from checker.season.hauls.identity import KINDS
from checker.season.rates.correcting import MOST_OPEN
from checker.season.totals import RuleTally, Tally, WorstHaul

COMPARED_BY: Final = ("trailer", "machine", "tow vehicle", "crew")
"""The counts that are compared; two logs seldom have the same loads and months."""


@dataclass(frozen=True, slots=True)
class Count:
    """The number of hauls in which something was checked, was broken and was undecided."""

    asked: int = 0
    broken: int = 0
    undecided: int = 0

    @property
    def decided(self) -> int:
        """Number of hauls in which it was decided."""
        return self.asked - self.undecided

    @property
    def too_open(self) -> bool:
        """True if it is undecided in too many hauls to compare the others."""
        return self.undecided > MOST_OPEN * self.asked

    @property
    def share(self) -> float:
        """Broken hauls as a share of decided hauls; 0 if none is decided."""
        return self.broken / self.decided if self.decided else 0.0


@dataclass(frozen=True, slots=True)
class RuleCount:
    """A rule with its title, level and count; a haul excused by a variance is not broken.

    `by_load` has the hauls in which it was broken and undecided; None if the document has none.
    """

    title: str
    level: str
    count: Count
    by_load: Mapping[str, tuple[int, int]] | None = None


@dataclass(frozen=True, slots=True)
class LoadExposure:
    """What carries a load, by kind, and its decided hauls and those on hold by crew."""

    carried: Mapping[str, Sequence[str]]
    crews: Mapping[str, tuple[int, int]]
    load: str
    """The load profile, whatever rows name of what carries it."""

    @property
    def all_crews(self) -> tuple[int, int]:
        """Its decided hauls and those on hold, by whatever crew."""
        counts = self.crews.values()
        return sum(decided for decided, _ in counts), sum(held for _, held in counts)


@dataclass(frozen=True, slots=True)
class Record:
    """An audit, ready for comparison; rulebooks, tables and amendments are digests by id."""

    version: str
    log: str
    digest: str
    near: float
    rulebooks: Mapping[str, str]
    tables: Mapping[str, str]
    amendments: Mapping[str, str]
    read: int
    refused: int
    refused_rows: frozenset[int]
    """The refused rows that the document lists."""
    totals: Tally
    rules: Mapping[str, RuleCount]
    by: Mapping[str, Mapping[str, Count]]
    """For each kind in COMPARED_BY, by key: all hauls, those on hold, those open.

    Kinds that an earlier version counted by title are left out: their names are no keys.
    """
    worst: Sequence[WorstHaul]
    titles: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """By kind and key, the titles of trailers, machines and tow vehicles."""
    left_out: int = 0
    loads: Mapping[str, Count] = field(default_factory=dict)
    """By load: all hauls, those on hold, those open."""
    exposures: Mapping[str, LoadExposure] | None = None
    """By load, who hauled it and with what; None if the document does not say."""

    @property
    def all_by_load(self) -> Mapping[str, tuple[int, int]]:
        """By load, the decided hauls and those on hold."""
        return {load: (count.decided, count.broken) for load, count in self.loads.items()}

    def count_of_loads(self, loads: Collection[str]) -> Count:
        """All hauls of some of its loads, those on hold and those open."""
        counts = [self.loads[load] for load in loads]
        return Count(
            sum(each.asked for each in counts),
            sum(each.broken for each in counts),
            sum(each.undecided for each in counts),
        )

    def rule_by_load(self, rule: str) -> Mapping[str, tuple[int, int]] | None:
        """By load, the hauls in which a rule is not undecided and those in which it is broken.

        None if the rule is not in the document, or not by load.
        """
        found = self.rules.get(rule)
        if found is None or found.by_load is None:
            return None
        counts = {load: found.by_load.get(load, (0, 0)) for load in self.loads}
        return {
            load: (self.loads[load].asked - undecided, broken)
            for load, (broken, undecided) in counts.items()
        }

    @property
    def load_profiles(self) -> Mapping[str, str]:
        """The load profile of each load of the exposures."""
        return {load: each.load for load, each in (self.exposures or {}).items()}

    def hauls_by_load(self, kind: str, name: str) -> Mapping[str, tuple[int, int]] | None:
        """By load, the decided hauls of a crew, trailer and so on, and those on hold.

        None if the document does not have them.
        """
        if self.exposures is None:
            return None
        if kind == "crew":
            return {load: each.crews.get(name, (0, 0)) for load, each in self.exposures.items()}
        return {
            load: each.all_crews
            for load, each in self.exposures.items()
            if name in each.carried[kind]
        }


def read_earlier(path: Path, version: str) -> Record:
    """The record of the audit in a file; `version` is that of this program.

    Raises ProblemsFoundError if the file is not an audit or its counts do not add up.
    """
    written = read_json_document(path, "audit", version)
    if problems := list(_problems_of_counts(written)):
        raise ProblemsFoundError(problems)
    return record_of(written.data)


def record_of(document: Mapping[str, Any]) -> Record:
    """The record of an audit from its JSON document."""
    digests = {
        kind: {each["id"]: each["digest"] for each in document[kind]}
        for kind in ("rulebooks", "tables", "amendments")
    }
    return Record(
        version=document["cinchbook"],
        log=document["log"],
        digest=document["digest"],
        near=document["near"],
        **digests,
        read=document["read"],
        refused=document["refused"],
        left_out=document.get("left_out", 0),
        refused_rows=frozenset(each["row"] for each in document["refusals"]),
        totals=Tally(**document["totals"]),
        rules={each["rule"]: _rule(each) for each in document["rules"]},
        by={
            kind: {key: count_of_hauls(_tally(each)) for key, each in counts.items()}
            for kind, counts in document["by"].items()
            if kind in COMPARED_BY and not (kind in KINDS and _has_no_titles(counts))
        },
        titles={
            kind: {key: each.get("title", "") for key, each in document["by"][kind].items()}
            for kind in KINDS
        },
        worst=convert(document["worst"], tuple[WorstHaul, ...]),
        loads={
            name: count_of_hauls(Tally(**each)) for name, each in document["by"]["load"].items()
        },
        exposures=_exposures(document.get("exposures")),
    )


def _tally(data: Mapping[str, Any]) -> Tally:
    return Tally(**{name: number for name, number in data.items() if name != "title"})


def _has_no_titles(counts: Mapping[str, Mapping[str, Any]]) -> bool:
    return any("title" not in each for each in counts.values())


def _exposures(data: Mapping[str, Any] | None) -> Mapping[str, LoadExposure] | None:
    if data is None:
        return None
    return {
        load: LoadExposure(
            {
                "trailer": [each["trailer"]],
                "machine": each["machines"],
                "tow vehicle": [each["tow vehicle"]],
            },
            {crew: (count["decided"], count["held"]) for crew, count in each["crews"].items()},
            each.get("load", load),
        )
        for load, each in data.items()
    }


def _rule(data: Mapping[str, Any]) -> RuleCount:
    verdicts = [data["verdicts"][verdict] for verdict in WORST_FIRST]
    tally = RuleTally(verdicts=verdicts, excused=data["excused"])
    return RuleCount(data["title"], data["level"], count_of_rule(tally), _by_load(data))


def _by_load(data: Mapping[str, Any]) -> Mapping[str, tuple[int, int]] | None:
    undecided = data.get("undecided_by_load")
    if undecided is None:
        return None
    broken = data["broken_by"].get("load", {})
    return {
        load: (broken.get(load, 0), undecided.get(load, 0))
        for load in dict.fromkeys((*broken, *undecided))
    }


def count_of_rule(tally: RuleTally) -> Count:
    """The count of a rule over the hauls to which it applied."""
    return Count(
        asked=sum(tally.verdicts) - tally.of(Verdict.DOES_NOT_APPLY),
        broken=tally.broken,
        undecided=tally.of(Verdict.NOT_STATED) + tally.of(Verdict.TOO_CLOSE),
    )


def count_of_hauls(tally: Tally) -> Count:
    """The count of hauls: broken are those on hold, undecided those that are open."""
    return Count(tally.hauls, tally.held, tally.open)


def _problems_of_counts(written: JsonDocument) -> Iterator[Problem]:
    """The problems of counts that do not add up, as in a document edited by hand."""
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
    for index, rule in enumerate(data["rules"]):
        if rule["excused"] > rule["verdicts"][Verdict.NOT_MET]:
            path = ("rules", index, "excused")
            yield written.problem(path, str(rule["excused"]), "at most as many as are not met")
    if data["judged"] != data["totals"]["hauls"]:
        wanted = f"{data['totals']['hauls']}, the hauls of the totals"
        yield written.problem(("judged",), str(data["judged"]), wanted)
    if data["read"] != data["judged"] + data["refused"] + data.get("left_out", 0):
        wanted = "those judged, those refused and those left out"
        yield written.problem(("read",), str(data["read"]), wanted)
