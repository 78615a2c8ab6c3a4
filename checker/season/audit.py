"""The audit of a haul log: every haul checked by the rules of its day, and the results counted.

The audit first reads the parts of the log, each independently, then evaluates the hauls of each
load together, whichever part they came from. The processes of an executor do both steps. Results
are saved in a checkpoint folder, so that a stopped run can be resumed.
"""

from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from hashlib import blake2b
from itertools import chain, islice
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from checker.documents.escaping import escaped
from checker.logs.model import Log, Refused
from checker.logs.remarks import Remarks
from checker.rulebooks.model import Rulebooks
from checker.season.decisive_fields import DecisiveFields
from checker.season.hauls.loads import HaulsOfLoad, changed_meanwhile, rows_of
from checker.season.hauls.reading import read_part
from checker.season.hauls.same_shape import LoadSummary
from checker.season.rates.exposure import Exposure, exposures_by_kind
from checker.season.records.recording import Recording
from checker.season.running.checkpoint import Checkpoint, temporary_folder
from checker.season.running.part_store import PartStore
from checker.season.running.tasks import LOADS_AT_ONCE, group_by_pattern, pattern_of, tasks
from checker.season.running.worker import Plan, evaluate_hauls, read_loads, worker
from checker.season.season_comparisons import Comparisons, compare_within
from checker.season.slips.haul_numbers import RepeatedNumbers
from checker.season.totals import Totals
from checker.units.words import call_with_own_units, own_units

if TYPE_CHECKING:
    from checker.season.running.agreement import Agreement
    from checker.season.running.cluster import Cluster

_WAITING = 3
"""Most parts or tasks submitted and not finished; more would only use memory."""

Given = TypeVar("Given")


@dataclass(frozen=True)
class Audit:
    """The results of an audit of one log.

    `read` is the number of rows: checked, refused and left out. `names` holds the haul names that
    the log states, by row, for the hauls listed in `totals.worst_hauls`. `decisive` finds the
    fields that would decide undecided rules. `changed_on` is a day from which something was done
    differently, so that the hauls before and after it are compared.
    """

    log: str
    digest: str
    read: int
    totals: Totals
    rulebooks: Rulebooks
    near: float
    names: Mapping[int, str]
    remarks: Remarks
    repeated: RepeatedNumbers
    """The haul names that the log states more than once."""
    decisive: DecisiveFields
    changed_on: date | None = None

    @property
    def checked(self) -> int:
        """Number of rows that were checked."""
        return self.totals.all.hauls

    @property
    def refused(self) -> int:
        """Number of rows that could not be checked."""
        return self.totals.refused

    @cached_property
    def exposures(self) -> Mapping[str, Mapping[str, Exposure]]:
        """Decided hauls, those on hold and their distances, by kind and name."""
        return exposures_by_kind(self.totals.exposures)

    @cached_property
    def comparisons(self) -> Comparisons:
        """Every crew, month and vehicle compared with the others, and before with after."""
        return compare_within(self.totals.exposures, self.changed_on, self.totals.by)

    @property
    def refusals(self) -> Sequence[Refused]:
        """The first refused rows, in the order of the log."""
        return self.totals.refusals


class ProgressWatcher(Protocol):
    """Receives the progress of an audit."""

    def reading(self, done: int, size: int | None) -> None:
        """`done` of the log is read, in the unit of `size`; `size` is None if unknown."""

    def sorting(self, done: int, loads: int) -> None:
        """`done` of the load profiles are read and grouped by shape."""

    def checking(self, done: int, hauls: int) -> None:
        """`done` of the hauls are checked."""


class _NoProgress:
    def reading(self, done: int, size: int | None) -> None:
        pass

    def sorting(self, done: int, loads: int) -> None:
        pass

    def checking(self, done: int, hauls: int) -> None:
        pass


def audit(
    log: Log,
    plan: Plan,
    digest: str,
    *,
    executor: Callable[[], AbstractContextManager[Executor]] | None = None,
    cluster: "Cluster | None" = None,
    libraries: Sequence[str] = (),
    work: Checkpoint | None = None,
    watch: ProgressWatcher | None = None,
) -> Audit:
    """Check every haul of a log; `digest` is that of the log.

    `executor` is started only if there is more than one part or task. With a `cluster` its workers
    do everything; `libraries` are those that they need beside the program's own. Results that
    `work` already holds are not computed again. Raises ProblemsFoundError if a later part of the
    log cannot be read, NotSavedError if what is done cannot be saved, NoClusterError.
    """
    with ExitStack() as stack:
        here = work or stack.enter_context(temporary_folder())
        stack.enter_context(here.saving())
        own = worker(plan)
        rulebooks = own.rulebooks
        workers = _Workers(executor, stack)
        if cluster is not None:
            workers.use(cluster, plan, libraries)
        watcher = watch or _NoProgress()
        store = stack.enter_context(PartStore(here.folder))
        done = 0
        for part, read in workers.each(lambda part: (read_part, part, log.mapping), log.parts):
            store.put(log.file, read)
            done += part.size
            watcher.reading(done, log.size)
        store.remarks.refuse_contradicted(log.file)
        order, key = _group_by_shape(store, plan, workers, watcher)
        totals = _evaluate_tasks(store, order, key, plan, here, workers, watcher)
        totals.add(store.refused)
        left_out = store.remarks.left_out.total
        assert store.read == totals.all.hauls + totals.refused + left_out
        names = store.names({each.row for each in totals.worst_hauls})
        repeated = store.repeated_numbers()
        decisive = DecisiveFields(totals.gaps, store, worker(plan).loads, rulebooks)
    return Audit(
        log=escaped(log.file),
        digest=digest,
        read=store.read,
        totals=totals,
        rulebooks=rulebooks,
        near=plan.near,
        names=names,
        remarks=store.remarks,
        repeated=repeated,
        decisive=decisive,
    )


def _group_by_shape(
    store: PartStore, plan: Plan, workers: "_Workers", watcher: ProgressWatcher
) -> tuple[list[list[str]], str]:
    """The load names grouped by shape, in the order of the log, and a key of their contents.

    The key changes if any load profile changes or becomes readable, or if the log is divided into
    other parts.
    """
    loads = list(store.ranges)
    some = (loads[first : first + LOADS_AT_ONCE] for first in range(0, len(loads), LOADS_AT_ONCE))
    patterns: dict[str, str] = {}
    states = blake2b(digest_size=8)
    here = worker(plan).loads
    for given, found in workers.each(lambda given: (read_loads, plan, given), some):
        for name, load in workers.agreed(dict(zip(given, found, strict=True))).items():
            if isinstance(load, LoadSummary):
                here.learn(name, load)
            patterns[name] = pattern_of(load)
            state = load if isinstance(load, str) else (load.file, sorted(load.digests.items()))
            states.update(repr((name, state, store.ranges[name])).encode())
        watcher.sorting(len(patterns), len(loads))
    order = group_by_pattern(patterns)
    states.update(repr(order).encode())
    return order, states.hexdigest()


def _evaluate_tasks(
    store: PartStore,
    order: Sequence[Sequence[str]],
    key: str,
    plan: Plan,
    work: Checkpoint,
    workers: "_Workers",
    watcher: ProgressWatcher,
) -> Totals:
    """The totals over all hauls; saves them after every task."""
    here = worker(plan)
    # Stored totals are valid only for the same tasks over the same loads.
    tasks_done, totals = work.progress(key)
    if not tasks_done:
        work.forget_progress()
    hauls = store.read - store.refused.refused - store.remarks.left_out.total
    waiting = islice(tasks(store, order), tasks_done, None)
    done = totals.all.hauls + totals.refused
    watcher.checking(done, hauls)

    def call(given: list[HaulsOfLoad]) -> tuple[Any, ...]:
        known = here.loads.already_read(each.load for each in given)
        named = store.names(rows_of(given)) if plan.findings or plan.evidence else {}
        return evaluate_hauls, plan, here.rules_digest, given, known, named

    for task, found in workers.each(call, waiting):
        # Each process reads the files independently; all must have read the same text.
        for file, digest in found.totals.files.items():
            if not digest == totals.files.get(file, digest) == workers.digests.get(file, digest):
                raise changed_meanwhile(file)
        totals.add(found.totals)
        work.put_records(tasks_done, found.records)
        tasks_done += 1
        work.put_progress(key, tasks_done, totals)
        done += sum(each.hauls for each in task)
        watcher.checking(done, hauls)
    if plan.findings:
        # Rows that could not even be read come last, as if they were tasks of their own.
        for number, (refused, names) in enumerate(store.refused_rows(), tasks_done):
            recording = Recording(plan.findings, names, evidence=False)
            recording.refuse(refused)
            work.put_records(number, recording.records())
    return totals


class _Workers:
    """Runs calls in this process, in an executor if there is more than one call, or in a cluster.

    `digests` holds one of every file of a load that a cluster must have as it is here.
    """

    def __init__(
        self, start: Callable[[], AbstractContextManager[Executor]] | None, stack: ExitStack
    ) -> None:
        self.start, self.stack = start, stack
        self.executor: Executor | None = None
        self.waiting = _WAITING
        self.cluster: Cluster | None = None
        self.agreement: Agreement | None = None
        self.digests: Mapping[str, str] = {}

    def use(self, cluster: "Cluster", plan: Plan, libraries: Sequence[str]) -> None:
        """Run every call in a cluster."""
        from checker.season.running.agreement import Agreement  # most runs are on one machine

        here = worker(plan)
        cluster.begin(plan, here.rules_digest, libraries)
        self.executor = self.cluster = cluster
        self.waiting = max(_WAITING, cluster.threads + 1)
        self.agreement = Agreement(plan, here.loads)
        self.digests = self.agreement.files

    def agreed(self, read: dict[str, LoadSummary | str]) -> dict[str, LoadSummary | str]:
        """Loads as they are here; those that a cluster reads otherwise are refused."""
        if self.cluster is None or self.agreement is None:
            return read
        return self.agreement.agreed(read, self.cluster.differing)

    def each(
        self, call: Callable[[Given], tuple[Any, ...]], given: Iterator[Given]
    ) -> Iterator[tuple[Given, Any]]:
        """Each given item with the result of its call, in order."""
        first = deque(islice(given, 2))
        if self.executor is None and self.start is not None and len(first) == 2:
            self.executor = self.stack.enter_context(self.start())
        waiting: deque[tuple[Given, Future[Any]]] = deque()
        # Keeps no reference to finished items: a part of a log may be large.
        for each in chain((first.popleft() for _ in range(len(first))), given):
            function, *arguments = call(each)
            if self.executor is None:
                yield each, function(*arguments)
                continue
            future = self.executor.submit(call_with_own_units, own_units(), function, *arguments)
            waiting.append((each, future))
            if len(waiting) >= self.waiting:
                one, future = waiting.popleft()
                yield one, future.result()
        for one, future in waiting:
            yield one, future.result()
