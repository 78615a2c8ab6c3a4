"""`--write FORM=FILE`: reports of a run put into files, whole or not at all."""

from collections.abc import Mapping, Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from checker.cli.options import end_with

if TYPE_CHECKING:
    from checker.reports.gathered import Gathered

FORMS: Mapping[str, str] = {
    "annotations": "annotations",
    "codequality": "code_quality",
    "csv": "csv_report",
    "html": "html",
    "json": "json_report",
    "junit": "junit",
    "markdown": "markdown",
    "sarif": "sarif",
}
"""The module of `checker.reports` that makes each form, imported when it is asked for."""

_STANDARD_OUTPUT = "-"

WriteOption = Annotated[
    list[str] | None,
    typer.Option(
        "--write",
        metavar="FORM=FILE",
        help=f"Also write a report: {', '.join(FORMS)}. May be repeated, or listed with commas: "
        "junit=a.xml,sarif=b.sarif. The file - is standard output, in place of the text. With "
        "several loads, or a / at its end, html= names a folder.",
    ),
]


class Targets(NamedTuple):
    """Which forms go into which files."""

    files: Sequence[tuple[str, str]]

    @property
    def on_standard_output(self) -> bool:
        """Whether one of them takes the place of the printed report."""
        return any(file == _STANDARD_OUTPUT for _, file in self.files)


def targets(written: Sequence[str] | None) -> Targets:
    """The forms and files asked for; ends the run where one is not understood."""
    found = []
    for entry in ",".join(written or ()).split(","):
        if not entry:
            continue
        form, sign, file = entry.partition("=")
        if form not in FORMS:
            from checker.documents.problems import nearest

            guess = nearest(form, FORMS)
            hint = f"; did you mean '{guess}'?" if guess else ""
            end_with(f"found the form '{form}' to write; wanted one of: {', '.join(FORMS)}{hint}")
        if not sign or not file:
            end_with(f"found '{entry}'; wanted {form}=FILE")
        found.append((form, file))
    if sum(file == _STANDARD_OUTPUT for _, file in found) > 1:
        end_with("found two reports for standard output; wanted one")
    return Targets(found)


def write(run: "Gathered", asked: Targets) -> None:
    """Make every report and put it where it was asked for."""
    for form, file in asked.files:
        if form == "html":
            _write_pages(run, file)
        else:
            _put(import_module(f"checker.reports.{FORMS[form]}").report(run), file)


def _write_pages(run: "Gathered", file: str) -> None:
    """One page for one load; for several a folder with a page each and one that leads to them."""
    from checker.reports.html import index, page_names, report

    one = len(run.checked) == 1 and not run.unreadable
    if one and not file.endswith("/") and not Path(file).is_dir():
        _put(report(run.checked[0], run), file)
        return
    if file == _STANDARD_OUTPUT:
        end_with("found html=- for several loads; wanted a folder to put their pages in")
    names = page_names(run)
    for name, each in zip(names, run.checked, strict=True):
        _put(report(each, run), str(Path(file) / name))
    _put(index(run, names), str(Path(file) / "index.html"))


def _put(text: str, file: str) -> None:
    if file == _STANDARD_OUTPUT:
        typer.echo(text, nl=False)
        return
    from checker.documents.files import NotWrittenError, put_text

    try:
        put_text(text, Path(file))
    except NotWrittenError as error:
        end_with(str(error))
