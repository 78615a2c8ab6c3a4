"""Some hundred inputs of the fuzz harness, the same in every run; many more by hand."""

import sys
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from tests.fuzz.judging import faults
from tests.fuzz.mutators.names import no_such_ending
from tests.fuzz.pool import answers
from tests.fuzz.running import Result
from tests.fuzz.scenarios import SCENARIOS
from tests.fuzz.seeding import input_of

SEEDS = range(220)


def test_calls_end_as_they_should_and_inputs_that_are_mutated_do_no_harm(tmp_path: Path) -> None:
    seeds = [*range(-len(SCENARIOS), 0), *SEEDS]
    # One worker: the cores are busy with other tests, and a second one would read all rules again.
    found = list(answers(seeds, tmp_path, workers=1))
    assert sorted(answer["seed"] for answer in found) == seeds
    faulty = [(each["seed"], sort) for each in found for sort in each["faults"]]
    assert faulty == []


def test_a_seed_gives_the_same_input_again() -> None:
    assert [input_of(seed, b"{}") for seed in SEEDS] == [input_of(seed, b"{}") for seed in SEEDS]


def ended(*, code: int | None = 1, out: str = "", err: str = "", fault: str = "") -> Result:
    return Result(code, out.encode(), err.encode(), fault, seconds=0.1, megabytes=90.0)


OWN_FAULT = "cinchbook stopped on an error in the program (KeyError: 3)."
TRACEBACK = 'File "/x/checker/load/order.py", line 3, in told\n  x\nKeyError: 3'


@pytest.mark.parametrize(
    ("result", "sort"),
    [
        (ended(code=2, err=OWN_FAULT, fault=TRACEBACK), "traceback: load/order.py told: KeyError"),
        (ended(code=None, fault=TRACEBACK), "traceback: load/order.py told: KeyError"),
        (ended(code=70), "exit code 70"),
        (ended(code=0), "WRONG PASS: check, "),
        (ended(out="a\x1b[2Jb"), "control characters: check, standard output"),
        (ended(err="a\u202eb"), "control characters: check, standard error"),
        (ended(out="title:\n  ::error::x"), "log command: check, standard output"),
        (Result(1, b"", b"", "", seconds=11.0, megabytes=90.0), "slow: check"),
        (Result(1, b"", b"", "", seconds=1.0, megabytes=510.0), "large: check"),
    ],
)
def test_what_the_harness_takes_for_a_fault(result: Result, sort: str) -> None:
    held = input_of(-1, b"{}")
    assert [fault.sort for fault in faults(held, ended())] == []
    assert sort in [fault.sort for fault in faults(held, result)]


def test_a_load_that_is_written_by_a_refused_call_is_a_fault() -> None:
    held = input_of(-1, b"{}")
    refused = replace(ended(code=2), wrote_load=True)
    assert "written: check, " in [fault.sort for fault in faults(held, refused)]
    assert not any("written" in each.sort for each in faults(held, replace(refused, code=1)))


def test_a_file_that_is_not_read_makes_a_pass_wrong() -> None:
    folder = next(
        input_of(-1 - index, b"{}")
        for index, scenario in enumerate(SCENARIOS)
        if scenario.words == ("check", "profiles")
    )
    assert list(faults(folder, ended())) == []
    folder.tree.entries["profiles/loads/other.yml"] = b"kind: laod\n"
    [fault] = faults(folder, ended())
    assert fault.what == "not read: ['profiles/loads/other.yml']"


@pytest.mark.parametrize(
    ("does", "sort"), [("time.sleep(60)", "hang"), ("os.abort()", "crash"), ("sys.exit()", "crash")]
)
def test_a_worker_that_is_lost_is_counted(tmp_path: Path, does: str, sort: str) -> None:
    script = f"import os, sys, time; sys.stdin.readline(); {does}"
    found = answers([7, 8], tmp_path, wait=1.0, command=(sys.executable, "-c", script))
    assert sorted((each["seed"], *each["faults"]) for each in found) == [(7, sort), (8, sort)]


def test_a_file_that_lost_its_ending_keeps_its_name() -> None:
    given = input_of(0, b"{}")
    for seed in range(40):
        given.tree.entries = {"log": b"{}"}
        given.targets = ["log"]
        no_such_ending(Random(seed), given)  # noqa: S311 - not a secret
        (name,) = given.tree.entries
        assert name.startswith("log")
