"""Records what single hauls of a task gave, beside its counts: all findings, evidence."""

from collections.abc import Mapping, Sequence

from msgspec import Struct

from checker.logs.model import Refused
from checker.season.hauls.chunk_result import ChunkResult
from checker.season.records.evidence import ListedHauls, encode, listed_hauls
from checker.season.records.findings import FORMS


class Records(Struct, frozen=True):
    """The contents of a task's files; None for those that were not asked for."""

    findings: bytes | None = None
    evidence: bytes | None = None


class Recording:
    """Collects the hauls of a task; `names` has those that the log states, by row."""

    def __init__(self, findings: str | None, names: Mapping[int, str], *, evidence: bool) -> None:
        """Record all findings, in the form of a suffix, and the evidence, as asked."""
        self._findings = FORMS[findings]() if findings else None
        self._names = names
        self._held: list[ListedHauls] | None = [] if evidence else None

    @property
    def needs_all_rules(self) -> bool:
        """True if rules that are satisfied everywhere are recorded as well."""
        return self._findings is not None

    def add(self, result: ChunkResult) -> None:
        """Record the hauls of a chunk."""
        if self._findings is not None:
            self._findings.add(result, self._names)
        if self._held is not None:
            self._held.append(listed_hauls(result, self._names))

    def refuse(self, refused: Sequence[Refused]) -> None:
        """Record rows of the log that were not checked."""
        if self._findings is not None and refused:
            self._findings.add_refused(refused, self._names)

    def records(self) -> Records:
        """What was recorded."""
        return Records(
            findings=self._findings.content() if self._findings is not None else None,
            evidence=encode(self._held) if self._held is not None else None,
        )
