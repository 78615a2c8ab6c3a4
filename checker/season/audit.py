"""A log of hauls held against the rules of each haul's day, counted."""

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass
from hashlib import blake2b
from itertools import chain, islice
from pathlib import Path

from checker.rulebooks.model import Rulebooks
from checker.season.bench import Plan, bench, totals_of
from checker.season.chunk import Chunk
from checker.season.grouping import Grouping
from checker.season.logs.model import Log, Refused
from checker.season.totals import Totals

_HAULS_OF_A_TASK = 16_384
"""Enough work at a time that handing it to another process costs little beside it."""
_WAITING = 6
"""Tasks handed out and not yet counted; more would only fill memory."""


@dataclass(frozen=True, slots=True)
class Audit:
    """What a log of hauls comes to under the rules of each haul's day.

    `read` rows are those judged and those refused. `refusals` are the first of the refused ones.
    """

    log: str
    digest: str
    read: int
    judged: int
    refused: int
    refusals: Sequence[Refused]
    totals: Totals
    rulebooks: Rulebooks
    loads: Mapping[str, str]
    """The file of each load profile, by its name in the log."""
    near: float


def audit(
    log: Log,
    plan: Plan,
    found: Callable[[str], Path],
    root: Path | None,
    executor: Callable[[], Executor] | None = None,
    counted: Callable[[int], None] = lambda _hauls: None,
) -> Audit:
    """Judge every haul of a log.

    `found` finds the file of a load as the log names it, or raises FileNotFoundError. Logs of more
    than one task's hauls go to `executor`, which is made only then; `counted` hears of hauls as
    they are done. Raises ProblemsFoundError where the log turns out to be unreadable on the way.
    """
    rulebooks = bench(plan).rulebooks
    grouping = Grouping(rulebooks, found, root)
    totals = Totals()
    for done in _done(_tasks(grouping.chunks(log.batches)), plan, executor):
        totals.add(done)
        counted(done.all.hauls)
    assert grouping.read == totals.all.hauls + grouping.refused
    return Audit(
        log=log.file,
        digest=digest_of(Path(log.file)),
        read=grouping.read,
        judged=totals.all.hauls,
        refused=grouping.refused,
        refusals=sorted(grouping.refusals, key=lambda each: each.row),
        totals=totals,
        rulebooks=rulebooks,
        loads={each.name: str(each.profile.file) for each in grouping.loads},
        near=plan.near,
    )


def _tasks(chunks: Iterable[Chunk]) -> Iterator[list[Chunk]]:
    task: list[Chunk] = []
    for chunk in chunks:
        task.append(chunk)
        if sum(each.hauls for each in task) >= _HAULS_OF_A_TASK:
            yield task
            task = []
    if task:
        yield task


def _done(
    tasks: Iterator[list[Chunk]], plan: Plan, executor: Callable[[], Executor] | None
) -> Iterator[Totals]:
    """What each task comes to, in their order."""
    first = list(islice(tasks, 2))
    if executor is None or len(first) < 2:
        for task in chain(first, tasks):
            yield totals_of(plan, task)
        return
    with executor() as workers:
        waiting: deque[Future[Totals]] = deque()
        for task in chain(first, tasks):
            waiting.append(workers.submit(totals_of, plan, task))
            if len(waiting) >= _WAITING:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


def digest_of(log: Path) -> str:
    """A short digest of a log's bytes, or of all files of a folder by their names and bytes."""
    total = blake2b(digest_size=8)
    files = sorted(log.rglob("*.yaml")) if log.is_dir() else [log]
    for file in files:
        if log.is_dir():
            total.update(str(file.relative_to(log)).encode())
        with file.open("rb") as opened:
            while block := opened.read(1 << 20):
                total.update(block)
    return total.hexdigest()
