"""`cinchbook arrange --over`: the chart in every form, its exit codes, and files with problems."""

import json
import re
import shutil
from pathlib import Path

import jsonschema_rs
import pytest

from checker.cli import arrange_fleet
from checker.documents.resources import shipped_folder
from tests.calling import call
from tests.written_documents import closed_schema

BASE = "yard.yaml"
READY = (
    "parking_brake_set in_park chocked accessories_lowered accessories_secured coupler_pins_in "
    "loose_parts_secured engine_stopped fuel_shut tracks_clean"
)


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A folder with the bundled profiles, two machines of a yard, and one that cannot be read."""
    shutil.copytree(shipped_folder("profiles"), tmp_path / "profiles")
    text = (tmp_path / "profiles" / "loads" / "side-by-side-in-order.yaml").read_text()
    start, end = text.index("articles:"), text.index("tiedowns:")
    answers = "".join(f"    {key}: yes\n" for key in READY.split())
    article = f"articles:\n  - title: Any machine\n{answers}    special_methods: no\n"
    rest = re.sub(r"anchor: .*?, attachment: .*?, ", "", text[end:])
    yard = f"{text[:start]}{article}    securement_route: heavy machine\n{rest}"
    (tmp_path / "profiles" / "yard.yaml").write_text(yard)
    (tmp_path / "cinchbook.yaml").write_text("kind: settings\nprofiles: profiles\n")
    (tmp_path / "yard").mkdir()
    for name in ("side-by-side", "mini-excavator"):
        shutil.copy(tmp_path / "profiles" / "machines" / f"{name}.yaml", tmp_path / "yard")
    return tmp_path


def chart(folder: Path, *more: str) -> tuple[int, str]:
    trailer = "profiles/trailers/utility-single-10.yaml"
    done = call(folder, "arrange", BASE, "--trailer", trailer, *more)
    return done.returncode, done.stdout


def test_a_machine_that_fits_and_one_that_does_not(yard: Path) -> None:
    code, text = chart(yard, "--over", "yard")
    assert code == 0
    assert re.search(r"^Side-by-side, two seats +FITS\b", text, re.MULTILINE)
    assert re.search(r"^Mini excavator +NO\b", text, re.MULTILINE)
    assert "It is longer than the deck." in text
    assert "2 pairs: 1 fit, 1 do not fit." in text


def test_none_fits(yard: Path) -> None:
    code, _ = chart(yard, "--over", "yard/mini-excavator.yaml")
    assert code == 1


def test_what_is_not_stated_is_no_pass(yard: Path) -> None:
    code, text = chart(yard, "--over", "profiles/machines/zero-turn-mower.yaml")
    assert code == 3
    assert "Not stated: mower deck rests." in text


def test_a_file_with_problems_has_its_row_and_the_others_are_tried(yard: Path) -> None:
    (yard / "yard" / "roller.yaml").write_text("kind: machine\ntitle: Roller\nweight: 2 ton\n")
    code, text = chart(yard, "--over", "yard")
    assert code == 2
    assert re.search(r"^roller +NOT READ", text, re.MULTILINE)
    assert "yard/roller.yaml:3:9: found '2 ton'" in text
    assert re.search(r"^Side-by-side, two seats +FITS\b", text, re.MULTILINE)


def test_all_cores_say_the_same_as_one(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    alone = chart(yard, "--over", "yard", "--as", "json")
    monkeypatch.setattr(arrange_fleet, "_FEWEST_PAIRS", 1)
    monkeypatch.setattr("checker.season.running.executors.cores", lambda: 2)
    assert chart(yard, "--over", "yard", "--as", "json") == alone


def test_the_document_and_the_page_have_every_pair(yard: Path) -> None:
    code, _ = chart(yard, "--over", "yard", "--write", "html=chart.html,json=chart.json")
    assert code == 0
    document = json.loads((yard / "chart.json").read_text())
    jsonschema_rs.validate(closed_schema("wall-chart"), document)
    fits = {
        document["machines"][each["machine"]]["title"]: each["fit"] for each in document["pairs"]
    }
    assert fits == {"Side-by-side, two seats": "fits", "Mini excavator": "does not fit"}
    page = (yard / "chart.html").read_text()
    marks = re.findall(r'<span class="mark">([A-Z* ]+)</span>', page)
    assert sorted(marks) == ["FITS", "NO"]
    assert "@page" in page
    assert "://" not in page


def test_a_sheet_for_each_tow_vehicle(yard: Path) -> None:
    """Behind the half-ton as in the base load; a file with problems has a sheet, not read."""
    vehicles = yard / "trucks"
    vehicles.mkdir()
    for name in ("half-ton", "three-quarter-ton"):
        shutil.copy(yard / "profiles" / "tow-vehicles" / f"{name}.yaml", vehicles)
    (vehicles / "van.yaml").write_text("kind: tow-vehicle\ntitle: Van\ngvwr: 2 ton\n")
    code, text = chart(
        yard, "--over", "yard", "--tow-vehicle", "trucks", "--write", "html=c.html,json=c.json"
    )
    assert code == 2
    assert [line for line in text.split("\n") if line.startswith("Tow vehicle:")] == []
    assert re.search(r"BEHIND HALF-TON", text, re.IGNORECASE)
    assert "trucks/van.yaml:3:7: found '2 ton'" in text
    document = json.loads((yard / "c.json").read_text())
    jsonschema_rs.validate(closed_schema("wall-chart"), document)
    titles = [each["title"] for each in document["tow_vehicles"]]
    fits: dict[str, list[str | None]] = {title: [] for title in titles}
    for each in document["pairs"]:
        fits[titles[each["tow_vehicle"]]].append(each["fit"])
    alone = json.loads(chart(yard, "--over", "yard", "--as", "json")[1])
    assert fits[titles[0]] == [each["fit"] for each in alone["pairs"]]
    assert fits["van"] == [None, None]
    page = (yard / "c.html").read_text()
    assert page.count('<section class="sheet"') == 3
    assert page.count("<table") == 3


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((BASE, "--over", "yard"), "found --over without --trailer"),
        ((BASE, "--tow-vehicle", "profiles"), "found --tow-vehicle without --trailer"),
        ((BASE, "--trailer", "yard"), "found --trailer without --over"),
        (
            (BASE, "--over", "yard", "--trailer", "yard", "--order", "margin"),
            "found --order beside --over",
        ),
        ((BASE, "--over", "yard", "--trailer", "nowhere"), "found no file of kind trailer"),
        (("--over", "yard", "--trailer", "profiles/trailers"), "found no gear to tie down with"),
        ((), "found no LOAD"),
    ],
)
def test_a_call_that_cannot_be_met(words: tuple[str, ...], message: str, yard: Path) -> None:
    done = call(yard, "arrange", *words)
    assert done.returncode == 2
    assert message in done.stderr
