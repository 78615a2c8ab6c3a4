"""Machines of a cluster with copies of a project: what differs is refused, the rest as alone.

The certificate, the scheduler, the workers and the audit are started by the commands of
profiles/README.md, with the address of this machine in place of the others'.
"""

import csv
import json
import os
import re
import shlex
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

import openpyxl
import pyarrow
import pyarrow.parquet
import pytest

from checker.cli.named_loads import load_finder
from checker.cli.sent_settings import RuleFinder, RulesReader, settings_to_send
from checker.documents.resources import shipped_folder
from checker.logs.opening import open_log
from checker.reports.audit_forms.json import audit_json
from checker.season.audit import audit
from checker.season.hauls.digests import digest_of_log
from checker.season.hauls.file_names import bundled_folders
from checker.season.running.cluster import Cluster, open_cluster
from checker.season.running.executors import NoClusterError
from checker.season.running.worker import Plan, worker
from tests.calling import call
from tests.equipment import copy_equipment

pytestmark = pytest.mark.skipif(
    os.name != "posix" or shutil.which("openssl") is None, reason="the commands are those of Unix"
)

BASH = shutil.which("bash") or ""
ROOT = Path(__file__).resolve().parents[2]
SETTINGS = """\
kind: settings
rules: [north-america-coupling]
profiles: profiles
own_units: [bale = 40 lb]
near: 8 %
"""
LOADS = ("mower-in-order", "side-by-side-in-order", "mini-excavator-in-order")
HEADER = ("load", "date", "crew", "articles.1.weight")
HAULS = [
    (f"loads/{load}", f"2026-0{1 + number % 9}-14", ("north", "south", "")[number % 3], weight)
    for number, (load, weight) in enumerate(
        (load, weight)
        for load in (*LOADS, "too-far-back", "no-such-load")
        for weight in ("", "30 bale", "1,900 lb", "12 pallets")
    )
]


def commands(name: str) -> str:
    """The commands of profiles/README.md below a comment with this name."""
    text = (ROOT / "profiles" / "README.md").read_text()
    found = re.search(rf"<!-- cluster: {name} -->\n```sh\n(.*?)```", text, re.DOTALL)
    assert found is not None
    return found[1]


class Machines(NamedTuple):
    """The folder of the caller's project, the scheduler's address and where its own words go."""

    here: Path
    scheduler: str
    here_as: Callable[[str], str]
    """The commands of the documentation with addresses of this machine."""


def project(folder: Path) -> Path:
    """A folder of profiles with three loads."""
    copy_equipment(folder / "profiles")
    (folder / "profiles" / "loads").mkdir()
    for load in LOADS:
        name = f"loads/{load}.yaml"
        shutil.copy(shipped_folder("profiles") / name, folder / "profiles" / name)
    return folder


@pytest.fixture(scope="module")
def machines(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Machines]:
    """A scheduler, and two workers in folders of their own, one with files of its own."""
    distributed = pytest.importorskip("distributed")
    top = tmp_path_factory.mktemp("machines")
    here, near, far = (project(top / name) for name in ("here", "near", "far"))
    (here / "cinchbook.yaml").write_text(SETTINGS)
    (far / "cinchbook.yaml").write_text(
        SETTINGS.replace("40 lb", "90 lb").replace("8 %", "50 %").replace("coupling", "tiedowns")
    )
    mower = far / "profiles" / "machines" / "zero-turn-mower.yaml"
    mower.write_text(mower.read_text() + "# Weighed again.\n")
    (far / "profiles" / "loads" / "too-far-back.yaml").write_text(
        (far / "profiles" / "loads" / "mower-in-order.yaml").read_text()
    )
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]

    def here_as(text: str) -> str:
        replaced = text.replace("10.0.0.5", "127.0.0.1").replace("8786", str(port))
        return replaced.replace("--nworkers -1", "--nworkers 1")

    env = os.environ | {
        "HOME": str(top),
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "DASK_DISTRIBUTED__DASHBOARD__LINK": "",
        "DASK_DISTRIBUTED__SCHEDULER__DASHBOARD__STATUS__PORT": "0",
    }
    subprocess.run([BASH, "-ec", commands("certificate")], env=env, check=True, capture_output=True)
    folders = {"scheduler": [top], "worker": [near, far]}
    running = [
        subprocess.Popen(
            [BASH, "-ec", here_as(commands(role))],
            cwd=folder,
            env=env,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        for role, of_role in folders.items()
        for folder in of_role
    ]
    secrets = {
        "distributed.comm.tls.ca-file": str(top / "cluster" / "cert.pem"),
        "distributed.comm.tls.client.cert": str(top / "cluster" / "cert.pem"),
        "distributed.comm.tls.client.key": str(top / "cluster" / "key.pem"),
    }
    import dask

    try:
        with dask.config.set(secrets):
            address = f"tls://127.0.0.1:{port}"
            with distributed.Client(address, timeout="120 s", set_as_default=False) as client:
                client.wait_for_workers(2, timeout="120 s")
            yield Machines(here, address, here_as)
    finally:
        for process in running:
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def test_what_one_worker_has_otherwise_is_refused_by_name_and_the_rest_is_as_alone(
    machines: Machines, tmp_path: Path
) -> None:
    with (machines.here / "hauls.csv").open("w", newline="") as file:
        csv.writer(file).writerows([HEADER, *HAULS])
    # Alone, in a project that cannot read the same two loads.
    alone = tmp_path / "alone"
    shutil.copytree(machines.here, alone)
    for load in ("mower-in-order", "too-far-back"):
        (alone / "profiles" / "loads" / f"{load}.yaml").write_text("kind: load\nsuch: 1\n")
    *_, last = machines.here_as(commands("audit")).strip().splitlines()
    words = [*shlex.split(last)[1:], "--as", "json", "--findings", "all.jsonl"]
    together = call(machines.here, *words, "--write", "csv=all.csv")
    cluster = words.index("--cluster")
    del words[cluster : cluster + 4]
    expected = call(alone, *words, "--write", "csv=all.csv")
    assert (together.returncode, expected.returncode) == (2, 2)
    refused = json.loads(together.stdout)["refusals"]
    of_worker = r"worker tls://127\.0\.0\.1:\d+"
    said = {
        "mower": rf"loads/mower-in-order: {of_worker} has another "
        r"profiles/machines/zero-turn-mower\.yaml",
        "back": rf"loads/too-far-back: {of_worker} takes profiles/loads/too-far-back\.yaml for it",
    }
    lines = [each["said"] for each in refused]
    assert sum(bool(re.fullmatch(said["mower"], line)) for line in lines) == 3
    assert sum(bool(re.fullmatch(said["back"], line)) for line in lines) == 3
    reasons = re.compile("|".join([*said.values(), r"profiles/loads/(mower|too)[^\"\n]*"]))

    def rest(folder: Path, printed: str) -> list[str]:
        texts = [printed, *((folder / name).read_text() for name in ("all.csv", "all.jsonl"))]
        return [reasons.sub("REASON", text) for text in texts]

    assert rest(machines.here, together.stdout) == rest(alone, expected.stdout)
    # The caller's own units are those that count: 30 bales are 1,200 lb.
    assert '"read": 20' in together.stdout


def plan_of(sent_from: Path) -> Plan:
    """A plan as the command makes it, in the working folder."""
    assert Path.cwd() == sent_from
    sent = settings_to_send()
    return Plan(
        RulesReader(sent),
        (),
        load_finder(None),
        Path("profiles"),
        sent.near,
        run="one run",
        bundled=bundled_folders(),
        rule_files=RuleFinder(sent),
    )


def test_a_log_of_any_form_is_read_for_workers_that_do_not_have_it(
    machines: Machines, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(machines.here)
    hauls = [each for each in HAULS if "side" in each[0] or "mini" in each[0] or "no-" in each[0]]
    columns = dict(zip(HEADER, zip(*hauls, strict=True), strict=True))
    pyarrow.parquet.write_table(
        pyarrow.table({name: list(cells) for name, cells in columns.items()}),
        tmp_path / "hauls.parquet",
    )
    book = openpyxl.Workbook()
    for row in (HEADER, *hauls):
        book.active.append(row)
    book.save(tmp_path / "hauls.xlsx")
    (tmp_path / "hauls.jsonl").write_text(
        "".join(json.dumps(dict(zip(HEADER, each, strict=True))) + "\n" for each in hauls)
    )
    folder = tmp_path / "hauls"
    folder.mkdir()
    for number, (load, day, crew, weight) in enumerate(hauls):
        differs = f"differs: {{articles.1.weight: '{weight}'}}\n" if weight else ""
        stated = f"kind: haul\nload: {load}\ndate: {day}\ncrew: {crew or 'none'}\n{differs}"
        (folder / f"{number:03}.yaml").write_text(stated)
    plan = plan_of(machines.here)
    worker.cache_clear()
    logs = [tmp_path / f"hauls.{form}" for form in ("parquet", "xlsx", "jsonl")]
    with open_cluster(machines.scheduler) as cluster:
        for log in (*logs, folder):
            alone = audit_json(audit(open_log(log), plan, digest_of_log(log)))
            together = audit(
                open_log(log), plan, digest_of_log(log), cluster=cluster, libraries=("pyarrow",)
            )
            assert audit_json(together) == alone
            assert json.loads(alone)["judged"] == 6, log


def test_workers_that_all_read_other_rules_end_the_run(
    machines: Machines, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(machines.here)
    said = (
        r"found no worker at 'tls://127.0.0.1:\d+' that agrees with this machine: "
        r"(tls://127.0.0.1:\d+ read other rules from the same files(; )?){2}$"
    )
    notes: list[str] = []
    with open_cluster(machines.scheduler, tell=notes.append) as cluster:
        begin = Cluster.begin
        with pytest.raises(NoClusterError, match=said):
            begin(cluster, plan_of(machines.here), "others")
    assert [note.endswith("; it gets no work") for note in notes] == [True, True]
