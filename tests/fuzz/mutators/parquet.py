"""Parquet logs with columns of every type."""

import io
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from random import Random
from typing import Any

import pyarrow
import pyarrow.parquet

from tests.fuzz.inputs import Effect, Input, pick_file
from tests.fuzz.project import GOOD, HELD
from tests.fuzz.values import DAYS, QUANTITIES, TEXTS

_NAMES = ["load", "date", "crew", "haul", "articles.1.weight [lb]", "trip.places", "trip.speed"]
_NAMES += ["walkaround.chains_crossed", "articles", "trip", "", "\x1b[2J", "x" * 3_000]


def _columns(random: Random, rows: int) -> dict[str, Callable[[], Any]]:
    """Ways to fill a column of so many rows."""

    def of(*values: object, kind: Any = None) -> Callable[[], Any]:
        return lambda: pyarrow.array([random.choice(values) for _ in range(rows)], type=kind)

    return {
        "load": of(HELD, GOOD),
        "day": of(date(2026, 7, 2), date(1, 1, 1), None),
        "day as text": of(*DAYS),
        "text": of(*(each for each in TEXTS if each.isascii())),
        "quantity": of(*QUANTITIES, None),
        "number": of(1.0, float("nan"), float("inf"), -1e300, None),
        "whole": of(0, -1, 2**63 - 1, None),
        "unsigned": of(2**64 - 1, kind=pyarrow.uint64()),
        "half": lambda: pyarrow.array([1.5] * rows).cast(pyarrow.float32()),
        "answer": of(*[True, False, None]),
        "moment": of(datetime(2026, 7, 2, 6, tzinfo=UTC), None),
        "nanoseconds": of(2**62, kind=pyarrow.timestamp("ns")),
        "clock": of(time(6, 30)),
        "span": of(timedelta(days=3)),
        "decimal": of(Decimal("12.50"), None),
        "bytes": of(b"\xff\x00", b"x"),
        "nothing": lambda: pyarrow.nulls(rows),
        "list": of(["US-UT"], [], None),
        "list of lists": of([["a"]], [[]]),
        "record": of({"weight": "5 lb"}, {"weight": None}),
        "list of records": of([{"weight [lb]": 5.0}], []),
        "dictionary": lambda: of(HELD, GOOD)().dictionary_encode(),
        "map": of([("a", 1)], kind=pyarrow.map_(pyarrow.string(), pyarrow.int64())),
    }


def table(random: Random, given: Input) -> Effect | None:
    """Another table altogether; most with loads and days, so that its rows are looked at."""
    name = pick_file(random, given, ".parquet")
    if name is None:
        return None
    rows = random.choice([0, 1, 2, 3, 50])
    ways = _columns(random, rows)
    chosen = {"load": "load", "date": "day"} if random.random() < 0.8 else {}
    for _ in range(random.choice([0, 1, 2, 4])):
        chosen[random.choice(_NAMES)] = random.choice(list(ways))
    made = pyarrow.table({each: ways[way]() for each, way in chosen.items()})
    file = io.BytesIO()
    compression = random.choice(["snappy", "zstd", "none", "gzip"])
    try:
        pyarrow.parquet.write_table(made, file, compression=compression)
    except pyarrow.ArrowInvalid:
        return None
    given.tree.entries[name] = file.getvalue()
    return Effect.CHANGES


MUTATORS = [table]
