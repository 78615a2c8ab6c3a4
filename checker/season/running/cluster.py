"""A Dask cluster as an executor: only workers that agree with the caller are given any work.

Workers may come and go. A task goes to the workers that were admitted when it was submitted, and
again to others where all of these have gone. Everything that is asked of the cluster has a time
limit, because whatever listens at an address may never answer.
"""

import asyncio
import logging
import threading
import time
import warnings
from collections.abc import Awaitable, Callable, Iterator, Mapping, Sequence
from concurrent.futures import CancelledError, Executor, Future
from contextlib import contextmanager, suppress
from functools import partial
from importlib import import_module
from typing import Any, Final, TypeVar

from checker.season.running.agreement import (
    OF_THE_PROGRAM,
    Differing,
    Wanted,
    differences_of_program,
    differences_of_worker,
    differing_files,
    wanted,
)
from checker.season.running.executors import NoClusterError
from checker.season.running.worker import Plan
from checker.units.words import own_units

_Answer = TypeVar("_Answer")

_SECONDS_TO_ANSWER: Final = 10.0
_SECONDS_TO_READ: Final = 300.0
"""Enough for a slow worker to read the rules, or the files of some loads."""
_SECONDS_TO_CLOSE: Final = 3.0
_SECONDS_UNTIL_NOTE: Final = 10.0
_SECONDS_BETWEEN: Final = 1.0


class Cluster(Executor):
    """The workers of one scheduler; made by `open_cluster`."""

    def __init__(
        self, address: str, link: "_Link", client: Any, wait: float, tell: Callable[[str], None]
    ) -> None:
        self.address = address
        self._link, self._client, self._wait, self._tell = link, client, wait, tell
        self._plan: Plan | None = None
        self._wanted: Wanted | None = None
        self._libraries: Sequence[str] = ()
        self._admitted: set[str] = set()
        self._refused: dict[str, str] = {}
        """Why workers are not used, by their addresses."""
        self._files: dict[str, str] = {}
        self._loads: dict[str, str] = {}
        self._looked_at = self._without_since = self._noted_at = 0.0

    @property
    def threads(self) -> int:
        """How many tasks the admitted workers do at once."""
        return sum(number for worker, number in self._present().items() if worker in self._admitted)

    def begin(self, plan: Plan, rules_digest: str, libraries: Sequence[str] = ()) -> None:
        """Wait for workers and admit those that have what this process has.

        `libraries` are further ones that the work needs. Raises NoClusterError if no worker may be
        used, or none comes in time, or the scheduler has another program.
        """
        self._plan, self._libraries = plan, libraries
        self._wanted = wanted(plan, rules_digest, libraries)
        self._compare_scheduler(self._wanted.program)
        while not self._admit():
            if self._refused:
                listed = "; ".join(f"{each} {why}" for each, why in sorted(self._refused.items()))
                message = f"found no worker at '{self.address}' that agrees with this machine"
                raise NoClusterError(f"{message}: {listed}")
            self._wait_a_moment()

    def submit(self, function: Any, /, *arguments: Any, **named: Any) -> "Future[Any]":
        """A task for one of the workers; its `result` raises NoClusterError if all are lost."""
        assert not named
        if time.monotonic() - self._looked_at >= _SECONDS_BETWEEN:
            self._admit()
        return _Task(self, function, arguments)

    def differing(
        self, files: Mapping[str, str], loads: Mapping[str, str]
    ) -> Mapping[str, Differing]:
        """What each admitted worker has otherwise, by its address.

        `files` holds digests of files of load profiles, `loads` the files that loads of the log are
        read from.
        """
        self._files |= files
        self._loads |= loads
        return self._compared(sorted(self._admitted), files, loads)

    def send(self, function: Any, arguments: Sequence[Any]) -> "tuple[Future[Any], set[str]]":
        """A task on the way, and the workers that may do it; waits until there are any."""
        # Dask would take an empty list of workers for leave to use every worker.
        while not self._admitted and not self._admit():
            self._wait_a_moment()
        workers = set(self._admitted)

        async def send() -> Any:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # of the size of a task, which is known
                executor = self._client.get_executor(workers=sorted(workers), pure=False)
                return executor.submit(function, *arguments)

        return self._ask(send, _SECONDS_TO_READ), workers

    def watch(self, workers: set[str]) -> bool:
        """Whether any of these workers is still there; waits a moment if none is at all.

        Raises NoClusterError if the scheduler is lost, or no worker has been there for too long.
        """
        present = self._admit()
        if present:
            return not present.isdisjoint(workers)
        self._wait_a_moment()
        return True

    def lost(self) -> NoClusterError:
        """The error for a cluster that does not answer any more."""
        return NoClusterError(f"lost the cluster at '{self.address}'; {_GO_ON}")

    def _wait_a_moment(self) -> None:
        now = time.monotonic()
        self._without_since = self._without_since or now
        waited = now - self._without_since
        if waited >= self._wait:
            message = f"found no workers at '{self.address}' within {self._wait:g} s"
            raise NoClusterError(f"{message}; {_GO_ON}")
        if waited >= _SECONDS_UNTIL_NOTE and not self._noted_at >= self._without_since:
            self._noted_at = now
            self._tell(f"waiting for workers at {self.address}, at most {self._wait:g} s")
        time.sleep(min(_SECONDS_BETWEEN, max(self._wait - waited, 0.01)))

    def _present(self) -> Mapping[str, int]:
        """The workers that the scheduler knows now, with their numbers of threads."""
        found: Mapping[str, int] = self._ask(self._client.nthreads, _SECONDS_TO_ANSWER)
        return found

    def _ask(self, question: Callable[[], Awaitable[_Answer]], seconds: float) -> _Answer:
        try:
            return self._link.call(question, seconds)
        except (OSError, CancelledError) as error:  # of which a timeout is one, too
            raise self.lost() from error

    def _admit(self) -> set[str]:
        """The admitted workers that are there; new ones are compared with this process first."""
        self._looked_at = time.monotonic()
        present = self._present().keys()
        self._refused = {each: why for each, why in self._refused.items() if each in present}
        new = sorted(present - self._admitted - self._refused.keys())
        self._admitted &= present
        if new:
            self._compare_new(new)
        if self._admitted:
            self._without_since = 0.0
        return self._admitted

    def _compare_scheduler(self, program: Mapping[str, str]) -> None:
        """Raise NoClusterError unless the scheduler, which unpacks all tasks, can do so."""
        # It calculates nothing, so that its libraries may be others.
        own = {name: each for name, each in program.items() if name in OF_THE_PROGRAM}
        run = partial(self._client.run_on_scheduler, differences_of_program, own, ())
        why: Any
        try:
            why = self._link.call(run, _SECONDS_TO_READ)
        except (OSError, CancelledError) as error:
            raise self.lost() from error
        except Exception as error:
            why = [f"cannot begin ({error})"]
        if why:
            raise NoClusterError(f"found a scheduler at '{self.address}' that {'; '.join(why)}")

    def _compare_new(self, new: Sequence[str]) -> None:
        if self._plan is None:
            self._admitted |= set(new)
            return
        asked = (self._plan, own_units(), self._wanted, self._libraries)
        agreeing = []
        for worker, answer in self._run(differences_of_worker, asked, new).items():
            if isinstance(answer, OSError):  # gone meanwhile
                continue
            if isinstance(answer, Exception):
                answer = [f"cannot begin ({type(answer).__name__}: {answer})"]
            if answer:
                self._refuse(worker, "; ".join(answer))
            else:
                agreeing.append(worker)
        # Hauls of these loads may be counted already.
        found = self._compared(agreeing, self._files, self._loads)
        for worker, other in found.items():
            if words := [*other.files.values(), *other.loads.values()]:
                self._refuse(worker, " and ".join(words))
            else:
                self._admitted.add(worker)

    def _refuse(self, worker: str, why: str) -> None:
        self._refused[worker] = why
        self._tell(f"worker {worker} {why}; it gets no work")

    def _compared(
        self, workers: Sequence[str], files: Mapping[str, str], loads: Mapping[str, str]
    ) -> dict[str, Differing]:
        """What each worker has otherwise; one that does not answer is not admitted any more."""
        if not workers or not (files or loads):
            return {worker: Differing({}, {}) for worker in workers}
        answers = self._run(differing_files, (self._plan, files, loads), workers)
        found = {each: answer for each, answer in answers.items() if isinstance(answer, Differing)}
        self._admitted -= set(workers) - found.keys()
        return found

    def _run(self, function: Any, arguments: tuple[Any, ...], workers: Sequence[str]) -> Any:
        run = partial(self._client.run, function, *arguments)
        return self._ask(partial(run, workers=workers, on_error="return"), _SECONDS_TO_READ)


_GO_ON: Final = "the same command goes on from here"


class _Task(Future[Any]):
    """A task of a cluster, sent again where the workers that may do it have gone."""

    def __init__(self, cluster: Cluster, function: Any, arguments: Sequence[Any]) -> None:
        super().__init__()
        self._cluster, self._function, self._arguments = cluster, function, arguments
        self._sent, self._workers = cluster.send(function, arguments)

    def result(self, timeout: float | None = None) -> Any:
        """What the function returned or raised."""
        end = None if timeout is None else time.monotonic() + timeout
        lost = import_module("distributed").KilledWorker
        while True:
            try:
                return self._sent.result(_SECONDS_BETWEEN)
            except (CancelledError, lost) as error:
                raise self._cluster.lost() from error
            except TimeoutError:
                if self._sent.done() or (end is not None and time.monotonic() > end):
                    raise
            if not self._cluster.watch(self._workers):
                self._sent.cancel()
                self._sent, self._workers = self._cluster.send(self._function, self._arguments)


class _Link:
    """An event loop in a thread of its own, in which Dask's client runs.

    The caller waits for its answers no longer than it wants to, and Ctrl-C ends the wait at once.
    """

    def __init__(self) -> None:
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()

    def call(self, question: Callable[[], Awaitable[_Answer]], seconds: float) -> _Answer:
        """The answer; raises TimeoutError if it takes longer."""

        async def ask() -> _Answer:
            return await question()

        asked = asyncio.run_coroutine_threadsafe(ask(), self._loop)
        try:
            return asked.result(seconds)
        finally:
            asked.cancel()

    def close(self) -> None:
        """End everything that still runs in the loop, and the thread."""

        async def end() -> None:
            mine = asyncio.current_task()
            left = [each for each in asyncio.all_tasks() if each is not mine]
            for each in left:
                each.cancel()
            await asyncio.wait_for(asyncio.gather(*left, return_exceptions=True), _SECONDS_TO_CLOSE)

        with suppress(TimeoutError, CancelledError):
            self.call(end, 2 * _SECONDS_TO_CLOSE)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(_SECONDS_TO_CLOSE)
        if not self._thread.is_alive():
            self._loop.close()


@contextmanager
def open_cluster(
    address: str, wait: float = 600.0, tell: Callable[[str], None] = lambda _: None
) -> Iterator[Cluster]:
    """The cluster of a scheduler, whose machines need this program, the profiles and the rules.

    `wait` is how many seconds it may have no worker, `tell` prints a note. Raises NoClusterError if
    no scheduler answers at the address or the connection is lost, ImportError if Dask is not
    installed.
    """
    distributed: Any = import_module("distributed")
    # NoClusterError reports the error in one line; the logs of Dask would print tracebacks.
    for name in ("distributed", *logging.root.manager.loggerDict):
        if name.split(".")[0] == "distributed":
            logging.getLogger(name).setLevel(logging.CRITICAL)
    link = _Link()
    client = None

    async def connect() -> Any:
        found = distributed.Client(
            address, asynchronous=True, timeout=f"{_SECONDS_TO_ANSWER} s", set_as_default=False
        )
        try:
            return await found
        except BaseException:
            with suppress(Exception):
                await found.close(_SECONDS_TO_CLOSE)
            raise

    try:
        try:
            client = link.call(connect, 1.5 * _SECONDS_TO_ANSWER)
        except Exception as error:
            raise _no_scheduler(address, error) from error
        yield Cluster(address, link, client, wait, tell)
    finally:
        if client is not None:
            with suppress(Exception):
                link.call(partial(client.close, _SECONDS_TO_CLOSE), 2 * _SECONDS_TO_CLOSE)
        link.close()


def _no_scheduler(address: str, error: Exception) -> NoClusterError:
    if address.startswith(("tls:", "wss:")) and isinstance(error, TypeError):
        why = "the settings of Dask name no certificates"
    elif isinstance(error, TimeoutError) and not str(error):
        why = "what listens there does not answer as a scheduler"
    elif isinstance(error, OSError | ValueError):
        why = str(error)
    else:
        why = "what answers there is no scheduler of Dask"
    wanted_one = "wanted one such as tcp://10.0.0.5:8786"
    return NoClusterError(f"found no cluster at '{address}' ({why}); {wanted_one}")
