"""The two validators agree: one says quickly whether a file fits, the other what is wrong with it.

Which of them is right is not tested here: `test_validate.py` has the words for every fault.
"""

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.documents.document import Document
from checker.documents.problems import DataPath
from checker.documents.quick_validation import fits, value_fits
from checker.documents.reader import read_file
from checker.documents.resources import shipped_folder
from checker.documents.schema_errors import document_problems, problems_of_value
from checker.documents.schemas import families
from checker.logs.columns import all_fields, node_of

FILES = sorted(
    file for name in ("rules", "profiles") for file in shipped_folder(name).rglob("*.yaml")
)


def agree(data: dict[str, Any]) -> bool:
    """What both say of data; they have to say the same."""
    family = families()[data["kind"]]
    quick = fits(data, family)
    assert quick == (not document_problems(Document("x.yaml", data, {}, {}), family))
    return quick


def read(file: Path) -> dict[str, Any]:
    data = read_file(file).data
    assert isinstance(data, dict)
    return data


@pytest.mark.parametrize(
    "file", FILES, ids=lambda file: str(file.relative_to(shipped_folder("rules").parent))
)
def test_both_accept_every_bundled_file(file: Path) -> None:
    assert agree(read(file))


def _paths(data: Any, path: DataPath = ()) -> Iterator[DataPath]:
    """The path of everything inside."""
    inside = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in inside:
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from _paths(value, (*path, key))


# A file of each kind, small where it can be, so that a change hits every part of it often.
SAMPLES = [
    read(shipped_folder(folder) / name)
    for folder, name in (
        ("profiles", "loads/rear-straps-only.yaml"),
        ("profiles", "loads/variance-late-first-stop.yaml"),
        ("profiles", "trailers/utility-single-10.yaml"),
        ("profiles", "tow-vehicles/half-ton.yaml"),
        ("profiles", "machines/zero-turn-mower.yaml"),
        ("profiles", "tiedowns/ratchet-strap-2in.yaml"),
        ("profiles", "carriers/juniper-basin.yaml"),
        ("rules", "us/states/nj.yaml"),
        ("rules", "us/working-load-limits.yaml"),
    )
] + [
    {
        "kind": "amendment",
        "id": "crew",
        "title": "Crew",
        "layer": "company",
        "jurisdiction": "any",
        "changes": [
            {
                "rule": "half",
                "threshold": "share",
                "was": "50 %",
                "value": "60 %",
                "from": "2026-05-14",
                "common_practice": "yes",
            }
        ],
    },
    {"kind": "haul", "load": "loads/mower", "date": "2026-05-14"},
    {
        "kind": "haul-log",
        "columns": {"Day": "date", "Weight": {"field": "articles.1.weight", "unit": "lb"}},
    },
    {"kind": "settings", "rules": ["shipped"], "near": "5 %", "units": "us"},
]
PLACES = [[path for path in _paths(data) if path != ("kind",)] for data in SAMPLES]

VALUES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**19) + 1, 10**19 - 1),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(max_size=5),
    st.sampled_from([0, 1, 1.0, 2.5, 1001, "", " ", "yes", "no", "any", "US", "US-UT", "us"]),
    st.sampled_from(["5 lb", "-5 lb", "0 lb", "5 in", "5 ft 2 in", "50 lb +/- 50 lb", "5", "12 %"]),
    st.sampled_from(["2026-05-14", "2026-02-30", "2026-05-14\n", "20260514", "2026-W20-4"]),
    st.sampled_from(["a-b", "a_b", "a b", "A", "a\n", "\n", "é", "a/b", "../a", "٣", "x" * 301]),
    st.sampled_from(
        [[], [{}], {}, {"a": 1}, {"from": "trailers/a"}, [None], ["left", "left"], ["a"]]
    ),
)
KEYS = st.one_of(
    st.text(max_size=4), st.sampled_from(["source", "at", "common_practice", "from", "a"])
)


@st.composite
def mutated(draw: st.DrawFn) -> dict[str, Any]:
    """A sound file with one to three things taken out, put in, or made something else."""
    which = draw(st.integers(0, len(SAMPLES) - 1))
    data = copy.deepcopy(SAMPLES[which])
    for _ in range(draw(st.integers(1, 3))):
        path = draw(st.sampled_from(PLACES[which]))
        inside: Any = data
        try:
            for part in path[:-1]:
                inside = inside[part]
            inside[path[-1]]
        except (KeyError, IndexError, TypeError):
            continue  # an earlier change took it away
        if not isinstance(inside, dict | list):
            continue
        match draw(st.sampled_from(["take out", "put in", "change", "again"])):
            case "take out":
                del inside[path[-1]]
            case "put in" if isinstance(inside, dict):
                inside[draw(KEYS)] = draw(VALUES)
            case "again" if isinstance(inside, list):
                inside.append(copy.deepcopy(inside[-1]))
            case _:
                inside[path[-1]] = draw(VALUES)
    return (
        data
        if isinstance(data.get("kind"), str) and data["kind"] in families()
        else {"kind": "haul"}
    )


@given(mutated())
@settings(max_examples=300, deadline=None)
def test_both_say_the_same_of_files_with_faults(data: dict[str, Any]) -> None:
    agree(data)


NAMED = ("trailer.anchors.left.x", "trailer.axles.front.rating", "articles.1.blocks.a.x")
FIELDS = [field for field in (*all_fields(), *NAMED) if field != "trip.date"]
CELLS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-3, 60) | st.just(10**400),
    st.floats(),
    st.text(max_size=4) | st.just("x" * 400) | st.just("half \ud800"),
    st.sampled_from(("1500 lb", "-2 in", "45 mph", "yes", "forward", "US-UT", "1 +/- 2 lb", "5")),
    st.lists(st.sampled_from(("US-UT", "US-AZ", "nowhere", "")), max_size=3),
)


@given(st.sampled_from(FIELDS), CELLS)
@settings(max_examples=400)
def test_both_say_the_same_of_a_value_of_any_field(field: str, value: Any) -> None:
    """But for half a character, which no file holds: of that the quick one says no at once."""
    node = node_of(field)
    quick, explained = value_fits(value, node), not problems_of_value(value, node)
    assert quick == explained or (not quick and value == "half \ud800")


@pytest.mark.parametrize("field", FIELDS)
def test_a_field_of_a_load_refers_to_nothing_else(field: str) -> None:
    assert not value_fits({}, node_of(field))
    assert "$ref" not in json.dumps(node_of(field))
