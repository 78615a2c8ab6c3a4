"""Writes a new file so that it is complete or absent."""

from pathlib import Path

from checker.documents.files import NotWrittenError, ensure_file, new_file, write_error
from checker.documents.problems import ProblemsFoundError, nearest
from checker.documents.reader import read_file
from checker.documents.schemas import families
from checker.documents.validate import validate


def ensure_writable(target: Path, kind: str, *, replacing: bool) -> None:
    """Raise NotWrittenError where a new file cannot be written, before any question is asked.

    A file that is replaced must be of the same kind; another kind was not meant.
    """
    ensure_file(target)
    try:
        if target.suffix != ".yaml":
            message = (
                f"found the file name '{target}'; wanted one that ends in .yaml, as references "
                f"and rule folders need; did you mean '{target.with_suffix('.yaml')}'?"
            )
        elif not target.parent.is_dir():
            message = (
                f"found no folder '{target.parent}'; wanted one to write the file in: make it "
                f"first{_folder_meant(target.parent)}"
            )
        elif target.exists() and not replacing:
            message = f"found '{target}' there already; wanted a new file name, or --force"
        elif target.exists() and (other := _other_kind(target, kind)):
            message = f"found '{target}', a file of kind '{other}'; wanted one of kind '{kind}'"
        else:
            return
    except OSError as error:
        raise write_error(target, error) from error
    raise NotWrittenError(message)


def _folder_meant(missing: Path) -> str:
    """The folder probably meant, among those beside a missing one."""
    beside = missing.parent
    known = [each.name for each in beside.iterdir() if each.is_dir()] if beside.is_dir() else []
    guess = nearest(missing.name, known)
    return f"; did you mean '{beside / guess}'?" if guess else ""


def _other_kind(target: Path, kind: str) -> str | None:
    """The kind of an existing file, if it is a known kind and not the one meant."""
    data = read_file(target).data
    found = data.get("kind") if isinstance(data, dict) else None
    return found if isinstance(found, str) and found in families() and found != kind else None


def write_checked(text: str, kind: str, target: Path, *, replacing: bool) -> None:
    """Write a file, read it back, validate it, and move it to its path.

    Until the move an older file stays as it is, so a run that stops leaves no half-written file.
    Raises NotWrittenError, or ProblemsFoundError where the text read back is not valid.
    """
    ensure_writable(target, kind, replacing=replacing)
    # Its name does not end in .yaml until it is complete, so that a program reading the folder
    # does not read it.
    with new_file(target) as file:
        file.write(text.encode())
        file.flush()
        document = read_file(Path(file.name), str(target))
        problems = document.problems + validate(document, wanted_kind=kind)
        if problems:
            raise ProblemsFoundError(problems)
