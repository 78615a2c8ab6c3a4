"""What a profile notes for readers stands at the head of every report that people read."""

import io
import re
from datetime import date
from importlib import import_module

import pytest
from rich.console import Console

from checker.cli.writing import forms_in
from checker.documents.resources import shipped_folder
from checker.evaluation.tolerances import check_profile
from checker.load.build import Profile, read_profile
from checker.reports.check_forms import html, markdown
from checker.reports.pages.check.page import print_check
from checker.reports.shared.check_results import CheckedLoad
from checker.rulebooks.model import Rulebooks
from checker.units.formatting import US

from .conftest import Runs

NOTE = "Call the yard\nfrom the <gate>"
OF_TRAILER = "The left ramp sticks"


@pytest.fixture
def profile() -> Profile:
    """A load with a note of its own and one in the file of its trailer."""
    file = sorted(shipped_folder("profiles").glob("loads/*.yaml"))[0]
    return read_profile(file).replaced({("note",): NOTE, ("trailer", "note"): OF_TRAILER})


@pytest.fixture
def checked(profile: Profile, rulebooks: Rulebooks) -> CheckedLoad:
    return CheckedLoad(check_profile(profile, rulebooks, date(2026, 5, 18)), {}, US)


def test_each_note_says_whose_it_is_and_stands_once(profile: Profile) -> None:
    title = profile.stated.trailer.title
    assert profile.stated.notes == (NOTE, f"{title}: {OF_TRAILER}")
    first = profile.replaced({("articles", 0, "note"): "Low oil", ("articles", 0, "title"): "M"})
    assert first.stated.notes[2:] == ("M: Low oil",)


def test_the_text_report_has_it_above_the_outcome(checked: CheckedLoad) -> None:
    written = io.StringIO()
    print_check(checked.check, Console(file=written, width=300), US, {}, 0.05)
    lines = [line.rstrip() for line in written.getvalue().splitlines()]
    assert lines[2] == "Note: Call the yard from the <gate>"
    assert lines[3].endswith(f": {OF_TRAILER}")


def test_the_page_has_it_above_the_outcome(checked: CheckedLoad, runs: Runs) -> None:
    page = html.report(runs(loads=[checked]))
    assert page.count("Note: Call the yard from the &lt;gate&gt;") == 1
    assert page.index("Note: Call") < page.index('<p class="outcome')


def test_the_summary_has_it_even_where_no_rule_is_broken(checked: CheckedLoad, runs: Runs) -> None:
    text = markdown.report(runs(loads=[checked]))
    assert "\n\nNote: Call the yard from the &lt;gate&gt;\n\n" in text


@pytest.mark.parametrize("form", forms_in("checker.reports.check_forms"))
def test_every_form_has_the_notes(form: str, checked: CheckedLoad, runs: Runs) -> None:
    report = import_module(f"checker.reports.check_forms.{form}").report
    # Without the marks of Markdown, CSV and JSON.
    said = re.sub(r'\\n|[\\"]', " ", report(runs(loads=[checked])))
    note = re.search(r"Call the yard\s+from the (<|&lt;)gate(>|&gt;)", said)
    assert note, f"{form} leaves out the notes of the load (`note_lines`)"
    assert OF_TRAILER in said
