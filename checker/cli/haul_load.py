"""`check LOG#ROW --write-load`: a haul as a load file, checked before it is written."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from checker.cli.chosen_rules import read_rules
from checker.cli.hauls_of_logs import hauls_named, read_named_haul
from checker.cli.new_load import ensure_new_load, write_agreeing
from checker.cli.options import end_with, root_of, say

if TYPE_CHECKING:
    from checker.evaluation.check import Check
    from checker.season.hauls.hauls import Haul
    from checker.upkeep.restated import Values


def read_haul_to_write(
    names: Sequence[str],
    target: Path,
    columns: Path | None,
    root: Path | None,
    rules: Sequence[str] | None,
) -> "Haul":
    """The one haul to write; ends the run where there is none, or no file can be written there."""
    hauls = hauls_named(names)
    if len(hauls) != 1 or len(names) != 1:
        end_with("found --write-load without one haul alone; wanted LOG#ROW, a haul of a log")
    haul = read_named_haul(hauls[0], columns, root, read_rules(rules))
    ensure_new_load(target, haul.load, root_of(root))
    return haul


def write_haul(haul: "Haul", target: Path, root: Path | None, rules: Sequence[str] | None) -> None:
    """Write the load as the haul states it, once a check of it agrees with that of the haul.

    The comments of the load profile stay, below a line that names the row.
    """
    from checker.evaluation.tolerances import check_profile

    rulebooks = read_rules(rules)
    of_haul = check_profile(haul.profile, rulebooks, haul.on)

    def text() -> str:
        return load_text(haul)

    def agrees(check: "Check") -> bool:
        return _figures(check) == _figures(of_haul)

    of_file = write_agreeing(
        text, target, root_of(root), rulebooks, haul.on, agrees=agrees, what="this haul"
    )
    for rule in _excused(of_haul) - _excused(of_file):
        say(
            f"note: a variance from {rule} counts for the haul and not for {target}: it is for a "
            "crew, or for the file of the load"
        )


def load_text(haul: "Haul") -> str:
    """The text of a load file as the haul states it; raises CannotInsertError, see `restated`."""
    from checker.load.build import shown_path
    from checker.upkeep.restated import restated

    original = haul.load.rests_on[haul.load.file.resolve()]
    return _head(haul) + restated(original, shown_path(haul.load.file), _values(haul))


def _figures(check: "Check") -> list[tuple[str, str, str]]:
    """Verdict and margin of every rule; two that are not stated are alike."""
    return [(each.rule.id, each.verdict, repr(each.margin)) for each in check.findings]


def _excused(check: "Check") -> set[str]:
    return {each.rule.id for each in check.findings if each.variance}


def _head(haul: "Haul") -> str:
    row = haul.profile.merged.log_row
    assert row is not None
    return f"# {row.note[0].upper()}{row.note[1:]}.\n"


def _values(haul: "Haul") -> "Mapping[str, Values]":
    """What the row states, by key and list index: only a load's own file has lists."""
    values: dict[Any, Any] = {}
    # A day needs no quotes, but for a text that looks like one.
    for path, value in {**haul.stated, ("trip", "date"): haul.on}.items():
        inside = values
        for part in path[:-1]:
            inside = inside.setdefault(part, {})
        inside[path[-1]] = value
    return values
