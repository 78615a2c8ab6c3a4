"""A folder of YAML files as a log: hauls, and loads on their trip's day."""

from datetime import date
from hashlib import blake2b
from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.documents.schemas import families
from checker.logs.opening import is_log, open_log
from checker.logs.yaml_folder import FILES_OF_A_PART, names_in
from checker.season.hauls.digests import digest_of_log
from tests.season.one_by_one import settled

HAUL = """\
kind: haul
load: loads/side-by-side-in-order
date: 2026-07-02
crew: north crew
differs:
  articles.1.weight: 1500 lb
  trip.places: [US-UT, US-AZ]
  tow_vehicle.seats: 5
"""


def put(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        file = folder / f"{name.replace('__', '/')}.yaml"
        file.parent.mkdir(exist_ok=True)
        file.write_text(text)
    return folder


def test_hauls_and_loads_stand_side_by_side_and_other_kinds_are_passed_over(tmp_path: Path) -> None:
    put(
        tmp_path,
        a__haul=HAUL,
        b="kind: load\ntitle: T\ntrip: {date: 2026-05-14}\n",
        c="kind: trailer\ntitle: T\n",
        d="kind: haul\nload: x\ndate: 2026-07-03\n",
    )
    (batch,) = settled(open_log(tmp_path))
    assert list(batch.numbers) == [1, 2, 4]
    assert batch.cells == {
        "load": ["loads/side-by-side-in-order", str(tmp_path / "b.yaml"), "x"],
        "date": [date(2026, 7, 2), date(2026, 5, 14), date(2026, 7, 3)],
        "haul": ["a/haul", "b", "d"],
        "crew": ["north crew", None, None],
        "articles.1.weight": ["1500 lb", None, None],
        "trip.places": ["[US-UT; US-AZ]", None, None],
        "tow_vehicle.seats": [5, None, None],
    }


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HAUL.replace("weight", "wieght"), "6:3: found the column 'articles.1.wieght'"),
        (HAUL.replace("1500 lb", "1500"), "6:22: found the bare number 1500; wanted a weight"),
        (HAUL.replace("1500 lb", "true"), "6:22: found true; wanted"),
        (HAUL.replace("trip.places", "crew"), "7:3: found 'crew' here; wanted `crew:` above"),
        (HAUL.replace("2026-07-02", "July"), "3:7: found 'July'; wanted a day such as"),
        (HAUL.replace("US-AZ", "arizona"), "7:16: found 'arizona'; wanted a country"),
        (HAUL + "laod: x\n", "9:1: found the key 'laod'"),
        ("kind: load\ntitle: T\n", "1:1: found no trip.date; wanted the day of the haul"),
        ("kind: load\ncolour: red\n", "2:1: found the key 'colour'"),
        ("kind: haul\n\tload: x\n", "found"),
        (HAUL.replace("haul", "hual"), "1:7: found 'hual' as the kind; wanted `kind: ...`, one of"),
        (HAUL.replace("haul", "hual"), "did you mean 'haul'?"),
        (HAUL.replace("haul", "Haul"), "did you mean 'haul'?"),
        (HAUL.replace("haul", "[haul]"), "1:7: found a list as the kind"),
        (
            HAUL.replace("kind", "kinds"),
            "1:1: found the key 'kinds'; wanted the key kind, with one of",
        ),
        ("- kind: haul\n", "1:1: found a list; wanted a document that starts with `kind: ...`"),
    ],
)
def test_a_file_with_problems_is_refused_with_its_first(
    tmp_path: Path, text: str, said: str
) -> None:
    put(tmp_path, a=text, b=HAUL)
    (batch,) = settled(open_log(tmp_path))
    assert list(batch.numbers) == [2]
    (bad,) = batch.refused
    assert bad.row == 1
    assert said in bad.reason
    assert "a.yaml:" in bad.reason


def test_a_folder_without_hauls_is_told(tmp_path: Path) -> None:
    with pytest.raises(ProblemsFoundError, match="found a folder without a YAML file"):
        open_log(tmp_path)


@pytest.mark.parametrize("ending", ["yaml", "yml", "YAML", "Yml"])
def test_one_haul_is_a_log_and_one_load_is_none(tmp_path: Path, ending: str) -> None:
    haul, load = tmp_path / f"haul.{ending}", tmp_path / f"load.{ending}"
    haul.write_text(HAUL)
    load.write_text("kind: load\n")
    assert is_log(haul)
    assert not is_log(load)
    (batch,) = settled(open_log(haul))
    assert batch.cells["haul"] == ["haul"]


def test_files_are_of_yaml_whichever_way_their_ending_is_written(tmp_path: Path) -> None:
    for name in ("a.yml", "b.YAML", "c.yaml", "d.Yml", "e.yaml~", "f.yamls", "yaml"):
        (tmp_path / name).write_text(HAUL)
    (batch,) = settled(open_log(tmp_path))
    assert batch.cells["haul"] == ["a", "b", "c", "d"]
    before = digest_of_log(tmp_path)
    (tmp_path / "a.yml").write_text(f"{HAUL}note: more\n")
    assert digest_of_log(tmp_path) != before


@pytest.mark.parametrize("kind", sorted({*families()} - {"haul", "load"}))
def test_files_of_every_other_kind_may_lie_beside_hauls(tmp_path: Path, kind: str) -> None:
    put(tmp_path, a=f"kind: {kind}\n", b=HAUL)
    (batch,) = settled(open_log(tmp_path))
    assert list(batch.numbers) == [2]
    assert not batch.refused


def many_places(folder: Path) -> Path:
    """Files whose order by path is not that by text, and what is no file or no haul."""
    for name in ("b/a", "b-c", "b/c/d", "B", "a.b/e", ".hidden", "d/.yaml", "é"):
        file = folder / (name if name.endswith(".yaml") else f"{name}.yaml")
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(f"{HAUL}note: {name}\n", "utf-8")
    (folder / "b" / "notes.txt").write_text("no haul")
    (folder / "c.yaml").mkdir()
    (folder / "c.yaml" / "inside.yaml").write_text(HAUL)
    (folder / "gone.yaml").symlink_to("nowhere")
    (folder / "elsewhere").symlink_to(folder / "b", target_is_directory=True)
    return folder


def in_order(folder: Path) -> list[Path]:
    """Every YAML file, and the link to a folder, which is refused like a file."""
    return sorted([*folder.rglob("*.yaml"), folder / "elsewhere"])


def test_files_stand_in_the_order_of_their_paths(tmp_path: Path) -> None:
    many_places(tmp_path)
    paths = in_order(tmp_path)
    assert [tmp_path / name for name in names_in(tmp_path)] == paths
    (batch,) = settled(open_log(tmp_path))
    refused = {each.row for each in batch.refused}
    named = [path for row, path in enumerate(paths, start=1) if row not in refused]
    assert batch.cells["haul"] == [
        path.relative_to(tmp_path).with_suffix("").as_posix() for path in named
    ]


def test_a_digest_is_of_names_and_bytes_in_that_order(tmp_path: Path) -> None:
    many_places(tmp_path)

    def by_hand() -> str:
        total = blake2b(digest_size=8)
        for path in in_order(tmp_path):
            total.update(str(path.relative_to(tmp_path)).encode())
            total.update(path.read_bytes() if path.is_file() else b"")
        return total.hexdigest()

    (tmp_path / "long.yaml").write_text("# what is read in several blocks\n" * 5000)
    before = digest_of_log(tmp_path)
    assert before == by_hand()
    (tmp_path / "b" / "a.yaml").write_text(HAUL)
    assert before != digest_of_log(tmp_path) == by_hand()


def test_what_cannot_be_read_is_refused_and_no_fault_of_the_program(tmp_path: Path) -> None:
    put(tmp_path, b=HAUL)
    (tmp_path / "a.yaml").mkdir()
    (tmp_path / "c.yaml").symlink_to("nowhere")
    (batch,) = settled(open_log(tmp_path))
    assert list(batch.numbers) == [2]
    assert [each.reason.removeprefix(str(tmp_path)) for each in batch.refused] == [
        "/a.yaml:1:1: found a file that cannot be read (is a directory)",
        "/c.yaml:1:1: found a file that cannot be read (no such file or directory)",
    ]
    assert digest_of_log(tmp_path) == digest_of_log(tmp_path)


def test_a_field_has_one_unit_in_a_batch_and_may_have_another_in_the_next(tmp_path: Path) -> None:
    bare = HAUL.replace("articles.1.weight: 1500 lb", "articles.1.weight [lb]: 1500")
    put(tmp_path, **{f"a{number:03}": bare for number in range(FILES_OF_A_PART)}, b=HAUL, c=bare)
    first, second = settled(open_log(tmp_path))
    assert [len(batch.numbers) for batch in (first, second)] == [256, 1]
    assert first.cells["articles.1.weight"] == [1500] * 256
    assert second.cells["articles.1.weight"] == ["1500 lb"]
    assert [(each.row, each.reason) for each in second.refused] == [
        (
            258,
            "found 'articles.1.weight [lb]'; wanted 'articles.1.weight', as in the rows before it",
        )
    ]
