"""A log of hauls held against the rules of each haul's day, counted.

First the parts of the log are read, each by itself; then the hauls of each load are judged
together, whatever part they stand in. Both are mapped over the processes of an executor, and what
is done is kept in a folder, so that a run that is stopped can be taken up.
"""

from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass
from hashlib import blake2b
from itertools import chain, islice
from typing import Any, Protocol, TypeVar

from checker.documents.escaping import escaped
from checker.rulebooks.model import Rulebooks
from checker.season.checkpoint import Checkpoint, Extent, PartStore, temporary_folder
from checker.season.loads import HaulsOf, changed_meanwhile
from checker.season.logs.model import Log, Part, Refused
from checker.season.reading import read_part
from checker.season.same_shape import LoadSummary
from checker.season.tasks import LOADS_AT_ONCE, in_order, pattern_of, tasks
from checker.season.totals import Totals
from checker.season.worker import Plan, judged_here, loads_here, worker
from checker.units.words import call_with_own_units, own_units

_WAITING = 3
"""Parts and tasks handed out and not yet done; more would only fill memory."""

Given = TypeVar("Given")


@dataclass(frozen=True, slots=True)
class Audit:
    """What a log of hauls comes to under the rules of each haul's day.

    `read` rows are those judged and those refused. `names` are the hauls' own, by row, of those
    that `totals` remembers.
    """

    log: str
    digest: str
    read: int
    totals: Totals
    rulebooks: Rulebooks
    near: float
    names: Mapping[int, str]

    @property
    def judged(self) -> int:
        """Rows that were judged."""
        return self.totals.all.hauls

    @property
    def refused(self) -> int:
        """Rows that could not be judged."""
        return self.totals.refused

    @property
    def refusals(self) -> Sequence[Refused]:
        """The first of them, in order."""
        return self.totals.refusals


class Watch(Protocol):
    """Whoever wants to know how far an audit has come."""

    def reading(self, done: int, size: int | None) -> None:
        """So much of the log is read; how much there is may not be known."""

    def sorting(self, done: int, loads: int) -> None:
        """So many of the load profiles have been looked at, to find those of the same shape."""

    def judging(self, done: int, hauls: int) -> None:
        """So many of the hauls are judged."""


class _Nobody:
    def reading(self, done: int, size: int | None) -> None:
        pass

    def sorting(self, done: int, loads: int) -> None:
        pass

    def judging(self, done: int, hauls: int) -> None:
        pass


def audit(
    log: Log,
    plan: Plan,
    digest: str,
    *,
    executor: Callable[[], AbstractContextManager[Executor]] | None = None,
    work: Checkpoint | None = None,
    watch: Watch | None = None,
) -> Audit:
    """Judge every haul of a log whose digest is given.

    Logs of more than one part or task go to `executor`, which is made only then. With `work`, what
    is there already is not done again. Raises ProblemsFoundError where the log turns out to be
    unreadable on the way.
    """
    with ExitStack() as stack:
        here = work or stack.enter_context(temporary_folder())
        workers = _Workers(executor, stack)
        see = watch or _Nobody()
        rulebooks = worker(plan).rulebooks
        store = _read(log, here, workers, see)
        order, key = _by_shape(list(store.loads), plan, workers, see)
        totals = _judged(store, order, key, plan, here, workers, see)
        for stored in store.parts:
            totals.refuse(stored.refusals)
            totals.refused += stored.refused - len(stored.refusals)
        read = sum(stored.read for stored in store.parts)
        assert read == totals.all.hauls + totals.refused
        rows = {each.row for each in totals.remembered}
        names = dict(name for stored in store.parts for name in stored.names(rows))
    return Audit(escaped(log.file), digest, read, totals, rulebooks, plan.near, names)


def _read(log: Log, work: Checkpoint, workers: "_Workers", watch: Watch) -> PartStore:
    """Every part of the log, read now or by a run before."""
    extents: list[Extent] = []

    def unread() -> Iterator[tuple[int, Part]]:
        begins = 0
        for number, part in enumerate(log.parts):
            extents.append((begins, part.size))
            begins += part.size
            if not work.has_part(number, extents[number]):
                yield number, part

    done = 0
    for (number, _), read in workers.each(lambda given: (read_part, given[1], log.own), unread()):
        if not done:
            # Hauls are judged once all parts are read: what is kept of that was of other parts.
            work.forget_judged()
        work.put_part(number, extents[number], read)
        done += extents[number][1]
        watch.reading(done, log.size)
    store = PartStore()
    for number in range(len(extents)):
        store.put(log.file, *work.part(number))
    return store


def _by_shape(
    loads: Sequence[str], plan: Plan, workers: "_Workers", watch: Watch
) -> tuple[list[list[str]], str]:
    """All loads in the order of the log, but those of the same shape together.

    And a key that differs where any of them is another one, or can be read at last.
    """
    some = (loads[first : first + LOADS_AT_ONCE] for first in range(0, len(loads), LOADS_AT_ONCE))
    patterns: dict[str, str] = {}
    states = blake2b(digest_size=8)
    here = worker(plan).loads
    for given, found in workers.each(lambda given: (loads_here, plan, given), some):
        for name, load in zip(given, found, strict=True):
            if isinstance(load, LoadSummary):
                here.learn(load)
            patterns[name] = pattern_of(load)
            state = load if isinstance(load, str) else (load.file, sorted(load.digests.items()))
            states.update(repr((name, state)).encode())
        watch.sorting(len(patterns), len(loads))
    order = in_order(patterns)
    states.update(repr(order).encode())
    return order, states.hexdigest()


def _judged(
    store: PartStore,
    order: Sequence[Sequence[str]],
    key: str,
    plan: Plan,
    work: Checkpoint,
    workers: "_Workers",
    watch: Watch,
) -> Totals:
    """What the hauls of all loads come to."""
    here = worker(plan)
    # Counts of so many tasks mean nothing once the tasks, or the loads in them, are others.
    tasks_done, totals = work.judged(key)
    if not tasks_done:
        work.forget_judged()
    hauls = sum(stored.read - stored.refused for stored in store.parts)
    waiting = islice(tasks(store, order), tasks_done, None)
    done = totals.all.hauls + totals.refused
    watch.judging(done, hauls)

    def call(given: list[HaulsOf]) -> tuple[Any, ...]:
        loads = here.loads.at_hand(each.load for each in given)
        return judged_here, plan, here.rules_digest, given, loads, totals.cutoffs

    for task, found in workers.each(call, waiting):
        # Each process reads by itself, and what they read must be the same.
        for file, digest in found.totals.files.items():
            if totals.files.get(file, digest) != digest:
                raise changed_meanwhile(file)
        totals.add(found.totals)
        if found.findings is not None:
            work.put_findings(tasks_done, found.findings)
        tasks_done += 1
        work.put_judged(key, tasks_done, totals)
        done += sum(each.hauls for each in task)
        watch.judging(done, hauls)
    return totals


class _Workers:
    """Those who do the work: this process, or those of an executor once there is enough of it."""

    def __init__(
        self, start: Callable[[], AbstractContextManager[Executor]] | None, stack: ExitStack
    ) -> None:
        self.start, self.stack = start, stack
        self.executor: Executor | None = None

    def each(
        self, call: Callable[[Given], tuple[Any, ...]], given: Iterator[Given]
    ) -> Iterator[tuple[Given, Any]]:
        """What is given, each with what the call of it comes to, in their order."""
        first = deque(islice(given, 2))
        if self.executor is None and self.start is not None and len(first) == 2:
            self.executor = self.stack.enter_context(self.start())
        waiting: deque[tuple[Given, Future[Any]]] = deque()
        # What is done is let go: a part of a log may be large.
        for each in chain((first.popleft() for _ in range(len(first))), given):
            function, *arguments = call(each)
            if self.executor is None:
                yield each, function(*arguments)
                continue
            future = self.executor.submit(call_with_own_units, own_units(), function, *arguments)
            waiting.append((each, future))
            if len(waiting) >= _WAITING:
                one, future = waiting.popleft()
                yield one, future.result()
        for one, future in waiting:
            yield one, future.result()
