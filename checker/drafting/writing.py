"""Put a new file in its place whole or not at all."""

import contextlib
import os
import shutil
from pathlib import Path

from checker.documents.files import NotWrittenError, unwritable
from checker.documents.problems import ProblemsFoundError
from checker.documents.reader import read_file
from checker.documents.validate import validate


def check_place(target: Path, *, replacing: bool) -> None:
    """Raise NotWrittenError where a new file cannot go, before anybody is asked anything."""
    try:
        if target.is_dir():
            message = f"found a folder, '{target}'; wanted a file name"
        elif target.suffix != ".yaml":
            message = (
                f"found the file name '{target}'; wanted one that ends in .yaml, as references "
                f"and rule folders need; did you mean '{target.with_suffix('.yaml')}'?"
            )
        elif not target.parent.is_dir():
            message = f"found no folder '{target.parent}'; wanted one to write the file in"
        elif target.exists() and not replacing:
            message = f"found '{target}' there already; wanted a new file name, or --force"
        else:
            return
    except OSError as error:
        raise unwritable(target, error) from error
    raise NotWrittenError(message)


def put_in_place(text: str, kind: str, target: Path, *, replacing: bool) -> None:
    """Write a file beside its place, read it back, hold it against the schema, and move it there.

    Until the move an older file stays as it is, and whatever stops the run leaves no half file.
    Raises NotWrittenError, or ProblemsFoundError where what was read back is not valid.
    """
    check_place(target, replacing=replacing)
    place = target.resolve()
    # Not *.yaml: whoever reads the folder meanwhile does not take it for one of its files.
    beside = place.with_name(f".{place.name}.{os.getpid()}")
    try:
        with beside.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        document = read_file(beside, str(target))
        problems = document.problems + validate(document, wanted_kind=kind)
        if problems:
            raise ProblemsFoundError(problems)
        if place.exists():
            shutil.copymode(place, beside)
        beside.replace(place)
    except OSError as error:
        raise unwritable(target, error) from error
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()
