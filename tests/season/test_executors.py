"""Worker processes: they exit when the run ends, for whatever reason."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pyarrow
import pyarrow.parquet
import pytest

from tests.calling import call

# Workers that hand over what does not fit into a pipe, while the run ends by an error.
PROGRAM = """
import sys, time
from checker.season.running.executors import processes
try:
    with processes() as executor:
        for _ in range(300):
            executor.submit(bytes, 3_000_000)
        time.sleep(float(sys.argv[1]))
        raise ValueError("a part cannot be read")
except ValueError as error:
    print(error)
"""


@pytest.mark.parametrize("seconds", [0.05, 0.1, 0.15, 0.2])
def test_a_run_that_ends_by_an_error_does_end(seconds: float) -> None:
    words = [sys.executable, "-c", PROGRAM, str(seconds)]
    done = subprocess.run(words, capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout == "a part cannot be read\n"


AUDIT = ("audit", "--rules", "coupling")


def audit(folder: Path, program: str, *words: str, **env: str) -> subprocess.CompletedProcess[str]:
    """An audit of hauls.csv by a changed program, in a process of its own."""
    return subprocess.run(
        [sys.executable, "-c", program, *AUDIT, "hauls.csv", *words],
        cwd=folder,
        env=os.environ | {"COLUMNS": "300"} | env,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_a_log_that_is_broken_half_way_is_told_as_one_that_is_broken_at_once(
    tmp_path: Path,
) -> None:
    hauls = 200_000
    log = tmp_path / "hauls.parquet"
    table = pyarrow.table(
        {
            "load": ["loads/mower-in-order"] * hauls,
            "date": ["2026-05-14"] * hauls,
            "haul": [f"H{number}" for number in range(hauls)],
        }
    )
    pyarrow.parquet.write_table(table, log, row_group_size=20_000)
    with pyarrow.parquet.ParquetFile(log) as file:
        begins = file.metadata.row_group(6).column(2).data_page_offset
    content = bytearray(log.read_bytes())
    content[begins : begins + 60] = bytes(60)
    log.write_bytes(content)
    done = call(tmp_path, *AUDIT, log.name, COLUMNS="300")
    assert "hauls.parquet:1:1: found a file that is no Parquet" in done.stderr
    assert "1 problem to fix" in done.stderr
    assert done.returncode == 2


# Runs the audit as the command does, but in small parts; after the second of them a worker is
# killed, as the system does where memory runs out.
KILLED = """
import os, signal, sys
from multiprocessing import active_children
from checker.season.running import part_store
from checker.logs import csv_log
csv_log.PART_BYTES = 4_000
kept = []
def keep_and_kill(*given):
    put(*given)
    kept.append(given)
    if len(kept) == 2:
        os.kill(active_children()[0].pid, signal.SIGKILL)
put, part_store.PartStore.put = part_store.PartStore.put, keep_and_kill
from checker.cli.app import main
sys.argv = ["cinchbook", *sys.argv[1:]]
main()
"""


@pytest.mark.skipif(os.name != "posix", reason="kill -9 is of Unix")
def test_a_worker_that_is_killed_is_told_and_the_run_goes_on_later(tmp_path: Path) -> None:
    rows = [f"loads/mower-in-order,2026-05-14,H{number}" for number in range(2_000)]
    (tmp_path / "hauls.csv").write_text("\n".join(["load,date,haul", *rows]) + "\n")
    kept = {"XDG_CACHE_HOME": str(tmp_path / "cache"), "HOME": str(tmp_path / "cache")}
    killed = audit(tmp_path, KILLED, **kept)
    assert killed.stderr == (
        "a process of this run was ended from outside, perhaps for want of memory; the same "
        "command goes on from here\n"
    )
    assert killed.returncode == 2
    again = call(tmp_path, *AUDIT, "hauls.csv", "--as", "json", **kept)
    assert json.loads(again.stdout)["judged"] == 2_000


# As the command runs, but a worker that is gone leaves a pipe without a reader.
BROKEN_PIPE = """
import os, sys
from contextlib import suppress
from checker.season import audit
def meeting_a_broken_pipe(*given):
    reader, writer = os.pipe()
    os.close(reader)
    with suppress(BrokenPipeError):
        os.write(writer, b"for a worker that is gone")
    return judged(*given)
judged, audit._evaluate_tasks = audit._evaluate_tasks, meeting_a_broken_pipe
from checker.cli.app import main
sys.argv = ["cinchbook", *sys.argv[1:]]
main()
"""


@pytest.mark.skipif(not hasattr(signal, "SIGPIPE"), reason="pipes break by a signal on Unix")
def test_a_pipe_to_a_worker_that_is_gone_does_not_end_the_run(tmp_path: Path) -> None:
    (tmp_path / "hauls.csv").write_text("load,date\nloads/mower-in-order,2026-05-14\n")
    done = audit(tmp_path, BROKEN_PIPE, "--as", "json")
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["judged"] == 1
