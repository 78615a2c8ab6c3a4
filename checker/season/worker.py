"""Where hauls are judged: one process, or one of many, with the rules read once in each."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from checker.rulebooks.model import Rulebooks
from checker.season.chunk_result import evaluate_chunk
from checker.season.counting import count
from checker.season.digests import digest_of_rules
from checker.season.findings import FORMS, JsonLines, Parquet
from checker.season.loads import HaulsOf, HaulsOfNone, Loads
from checker.season.logs.model import Refused
from checker.season.same_shape import LoadSummary
from checker.season.totals import Cutoffs, Totals

_ALL = Cutoffs()


class OtherRulesError(RuntimeError):
    """Another machine reads other rules than the one that asks; what they say does not add up."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How hauls are to be judged, small enough to send to another process.

    `read` reads the rulebooks named by `rules`, `found` finds the file of a load as the log names
    it or raises FileNotFoundError; both are functions of a module, as pickle wants.
    """

    read: Callable[[tuple[str, ...]], Rulebooks]
    rules: tuple[str, ...]
    found: Callable[[str], Path]
    root: Path | None
    near: float
    findings: str | None = None
    """The form in which all findings are asked for too, by the suffix of its file."""
    run: str = ""
    """Tells runs apart: a worker that was of an earlier one reads rules and loads anew."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What some hauls come to, and all their findings if they were asked for."""

    totals: Totals
    findings: bytes | None


class Worker:
    """The rulebooks, and the load profiles read last."""

    def __init__(self, plan: Plan) -> None:
        """Read the rulebooks."""
        self.plan = plan
        self.rulebooks = plan.read(plan.rules)
        self.rules_digest = digest_of_rules(self.rulebooks)
        self.loads = Loads(plan.found, plan.root, [self.rulebooks])

    def totals(
        self, hauls: Sequence[HaulsOf], cutoffs: Cutoffs, findings: JsonLines | Parquet | None
    ) -> Totals:
        """What hauls come to; their findings are added to those given."""
        totals = Totals()
        for each in self.loads.by_shape(hauls):
            if isinstance(each, HaulsOfNone):
                totals.refuse(each.refused)
                continue
            for load in each.loads:
                totals.loads[load.name] = load.file
                totals.files |= load.digests
            for chunk in each.grouping.chunks(each.table, each.load_of):
                if isinstance(chunk, Refused):
                    totals.refuse([chunk])
                    continue
                for some in chunk.slices():
                    result = evaluate_chunk(
                        some, self.rulebooks, self.plan.near, keep_all=findings is not None
                    )
                    totals.add(count(result, cutoffs))
                    if findings is not None:
                        findings.add(result)
        return totals


@lru_cache(maxsize=1)
def worker(plan: Plan) -> Worker:
    """The worker of this process."""
    return Worker(plan)


def judged_here(
    plan: Plan,
    rules_digest: str,
    hauls: Sequence[HaulsOf],
    loads: Sequence[LoadSummary] = (),
    cutoffs: Cutoffs = _ALL,
) -> Judged:
    """What some hauls come to; the work that is handed to other processes and machines.

    Of the `loads` those given need not be read again. Of the hauls that are not in order those
    before the cutoffs are remembered one by one.

    Raises OtherRulesError where the rules read here are not those of the digest.
    """
    here = worker(plan)
    if here.rules_digest != rules_digest:
        raise OtherRulesError("found other rulebooks on a worker; wanted the same as here")
    for load in loads:
        here.loads.learn(load)
    findings = FORMS[plan.findings]() if plan.findings else None
    totals = here.totals(hauls, cutoffs, findings)
    return Judged(totals, findings.content() if findings is not None else None)


def loads_here(plan: Plan, names: Sequence[str]) -> list[LoadSummary | str]:
    """Each load, or why it cannot be read."""
    return list(map(worker(plan).loads.load, names))
