"""Hauls checked on a real local cluster: the same audit as in one process."""

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from importlib import import_module
from multiprocessing import set_forkserver_preload
from pathlib import Path

import pytest
from typer.testing import CliRunner

from checker.cli.app import application
from checker.documents.resources import shipped_folder
from checker.logs import csv_log
from checker.logs.opening import open_log
from checker.reports.audit_forms.json import audit_json
from checker.season.audit import audit
from checker.season.hauls.digests import digest_of_log
from checker.season.running import tasks
from checker.season.running.cluster import open_cluster
from checker.season.running.executors import NoClusterError
from checker.season.running.worker import OtherRulesError, Plan, evaluate_hauls
from tests.calling import call
from tests.season.test_audit import NEAR, PLAN, found, quick, season


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """A scheduler with two workers, each a process of its own; it gives up a task that kills one.

    The workers are forked by a process that has read the rules once, for both.
    """
    distributed = pytest.importorskip("distributed")
    import dask

    own = {
        "distributed.worker.multiprocessing-method": "forkserver",
        "distributed.scheduler.allowed-failures": 0,
    }
    with dask.config.set(own):
        import_module("distributed.utils").get_mp_context()  # has its own list, and sets it once
        set_forkserver_preload(["distributed", "tests.season.rules_of_workers"])
        with distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0"
        ) as local:
            yield local.scheduler_address


def test_a_cluster_finds_what_one_process_finds(
    address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text(season(60, 4))
    alone = audit_json(audit(open_log(log), PLAN, digest_of_log(log)))
    monkeypatch.setattr(tasks, "_HAULS_OF_A_TASK", 9)
    monkeypatch.setattr(csv_log, "PART_BYTES", 900)
    with open_cluster(address) as cluster:
        together = audit(open_log(log), PLAN, digest_of_log(log), cluster=cluster)
    assert audit_json(together) == alone


def test_a_profile_edited_between_two_runs_is_read_anew_by_the_same_workers(
    address: str, tmp_path: Path
) -> None:
    profiles = tmp_path / "profiles"
    shutil.copytree(shipped_folder("profiles"), profiles)
    log, load = tmp_path / "hauls.csv", profiles / "loads" / "side-by-side-in-order.yaml"
    log.write_text("load,date\n" + f"{load},2026-05-14\n" * 2)
    text = load.read_text()
    held = []
    for run, answer in (("first", "no"), ("second", "yes")):
        load.write_text(text.replace("chains_crossed: yes", f"chains_crossed: {answer}"))
        plan = Plan(quick, ("shipped",), Path, profiles, NEAR, run=run)
        with open_cluster(address) as cluster:
            done = audit(open_log(log), plan, digest_of_log(log), cluster=cluster)
        held.append(done.totals.all.held)
    assert held == [2, 0]


def test_nobody_at_the_address_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Called without waiting as long as a person may have to."""
    monkeypatch.setattr("checker.season.running.cluster._SECONDS_TO_ANSWER", 1.0)
    with (
        pytest.raises(NoClusterError, match=r"found no cluster at 'tcp://127\.0\.0\.1:1'"),
        open_cluster("tcp://127.0.0.1:1"),
    ):
        pass


@pytest.mark.skipif(os.name != "posix", reason="groups of processes are killed as on Unix")
def test_work_that_no_worker_lives_through_is_told(address: str) -> None:
    with pytest.raises(NoClusterError, match="lost the cluster"), open_cluster(address) as executor:
        executor.submit(os._exit, 1).result(120)


SCHEDULER = """
import time
from distributed import LocalCluster
with LocalCluster(
    n_workers=1, threads_per_worker=2, processes=False, dashboard_address=":0", protocol="tcp://"
) as local:
    print(local.scheduler_address, flush=True)
    time.sleep(300)
"""


LOSING = """
import os, signal, sys, time
from checker.season.running.cluster import open_cluster
from checker.season.running.executors import NoClusterError
try:
    with open_cluster(sys.argv[1]) as executor:
        future = executor.submit(time.sleep, 200)
        os.killpg(int(sys.argv[2]), signal.SIGKILL)
        future.result(60)
except NoClusterError as error:
    print(error)
"""


@pytest.fixture
def to_be_lost() -> Iterator[tuple[str, int]]:
    """A cluster in a process of its own: its address, and the group of that process."""
    with subprocess.Popen(
        [sys.executable, "-c", SCHEDULER],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    ) as running:
        assert running.stdout is not None
        try:
            yield running.stdout.readline().strip(), running.pid
        finally:
            with suppress(ProcessLookupError):
                os.killpg(running.pid, signal.SIGKILL)


@pytest.mark.skipif(os.name != "posix", reason="groups of processes are killed as on Unix")
def test_a_cluster_that_is_lost_is_told_in_one_line(to_be_lost: tuple[str, int]) -> None:
    address, group = to_be_lost
    words = [sys.executable, "-c", LOSING, address, str(group)]
    done = subprocess.run(words, capture_output=True, text=True, timeout=120, check=True)
    assert done.stdout == f"lost the cluster at '{address}'; the same command goes on from here\n"
    assert done.stderr == ""


def test_a_worker_with_other_rules_does_not_count() -> None:
    plan = Plan(quick, ("shipped",), found, None, NEAR)
    with pytest.raises(OtherRulesError, match="found other rulebooks on a worker"):
        evaluate_hauls(plan, "of-other-rules", [])


def test_the_command_calls_the_cluster_up_before_it_judges(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("hauls.csv").write_text("load,date\nloads/mower-in-order,2026-05-14\n")
    done = CliRunner().invoke(application(), ["audit", "hauls.csv", "--cluster", "nonsense"])
    assert done.exit_code == 2
    assert "found no cluster at 'nonsense'" in done.stderr
    assert "HOLD" not in done.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--wait", "5 min"), "found --wait without --cluster; wanted the scheduler"),
        (("--cluster", "tcp://s:1", "--wait", "soon"), "--wait: found 'soon', wanted a duration"),
        (("--cluster", "tcp://s:1", "--wait", "90"), "--wait: found '90', wanted a duration"),
    ],
)
def test_a_wait_that_means_nothing_is_told(
    words: tuple[str, ...], said: str, tmp_path: Path
) -> None:
    done = call(tmp_path, "audit", "hauls.csv", *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
