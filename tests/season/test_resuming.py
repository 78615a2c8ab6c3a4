"""An audit that is stopped and run again: the same bytes, and nothing computed twice."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from msgspec.structs import replace

from checker.documents.private_folder import DIGEST_BYTES
from checker.documents.problems import ProblemsFoundError
from checker.documents.resources import shipped_folder
from checker.logs.opening import open_log
from checker.rulebooks.model import Rulebooks
from checker.season.audit import audit
from checker.season.hauls.digests import digest_of_log, digest_of_text
from checker.season.hauls.same_shape import LoadSummary
from checker.season.running.checkpoint import BusyError, Checkpoint, open_checkpoint
from checker.season.running.worker import Plan, TaskResult, Worker, evaluate_hauls, worker
from checker.season.totals import Tally, Totals
from tests.equipment import copy_equipment
from tests.shipped import shipped_rules

POUND = 4.4482216152605
"""In newtons."""
SECRET = b"key"
LOADS = ("side-by-side-in-order", "mower-in-order", "too-far-back", "mini-excavator-in-order")
# Runs the audit as the command does, but in small slices, and rests where it is told to until it is
# stopped there. At the end it says of how many tasks it kept the findings.
PROGRAM = """
import os, sys, time
from checker.season import audit
from checker.season.running import checkpoint, part_store, tasks
from checker.logs import csv_log
csv_log.PART_BYTES = 4_000
tasks._HAULS_OF_A_TASK = 20
tasks._LOADS_OF_A_TASK = 1
checkpoint._SECONDS_BETWEEN = 0.0
kept = {"part": 0, "findings": 0}
def resting(thing, put):
    def rested(*given):
        put(*given)
        kept[thing] += 1
        if os.environ.get("REST_AFTER") == f"{thing} {kept[thing]}":
            time.sleep(120)
    return rested
part_store.PartStore.put = resting("part", part_store.PartStore.put)
checkpoint.Checkpoint.put_findings = resting("findings", checkpoint.Checkpoint.put_findings)
from checker.cli.app import main
sys.argv = ["cinchbook", "audit", *sys.argv[1:]]
try:
    main()
finally:
    print("kept", kept["findings"], file=sys.stderr)
"""


def season(hauls: int) -> str:
    lines = ["load,date,crew,articles.1.weight [lb],walkaround.chains_crossed,haul"]
    for number in range(hauls):
        load = LOADS[number % len(LOADS)]
        crossed = "no" if number % 17 == 0 else "yes"
        day = f"2026-{1 + number % 11:02}-{1 + number % 28:02}"
        crew = ("north", "south", "")[number % 3]
        lines.append(f"loads/{load},{day},{crew},{900 + number % 90},{crossed},H{number}")
    lines.append("no-such-load,2026-05-05,north,900,yes,H-x")
    return "\n".join(lines) + "\n"


def start(
    folder: Path, cache: Path, findings: str, *, rest_after: str = ""
) -> subprocess.Popen[bytes]:
    words = [
        "hauls.csv",
        "--rules",
        "north-america-coupling",
        "--as",
        "json",
        "--findings",
        findings,
    ]
    return subprocess.Popen(
        [sys.executable, "-c", PROGRAM, *words],
        cwd=folder,
        env=os.environ
        | {"XDG_CACHE_HOME": str(cache), "HOME": str(cache), "REST_AFTER": rest_after},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )


class Whole(NamedTuple):
    """What an audit leaves that nobody stops: its output, what it says, and its findings."""

    output: bytes
    told: bytes
    findings: bytes


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Whole]:
    """That audit with its findings in a file of some form; each form is run once."""

    @cache
    def run(suffix: str) -> Whole:
        folder = tmp_path_factory.mktemp("whole")
        (folder / "hauls.csv").write_text(season(400))
        done = start(folder, Path(os.environ["XDG_CACHE_HOME"]), f"one{suffix}")
        output, told = done.communicate()
        assert done.returncode == 2  # a row is refused
        assert json.loads(output)["judged"] == 400
        return Whole(output, told, (folder / f"one{suffix}").read_bytes())

    return run


def cache_of_its_own(folder: Path) -> Path:
    """A cache with the rules that other runs have read, and no audit."""
    cache = folder / "cache"
    for documents in Path(os.environ["XDG_CACHE_HOME"]).glob("*/documents"):
        shutil.copytree(documents, cache / documents.parent.name / documents.name)
    return cache


def work_folder(cache: Path) -> Path | None:
    found = [path for path in cache.glob("*/audits/*") if path.is_dir()]
    return found[0] if found else None


def wait_for(process: subprocess.Popen[bytes], cache: Path, number: int) -> None:
    """Wait until the findings of that many tasks are there."""
    while process.poll() is None:
        folder = work_folder(cache)
        if folder and len(list(folder.glob("findings-*"))) >= number:
            break
        time.sleep(0.02)
    assert process.poll() is None, "it was done before it could be stopped"


def kill_after(folder: Path, cache: Path, findings: str, rest_after: str, number: int) -> None:
    """Begin an audit and kill -9 it where it rests, with the findings of that many tasks there."""
    process = start(folder, cache, findings, rest_after=rest_after)
    wait_for(process, cache, number)
    os.kill(process.pid, signal.SIGKILL)
    process.communicate()


@pytest.mark.skipif(os.name != "posix", reason="kill -9 and the cache's place are those of Unix")
@pytest.mark.parametrize("suffix", [".jsonl", ".parquet"])
def test_killed_in_the_middle_a_second_run_gives_the_same_bytes(
    tmp_path: Path, suffix: str, whole: Callable[[str], Whole]
) -> None:
    (tmp_path / "hauls.csv").write_text(season(400))
    expected = whole(suffix)
    cache = cache_of_its_own(tmp_path)
    kill_after(tmp_path, cache, f"many{suffix}", "part 2", 0)
    kill_after(tmp_path, cache, f"many{suffix}", "findings 4", 4)
    folder = work_folder(cache)
    assert folder is not None
    assert not (tmp_path / f"many{suffix}").exists()
    tasks = tasks_kept(folder)
    assert tasks >= 3
    last = start(tmp_path, cache, f"many{suffix}")
    done, told = last.communicate()
    assert last.returncode == 2, told
    assert done == expected.output
    assert (tmp_path / f"many{suffix}").read_bytes() == expected.findings
    assert work_folder(cache) is None
    # What was left to do is the tasks that had not been judged.
    assert times_kept(told) == times_kept(expected.told) - tasks


@pytest.mark.skipif(os.name != "posix", reason="Ctrl-C is sent as on Unix")
def test_stopped_by_the_keyboard_it_ends_at_once_and_goes_on_later(
    tmp_path: Path, whole: Callable[[str], Whole]
) -> None:
    (tmp_path / "hauls.csv").write_text(season(400))
    expected = whole(".jsonl")
    cache = cache_of_its_own(tmp_path)
    for rest_after, number in (("part 2", 0), ("findings 3", 3)):
        stopped = start(tmp_path, cache, "many.jsonl", rest_after=rest_after)
        wait_for(stopped, cache, number)
        stopped.send_signal(signal.SIGINT)
        _, told = stopped.communicate(timeout=60)
        assert stopped.returncode == 130, told
        assert b"stopped; the same command goes on from here" in told
        assert b"Traceback" not in told
        assert work_folder(cache) is not None
    last = start(tmp_path, cache, "many.jsonl")
    assert last.communicate()[0] == expected.output


def times_kept(told: bytes) -> int:
    return int(told.split()[-1])


def tasks_kept(folder: Path) -> int:
    """Number of finished tasks in the progress file, which begins with a digest."""
    told = (folder / "progress.json").read_bytes()[DIGEST_BYTES:]
    tasks: int = json.loads(told)["tasks"]
    return tasks


def coupling(_rules: tuple[str, ...]) -> Rulebooks:
    books = shipped_rules()
    return replace(
        books, books=tuple(book for book in books.books if book.id == "north-america-coupling")
    )


def by_couplings(log: Path, findings: str | None = None) -> Callable[[Checkpoint], Tally]:
    """Audits of a log over load profiles beside it, each as in a run of its own."""
    root = Path(str(shipped_folder("profiles")))
    plan = Plan(
        coupling,
        (),
        lambda name: log.with_name(f"{name}.yaml"),
        root,
        0.05,
        findings,
        evidence=findings is not None,
    )

    def counted(work: Checkpoint) -> Tally:
        worker.cache_clear()
        return audit(open_log(log), plan, digest_of_log(log), work=work).totals.all

    return counted


def side_by_side() -> str:
    """The text of a bundled load profile that breaks no rule."""
    return (shipped_folder("profiles") / "loads" / "side-by-side-in-order.yaml").read_text()


def log_of_mine(folder: Path, hauls: int) -> Path:
    """A log of so many hauls of one load profile, mine.yaml beside it."""
    (folder / "mine.yaml").write_text(side_by_side())
    log = folder / "hauls.csv"
    log.write_text("load,date\n" + "mine,2026-05-14\n" * hauls)
    return log


def stop_after_a_task(run: Callable[[], object], number: int = 1) -> None:
    """Run an audit that stops after it has saved the totals of its first task or tasks."""
    keep = Checkpoint.put_progress

    def keep_and_stop(self: Checkpoint, key: str, tasks: int, totals: Totals) -> None:
        keep(self, key, tasks, totals)
        if tasks == number:
            raise KeyboardInterrupt("after a task")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Checkpoint, "put_progress", keep_and_stop)
        with pytest.raises(KeyboardInterrupt, match="after a task"):
            run()


def test_what_is_kept_counts_until_a_load_profile_is_edited(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.running.checkpoint._SECONDS_BETWEEN", 0.0)
    text = side_by_side()
    profile, log = tmp_path / "mine.yaml", tmp_path / "hauls.csv"
    profile.write_text(text)
    log.write_text("load,date\nmine,2026-05-14\n")
    counted = by_couplings(log)
    with open_checkpoint(tmp_path, "a", SECRET) as work:
        assert counted(work).held == 0
        told = (work.folder / "progress.json").read_bytes()[DIGEST_BYTES:]
        key = json.loads(told)["key"]
        tasks, totals = work.progress(key)
        assert tasks == 1
        totals.all.held = 7  # no audit would find that: where it is told, it was kept
        work.put_progress(key, 1, totals)
        assert counted(work).held == 7
        # Counts of tasks that are cut otherwise are of no use.
        work.put_progress("other tasks", 1, totals)
        work.put_findings(0, b"of a task that is no more")
        assert counted(work).held == 0
        assert work.findings() == []
        profile.write_text(text.replace("chains_crossed: yes", "chains_crossed: no"))
        assert counted(work).held == 1


def test_a_load_that_is_there_at_last_is_judged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.running.checkpoint._SECONDS_BETWEEN", 0.0)
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\nmine,2026-05-14\n")
    counted = by_couplings(log)
    with open_checkpoint(tmp_path, "a", SECRET) as work:
        assert counted(work).hauls == counted(work).hauls == 0
        (tmp_path / "mine.yaml").write_text(side_by_side())
        assert counted(work).hauls == 1


def test_a_name_that_leads_to_another_file_now_is_judged_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.running.checkpoint._SECONDS_BETWEEN", 0.0)
    monkeypatch.setattr("checker.season.running.tasks._HAULS_OF_A_TASK", 10)
    text = side_by_side()
    near, far, log = tmp_path / "mine.yaml", tmp_path / "far.yaml", tmp_path / "hauls.csv"
    far.write_text(text)
    log.write_text("load,date\n" + "mine,2026-05-14\n" * 25)
    root = Path(str(shipped_folder("profiles")))
    plan = Plan(coupling, (), lambda _name: near if near.exists() else far, root, 0.05)

    def counted() -> Totals:
        worker.cache_clear()
        return audit(open_log(log), plan, digest_of_log(log), work=Checkpoint(folder)).totals

    folder = tmp_path / "work"
    folder.mkdir()
    stop_after_a_task(counted)
    # The file that was judged stays as it is, but the log does not speak of it any more.
    near.write_text(text.replace("chains_crossed: yes", "chains_crossed: no"))
    totals = counted()
    assert (totals.all.hauls, totals.all.held) == (25, 25)
    assert set(totals.files) & {str(near), str(far)} == {str(near)}


def test_two_runs_of_one_audit_do_not_meet(tmp_path: Path) -> None:
    with open_checkpoint(tmp_path, "a", SECRET):
        with (
            pytest.raises(BusyError, match="another run of this audit"),
            open_checkpoint(tmp_path, "a", SECRET),
        ):
            pass
        with open_checkpoint(tmp_path, "b", SECRET):
            pass


def test_what_nobody_came_back_for_is_removed(tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    for folder in (old, new):
        folder.mkdir()
        (folder / "progress.json").write_text("{}")
    long_ago = time.time() - 31 * 86_400
    os.utime(old, (long_ago, long_ago))
    with open_checkpoint(tmp_path, "a", SECRET):
        pass
    assert not old.exists()
    assert new.exists()


@pytest.mark.parametrize("lost", ["progress.json", "findings-000001", "evidence-000001"])
@pytest.mark.parametrize("how", ["gone", "cut short", "another file's"])
def test_counts_and_findings_are_believed_only_where_all_of_them_are_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lost: str, how: str
) -> None:
    monkeypatch.setattr("checker.season.running.checkpoint._SECONDS_BETWEEN", 0.0)
    monkeypatch.setattr("checker.season.running.tasks._HAULS_OF_A_TASK", 10)
    log = log_of_mine(tmp_path, 45)

    def all_findings(work: Checkpoint) -> bytes:
        assert by_couplings(log, ".jsonl")(work).hauls == 45
        files = [*work.findings(), *work.evidence()]
        return b"".join(file.read_bytes() for file in files)

    once = tmp_path / "once"
    once.mkdir()
    expected = all_findings(Checkpoint(once))
    folder = tmp_path / "work"
    folder.mkdir()
    stop_after_a_task(lambda: all_findings(Checkpoint(folder)), 3)
    file = folder / lost
    if how == "gone":
        file.unlink()
    else:
        content = file.read_bytes()[:100] if how == "cut short" else b"of something else"
        file.write_bytes(content)
    assert all_findings(Checkpoint(folder)) == expected


def test_what_is_kept_whole_is_not_judged_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    work = Checkpoint(tmp_path)
    monkeypatch.setattr("checker.season.running.checkpoint._SECONDS_BETWEEN", 0.0)
    for task, findings in enumerate((b"a", b"", b"c")):
        work.put_findings(task, findings)
        work.put_progress("k", task + 1, Totals(Tally(hauls=task + 1)))
    # One more task was done before the run was stopped, but not yet counted.
    work.put_findings(3, b"d")
    again = Checkpoint(tmp_path)
    tasks, totals = again.progress("k")
    assert (tasks, totals.all.hauls) == (3, 3)
    again.put_findings(3, b"d")
    again.put_progress("k", 4, Totals(Tally(hauls=4)))
    assert Checkpoint(tmp_path).progress("k")[0] == 4
    assert Checkpoint(tmp_path).progress("another")[0] == 0


def test_counts_of_a_log_that_was_parted_otherwise_are_of_no_use(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.running.checkpoint._SECONDS_BETWEEN", 0.0)
    log = log_of_mine(tmp_path, 200)
    counted = by_couplings(log)
    folder = tmp_path / "work"
    folder.mkdir()
    monkeypatch.setattr("checker.logs.csv_log.PART_BYTES", 1_000)
    monkeypatch.setattr("checker.season.running.tasks._HAULS_OF_A_TASK", 40)
    stop_after_a_task(lambda: counted(Checkpoint(folder)))
    monkeypatch.setattr("checker.logs.csv_log.PART_BYTES", 2_000)
    monkeypatch.setattr("checker.season.running.tasks._HAULS_OF_A_TASK", 90)
    assert counted(Checkpoint(folder)).hauls == 200


def test_loads_that_become_the_same_shape_before_evaluation_are_evaluated(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.running.checkpoint._SECONDS_BETWEEN", 0.0)
    monkeypatch.setattr("checker.season.running.tasks._LOADS_OF_A_TASK", 1)
    text = side_by_side()
    others = text.replace("chains_crossed: yes", "chains_crossed: no")
    assert others != text
    for name, content in (("a", text), ("b", others), ("c", others)):
        (tmp_path / f"{name}.yaml").write_text(content)
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\na,2026-05-14\nb,2026-05-14\nc,2026-05-14\n")
    counted = by_couplings(log)
    folder = tmp_path / "work"
    folder.mkdir()
    stop_after_a_task(lambda: counted(Checkpoint(folder)))
    assert tasks_kept(folder) == 1
    # Now c goes with a, and the first of the tasks is another one.
    (tmp_path / "c.yaml").write_text(text)
    assert counted(Checkpoint(folder)).hauls == 3


def test_two_versions_of_a_load_profile_are_not_put_together(tmp_path: Path) -> None:
    text = side_by_side()
    profile = tmp_path / "mine.yaml"
    profile.write_text(text)
    root = Path(str(shipped_folder("profiles")))
    here = Worker(Plan(coupling, (), lambda name: tmp_path / f"{name}.yaml", root, 0.05)).loads
    here.load("mine")
    assert here.grouping(("mine",)).same_shape.loads[0].name == "mine"
    profile.write_text(text.replace("chains_crossed: yes", "chains_crossed: no"))
    for forgotten in (here.grouping, here.profile):  # as after many other loads
        forgotten.cache_clear()
    with pytest.raises(ProblemsFoundError, match="changed while its hauls were checked"):
        here.grouping(("mine",))


def test_a_load_is_told_with_the_digests_of_what_it_was_made_of(tmp_path: Path) -> None:
    copy_equipment(tmp_path)
    text = side_by_side()
    for name in ("one", "other"):
        (tmp_path / f"{name}.yaml").write_text(text)
    plan = Plan(coupling, (), lambda name: tmp_path / f"{name}.yaml", tmp_path, 0.05)
    here = Worker(plan).loads
    trailer = tmp_path / "trailers" / "utility-single-10.yaml"
    before = trailer.read_text()
    one = here.load("one")
    trailer.write_text(before.replace("gvwr: 2990 lb", "gvwr: 1000 lb"))
    other = here.load("other")
    assert isinstance(one, LoadSummary)
    assert isinstance(other, LoadSummary)
    assert other.values[other.paths.index(("trailer", "gvwr"))] == pytest.approx(2990 * POUND)
    assert one.digests[str(trailer)] == other.digests[str(trailer)] == digest_of_text(before)
    # Whoever reads it later does not take the one for the other.
    anew = Worker(plan).loads.load("other")
    assert isinstance(anew, LoadSummary)
    assert anew.values[anew.paths.index(("trailer", "gvwr"))] == pytest.approx(1000 * POUND)
    assert anew.digests[str(trailer)] == digest_of_text(trailer.read_text())


def test_line_ends_and_marks_of_byte_order_are_no_change(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.running.checkpoint._SECONDS_BETWEEN", 0.0)
    monkeypatch.setattr("checker.season.running.tasks._HAULS_OF_A_TASK", 10)
    text = side_by_side()
    written = b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode()
    (tmp_path / "mine.yaml").write_bytes(written)
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\n" + "mine,2026-05-14\n" * 25)
    counted = by_couplings(log)
    folder = tmp_path / "work"
    folder.mkdir()
    stop_after_a_task(lambda: counted(Checkpoint(folder)))
    judged: list[int] = []
    monkeypatch.setattr(
        Checkpoint, "put_progress", lambda _work, _key, tasks, _totals: judged.append(tasks)
    )
    counted(Checkpoint(folder))
    assert judged == [2, 3]


def test_tasks_that_read_two_versions_of_a_file_are_not_put_together(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.running.tasks._HAULS_OF_A_TASK", 10)
    log = log_of_mine(tmp_path, 25)
    read: list[str] = []

    def read_by_another(*given: Any) -> TaskResult:
        """As by a process for each task, between which the profile is edited."""
        found = evaluate_hauls(*given)
        found.totals.files[str(tmp_path / "mine.yaml")] = f"version {len(read)}"
        read.append("a task")
        return found

    monkeypatch.setattr("checker.season.audit.evaluate_hauls", read_by_another)
    with pytest.raises(ProblemsFoundError, match=r"mine\.yaml:1:1: .* changed while its hauls"):
        by_couplings(log)(Checkpoint(tmp_path))
    assert len(read) == 2
