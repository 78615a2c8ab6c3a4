"""An executor that runs the work of an audit in processes of this machine."""

import gc
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import active_children, parent_process
from multiprocessing.context import BaseContext
from multiprocessing.process import BaseProcess


class NoClusterError(Exception):
    """The cluster cannot be used; the message says why."""


def cores() -> int:
    """How many cores this process may use."""
    own = getattr(os, "sched_getaffinity", None)
    return len(own(0)) if own else os.cpu_count() or 1


@contextmanager
def processes(context: BaseContext | None = None) -> Iterator[Executor]:
    """An executor with one process for each core; kills the processes if the user stops the run.

    After a stop, exit with `os._exit`: a normal exit would wait for results from killed processes.
    `context` says how processes are started. Default: as Python does.
    """
    # The rules stay in memory for the whole run. Scanning them for garbage, here and in every
    # forked process, would take time and copy their memory.
    gc.freeze()
    executor = ProcessPoolExecutor(cores(), context, initializer=_begin)
    try:
        yield executor
    except Exception:
        # Waits for running tasks, so that no process is left that would block the exit.
        executor.shutdown(cancel_futures=True)
        raise
    except BaseException:
        # Running tasks are lost and done again by the next run, as waiting may take long.
        for child in active_children():
            child.kill()
        executor.shutdown(wait=False, cancel_futures=True)
        raise
    finally:
        gc.unfreeze()
    executor.shutdown()


def _begin() -> None:
    """Make a new process ignore Ctrl-C, and exit if its parent is killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:
        threading.Thread(target=_exit_after, args=(parent,), daemon=True).start()


def _exit_after(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)
