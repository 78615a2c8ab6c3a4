"""Where the work of an audit is done: processes of this machine, or of a Dask cluster."""

import gc
import logging
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import CancelledError, Executor, ProcessPoolExecutor
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import active_children, parent_process
from multiprocessing.process import BaseProcess
from typing import Any


class NoClusterError(Exception):
    """A cluster that cannot be used; the message says why."""


@contextmanager
def processes() -> Iterator[Executor]:
    """One process for each core; gone at once where a person stops the run.

    Whoever stops it has to leave by `os._exit`: the interpreter's own way out would wait for what
    killed processes were about to hand over.
    """
    # The rules are here to stay: to look them over for garbage, here and in every process that
    # begins with them, would take time and copy their memory.
    gc.freeze()
    executor = ProcessPoolExecutor(os.cpu_count(), initializer=_begin)
    try:
        yield executor
    except Exception:
        # What they are at is waited for, so that nothing is left that has to be waited for in vain.
        executor.shutdown(cancel_futures=True)
        raise
    except BaseException:
        # Whatever they are at is done anew: waiting for it may take long.
        for child in active_children():
            child.kill()
        executor.shutdown(wait=False, cancel_futures=True)
        raise
    finally:
        gc.unfreeze()
    executor.shutdown()


def _begin() -> None:
    """Leave Ctrl-C to the parent, and do not outlive it where it is killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)


@contextmanager
def cluster(address: str) -> Iterator[Executor]:
    """The workers of a Dask cluster, which need this program, the profiles and the rulebooks.

    Raises NoClusterError where nobody answers at the address, or the cluster is lost on the way;
    ImportError where Dask is not installed.
    """
    distributed: Any = import_module("distributed")
    # What goes wrong is told by NoClusterError; in the log of Dask it is a page of tracebacks.
    for name in ("distributed", "distributed.client"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    try:
        client = distributed.Client(address, timeout="10 s")
    except (OSError, ValueError) as error:
        message = (
            f"found no cluster at '{address}' ({error}); wanted one such as tcp://10.0.0.5:8786"
        )
        raise NoClusterError(message) from error
    with client, client.get_executor() as executor:
        try:
            yield executor
        except (CancelledError, distributed.KilledWorker) as error:
            message = f"lost the cluster at '{address}'; the same command goes on from here"
            raise NoClusterError(message) from error
