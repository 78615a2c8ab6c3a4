"""The documentation's lists are what the program says, and its commands do what they promise."""

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from checker.cli.app import application
from tests.docs import generate

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("name", generate.PAGES)
def test_generated_lists_are_fresh(name: str) -> None:
    text = (ROOT / name).read_text()
    assert text == generate.rewritten(text), "run: python tests/docs/generate.py"


def test_every_list_stands_somewhere() -> None:
    text = "".join((ROOT / name).read_text() for name in generate.PAGES)
    assert set(re.findall(r"<!-- generated: (\w+) -->", text)) == set(generate.BLOCKS)


def test_readme_opens_with_the_job_in_one_paragraph() -> None:
    title, _, rest = (ROOT / "README.md").read_text().partition("\n\n")
    assert title == "# cinchbook"
    assert "trailer" in rest.partition("\n\n")[0]


@pytest.mark.parametrize("name", generate.PAGES)
def test_files_that_pages_point_to_exist(name: str) -> None:
    page = ROOT / name
    for target in re.findall(r"\]\(([^)#]+)\)", page.read_text()):
        if "://" not in target:
            assert (page.parent / target).exists(), f"{name} points to {target}"


SHOWN = re.compile(
    r"```sh\ncinchbook ((?:check|place) profiles/loads/\S+)\n```\n"
    r"(?:(?!```)[^\n]*\n)*```text\n(.*?)```",
    re.DOTALL,
)


@pytest.mark.parametrize(("command", "excerpt"), SHOWN.findall((ROOT / "README.md").read_text()))
def test_what_readme_shows_is_what_is_printed(
    command: str, excerpt: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    done = CliRunner().invoke(application(), shlex.split(command), env={"COLUMNS": "100"})
    printed = done.stdout.splitlines()
    missing = [line for line in excerpt.splitlines() if line not in ("...", *printed)]
    assert missing == []


def test_readme_shows_a_check_and_a_place() -> None:
    assert len(SHOWN.findall((ROOT / "README.md").read_text())) == 2


def test_readme_is_short_and_the_drawing_has_every_room() -> None:
    assert len((ROOT / "README.md").read_text().splitlines()) <= 300
    drawing = (ROOT / "DEVELOPERS.md").read_text().split("```text\n")[1].split("```")[0]
    assert len(drawing.splitlines()) <= 12
    rooms = [each.parent.name for each in (ROOT / "checker").glob("*/__init__.py")]
    assert [room for room in rooms if not re.search(rf"(^|\|  ){room} ", drawing, re.M)] == []
