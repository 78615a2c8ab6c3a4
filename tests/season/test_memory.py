"""What an audit holds in memory and reads again: no more for a long log than for a short one."""

import weakref
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from checker.logs.opening import open_log
from checker.season.audit import audit
from checker.season.hauls import loads
from checker.season.hauls.chunk_result import ChunkResult, evaluate_chunk
from checker.season.running import worker
from tests.season.test_audit import PLAN

HEADER = "load,date\n"


class _Watched(ChunkResult):
    __slots__ = ("__weakref__",)


def log(folder: Path, *names: str) -> Path:
    file = folder / "hauls.csv"
    file.write_text(HEADER + "".join(f"{name},2026-05-14\n" for name in names))
    return file


def test_the_result_of_a_chunk_is_freed_before_the_next_is_evaluated(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    alive: list[int] = []
    seen: list[weakref.ref[Any]] = []

    def evaluated(*given: Any, **options: Any) -> ChunkResult:
        alive.append(sum(each() is not None for each in seen))
        found = evaluate_chunk(*given, **options)
        given_names = [each.name for each in fields(ChunkResult) if each.init]
        result = _Watched(**{name: getattr(found, name) for name in given_names})
        seen.append(weakref.ref(result))
        return result

    monkeypatch.setattr(worker, "evaluate_chunk", evaluated)
    audit(open_log(log(tmp_path, "too-far-back", "missing-information")), PLAN, "")
    assert alive == [0, 0]


def test_a_load_profile_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[Path] = []
    whole = loads.read_profile

    def reading(file: Path, *given: Any) -> Any:
        read.append(file)
        return whole(file, *given)

    monkeypatch.setattr(loads, "read_profile", reading)
    names = ("too-far-back", "missing-information", "side-by-side-in-order", "scale-tolerances")
    worker.worker.cache_clear()
    done = audit(open_log(log(tmp_path, *names)), PLAN, "")
    assert (done.checked, len(read), len(set(read))) == (4, 4, 4)
