"""`check LOG#ROW --write-load`: a haul as a load file, checked before it is written."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from checker.cli.chosen_rules import read_rules
from checker.cli.hauls_of_logs import hauls_named, read_named_haul
from checker.cli.options import end_with, end_with_problems, root_of, say

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
    from checker.cli.arranged_load import ensure_new_load

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
    from checker.documents.files import NotWrittenError
    from checker.documents.problems import ProblemsFoundError
    from checker.documents.reader import read_bytes
    from checker.evaluation.tolerances import check_profile
    from checker.load.build import profile_of, shown_path
    from checker.upkeep.drafting.writing import write_checked
    from checker.upkeep.yaml_positions import CannotInsertError

    rulebooks = read_rules(rules)
    try:
        text = load_text(haul)
        written = profile_of(read_bytes(text.encode(), shown_path(target)), target, root_of(root))
        of_file, of_haul = (
            check_profile(each, rulebooks, haul.on) for each in (written, haul.profile)
        )
        if _figures(of_file) != _figures(of_haul):
            end_with(
                f"found no way to write this haul into '{target}' so that a check of it agrees; "
                "nothing was written"
            )
        write_checked(text, "load", target, replacing=False)
    except (CannotInsertError, NotWrittenError) as error:
        end_with(str(error))
    except ProblemsFoundError as problems:
        end_with_problems(problems)
    say(f"wrote {target}")
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
