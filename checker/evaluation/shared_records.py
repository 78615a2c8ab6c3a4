"""Checks as bytes for another process that was forked from the same one.

Rules, formulas and facts hold compiled code, which no bytes can hold. Both processes have them from
before the fork, so the bytes name them by their address there.
"""

import gc
import io
import pickle
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final

_FORM: Final = 5
_shared: dict[int, Any] = {}
_dispatch: dict[type, Callable[[Any], Any]] = {}
_CONTAINERS: Final = (tuple, list, dict, set, frozenset)


@contextmanager
def shared_with_forks(*roots: object) -> Iterator[None]:
    """Processes forked inside a `with` block share these records and all records inside them."""
    waiting = list(roots)
    while waiting:
        each = waiting.pop()
        known = id(each) in _shared or isinstance(each, type)
        if not known and (_is_record(each) or isinstance(each, _CONTAINERS)):
            _shared[id(each)] = each
            waiting += gc.get_referents(each)
            if _is_record(each):
                _dispatch[type(each)] = _named
    try:
        yield
    finally:
        _shared.clear()
        _dispatch.clear()


def to_bytes(record: object) -> bytes:
    """A record as bytes that only such a process can read."""
    target = io.BytesIO()
    pickler = pickle.Pickler(target, _FORM)
    pickler.dispatch_table = _dispatch
    pickler.dump(record)
    return target.getvalue()


def from_bytes(content: bytes) -> Any:
    """The record from the bytes of a forked process; its shared parts are those of this one."""
    return pickle.loads(content)  # noqa: S301 - written by a process of this run


def _is_record(each: object) -> bool:
    return type(each).__module__.startswith("checker.")


def _named(record: Any) -> Any:
    """How pickle writes a record: by its address where it is shared, else as it is."""
    key = id(record)
    return (_shared_record, (key,)) if key in _shared else record.__reduce_ex__(_FORM)


def _shared_record(key: int) -> Any:
    return _shared[key]
