"""Names that tell the files of profiles apart, such as `trailers/utility-10`."""

from pathlib import Path
from typing import Final

from checker.documents.resources import nearest_profiles, shipped_folder
from checker.load.build import shown_path

BUNDLED: Final = "shipped:"
"""What names of bundled files begin with in a project that has profiles of its own."""


def name_of(file: Path, root: Path | None) -> str:
    """The name of a file as references mean it that start from the project's own `profiles`.

    `root` is the folder asked for in their place. Files elsewhere may have the same name in a
    folder of their own, so they are named by their path, bundled ones as `shipped:...`. Without
    profiles of its own a project is the bundled one.
    """
    full = file.resolve()
    shipped = shipped_folder("profiles").resolve()
    main = (root or nearest_profiles() or shipped).resolve()
    for folder, mark in ((main, ""), (shipped, BUNDLED)):
        if full.is_relative_to(folder):
            return mark + full.relative_to(folder).with_suffix("").as_posix()
    return Path(shown_path(full)).with_suffix("").as_posix()
