"""What tells trailers, tow vehicles and machines of a season apart; keys were derived by hand."""

from collections.abc import Mapping
from pathlib import Path

import pytest

from checker.documents.resources import shipped_folder
from checker.load.build import read_profile
from checker.season.hauls.chunk import Labels
from checker.season.hauls.same_shape import summary_of

FILES = {
    "trailers/utility-10": "kind: trailer\ntitle: Utility trailer, 10 ft\n",
    "trailers/utility-10-b": "kind: trailer\nfrom: trailers/utility-10\n",
    "trailers/plated": "kind: trailer\ntitle: Plated\nid: T-104\n",
    "trailers/as-plated": "kind: trailer\nfrom: trailers/plated\n",
    "tow-vehicles/half-ton": "kind: tow-vehicle\ntitle: Half-ton\n",
    "machines/mower": "kind: machine\ntitle: Mower\n",
}


@pytest.fixture(autouse=True)
def _project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def labels(
    folder: Path, load: str, words: Mapping[tuple[str | int, ...], str] = {}, name: str = "hay"
) -> Labels:
    """The labels of hauls of a load, as its file says."""
    for file, text in {**FILES, f"loads/{name}": f"kind: load\n{load}"}.items():
        path = folder / "profiles" / f"{file}.yaml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    profile = read_profile(folder / "profiles" / "loads" / f"{name}.yaml")
    return summary_of("as the log writes it", profile, {}).labels(words)


@pytest.mark.parametrize(
    ("trailer", "key", "title"),
    [
        ("trailers/utility-10", "trailers/utility-10", "Utility trailer, 10 ft"),
        # Two files of one title are two trailers, and an `id` is not taken over with the figures.
        ("trailers/utility-10-b", "trailers/utility-10-b", "Utility trailer, 10 ft"),
        ("trailers/plated", "T-104", "Plated"),
        ("trailers/as-plated", "trailers/as-plated", "Plated"),
        # What a load writes beside `from` is another title or figure of the same trailer.
        ("{from: trailers/plated, title: Long one}", "T-104", "Plated"),
        ("{from: trailers/utility-10, title: Long one}", "trailers/utility-10", None),
        ("{from: trailers/utility-10, id: T-9, title: The ninth}", "T-9", "The ninth"),
        # What stands in the load itself is a trailer of that load alone.
        ("{title: Borrowed}", "loads/hay#trailer", "Borrowed"),
        ("{id: T-9}", "T-9", ""),
    ],
)
def test_a_trailer_is_told_apart_by_its_id_then_its_file_then_its_load(
    tmp_path: Path, trailer: str, key: str, title: str | None
) -> None:
    found = labels(tmp_path, f"trailer: {trailer}\n")
    assert found.trailer == key
    expected = "Utility trailer, 10 ft" if title is None else title
    assert found.titles["trailer"] == ({key: expected} if expected else {})


def test_the_files_of_an_id_are_known(tmp_path: Path) -> None:
    assert labels(tmp_path, "trailer: trailers/plated\n").files["trailer"] == {
        "T-104": "trailers/plated"
    }
    stated = {("trailer", "id"): "T-7"}
    own = labels(tmp_path, "trailer: trailers/utility-10\n", stated)
    assert own.files["trailer"] == {"T-7": "trailers/utility-10"}
    for load in ("trailers/utility-10", "{id: T-9}"):
        assert labels(tmp_path, f"trailer: {load}\n").files["trailer"] == {}


def test_two_loads_with_the_same_words_have_two_trailers(tmp_path: Path) -> None:
    found = [labels(tmp_path, "trailer: {title: Flat}\n", name=name) for name in ("hay", "logs")]
    assert [each.trailer for each in found] == ["loads/hay#trailer", "loads/logs#trailer"]


def test_a_load_without_a_trailer_has_none(tmp_path: Path) -> None:
    found = labels(tmp_path, "articles: [{title: Crate}]\n")
    assert (found.trailer, found.tow_vehicle) == ("", "")
    assert (found.titles["trailer"], found.titles["tow vehicle"]) == ({}, {})


def test_an_article_without_a_title_is_called_by_its_name_or_its_place(tmp_path: Path) -> None:
    found = labels(tmp_path, "articles: [machines/mower, {name: barrow}, {weight: 9 lb}]\n")
    assert found.machines == ("machines/mower", "loads/hay#articles.2", "loads/hay#articles.3")
    assert list(found.titles["machine"].values()) == ["Mower", "barrow", "article 3"]


def test_two_machines_of_one_file_are_one_unless_they_state_an_id(tmp_path: Path) -> None:
    two = "articles: [{from: machines/mower, name: a%s}, {from: machines/mower, name: b%s}]\n"
    assert labels(tmp_path, two % ("", "")).machines == ("machines/mower",)
    assert labels(tmp_path, two % (", id: M1", ", id: M2")).machines == ("M1", "M2")


@pytest.mark.parametrize(
    ("load", "words", "key", "title"),
    [
        ("trailers/utility-10", {"id": "T-7"}, "T-7", "Utility trailer, 10 ft"),
        ("trailers/utility-10", {"id": "T-7", "title": "Red"}, "T-7", "Red"),
        ("trailers/plated", {"id": "T-7"}, "T-7", "Plated"),
        # A row that calls the trailer by its own title says nothing new; another title is another.
        ("trailers/utility-10", {"title": "Utility trailer, 10 ft"}, "trailers/utility-10", None),
        ("trailers/utility-10", {"title": "Red"}, "trailers/utility-10#Red", "Red"),
        # But for one with an `id`, which tells more than a title.
        ("trailers/plated", {"title": "Red"}, "T-104", "Plated"),
    ],
)
def test_a_row_of_the_log_may_name_another_trailer(
    tmp_path: Path, load: str, words: Mapping[str, str], key: str, title: str | None
) -> None:
    stated = {("trailer", word): text for word, text in words.items()}
    found = labels(tmp_path, f"trailer: {load}\n", stated)
    assert found.titles["trailer"] == {found.trailer: title or "Utility trailer, 10 ft"}
    assert found.trailer == key


def test_files_outside_a_profile_folder_are_told_apart_by_their_folders(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    keys = []
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "flat.yaml").write_text("kind: trailer\n")
        load = tmp_path / folder / "hay.yaml"
        load.write_text("kind: load\ntrailer: flat\n")
        found = summary_of("hay", read_profile(load), {}).labels({})
        keys.append((found.load, found.trailer))
    assert keys == [("a/hay", "a/flat"), ("b/hay", "b/flat")]


def test_profiles_beside_those_of_the_project_are_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "project"
    labels(own, "trailer: trailers/utility-10\n")
    labels(tmp_path / "project" / "archive", "trailer: trailers/utility-10\n")
    monkeypatch.chdir(own)
    bundled = shipped_folder("profiles") / "loads" / "mower-in-order.yaml"
    files = ("profiles/loads/hay.yaml", "archive/profiles/loads/hay.yaml", bundled)
    found = [summary_of("hay", read_profile(Path(file)), {}).labels({}) for file in files]
    assert [(each.load, each.trailer) for each in found] == [
        ("loads/hay", "trailers/utility-10"),
        ("archive/profiles/loads/hay", "archive/profiles/trailers/utility-10"),
        ("shipped:loads/mower-in-order", "shipped:trailers/utility-single-10"),
    ]
    # In a folder without profiles the bundled ones are those of the project.
    monkeypatch.chdir(tmp_path)
    found = [summary_of("mower", read_profile(bundled), {}).labels({})]
    assert found[0].trailer == "trailers/utility-single-10"
