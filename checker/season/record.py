"""What an audit keeps for being held against another one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from checker.rulebooks.verdicts import Verdict
from checker.season.audit import Audit
from checker.season.totals import RuleTally, Tally, WorstHaul

COMPARED_BY: Final = ("trailer", "machine", "tow vehicle", "crew")
"""What hauls are compared by; loads and months of two logs are seldom the same."""


@dataclass(frozen=True, slots=True)
class Count:
    """In how many hauls something was asked, and of those broken, or left undecided."""

    asked: int = 0
    broken: int = 0
    undecided: int = 0

    @property
    def decided(self) -> int:
        """Hauls in which it came to a yes or a no."""
        return self.asked - self.undecided

    @property
    def share(self) -> float:
        """Broken as a share of decided; 0 where nothing is decided."""
        return self.broken / self.decided if self.decided else 0.0


@dataclass(frozen=True, slots=True)
class RuleCount:
    """A rule as it was read, and how it came out; under a variance it is not broken."""

    title: str
    level: str
    count: Count


@dataclass(frozen=True, slots=True)
class Record:
    """One audit as another is held against it; what it was judged by are digests by id."""

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
    """Those that are told one by one."""
    totals: Tally
    rules: Mapping[str, RuleCount]
    by: Mapping[str, Mapping[str, Count]]
    """For each of COMPARED_BY by name: hauls, those on hold, those open."""
    worst: Sequence[WorstHaul]


def record_of(audit: Audit, version: str) -> Record:
    """The record of an audit that this version of the program made."""
    rules = {rule.id: rule for book in audit.rulebooks.books for rule in book.rules}
    return Record(
        version=version,
        log=audit.log,
        digest=audit.digest,
        near=audit.near,
        rulebooks={book.id: book.digest for book in audit.rulebooks.books},
        tables={each.id: each.digest for each in audit.rulebooks.tables},
        amendments={each.id: each.digest for each in audit.rulebooks.amendments},
        read=audit.read,
        refused=audit.refused,
        refused_rows=frozenset(each.row for each in audit.refusals),
        totals=audit.totals.all,
        rules={
            name: RuleCount(rules[name].title, rules[name].level, count_of_rule(tally))
            for name, tally in audit.totals.rules.items()
        },
        by={
            kind: {name: count_of_hauls(each) for name, each in audit.totals.by[kind].items()}
            for kind in COMPARED_BY
        },
        worst=tuple(audit.totals.remembered),
    )


def count_of_rule(tally: RuleTally) -> Count:
    """How a rule came out where it applied."""
    return Count(
        asked=sum(tally.verdicts) - tally.of(Verdict.DOES_NOT_APPLY),
        broken=tally.broken,
        undecided=tally.of(Verdict.NOT_STATED) + tally.of(Verdict.TOO_CLOSE),
    )


def count_of_hauls(tally: Tally) -> Count:
    """How hauls came out: broken are those on hold, undecided those that are open."""
    return Count(tally.hauls, tally.held, tally.open)
