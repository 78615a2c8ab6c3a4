"""The reports that `cinchbook check` writes into files."""

from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from checker.cli.options import end_with
from checker.cli.writing import STANDARD_OUTPUT, Targets, forms_in, write_option, write_report

if TYPE_CHECKING:
    from checker.reports.shared.check_results import CheckRun

FORMS: Final = forms_in("checker.reports.check_forms")

_MOST_OF_PAGE: Final = 1 << 24
"""Bytes of a file up to which it may be a page of a load."""

WriteOption = Annotated[
    list[str] | None,
    write_option(
        FORMS,
        "junit=a.xml,sarif=b.sarif",
        " With several loads, or a / at its end, html= names a folder.",
    ),
]


def write(run: "CheckRun", asked: Targets) -> None:
    """Make every report and write it to its target."""
    for form, file in asked.files:
        module = import_module(f"checker.reports.check_forms.{form}")
        if form == "html" and _is_folder(run, file):
            for name, text in module.folder(run, _earlier_pages(Path(file))):
                write_report(text, str(Path(file) / name))
        else:
            write_report(module.report(run), file, commands=form == "annotations")


def _is_folder(run: "CheckRun", file: str) -> bool:
    """True if the HTML report is a folder: a page for each load and an index page."""
    one = len(run.checked) == 1 and not run.unreadable
    if file == STANDARD_OUTPUT and not one:
        end_with("found html=- for several loads; wanted a folder to put their pages in")
    return not one or file.endswith("/") or Path(file).is_dir()


def _earlier_pages(folder: Path) -> Iterator[tuple[str, str]]:
    """Name and text of the HTML files of a folder, in order; none of what cannot be read."""
    from checker.documents.files import read_content

    for file in sorted(folder.glob("*.html")):
        try:
            text = read_content(file, _MOST_OF_PAGE).decode()
        except (OSError, UnicodeDecodeError):
            continue
        if len(text) < _MOST_OF_PAGE and not file.is_symlink():
            yield file.name, text
