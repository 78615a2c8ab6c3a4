"""A new project: settings, a folder of amendments, the bundled profiles, a workflow."""

import os
import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from checker.documents.document import Data
from checker.documents.files import NotWrittenError, temporary_name, write_error
from checker.documents.resources import shipped_folder
from checker.documents.settings import FILE
from checker.upkeep.drafting.draft import Draft
from checker.upkeep.drafting.text import draft_text

PROJECT: Final = "project"
"""The word for it beside the kinds of files that can be drafted."""

SAMPLE: Final = "profiles/loads/mower-in-order.yaml"
_IN_ORDER: Final = "-in-order"
"""Ends the names of bundled loads that break no rule; the others show what is wrong."""
_PARTS: Final = ("carriers", "gear", "machines", "tiedowns", "tow-vehicles", "trailers")
_WORKFLOW: Final = ".github/workflows/cinchbook.yml"
_SETTINGS: Final[dict[str, Data]] = {
    "kind": "settings",
    "rules": ["shipped"],
    "amendments": ["amendments"],
    "profiles": "profiles",
    "ignore": [".github"],
}


def write_project(target: Path, drafts: Mapping[str, Draft]) -> int:
    """Write a new project into a folder that is empty or does not exist; returns how many files.

    The folder is complete or absent. Raises NotWrittenError.
    """
    _ensure_new(target)
    folder = target.resolve()
    # An empty folder stays: it may be where the shell stands, or a disk of its own.
    is_there = folder.is_dir()
    whole = temporary_name(folder / PROJECT if is_there else folder)
    moved: list[Path] = []
    try:
        number = 0
        for name, content in _files(drafts):
            file = whole / name
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(content)
            number += 1
        if is_there:
            moved.extend(part.rename(folder / part.name) for part in sorted(whole.iterdir()))
        else:
            whole.rename(folder)
    except OSError as error:
        for part in moved:
            part.unlink() if part.is_file() else shutil.rmtree(part, ignore_errors=True)
        raise write_error(target, error) from error
    finally:
        shutil.rmtree(whole, ignore_errors=True)
    return number


def _ensure_new(target: Path) -> None:
    try:
        if not target.parent.is_dir():
            message = f"found no folder '{target.parent}'; wanted one to make the project in"
        elif os.path.lexists(target) and not target.is_dir():
            message = f"found '{target}', which is no folder; wanted a new folder"
        elif target.is_dir() and any(target.iterdir()):
            message = f"found '{target}' with files in it; wanted a new folder, or an empty one"
        else:
            return
    except OSError as error:
        raise write_error(target, error) from error
    raise NotWrittenError(message)


def _files(drafts: Mapping[str, Draft]) -> Iterator[tuple[str, bytes]]:
    """Each file of the project with its content."""
    yield FILE, draft_text(drafts["settings"], _SETTINGS).encode()
    sources = drafts["sources"]
    yield "amendments/sources.yaml", draft_text(sources, sources.stated).encode()
    yield _WORKFLOW, Path(__file__).with_name("workflow.yml").read_bytes()
    profiles = shipped_folder("profiles")
    for file in sorted(profiles.rglob("*.yaml")):
        inside = file.relative_to(profiles)
        is_sample = inside.parts[0] == "loads" and file.stem.endswith(_IN_ORDER)
        if is_sample or inside.parts[0] in _PARTS:
            yield f"profiles/{inside.as_posix()}", file.read_bytes()
