"""The files of a commit in a temporary folder, in which a part of a run works."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from checker.cli.options import end_with, settings_up_to


@contextmanager
def working_in(top: Path, tree: str) -> Iterator[Path]:
    """The YAML files of a commit or tree in a temporary folder, in which the run works.

    Yields the copy of `top`, the folder of the repository; the working directory is the copy of
    that of the run. Raises NoRevisionError; ends the run
    where the settings are outside the repository.
    """
    from checker.documents.revision.checkout import check_out
    from checker.documents.settings import FILE

    here = Path.cwd()
    with tempfile.TemporaryDirectory(prefix="cinchbook-") as made:
        folder = Path(made).resolve()
        check_out(top, tree, folder)
        for each in top.parents:
            if os.path.lexists(each / FILE):
                end_with(
                    f"found settings outside the repository, '{each / FILE}'; wanted them inside, "
                    "because the files of a commit are read"
                )
        copied_folder = folder / here.resolve().relative_to(top)
        copied_folder.mkdir(parents=True, exist_ok=True)
        os.chdir(copied_folder)
        try:
            with settings_up_to(folder):
                yield folder
        finally:
            os.chdir(here)


def standing_in(path: str, top: Path, folder: Path) -> str:
    """A path as named, or its copy in the temporary folder if it is inside the repository."""
    if not os.path.isabs(path):  # noqa: PTH117 - a pattern may be no path
        return path
    inside = os.path.relpath(path, top)
    return path if inside.startswith(os.pardir) else str(folder / inside)
