"""The folder of data beside the page of an audit, replaced together with the page."""

import re
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from checker.cli.options import end_with, say
from checker.documents.files import (
    NotWrittenError,
    new_file,
    remove_leftovers,
    temporary_name,
    write_error,
)
from checker.reports.shared.html.haul_list_pages import CALL

_OWN: Final = re.compile(r"[0-9]{4,}\.js")


def folder_beside(page: Path) -> Path:
    """The folder that the data of a page are in: `season-hauls` beside `season.html`."""
    return page.with_name(f"{page.stem}-hauls")


def ensure_own_folder(page: Path) -> None:
    """Raise NotWrittenError if there is something else where the data of a page would be."""
    folder = folder_beside(page)
    try:
        if folder.is_dir() and not folder.is_symlink():
            others = [each.name for each in folder.iterdir() if not _is_own(each)]
            if not others:
                return
            found = f"'{folder}' with other files in it ('{min(others)}')"
        elif folder.exists() or folder.is_symlink():
            found = f"'{folder}'"
        else:
            return
    except OSError as error:
        raise write_error(folder, error) from error
    wanted = f"that name free for the data beside '{page}', or another name of the page"
    message = f"found {found}; wanted {wanted}"
    raise NotWrittenError(message)


def _is_own(file: Path) -> bool:
    if not _OWN.fullmatch(file.name) or file.is_symlink() or not file.is_file():
        return False
    with file.open("rb") as read:
        return read.read(len(CALL)) == CALL.encode()


def write_page(text: str, files: Mapping[str, str], page: Path) -> None:
    """Write a page and its data, in place of those of an earlier page; ends the run on failure.

    Both are complete before the first of them takes its place.
    """
    folder = folder_beside(page)
    beside, earlier = (temporary_name(folder, suffix) for suffix in (".new", ".old"))
    try:
        ensure_own_folder(page)
        with new_file(page) as file:
            file.write(text.encode())
            remove_leftovers(folder.parent, folder.name)
            try:
                if files:
                    beside.mkdir()
                for name, content in files.items():
                    (beside / name).write_text(content, encoding="ascii", newline="\n")
                _replace(folder, beside, earlier)
            finally:
                shutil.rmtree(beside, ignore_errors=True)
    except NotWrittenError as error:
        end_with(str(error))
    shutil.rmtree(earlier, ignore_errors=True)
    if files:
        first, last = min(files), max(files)
        through = "" if first == last else f" to {folder / last}"
        say(f"the list of hauls on hold or open is beside '{page}': {folder / first}{through}")


def _replace(folder: Path, new: Path, earlier: Path) -> None:
    """Move a folder away and the new one, if there is one, to its place; or leave all as it was."""
    was_there = folder.exists()
    if was_there:
        folder.rename(earlier)
    if new.exists():
        try:
            new.rename(folder)
        except OSError:
            if was_there:
                earlier.rename(folder)
            raise
