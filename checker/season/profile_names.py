"""Names that tell the files of profiles apart, such as `trailers/utility-10`."""

from pathlib import Path

from checker.documents.resources import shipped_folder
from checker.load.build import shown_path


def name_of(file: Path, root: Path | None) -> str:
    """The name of a file as references mean it that start from the project's own `profiles`.

    `root` is the folder asked for in their place. Files elsewhere may have the same name in a
    folder of their own, so they are named by their path, bundled ones as `shipped:...`. Without
    profiles of its own a project is the bundled one.
    """
    full = file.resolve()
    shipped = shipped_folder("profiles").resolve()
    main = (root or _own_profiles() or shipped).resolve()
    for folder, mark in ((main, ""), (shipped, "shipped:")):
        if full.is_relative_to(folder):
            return mark + full.relative_to(folder).with_suffix("").as_posix()
    return Path(shown_path(full)).with_suffix("").as_posix()


def _own_profiles() -> Path | None:
    """The folder `profiles` of the project: in the working directory or one that encloses it."""
    here = Path.cwd()
    return next(
        (folder / "profiles" for folder in (here, *here.parents) if (folder / "profiles").is_dir()),
        None,
    )
