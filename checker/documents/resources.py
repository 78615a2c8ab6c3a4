"""Finds the rules and profiles that come with the program, in a wheel and in a checkout."""

from pathlib import Path


def nearest_profiles() -> Path | None:
    """The folder `profiles` in the working directory, else in the nearest folder above it."""
    above = (folder / "profiles" for folder in Path.cwd().parents)
    return next(filter(Path.is_dir, (Path("profiles"), *above)), None)


def shipped_folder(name: str) -> Path:
    """The shipped folder `rules` or `profiles`. Raises FileNotFoundError if it is missing."""
    package = Path(__file__).parent.parent
    packaged = package / "_data" / name
    if packaged.is_dir():
        return packaged
    checkout = package.resolve().parent
    if (checkout / "pyproject.toml").is_file() and (checkout / name).is_dir():
        return checkout / name
    message = f"no folder {name} came with this installation"
    raise FileNotFoundError(message)
