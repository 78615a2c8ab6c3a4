"""Writes a change into an amendment file, and prints what holds before, during and after it."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

from checker.cli.chosen_rules import read_rules
from checker.cli.options import end_with, end_with_problems, say
from checker.cli.rule_file_edit import edit_rule_file, text_of

if TYPE_CHECKING:
    from checker.rulebooks.model import Change, Rule, Rulebooks, Threshold
    from checker.upkeep.change import RequestedChange, TakenBack


def read_rules_without(
    taken: "TakenBack", rule: str | None, threshold: str | None, file: Path, rules: list[str] | None
) -> "Rulebooks":
    """The rules as if a change that is taken back counted never.

    Where it is refused, because the rulebook's own value is another one now, that is the way out.
    Raises CannotAmendError where the file has no such change.
    """
    from checker.documents.problems import ProblemsFoundError
    from checker.upkeep.change import amended_text, counting_change, note_of
    from checker.upkeep.yaml_positions import CannotInsertError

    text = text_of(file)
    if text is None or rule is None:
        return read_rules(rules)
    try:
        entry = counting_change(text, str(file), rule, threshold, taken.first)
        without = amended_text(text, None, note_of(taken, entry, None), str(file))
    except ProblemsFoundError as found:
        end_with_problems(found)
    except CannotInsertError as error:
        end_with(f"{file}: {error}")
    return read_rules(rules, edited={file.resolve(): without})


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
    from checker.upkeep.change import amended_text, change_lines, counting_change, new_file, note_of

    name = re.sub(r"[^a-z0-9]+", "-", file.stem.lower()).strip("-") or "amendment"
    note = None

    def edit(old: str | None) -> str:
        nonlocal note
        text = new_file(name, place) if old is None else old
        entry = None
        if taken is not None:
            entry = counting_change(text, str(file), wanted.rule, wanted.threshold, taken.first)
            note = note_of(taken, entry, wanted.starts)
        change = change_lines(wanted, threshold, entry) if is_new else None
        return amended_text(text, change, note, str(file))

    is_new = taken is None or taken.corrected
    after = edit_rule_file(file, "amendment", edit, rules, dry_run=dry_run)
    _print_what_holds(after, file, note.index if note else None, wanted, is_new=is_new)


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
