"""Files that a profile refers to: what is taken over, and what is refused at which place."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from checker.documents.problems import Mark, ProblemsFoundError
from checker.documents.reader import read_file
from checker.load import references
from checker.load.references import Merged, References

FLAT = """\
kind: trailer
title: Flat 16
gvwr: 7000 lb
deck: {front: 4 ft, rear: 20 ft, width: 82 in}
axles:
  front: {x: 12 ft, rating: 3500 lb}
  rear: {x: 15 ft, rating: 3500 lb}
"""
MOWER = "kind: machine\nname: mower\nweight: 1200 lb\nplaced: {x: 8 ft, y: 0 in}\n"


def merged(root: Path, files: Mapping[str, str]) -> Merged:
    """`load.yaml` of these files, as if called from the root."""
    for name, text in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, "utf-8")
    document = read_file(root / "load.yaml", "load.yaml")
    assert document.problems == []
    return References(root, lambda path: path.relative_to(root).as_posix()).merged(document, "load")


def told(found: Merged) -> list[str]:
    return [str(problem) for problem in found.problems]


def test_a_reference_takes_the_whole_file_with_its_places(tmp_path: Path) -> None:
    load = "kind: load\ntrailer: trailers/flat\n"
    found = merged(tmp_path, {"load.yaml": load, "trailers/flat.yaml": FLAT})
    assert told(found) == []
    assert found.complete
    trailer = found.data["trailer"]
    assert isinstance(trailer, dict)
    assert trailer["gvwr"] == "7000 lb"
    assert found.locations["trailer", "gvwr"] == ("trailers/flat.yaml", Mark(3, 7))
    assert found.locations["trailer", "axles", "rear", "x"] == ("trailers/flat.yaml", Mark(7, 13))
    assert found.locations["kind",] == ("load.yaml", Mark(1, 7))


def test_own_fields_win_over_the_file_at_any_depth(tmp_path: Path) -> None:
    load = """\
kind: load
trailer:
  from: trailers/flat
  gvwr: 6000 lb
  axles:
    rear: {rating: 3000 lb}
    third: {x: 18 ft}
"""
    found = merged(tmp_path, {"load.yaml": load, "trailers/flat.yaml": FLAT})
    trailer = found.data["trailer"]
    assert trailer == {
        "kind": "trailer",
        "from": "trailers/flat",
        "title": "Flat 16",
        "gvwr": "6000 lb",
        "deck": {"front": "4 ft", "rear": "20 ft", "width": "82 in"},
        "axles": {
            "front": {"x": "12 ft", "rating": "3500 lb"},
            "rear": {"x": "15 ft", "rating": "3000 lb"},
            "third": {"x": "18 ft"},
        },
    }
    here, there = "load.yaml", "trailers/flat.yaml"
    files = {path: found.locations[path][0] for path in found.locations if path[:1] == ("trailer",)}
    assert files["trailer", "gvwr"] == here
    assert files["trailer", "title"] == there
    assert files["trailer", "axles", "rear", "rating"] == here
    assert files["trailer", "axles", "rear", "x"] == there
    assert files["trailer", "axles", "third", "x"] == here


def test_a_list_replaces_the_files_list_whole(tmp_path: Path) -> None:
    strap = "kind: tiedown\npulls: [left, down, rearward]\n"
    load = "kind: load\ntiedowns: [{from: strap, pulls: [right]}]\n"
    found = merged(tmp_path, {"load.yaml": load, "strap.yaml": strap})
    assert found.data["tiedowns"] == [{"kind": "tiedown", "from": "strap", "pulls": ["right"]}]
    assert found.locations["tiedowns", 0, "pulls", 0] == ("load.yaml", Mark(2, 34))


def test_one_file_may_serve_several_articles(tmp_path: Path) -> None:
    load = "kind: load\narticles:\n- mower\n- {from: mower, name: second, placed: {x: 14 ft}}\n"
    found = merged(tmp_path, {"load.yaml": load, "mower.yaml": MOWER})
    assert told(found) == []
    articles: Any = found.data["articles"]
    assert [article["placed"] for article in articles] == [
        {"x": "8 ft", "y": "0 in"},
        {"x": "14 ft", "y": "0 in"},
    ]


def chain(length: int) -> dict[str, str]:
    files = {"load.yaml": "kind: load\ntrailer: t1\n"}
    for index in range(1, length):
        files[f"t{index}.yaml"] = f"kind: trailer\nfrom: t{index + 1}\naxles: {{a{index}: {{}}}}\n"
    files[f"t{length}.yaml"] = f"kind: trailer\ngvwr: 1 lb\naxles: {{a{length}: {{}}}}\n"
    return files


def test_a_chain_of_files_as_long_as_allowed(tmp_path: Path) -> None:
    found = merged(tmp_path, chain(8))
    assert told(found) == []
    trailer = found.data["trailer"]
    assert isinstance(trailer, dict)
    assert trailer["gvwr"] == "1 lb"
    assert trailer["axles"] == {f"a{index}": {} for index in range(1, 9)}
    assert found.locations["trailer", "gvwr"] == ("t8.yaml", Mark(2, 7))


def test_a_chain_one_longer_is_refused(tmp_path: Path) -> None:
    found = merged(tmp_path, chain(9))
    assert told(found) == [
        "t8.yaml:2:7: found 't9'; wanted at most 8 references one behind the other"
    ]
    assert not found.complete


@pytest.mark.parametrize(
    ("files", "problem"),
    [
        (
            {"a.yaml": "kind: trailer\nfrom: a\n"},
            "a.yaml:2:7: found 'a'; wanted a reference that does not lead back to itself",
        ),
        (
            {"a.yaml": "kind: trailer\nfrom: b\n", "b.yaml": "kind: trailer\nfrom: a\n"},
            "b.yaml:2:7: found 'a'; wanted a reference that does not lead back to itself",
        ),
    ],
)
def test_a_circle_of_references(tmp_path: Path, files: dict[str, str], problem: str) -> None:
    found = merged(tmp_path, {"load.yaml": "kind: load\ntrailer: a\n", **files})
    assert told(found) == [problem]


@pytest.mark.parametrize(
    ("reference", "hint"),
    [
        ("trailers/flatt", "; did you mean 'trailers/flat'?"),
        ("trailers/zebra", ""),
        ("trailer/flat", ""),
        ("moewr", "; did you mean 'mower'?"),
        ("x" * 300, ""),
    ],
)
def test_a_file_that_is_not_there(tmp_path: Path, reference: str, hint: str) -> None:
    load = f"kind: load\ntrailer: {reference}\n"
    found = merged(tmp_path, {"load.yaml": load, "trailers/flat.yaml": FLAT, "mower.yaml": MOWER})
    shown = f"'{reference}'" if len(reference) < 60 else f"'{'x' * 60}…'"
    assert told(found) == [
        f"load.yaml:2:10: found {shown}; wanted a file {reference}.yaml under .{hint}"
    ]
    assert not found.complete


def test_a_folder_is_not_a_file(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").mkdir()
    found = merged(tmp_path, {"load.yaml": "kind: load\ntrailer: a\n"})
    assert told(found) == ["load.yaml:2:10: found 'a'; wanted a file a.yaml under ."]


@pytest.mark.parametrize("reference", ["../secret", "/etc/hosts", "a/../../secret", "./mower", ""])
def test_a_reference_that_is_no_name_is_left_to_the_schema(tmp_path: Path, reference: str) -> None:
    (tmp_path / "secret.yaml").write_text(MOWER, "utf-8")
    root = tmp_path / "profiles"
    load = f"kind: load\narticles:\n- '{reference}'\n- {{from: '{reference}'}}\n"
    found = merged(root, {"load.yaml": load, "a/b.yaml": MOWER, "mower.yaml": MOWER})
    assert told(found) == []
    assert found.data["articles"] == [{}, {"from": reference}]
    assert not found.complete


def test_a_link_out_of_the_root_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "secret.yaml").write_text(MOWER, "utf-8")
    root = tmp_path / "profiles"
    root.mkdir()
    (root / "mower.yaml").symlink_to(tmp_path / "secret.yaml")
    found = merged(root, {"load.yaml": "kind: load\narticles: [mower]\n"})
    assert told(found) == ["load.yaml:2:12: found 'mower'; wanted a file inside the profile root"]
    assert found.data["articles"] == [{}]


def test_a_link_inside_the_root_is_followed(tmp_path: Path) -> None:
    (tmp_path / "old.yaml").symlink_to(tmp_path / "mower.yaml")
    found = merged(tmp_path, {"load.yaml": "kind: load\narticles: [old]\n", "mower.yaml": MOWER})
    assert told(found) == []


def test_a_link_to_itself_is_no_file(tmp_path: Path) -> None:
    (tmp_path / "loop.yaml").symlink_to(tmp_path / "loop.yaml")
    found = merged(tmp_path, {"load.yaml": "kind: load\narticles: [loop]\n"})
    assert [line[:40] for line in told(found)] == ["load.yaml:2:12: found 'loop'; wanted a fi"[:40]]


@pytest.mark.parametrize("order", ["mower, mower", "mower"])
def test_a_file_of_another_kind_is_told_where_it_is_referred_to(tmp_path: Path, order: str) -> None:
    load = f"kind: load\ntrailer: mower\narticles: [{order}]\n"
    found = merged(tmp_path, {"load.yaml": load, "mower.yaml": MOWER})
    assert told(found) == [
        "load.yaml:2:10: found 'mower', a file of kind 'machine'; wanted a file of kind 'trailer'"
    ]


def test_a_file_of_another_kind_inside_a_chain(tmp_path: Path) -> None:
    load = "kind: load\ntrailer: flat\n"
    flat = "kind: trailer\nfrom: mower\n"
    found = merged(tmp_path, {"load.yaml": load, "flat.yaml": flat, "mower.yaml": MOWER})
    assert told(found) == [
        "flat.yaml:2:7: found 'mower', a file of kind 'machine'; wanted a file of kind 'trailer'"
    ]


def test_faults_of_a_file_are_told_once_and_in_that_file(tmp_path: Path) -> None:
    load = "kind: load\narticles: [mower, mower]\n"
    found = merged(tmp_path, {"load.yaml": load, "mower.yaml": "kind: machine\nweight: 5\n"})
    assert [line[:35] for line in told(found)] == ["mower.yaml:2:9: found the bare numbe"[:35]]
    assert found.complete, "the file was found and read; its fault is told by itself"


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "mower.yaml:1:1: found an empty file"),
        ("kind: [", "mower.yaml:1:7: found `[` without its `]`"),
        ("- x\n", "mower.yaml:1:1: found a list"),
        ("kind: mowr\n", "mower.yaml:1:7: found 'mowr' as the kind; wanted `kind: machine`"),
        ("name: x\n", "mower.yaml:1:1: found no 'kind'; wanted `kind: machine`"),
        ("kind: {a: b}\n", "mower.yaml:1:7: found a mapping as the kind; wanted `kind: machine`"),
        ("kind: [machine]\n", "mower.yaml:1:7: found a list as the kind; wanted `kind: machine`"),
        ("kind: 3\n", "mower.yaml:1:7: found the bare number 3 as the kind"),
    ],
)
def test_a_file_that_is_no_machine_at_all(tmp_path: Path, text: str, problem: str) -> None:
    load = "kind: load\narticles: [mower]\n"
    found = merged(tmp_path, {"load.yaml": load, "mower.yaml": text})
    assert [line[: len(problem)] for line in told(found)] == [problem]
    assert not found.complete


def test_a_load_is_not_taken_from_another(tmp_path: Path) -> None:
    # The schema refuses the key; looking for the file as well would tell it twice.
    found = merged(tmp_path, {"load.yaml": "kind: load\nfrom: other\n"})
    assert told(found) == []


def test_odd_shapes_are_left_to_the_schema(tmp_path: Path) -> None:
    load = "kind: load\ntrailer: 3\narticles: {a: mower}\ntiedowns: [[mower]]\ncarrier: [x]\n"
    found = merged(tmp_path, {"load.yaml": load, "mower.yaml": MOWER})
    assert told(found) == []
    assert found.data == {
        "kind": "load",
        "trailer": 3,
        "articles": {"a": "mower"},
        "tiedowns": [["mower"]],
        "carrier": ["x"],
    }


def test_files_that_multiply_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    files = {"load.yaml": "kind: load\narticles: [mower, mower]\n", "mower.yaml": MOWER}
    # A mower is seven values: the file, five fields, and two inside `placed` less `kind`.
    monkeypatch.setattr(references, "MOST_NODES", 14)
    assert told(merged(tmp_path, files)) == []
    monkeypatch.setattr(references, "MOST_NODES", 13)
    expected = r"load\.yaml:2:19: found a very large load; wanted at most 13 values in all files"
    with pytest.raises(ProblemsFoundError, match=expected):
        merged(tmp_path, files)
