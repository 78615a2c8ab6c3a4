"""`--write FORM=FILE`: writes reports into files that are complete or absent."""

import os
from collections.abc import Collection, Iterable, Mapping, Sequence
from importlib.util import find_spec
from pathlib import Path
from pkgutil import iter_modules
from typing import Any, NamedTuple

import typer

from checker.cli.options import end_with, settings
from checker.cli.output import print_bytes, print_own
from checker.documents.folders import is_yaml

STANDARD_OUTPUT = "-"


def forms_in(package: str) -> Sequence[str]:
    """The report forms of a package: the names of its modules, in order.

    No module is imported, so a command that writes no report does not pay for them.
    """
    spec = find_spec(package)
    assert spec is not None
    assert spec.submodule_search_locations is not None
    return sorted(each.name for each in iter_modules(spec.submodule_search_locations))


def write_option(forms: Collection[str], example: str, more: str = "") -> Any:
    """The option `--write` of a command whose reports have these forms."""
    return typer.Option(
        "--write",
        metavar="FORM=FILE",
        help=f"Also write a report: {', '.join(forms)}. May be repeated, or listed with commas: "
        f"{example}. The file - is standard output, in place of the text.{more}",
    )


class Targets(NamedTuple):
    """The forms to write and the file of each."""

    files: Sequence[tuple[str, str]]

    @property
    def names(self) -> Sequence[str]:
        """The files, and the sign for standard output."""
        return [file for _, file in self.files]

    @property
    def on_standard_output(self) -> bool:
        """True if a report replaces the printed one."""
        return any(file == STANDARD_OUTPUT for _, file in self.files)

    def absolute(self) -> "Targets":
        """The targets with absolute paths."""
        return Targets(
            [
                # A / at the end says that a folder is meant.
                (form, file if file == STANDARD_OUTPUT else os.path.join(Path.cwd(), file))  # noqa: PTH118
                for form, file in self.files
            ]
        )

    def has(self, form: str) -> bool:
        """True if a form is asked for."""
        return any(each == form for each, _ in self.files)


def targets(written: Sequence[str] | None, forms: Collection[str]) -> Targets:
    """The forms and files asked for; ends the run if one is not understood."""
    found = []
    for entry in ",".join(written or ()).split(","):
        if not entry:
            continue
        form, sign, file = entry.partition("=")
        if form not in forms:
            from checker.documents.problems import nearest

            guess = nearest(form, forms)
            hint = f"; did you mean '{guess}'?" if guess else ""
            end_with(f"found the form '{form}' to write; wanted one of: {', '.join(forms)}{hint}")
        if not sign or not file:
            end_with(f"found '{entry}'; wanted {form}=FILE")
        found.append((form, file))
    if sum(file == STANDARD_OUTPUT for _, file in found) > 1:
        end_with("found two reports for standard output; wanted one")
    return Targets(found)


def refuse_overwrites(
    written: Sequence[str], read: Iterable[str | Path], *, folders: Collection[str] = ()
) -> None:
    """End the run if a report would replace a file that matters.

    That is a file written twice, a file that the run reads, something other than a file, or a name
    that folders of profiles and rules are searched for. Reports in `folders` may name folders.
    """
    paths: dict[str, str] = {}
    for file in written:
        if file == STANDARD_OUTPUT:
            continue
        path = os.path.realpath(file)
        if not (file in folders and Path(path).is_dir()):
            _ensure_own(path, file, paths)
        paths[path] = file
    if not paths:
        return
    reading = {_itself(file) for file in (*read, settings().file or "")}
    for path, file in paths.items():
        if _itself(path) in reading - {None}:
            end_with(f"found '{file}' to write, which this run reads; wanted another file")
        if is_yaml(path):
            end_with(f"found '{file}' to write; wanted a name that no profile or rule file has")


def _ensure_own(path: str, file: str, paths: Mapping[str, str]) -> None:
    from checker.documents.files import NotWrittenError, ensure_file

    if path in paths:
        end_with(f"found '{paths[path]}' and '{file}' to write; wanted a file for each")
    try:
        ensure_file(Path(file))
    except NotWrittenError as error:
        end_with(str(error))


def _itself(file: str | Path) -> tuple[int, int] | None:
    """A key that is equal for all names of one file; None where there is no file."""
    try:
        found = os.stat(file)  # noqa: PTH116 - of a log there may be ten thousand
    except OSError:
        return None
    return found.st_dev, found.st_ino


def write_report(report: str | bytes, file: str, *, commands: bool = False) -> None:
    """Write a report to its target; ends the run if that fails.

    On standard output the lines of a report of `commands` act as CI commands.
    """
    if file == STANDARD_OUTPUT:
        if isinstance(report, bytes):
            print_bytes(report)
        elif commands:
            print_own(report)
        else:
            typer.echo(report, nl=False)
        return
    from checker.documents.files import NotWrittenError, write_file

    try:
        write_file(report.encode() if isinstance(report, str) else report, Path(file))
    except NotWrittenError as error:
        end_with(str(error))
