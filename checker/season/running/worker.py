"""Workers: evaluate hauls in this or another process, which reads the rules once."""

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

from checker.logs.model import Refused
from checker.rulebooks.model import Rulebooks
from checker.season.counting import count
from checker.season.hauls.chunk import Chunk
from checker.season.hauls.chunk_result import evaluate_chunk
from checker.season.hauls.digests import digest_of_rules
from checker.season.hauls.file_names import FileNames
from checker.season.hauls.loads import HaulsOfLoad, Loads
from checker.season.hauls.same_shape import LoadSummary
from checker.season.records.recording import Recording, Records
from checker.season.totals import Totals


class OtherRulesError(RuntimeError):
    """A worker read other rulebooks than the main process, so their results cannot be added."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The settings of an audit, small enough to send to another process.

    `read` reads the rulebooks named by `rules`. `found` returns the file of a load by its name in
    the log or raises FileNotFoundError. Both, and `rule_files`, can be pickled and are equal after
    that.
    """

    read: Callable[[tuple[str, ...]], Rulebooks]
    rules: tuple[str, ...]
    found: Callable[[str], Path]
    root: Path | None
    near: float
    findings: str | None = None
    """Suffix of the file for all findings; None if they are not requested."""
    evidence: bool = False
    """True if the evidence of every haul on hold or open is requested."""
    run: str = ""
    """Identifies the run: a worker that served an earlier run reads rules and loads again."""
    bundled: tuple[str, ...] = ()
    """The folders of bundled profiles as the caller names them, see `FileNames`."""
    rule_files: Callable[[tuple[str, ...]], Mapping[str, Path]] | None = None
    """Returns the files of the rulebooks named by `rules`, by name, and has them read again."""


@dataclass(frozen=True, slots=True)
class TaskResult:
    """The totals of the hauls of a task, and the records of single hauls that were requested."""

    totals: Totals
    records: Records


class Worker:
    """Holds the rulebooks and load profiles of one process."""

    def __init__(self, plan: Plan) -> None:
        """Read the rulebooks."""
        self.plan = plan
        self.rulebooks = plan.read(plan.rules)
        self.rules_digest = digest_of_rules(self.rulebooks)
        self.names = FileNames(plan.bundled)
        self.loads = Loads(plan.found, plan.root, [self.rulebooks], names=self.names)

    def totals(self, hauls: Sequence[HaulsOfLoad], recording: Recording) -> Totals:
        """The totals of the hauls; adds each haul to `recording`."""
        totals = Totals()
        for load in map(self.loads.load, (each.load for each in hauls)):
            if isinstance(load, LoadSummary):
                totals.loads[load.name] = load.file
                totals.keys_of_loads[load.name] = load.key
                totals.files |= load.digests
        refused: list[Refused] = []
        for chunk in self.loads.chunks(hauls):
            if isinstance(chunk, Refused):
                refused.append(replace(chunk, reason=self.names.text(chunk.reason)))
                continue
            for some in chunk.slices():
                totals.add(self._evaluate(some, recording))
        totals.refuse(refused)
        recording.refuse(refused)
        return totals

    def _evaluate(self, chunk: Chunk, recording: Recording) -> Totals:
        """The totals of a chunk; its result, the largest thing in memory, is freed on return."""
        result = evaluate_chunk(
            chunk, self.rulebooks, self.plan.near, keep_all=recording.needs_all_rules
        )
        recording.add(result)
        return count(result)


@lru_cache(maxsize=1)
def worker(plan: Plan) -> Worker:
    """The worker of this process."""
    return Worker(plan)


_ONE_AT_A_TIME = threading.RLock()
"""A worker of a cluster may have many threads, but one process has one set of loads."""


def start_worker(plan: Plan) -> Worker:
    """The worker of this process, also where several threads ask for it at once."""
    with _ONE_AT_A_TIME:
        return worker(plan)


def evaluate_hauls(
    plan: Plan,
    rules_digest: str,
    hauls: Sequence[HaulsOfLoad],
    loads: Mapping[str, LoadSummary | str] = MappingProxyType({}),
    names: Mapping[int, str] = MappingProxyType({}),
) -> TaskResult:
    """The result of a task; runs in other processes and on other machines.

    `loads` need not be read again; for a load that cannot be used it holds the reason. `names` are
    those that the log states of the hauls, by row.

    Raises OtherRulesError if the rules read here do not have the digest `rules_digest`.
    """
    with _ONE_AT_A_TIME:
        here = worker(plan)
        if here.rules_digest != rules_digest:
            raise OtherRulesError("found other rulebooks on a worker; wanted the same as here")
        for name, load in loads.items():
            here.loads.learn(name, load)
        recording = Recording(plan.findings, names, evidence=plan.evidence)
        totals = here.totals(hauls, recording)
        return TaskResult(totals, recording.records())


def read_loads(plan: Plan, names: Sequence[str]) -> list[LoadSummary | str]:
    """The summary of each load, or the reason why it cannot be used."""
    with _ONE_AT_A_TIME:
        return list(map(worker(plan).loads.load, names))
