"""Checks the loads of a run: many of them on all cores, few of them in this process."""

import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING, Final, NamedTuple

from checker.cli.options import INTERRUPTED, day_of, end_with, say
from checker.cli.output import console

if TYPE_CHECKING:
    from checker.evaluation.check import Check
    from checker.load.build import Profile
    from checker.reports.shared.check_results import CheckedLoad
    from checker.rulebooks.model import Rulebooks
    from checker.units.formatting import System, Units

FEWEST_LOADS: Final = 24
FEWEST_CORES: Final = 3
"""Below these, starting processes and sending checks costs more than it saves.

Sending and reading a check takes some 16 ms of processor time where checking a load takes 35.
"""
_TASKS_OF_A_PROCESS: Final = 4


class _Task(NamedTuple):
    """One load, and what to check it against."""

    profile: "Profile"
    rulebooks: "Rulebooks"
    on: date


_tasks: list[_Task] = []
"""What is to be checked; processes that are forked from this one have it, too."""


def check_loads(
    read: "Sequence[Profile]", rulebooks: "Rulebooks", on: str | None, units: "Units"
) -> "list[CheckedLoad]":
    """Each load checked; the smallest fixes are searched for when a report prints them."""
    from checker.advice.fixes import FixesOnDemand
    from checker.advice.nearest import NearestOnDemand
    from checker.reports.shared.glossary import words_of
    from checker.reports.shared.place_words import checked_load, rulebooks_in_words
    from checker.reports.shared.written_units import system_of

    in_words: dict[tuple[str | None, System], Rulebooks] = {}
    tasks = []
    for profile in read:
        words, system = words_of(profile.stated), system_of(profile.stated, units)
        if (words.place, system) not in in_words:
            in_words[words.place, system] = rulebooks_in_words(rulebooks, words, system)
        tasks.append(_Task(profile, in_words[words.place, system], day_of(profile, on)))
    with _checks(tasks) as checks:
        return [
            checked_load(
                check,
                FixesOnDemand(task.profile, check, task.rulebooks),
                units,
                NearestOnDemand(task.profile, check, task.rulebooks),
            )
            for task, check in zip(tasks, _with_progress(checks, len(tasks)), strict=True)
        ]


@contextmanager
def _checks(tasks: Sequence[_Task]) -> "Iterator[Iterable[Check]]":
    """The check of each load, in order."""
    if len(tasks) >= FEWEST_LOADS and _can_fork():
        with _on_all_cores(tasks) as checks:
            yield checks
    else:
        yield map(_check, tasks)


def _can_fork() -> bool:
    """True where several processes can share the rules that this one has read."""
    from checker.season.running.executors import cores

    # On macOS a forked process may not use the libraries of the system.
    return hasattr(os, "fork") and sys.platform != "darwin" and cores() >= FEWEST_CORES


@contextmanager
def _on_all_cores(tasks: Sequence[_Task]) -> "Iterator[Iterable[Check]]":
    from concurrent.futures import BrokenExecutor
    from multiprocessing import get_context

    from checker.evaluation.shared_records import from_bytes, shared_with_forks
    from checker.facts.catalogue import catalogue
    from checker.season.running.executors import cores, processes

    _tasks[:] = tasks
    size = max(len(tasks) // (cores() * _TASKS_OF_A_PROCESS), 1)
    try:
        with (
            shared_with_forks([task.rulebooks for task in tasks], catalogue()),
            processes(get_context("fork")) as executor,
        ):
            yield map(from_bytes, executor.map(_check_and_send, range(len(tasks)), chunksize=size))
    except BrokenExecutor:
        end_with("a process of this run was ended from outside, perhaps for want of memory")
    except KeyboardInterrupt:
        say("stopped")
        # The interpreter's own way out would wait for processes that are gone.
        os._exit(INTERRUPTED)
    finally:
        _tasks.clear()


def _check_and_send(index: int) -> bytes:
    """The check of one load, for the process that this one was forked from."""
    from checker.evaluation.shared_records import to_bytes

    return to_bytes(_check(_tasks[index]))


def _check(task: _Task) -> "Check":
    from checker.evaluation.tolerances import check_profile

    return check_profile(*task)


def _with_progress(checks: "Iterable[Check]", number: int) -> "Iterable[Check]":
    """The checks, with a progress bar for two or more; no bar in pipes and in CI."""
    if number < 2:
        return checks
    from rich.progress import track

    shown_on = console(stderr=True)
    disabled = not shown_on.is_terminal
    return track(
        checks, "Checking", total=number, console=shown_on, disable=disabled, transient=True
    )
