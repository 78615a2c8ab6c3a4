"""Workers of a cluster that are not there, come late, go or do not agree; what is no cluster."""

import asyncio
import socket
import threading
from collections.abc import Awaitable, Callable, Iterator, Mapping, Sequence
from concurrent.futures import CancelledError, Executor, Future
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from checker.season.running import agreement, cluster
from checker.season.running.agreement import (
    Differing,
    Wanted,
    differences_of_worker,
    differing_files,
    digest_of_file,
    wanted,
)
from checker.season.running.cluster import Cluster, open_cluster
from checker.season.running.executors import NoClusterError
from checker.season.running.worker import Plan
from tests.season.quick import quick_rules


class Clock:
    """Time that passes when somebody sleeps, and what happens then."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.now = 100.0
        self.then: Callable[[], object] = lambda: None
        patch.setattr(cluster.time, "monotonic", lambda: self.now)
        patch.setattr(cluster.time, "sleep", self.sleep)

    def sleep(self, seconds: float) -> None:
        self.now += seconds
        self.then()


class OfTasks(Executor):
    """Does at once what it is given, where one of its workers does anything."""

    def __init__(self, client: "Client", workers: Sequence[str]) -> None:
        self.client, self.workers = client, workers

    def submit(self, function: Any, /, *arguments: Any, **_: Any) -> Future[Any]:
        self.client.sent.append(self.workers)
        done: Future[Any] = Future()
        if not self.client.idle.issuperset(self.workers):
            done.set_result(function(*arguments))
        return done


class Client:
    """A client of a scheduler: `answers` holds what each worker says about itself."""

    def __init__(self, answers: Mapping[str, list[str] | Exception]) -> None:
        self.answers = dict(answers)
        self.files: dict[str, Differing | Exception] = {}
        self.idle: set[str] = set()
        self.sent: list[Sequence[str]] = []
        self.error: BaseException | None = None
        self.scheduler: list[str] | Exception = []

    async def nthreads(self) -> dict[str, int]:
        if self.error:
            raise self.error
        return dict.fromkeys(self.answers, 1)

    async def run(
        self, function: Any, *_given: Any, workers: Sequence[str], on_error: str
    ) -> dict[str, Any]:
        assert on_error == "return"
        if function is differences_of_worker:
            return {each: self.answers[each] for each in workers}
        assert function is differing_files
        return {each: self.files.get(each, Differing({}, {})) for each in workers}

    async def run_on_scheduler(self, function: Any, *given: Any) -> list[str]:
        assert function(*given) == []
        if isinstance(self.scheduler, Exception):
            raise self.scheduler
        return self.scheduler

    def get_executor(self, *, workers: Sequence[str], pure: bool) -> OfTasks:
        assert not pure
        return OfTasks(self, workers)


class Link:
    """Asks without a thread."""

    def call(self, question: Callable[[], Awaitable[Any]], _seconds: float) -> Any:
        async def ask() -> Any:
            return await question()

        return asyncio.run(ask())


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    return Clock(monkeypatch)


@pytest.fixture
def notes() -> list[str]:
    return []


PLAN = Plan(lambda _: quick_rules(), (), Path, None, 0.05)


def cluster_of(client: Client, notes: list[str], wait: float = 60.0) -> Cluster:
    return Cluster("tcp://s", Link(), client, wait, notes.append)  # type: ignore[arg-type]


def test_without_workers_it_says_that_it_waits_and_then_ends(
    clock: Clock, notes: list[str]
) -> None:
    client = Client({})
    clock.then = lambda: notes.append("10 s") if clock.now == 109.0 else None
    said = r"found no workers at 'tcp://s' within 60 s; the same command goes on from here"
    with pytest.raises(NoClusterError, match=said):
        cluster_of(client, notes).begin(PLAN, "rules")
    assert notes == ["10 s", "waiting for workers at tcp://s, at most 60 s"]
    assert clock.now == 160.0


def test_workers_that_come_while_it_waits_are_used(clock: Clock, notes: list[str]) -> None:
    client = Client({})
    clock.then = lambda: client.answers.update(a=[]) if clock.now > 150.0 else None
    found = cluster_of(client, notes)
    found.begin(PLAN, "rules")
    assert found.submit(max, 1, 2).result() == 2
    assert client.sent == [["a"]]


def test_workers_that_do_not_agree_get_no_work_and_are_named(
    clock: Clock, notes: list[str]
) -> None:
    client = Client(
        {
            "a": ["has cinchbook 0.0; wanted 0.1", "has no rules/x.yaml"],
            "b": [],
            "c": ModuleNotFoundError("No module named 'checker'"),
            "d": OSError("gone"),
        }
    )
    found = cluster_of(client, notes)
    found.begin(PLAN, "rules")
    assert found.submit(max, 1, 2).result() == 2
    assert client.sent == [["b"]]
    assert notes == [
        "worker a has cinchbook 0.0; wanted 0.1; has no rules/x.yaml; it gets no work",
        "worker c cannot begin (ModuleNotFoundError: No module named 'checker'); it gets no work",
    ]
    client.answers.pop("b")
    clock.now += 2
    client.answers["b2"] = ["has Python 3.10; wanted 3.11"]
    said = "found no worker at 'tcp://s' that agrees with this machine: a has cinchbook 0.0"
    with pytest.raises(NoClusterError, match=said):
        cluster_of(client, notes).begin(PLAN, "rules")


def test_a_late_worker_is_compared_by_all_files_so_far(clock: Clock, notes: list[str]) -> None:
    client = Client({"a": []})
    client.files["a"] = Differing({"x.yaml": "has another x.yaml"}, {})
    found = cluster_of(client, notes)
    found.begin(PLAN, "rules")
    # What is there from the beginning refuses the hauls of a load, and goes on with others.
    assert found.differing({"x.yaml": "1"}, {}) == {"a": client.files["a"]}
    client.answers |= {"late": [], "other": [], "lost": []}
    client.files["other"] = Differing({"x.yaml": "has no x.yaml"}, {"l": "takes y.yaml for it"})
    client.files["lost"] = OSError("gone")
    clock.now += 2
    found.submit(max, 1, 2).result()
    assert client.sent == [["a", "late"]]
    assert notes == ["worker other has no x.yaml and takes y.yaml for it; it gets no work"]


def test_nothing_is_sent_while_no_worker_is_admitted(clock: Clock, notes: list[str]) -> None:
    client = Client({})
    clock.then = lambda: client.answers.update(a=[]) if clock.now > 140.0 else None
    found = cluster_of(client, notes)
    found.begin(PLAN, "rules")
    client.answers.clear()
    # Time without workers counts from when the last one left.
    clock.now = 1000.0
    clock.then = lambda: client.answers.update(b=[], c=["x"]) if clock.now > 1050.0 else None
    assert found.submit(max, 1, 2).result() == 2
    assert client.sent == [["b"]]


@pytest.mark.usefixtures("clock")
def test_a_worker_that_no_longer_answers_is_compared_again(notes: list[str]) -> None:
    client = Client({"a": [], "b": []})
    found = cluster_of(client, notes)
    found.begin(PLAN, "rules")
    client.files["b"] = OSError("busy")
    assert found.differing({"x.yaml": "1"}, {}) == {"a": Differing({}, {})}
    found.submit(max, 1, 2)
    assert client.sent == [["a"]]


def test_a_task_whose_workers_are_gone_goes_to_others(
    clock: Clock, notes: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster, "_SECONDS_BETWEEN", 0.01)
    monkeypatch.setattr(cluster.time, "sleep", lambda _: clock.sleep(5.0))
    client = Client({"a": []})
    client.idle = {"a"}
    found = cluster_of(client, notes, 600.0)
    found.begin(PLAN, "rules")
    task = found.submit(max, 1, 2)
    client.answers.clear()
    clock.then = lambda: client.answers.update(b=[]) if clock.now > 120.0 else None
    assert task.result() == 2
    assert client.sent == [["a"], ["b"]]
    assert notes == ["waiting for workers at tcp://s, at most 600 s"]


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (["has cinchbook 0.0; wanted 0.1"], r"has cinchbook 0.0; wanted 0.1"),
        (
            ModuleNotFoundError("No module named 'checker'"),
            r"cannot begin \(No module",
        ),
        (OSError("closed"), "lost the cluster"),
    ],
)
def test_a_scheduler_needs_the_same_program(
    answer: list[str] | Exception, said: str, notes: list[str]
) -> None:
    client = Client({"a": []})
    client.scheduler = answer
    with pytest.raises(NoClusterError, match=said):
        cluster_of(client, notes).begin(PLAN, "rules")


@pytest.mark.parametrize("error", [OSError("closed"), TimeoutError(), CancelledError()])
@pytest.mark.usefixtures("clock")
def test_a_scheduler_that_is_gone_is_told(error: BaseException, notes: list[str]) -> None:
    client = Client({"a": []})
    found = cluster_of(client, notes)
    found.begin(PLAN, "rules")
    client.error = error
    with pytest.raises(NoClusterError, match="lost the cluster at 'tcp://s'; the same command"):
        assert found.threads


@contextmanager
def listener(answer: bytes | None) -> Iterator[str]:
    """Something that is no scheduler, at an address; it says nothing for None."""
    ended = threading.Event()
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.05)

        def serve() -> None:
            calls = []
            while not ended.is_set():
                try:
                    call, _ = server.accept()
                except TimeoutError:
                    continue
                calls.append(call)
                if answer is not None:
                    call.sendall(answer)
            for each in calls:
                each.close()

        thread = threading.Thread(target=serve)
        thread.start()
        try:
            yield f"tcp://127.0.0.1:{server.getsockname()[1]}"
        finally:
            ended.set()
            thread.join()


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (None, "what listens there does not answer as a scheduler"),
        (b"SSH-2.0-OpenSSH_9.6\r\n" * 9, "what answers there is no scheduler of Dask"),
        (b"HTTP/1.1 400 Bad Request\r\n\r\n" * 9, "what answers there is no scheduler of Dask"),
        (bytes(1000), "what answers there is no scheduler of Dask"),
    ],
)
def test_what_is_no_scheduler_is_told(
    answer: bytes | None, why: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr(cluster, "_SECONDS_TO_ANSWER", 0.5)
    monkeypatch.setattr(cluster, "_SECONDS_TO_CLOSE", 0.5)
    with (
        listener(answer) as address,
        pytest.raises(NoClusterError, match=rf"found no cluster at '{address}' \({why}\); wanted"),
        open_cluster(address),
    ):
        pass


def test_certificates_that_are_not_named_are_told() -> None:
    pytest.importorskip("distributed")
    said = r"'tls://127.0.0.1:1' \(the settings of Dask name no certificates\); wanted one such"
    with pytest.raises(NoClusterError, match=said), open_cluster("tls://127.0.0.1:1"):
        pass


def test_a_worker_says_what_it_has_otherwise(tmp_path: Path) -> None:
    files = {name: tmp_path / name for name in ("a.yaml", "b.yaml", "c.yaml")}
    for file in files.values():
        file.write_text("kind: rulebook\n")
    shown = dict(list(files.items())[:2])
    plan = Plan(lambda _: quick_rules(), (), Path, None, 0.05, rule_files=lambda _: dict(shown))
    caller = wanted(plan, "of rules", ())

    def said(theirs: Wanted, *libraries: str) -> list[str]:
        return asyncio.run(differences_of_worker(plan, (), theirs, libraries))

    assert said(caller) == ["read other rules from the same files"]
    files["a.yaml"].write_text("kind: amendment\n")
    files["b.yaml"].unlink()
    shown["c.yaml"] = files["c.yaml"]
    assert said(caller) == ["has another a.yaml", "has no b.yaml", "has c.yaml, which is not here"]
    newer = caller._replace(program={**caller.program, "cinchbook": "9.9", "numpy": "9"})
    own = caller.program
    assert said(newer) == [
        f"has cinchbook {own['cinchbook']}; wanted 9.9",
        f"has numpy {own['numpy']}; wanted 9",
    ]
    needs = caller._replace(program={**agreement._program(("no-such",)), "no-such": "1.0"})
    assert said(needs, "no-such") == ["has no-such (not installed); wanted 1.0"]


def test_digests_of_files_are_those_of_their_texts(tmp_path: Path) -> None:
    file = tmp_path / "a.yaml"
    file.write_bytes(b"kind: load\n")
    plain = digest_of_file(file)
    file.write_bytes(b"\xef\xbb\xbfkind: load\r\n")
    assert digest_of_file(file) == plain
    file.write_bytes(b"\xff")
    assert digest_of_file(file) not in (None, plain)
    assert digest_of_file(tmp_path) is None
