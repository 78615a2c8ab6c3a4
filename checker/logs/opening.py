"""Opens a haul log in any form, and for its reader the file and the library that it needs."""

from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import BinaryIO, Final

from checker.documents.files import is_folder, open_binary
from checker.documents.problems import Mark, Problem, ProblemsFoundError, nearest, quoted
from checker.logs.layout_keys import ensure_keys_apply
from checker.logs.model import Log, LogMapping

FORMS: Final[Mapping[str, str]] = {
    ".csv": "csv_log",
    ".jsonl": "json_lines",
    ".ndjson": "json_lines",
    ".xlsx": "excel",
    ".parquet": "parquet",
    ".yaml": "yaml_folder",
    ".yml": "yaml_folder",
}
"""The module that reads each suffix, imported when such a file is opened."""


def is_log(path: Path) -> bool:
    """True if a file is a haul log and not a load profile, by its suffix or its `kind`."""
    form = FORMS.get(path.suffix.lower())
    if form != "yaml_folder":
        return form is not None
    from checker.documents.reader import read_file  # most logs are no YAML

    return read_file(path).kind == "haul"


def open_log(path: Path, mapping: LogMapping | None = None) -> Log:
    """The haul log in a file or folder; `mapping` is the content of its mapping file.

    Raises ProblemsFoundError if the file is not a log, with all problems of its header, and if the
    mapping file says something that no log of this form has.
    """
    suffix = ".yaml" if is_folder(path) else path.suffix.lower()
    if suffix not in FORMS:
        guess = nearest(suffix, FORMS)
        found = f"a log of the form {quoted(suffix or path.name)}"
        wanted = f"a folder of hauls, or a file ending in {', '.join(FORMS)}"
        raise ProblemsFoundError(
            [Problem(str(path), Mark(1, 1), found, wanted, guess and quoted(path.stem + guess))]
        )
    if mapping is not None:
        ensure_keys_apply(mapping, suffix)
    read: Callable[[Path, LogMapping], Log]
    read = import_module(f"checker.logs.{FORMS[suffix]}").read
    return read(path, mapping or LogMapping())


def open_log_file(path: Path, wanted: str) -> BinaryIO:
    """The log opened for reading bytes.

    Raises ProblemsFoundError if it cannot be read, or is a pipe, a device or a folder; `wanted`
    names the expected form in the problem.
    """
    try:
        return open_binary(path)
    except (OSError, ValueError) as error:  # the latter: a name with a zero byte
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        found = f"a file that cannot be read ({reason})"
        raise ProblemsFoundError([Problem(str(path), Mark(1, 1), found, wanted)]) from error


def import_optional(module: str, extra: str, log: Path) -> ModuleType:
    """A module of an optional library; raises ProblemsFoundError if it is not installed."""
    try:
        return import_module(module)
    except ImportError as error:
        library = module.split(".", maxsplit=1)[0]
        found = f"a log of the form '{log.suffix}', which the library {library} reads"
        wanted = f"that library: pip install 'cinchbook[{extra}]'; or save the log as CSV"
        raise ProblemsFoundError([Problem(str(log), Mark(1, 1), found, wanted)]) from error
