"""A new load file, written only once a check of it agrees with what it was made from."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from checker.cli.options import end_with, end_with_problems, say

if TYPE_CHECKING:
    from datetime import date

    from checker.evaluation.check import Check
    from checker.load.build import Profile
    from checker.rulebooks.model import Rulebooks


def ensure_new_load(target: Path, load: "Profile", root: Path | None) -> None:
    """End the run if no new load can be written there: before the search, which takes its time."""
    from checker.documents.files import NotWrittenError
    from checker.documents.resources import shipped_folder
    from checker.load.build import profile_root, shown_path
    from checker.upkeep.drafting.writing import ensure_writable

    if target.exists():
        end_with(f"found '{target}' there already; wanted a new file name for the load")
    try:
        ensure_writable(target, "load", replacing=False)
    except NotWrittenError as error:
        end_with(str(error))
    folder = profile_root(load.file)
    if root is None and profile_root(target.absolute()) != folder and len(load.rests_on) > 1:
        # No load of the user's own belongs among the bundled ones.
        is_bundled = folder == shipped_folder("profiles").resolve()
        below = f"a file below {shown_path(folder)}, where its references start, or "
        end_with(
            f"found '{target}' to write the load to; wanted {'' if is_bundled else below}"
            "the folder that its references start from: `profiles:` in cinchbook.yaml, or "
            "--profiles"
        )


def write_agreeing(
    text_of: Callable[[], str],
    target: Path,
    root: Path | None,
    rulebooks: "Rulebooks",
    on: "date",
    *,
    agrees: Callable[["Check"], bool],
    what: str,
) -> "Check":
    """Write a load file if `agrees` accepts the check of it, and return that check.

    Ends the run with nothing written otherwise; `what` names in the message what the load is of.
    """
    from checker.documents.files import NotWrittenError
    from checker.documents.problems import ProblemsFoundError
    from checker.documents.reader import read_bytes
    from checker.evaluation.tolerances import check_profile
    from checker.load.build import profile_of, shown_path
    from checker.upkeep.drafting.writing import write_checked
    from checker.upkeep.yaml_positions import CannotInsertError

    try:
        text = text_of()
        written = profile_of(read_bytes(text.encode(), shown_path(target)), target, root)
        check = check_profile(written, rulebooks, on)
        if not agrees(check):
            end_with(
                f"found no way to write {what} into '{target}' so that a check of it agrees; "
                "nothing was written"
            )
        write_checked(text, "load", target, replacing=False)
    except (CannotInsertError, NotWrittenError) as error:
        end_with(str(error))
    except ProblemsFoundError as problems:
        end_with_problems(problems)
    say(f"wrote {target}")
    return check
