"""Writes an invented log to a new file or folder; nothing is left if that fails."""

import os
import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from checker.documents.files import (
    NotWrittenError,
    new_file,
    remove_leftovers,
    temporary_name,
    write_error,
)
from checker.invented.forms import FORMS, write_folder
from checker.logs.model import Batch

MOST_IN_A_SHEET: Final = 1_048_575
"""Rows that a sheet can have below its header."""


def check_target(target: Path, hauls: int) -> None:
    """Raise NotWrittenError if the log cannot be written to `target`, before any haul is drawn.

    An existing file is never replaced, as it might be the log of a real season.
    """
    suffix = target.suffix.lower()
    try:
        if suffix and suffix not in FORMS:
            message = (
                f"found the name '{target}'; wanted one that ends in "
                f"{', '.join(FORMS)}, or one without an ending for a folder of hauls"
            )
        elif os.path.lexists(target):
            message = f"found '{target}' there already; wanted a new name"
        elif not target.parent.is_dir():
            message = f"found no folder '{target.parent}'; wanted one to write the log in"
        elif suffix == ".xlsx" and hauls > MOST_IN_A_SHEET:
            message = f"found {hauls:,} hauls for a sheet; wanted at most {MOST_IN_A_SHEET:,}"
        else:
            return
    except OSError as error:
        raise write_error(target, error) from error
    raise NotWrittenError(message)


def write_log(target: Path, batches: Iterable[Batch]) -> None:
    """Write the batches to a new file, or to a new folder if the name has no suffix.

    Raises NotWrittenError, or ProblemsFoundError where a library is missing.
    """
    if target.suffix:
        with new_file(target) as file:
            FORMS[target.suffix.lower()](file, target, batches)
        return
    beside = temporary_name(target)
    remove_leftovers(target.parent, target.name)
    try:
        write_folder(beside, batches)
        beside.rename(target)
    except OSError as error:
        raise write_error(target, error) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
