"""Writes a change into an amendment file, and prints what holds before, during and after it."""

import difflib
import re
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from checker.cli.chosen_rules import read_rules
from checker.cli.options import end_with, end_with_problems, say

if TYPE_CHECKING:
    from checker.rulebooks.model import Change, Rule, Rulebooks, Threshold
    from checker.upkeep.change import RequestedChange, TakenBack


def write_amendment(
    wanted: "RequestedChange",
    taken: "TakenBack | None",
    threshold: "Threshold",
    file: Path,
    place: str | None,
    rules: list[str] | None,
    *,
    dry_run: bool,
) -> None:
    """Write a change, or take one back, or both; ends the run where that is refused.

    While the file is read, changed and written, nobody else changes it. Raises CannotAmendError for
    a change that is not possible.
    """
    from checker.documents.file_lock import locked
    from checker.documents.files import NotWrittenError
    from checker.upkeep.drafting.writing import ensure_writable

    try:
        if not dry_run:
            ensure_writable(file, "amendment", replacing=True)
        with nullcontext() if dry_run else locked(file):
            _write(wanted, taken, threshold, file, place, rules, dry_run=dry_run)
    except NotWrittenError as error:
        end_with(str(error))


def _write(
    wanted: "RequestedChange",
    taken: "TakenBack | None",
    threshold: "Threshold",
    file: Path,
    place: str | None,
    rules: list[str] | None,
    *,
    dry_run: bool,
) -> None:
    from checker.documents.problems import ProblemsFoundError
    from checker.upkeep.change import amended_text, change_lines, counting_change, new_file, note_of
    from checker.upkeep.drafting.writing import write_checked
    from checker.upkeep.insert import CannotInsertError

    old = _text_of(file)
    name = re.sub(r"[^a-z0-9]+", "-", file.stem.lower()).strip("-") or "amendment"
    text = new_file(name, place) if old is None else old
    change = note = None
    try:
        entry = counting_change(text, str(file), wanted, taken.first) if taken else None
        if taken and entry:
            note = note_of(taken, entry, wanted.starts)
        if taken is None or taken.corrected:
            change = change_lines(wanted, threshold, entry)
        new = amended_text(text, change, note, str(file))
        after = read_rules(rules, edited={file.resolve(): new})
        if _text_of(file) != old:
            end_with(f"found '{file}' changed meanwhile; wanted the same text: try again")
        if not dry_run:
            write_checked(new, "amendment", file, replacing=old is not None)
    except ProblemsFoundError as found:
        end_with_problems(found)
    except CannotInsertError as error:
        end_with(f"{file}: {error}")
    lines = difflib.unified_diff(
        (old or "").splitlines(), new.splitlines(), f"{file} before", f"{file} after", lineterm=""
    )
    for line in lines:
        say(line, err=False)
    taken_back = note.index if note else None
    _print_what_holds(after, file, taken_back, wanted, is_new=change is not None)
    say(f"{file}: " + ("nothing written" if dry_run else "written"))


def _print_what_holds(
    after: "Rulebooks", file: Path, taken: int | None, wanted: "RequestedChange", *, is_new: bool
) -> None:
    """Print what holds before, on and after the days of a change, where its amendment applies."""
    from checker.documents.escaping import escaped
    from checker.load.build import shown_path
    from checker.reports.shared.amendment_words import held_around, trip_through
    from checker.rulebooks.timeline import applied

    shown = escaped(shown_path(file.resolve()))
    own = [each for each in after.changes if each.amendment.file == shown and each.threshold]
    touched = ([] if taken is None else [own[taken]]) + ([own[-1]] if is_new else [])
    found = after.rule(wanted.rule)
    if found is None:
        return
    book, rule = found
    changes = [
        each
        for each in after.changes
        if (each.rule_id, each.threshold) == (wanted.rule, wanted.threshold)
    ]
    trip = trip_through(own[-1].amendment.jurisdiction)
    where = f" in {', '.join(trip)}" if trip else ""
    say(f"{wanted.threshold} of {rule.id}{where} after this change:", err=False)
    here = applied(changes, book.jurisdiction, trip)
    threshold = rule.thresholds[wanted.threshold]
    for line in held_around(threshold, here, touched):
        say(f"  {line}", err=False)
    if rule.when and threshold.name in rule.when.names:
        condition = " ".join(rule.when.text.split())
        words = _scope_words(rule, threshold, own[-1])
        say(f"note: {threshold.name} also stands in `when: {condition}`: {words}")


def _scope_words(rule: "Rule", threshold: "Threshold", change: "Change") -> str:
    """Whether a change may take loads out of a rule, and how to see which."""
    from checker.rulebooks.direction import may_narrow

    how = "`cinchbook impact` shows which"
    old = threshold.on(change.starts)
    if change.value and old and may_narrow(rule, threshold, change.value.quantity, old.quantity):
        return f"{rule.id} may apply to fewer loads; {how}"
    return f"{rule.id} may apply to other loads; {how}"


def _text_of(file: Path) -> str | None:
    """The text of the file, line ends kept; None if there is no file yet."""
    from checker.documents.document import MOST_BYTES
    from checker.documents.files import read_content

    try:
        return read_content(file, MOST_BYTES).decode()
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "not UTF-8 text"
        end_with(f"found '{file}', which cannot be read ({reason.lower()})")
