"""Edits one rule file: tries the edit with all rules, shows what differs, replaces the file."""

import difflib
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from checker.cli.chosen_rules import read_rules
from checker.cli.options import end_with, end_with_problems, say

if TYPE_CHECKING:
    from checker.rulebooks.model import Rulebooks


def edit_rule_file(
    file: Path,
    kind: str,
    edit: Callable[[str | None], str],
    rules: list[str] | None,
    *,
    dry_run: bool = False,
    aside: bool = False,
) -> "Rulebooks":
    """Replace a rule file by its edited text, print what differs, and return the rules with it.

    `edit` takes the text, or None where there is no file yet. All rulebooks are read with the edit
    first. `aside` prints to standard error, beside a document. While the file is read, changed and
    written, nobody else changes it. Ends the run where the file cannot be read or written, or a
    rule file has a problem then.
    """
    from checker.documents.file_lock import locked
    from checker.documents.files import NotWrittenError
    from checker.documents.problems import ProblemsFoundError
    from checker.upkeep.drafting.writing import ensure_writable
    from checker.upkeep.yaml_positions import CannotInsertError

    try:
        if not dry_run:
            ensure_writable(file, kind, replacing=True)
        with nullcontext() if dry_run else locked(file):
            return _edit(file, kind, edit, rules, dry_run=dry_run, aside=aside)
    except ProblemsFoundError as found:
        end_with_problems(found)
    except NotWrittenError as error:
        end_with(str(error))
    except CannotInsertError as error:
        end_with(f"{file}: {error}")


def _edit(
    file: Path,
    kind: str,
    edit: Callable[[str | None], str],
    rules: list[str] | None,
    *,
    dry_run: bool,
    aside: bool,
) -> "Rulebooks":
    from checker.upkeep.drafting.writing import write_checked

    old = text_of(file)
    new = edit(old)
    after = read_rules(rules, edited={file.resolve(): new})
    if text_of(file) != old:
        end_with(f"found '{file}' changed meanwhile; wanted the same text: try again")
    if not dry_run:
        write_checked(new, kind, file, replacing=old is not None)
    lines = difflib.unified_diff(
        (old or "").splitlines(), new.splitlines(), f"{file} before", f"{file} after", lineterm=""
    )
    for line in lines:
        say(line, err=aside)
    say(f"{file}: " + ("nothing written" if dry_run else "written"))
    return after


def text_of(file: Path) -> str | None:
    """The text of a rule file, line ends kept; None if there is no file yet.

    Ends the run where it cannot be read.
    """
    from checker.documents.document import MOST_BYTES
    from checker.documents.files import read_content

    try:
        return read_content(file, MOST_BYTES).decode()
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "not UTF-8 text"
        end_with(f"found '{file}', which cannot be read ({reason.lower()})")
