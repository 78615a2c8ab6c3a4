"""Ids and titles that the rows of a log state: counted for each haul, all checked together."""

from typing import Any

import numpy as np
import pytest

from checker.cli.named_loads import LoadFinder
from checker.logs.opening import open_log
from checker.season.audit import Audit, audit
from checker.season.counting import count
from checker.season.hauls.chunk import Chunk
from checker.season.hauls.chunk_result import ChunkResult, evaluate_chunk
from checker.season.hauls.digests import digest_of_log
from checker.season.rates.exposure import Exposures
from checker.season.running import worker
from tests.season.quick import quick_rules

ROWS = (
    "loads/mower-in-order,2026-05-14,T-7,,,ok",
    "loads/mower-in-order,2026-05-14,T-8,,M-1,ok",
    "loads/mower-in-order,2026-05-15,T-7,The old one,,ok",
    "loads/mower-in-order,2026-05-15,,Borrowed,,ok",
    "loads/mower-in-order,2026-05-16,,,,ok",
    f"loads/mower-in-order,2026-05-16,{'T' * 61},,,refused",
)


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[Audit, list[Chunk]]:
    """The audit of these rows, and the chunks that were evaluated."""
    log = tmp_path_factory.mktemp("log") / "hauls.csv"
    header = "load,date,trailer.id,trailer.title,articles.1.id"
    log.write_text("\n".join([header, *(row.rpartition(",")[0] for row in ROWS)]) + "\n")
    chunks: list[Chunk] = []
    evaluate = worker.evaluate_chunk

    def recorded(chunk: Chunk, *given: Any, **more: Any) -> ChunkResult:
        chunks.append(chunk)
        return evaluate(chunk, *given, **more)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(worker, "evaluate_chunk", recorded)
        plan = worker.Plan(lambda _: quick_rules(), ("shipped",), LoadFinder(), None, 0.05)
        return audit(open_log(log), plan, digest_of_log(log)), chunks


def test_each_haul_counts_for_what_its_row_names(done: tuple[Audit, list[Chunk]]) -> None:
    totals = done[0].totals
    assert {key: tally.hauls for key, tally in totals.by["trailer"].items()} == {
        "T-7": 2,
        "T-8": 1,
        "trailers/utility-single-10#Borrowed": 1,
        "trailers/utility-single-10": 1,
    }
    assert {key: tally.hauls for key, tally in totals.by["machine"].items()} == {
        "M-1": 1,
        "machines/zero-turn-mower": 4,
    }
    # T-7 has two titles, of which the first in the alphabet is shown.
    assert totals.titles["trailer"]["T-7"] == "The old one"
    assert totals.titles["trailer"]["T-8"] == "Utility trailer, single axle, 10 ft"


def test_ids_do_not_divide_what_is_checked_together(done: tuple[Audit, list[Chunk]]) -> None:
    (chunk,) = done[1]
    assert chunk.hauls == 5


def test_an_id_that_a_profile_may_not_have_is_refused(done: tuple[Audit, list[Chunk]]) -> None:
    (refused,) = done[0].refusals
    assert refused.row == 7
    assert "at most 60 characters" in refused.reason


def test_hauls_with_another_trailer_are_compared_as_its_own(
    done: tuple[Audit, list[Chunk]],
) -> None:
    audited, (chunk,) = done
    counted = audited.totals.exposures
    load = "loads/mower-in-order"
    trailers = {each.trailer: each.load for each in counted.carried.values()}
    # The profile's own trailer is that of the load; each other one has a load of its own.
    assert trailers == {
        "trailers/utility-single-10": "",
        "trailers/utility-single-10#Borrowed": load,
        "T-7": load,
        "T-8": load,
    }
    assert counted.carried[load].trailer == "trailers/utility-single-10"
    ((name, of_load),) = audited.exposures["load"].items()
    assert name == load
    by_trailer = {key: each.decided for key, each in audited.exposures["trailer"].items()}
    assert sum(by_trailer.values()) == of_load.decided == audited.totals.all.hauls == 5
    assert by_trailer["T-7"] == 2
    # In any order: each row alone, and backwards.
    backwards = Exposures()
    for row in reversed(range(chunk.hauls)):
        alone = chunk.take(np.array([row]))
        backwards.add(count(evaluate_chunk(alone, quick_rules(), 0.05)).exposures)
    assert backwards == counted
