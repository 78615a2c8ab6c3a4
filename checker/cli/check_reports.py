"""The reports that `cinchbook check` writes into files."""

from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from checker.cli.options import end_with
from checker.cli.writing import STANDARD_OUTPUT, Targets, forms_in, put, write_option

if TYPE_CHECKING:
    from checker.reports.shared.gathered import Gathered

FORMS: Final = forms_in("checker.reports.check_forms")

WriteOption = Annotated[
    list[str] | None,
    write_option(
        FORMS,
        "junit=a.xml,sarif=b.sarif",
        " With several loads, or a / at its end, html= names a folder.",
    ),
]


def write(run: "Gathered", asked: Targets) -> None:
    """Make every report and put it where it was asked for."""
    for form, file in asked.files:
        if form == "html":
            _write_pages(run, file)
        else:
            report = import_module(f"checker.reports.check_forms.{form}").report(run)
            put(report, file, commands=form == "annotations")


def _write_pages(run: "Gathered", file: str) -> None:
    """One page for one load; for several a folder with a page each and one that leads to them."""
    from checker.reports.check_forms.html import index, page_names, report

    one = len(run.checked) == 1 and not run.unreadable
    if one and not file.endswith("/") and not Path(file).is_dir():
        put(report(run.checked[0], run), file)
        return
    if file == STANDARD_OUTPUT:
        end_with("found html=- for several loads; wanted a folder to put their pages in")
    names = page_names(run)
    for name, each in zip(names, run.checked, strict=True):
        put(report(each, run), str(Path(file) / name))
    put(index(run, names), str(Path(file) / "index.html"))
